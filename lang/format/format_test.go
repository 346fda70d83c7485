package format_test

import (
	"os"
	"strings"
	"testing"

	"fettle/lang/format"
	"fettle/lang/source"
)

// cases are sources as written and as laid out; they are the fuzzer's seeds too.
var cases = []struct{ name, before, after string }{
	{"empty", "", ""},
	{"only white space", " \n\t\r\n\n", ""},
	{"only a comment", "\n\n  # hello  ", "# hello\n"},
	{"byte order mark, CR LF, tabs, trailing blanks",
		"\xef\xbb\xbfuse air\t\r\n\tlet\ta\t=\t1  \r\n",
		"use air\nlet a = 1\n"},
	{"a comment after a byte order mark", "\xef\xbb\xbf# hello\nuse air", "# hello\nuse air\n"},
	{"a comment keeps its inner blanks", "let a = 1 #  a\tb   c \t\n", "let a = 1  #  a\tb   c\n"},
	{"blank lines", "\n\nuse air\n\n\n\nlet a = 1\n \n\t\nlet b = 2\n\n", "use air\n\nlet a = 1\n\nlet b = 2\n"},
	{"spaces around operators",
		"let a=1+2*3/4^5-(  6 -7 )\nlet b = max( a,2 ,- 3 )\nlet c = if a>b and not(a<1)then 1 else-2",
		"let a = 1 + 2 * 3 / 4 ^ 5 - (6 - 7)\nlet b = max(a, 2, -3)\nlet c = if a > b and not (a < 1) then 1 else -2\n"},
	{"signs", "let a = - 5 degC\nlet b = 1 - - 2\nlet c = ( - a )*- b\nlet d = 2%-1%\nlet e = 3 [m]-2 [m]",
		"let a = -5 degC\nlet b = 1 - -2\nlet c = (-a) * -b\nlet d = 2 % - 1 %\nlet e = 3 [m] - 2 [m]\n"},
	{"a sign before a sign", "let a = - - 5\nlet b = + - 5\n", "let a = - -5\nlet b = + -5\n"},
	{"units", "let a = 820m\nlet b = 4%\nlet c = 210[g/min]\nlet d = f (820m,4%)", "let a = 820 m\nlet b = 4 %\nlet c = 210 [g/min]\nlet d = f(820 m, 4 %)\n"},
	{"dots", "let a = fuels . pump98 .stoich\nlet b = air . density (1)", "let a = fuels.pump98.stoich\nlet b = air.density(1)\n"},
	{"dots that belong to nothing are kept apart", "let a = b . . c . 1\n", "let a = b . . c . 1\n"},
	{"functions", "fn f (a[m]within 0 .. 5,b)[K]=a*b", "fn f(a [m] within 0..5, b) [K] = a * b\n"},
	{"ranges",
		"axis a   -5 .. 5\n\naxis b[K]-5 K..5 K\n\naxis c [m] .. 7\n\naxis d (1) .. lo-1\n",
		"axis a -5..5\n\naxis b [K] -5 K..5 K\n\naxis c [m] ..7\n\naxis d (1)..lo - 1\n"},
	{"regions",
		"region r=rpm .. 7000feather 5,throttle 9000 ..,a lo .. hi,b -5 .. -3,c (1)..(2) feather- 1\n",
		"region r = rpm ..7000 feather 5, throttle 9000.., a lo..hi, b -5..-3, c (1)..(2) feather -1\n"},
	{"over",
		"rule r{a+=1 over mid , rpm -5 ..lo-3,b .. 3 where x<-3}\n",
		"rule r { a += 1 over mid, rpm -5..lo - 3, b ..3 where x < -3 }\n"},
	{"conditions of limits",
		"limit a:b-1<=c for d -5 m .. 5 m,e - 3..lo-1 else   warn\nlimit bcd : e<=- 1 when f-1>2 for\tg .. 5,\n h -1..+2\n",
		"limit a: b - 1 <= c for d -5 m..5 m, e -3..lo - 1 else warn\nlimit bcd: e <= -1 when f - 1 > 2 for g ..5,\n    h -1..+2\n"},
	{"one-line blocks", "variant a{}\nvariant b from c/d-e{x=1}\nvariant c {\n\n}\n", "variant a { }\nvariant b from c/d-e { x = 1 }\nvariant c { }\n"},
	{"blocks", "rule r when a{a+=1\nb-=2}# end\n", "rule r when a {\n  a += 1\n  b -= 2\n}  # end\n"},
	{"blank lines in braces", "rule r {\n\n\n  a += 1\n\n\n  b += 1\n\n}\n", "rule r {\n  a += 1\n\n  b += 1\n}\n"},
	{"comments in braces",
		"rule r { # why\n\n# one\n   a += 1 # two\n# three\n}\n",
		"rule r {  # why\n  # one\n  a += 1  # two\n  # three\n}\n"},
	{"a comment keeps an empty block open", "rule r {\n# nothing yet\n}\n", "rule r {\n  # nothing yet\n}\n"},
	{"lines that go on",
		"let a = 1 +\n2 *\n# why\n  3\nlet b = max(\n1,\n min(\n2,\n3\n)\n)\nrule r when a and\nb {\nc = 1 +\n2\n}\n",
		"let a = 1 +\n    2 *\n    # why\n    3\nlet b = max(\n    1,\n    min(\n    2,\n    3\n    )\n)\nrule r when a and\n    b {\n  c = 1 +\n      2\n}\n"},
	{"a closing parenthesis that begins a line", "let a = (\n1\n) + (\n2\n)\n", "let a = (\n    1\n) + (\n    2\n)\n"},
	{"axes", "axis a [%] 0..1\naxis throttle [degC] 0..1\naxis bc 0..1\n", "axis a        [%]    0..1\naxis throttle [degC] 0..1\naxis bc              0..1\n"},
	{"no column for what no line has", "axis a 0..1\naxis bcd 0..1\n", "axis a   0..1\naxis bcd 0..1\n"},
	{"givens",
		"given altitude [m] = 40 within -400..4500\ngiven t [degC] = 22 within -20..50 # day\ngiven blend from fuels = pump98\ngiven wet = no # rain\ngiven dry = yes # sun\n",
		"given altitude [m]        = 40     within -400..4500\n" +
			"given t        [degC]     = 22     within -20..50  # day\n" +
			"given blend    from fuels = pump98\n" +
			"given wet                 = no   # rain\n" +
			"given dry                 = yes  # sun\n"},
	{"lets, parted by a blank line, a comment, a longer one",
		"let a = 1\nlet bcd [m] = 2\n\nlet efghi = 3\n# why\nlet j = 4\nlet k = (\n5)\nlet lmn = 6\n",
		"let a       = 1\nlet bcd [m] = 2\n\nlet efghi = 3\n# why\nlet j = 4\nlet k = (\n    5)\nlet lmn = 6\n"},
	{"limits", "limit a:x<=85%\nlimit bcd: 1<=y <= 2 when z else warn\n", "limit a:   x <= 85 %\nlimit bcd: 1 <= y <= 2 when z else warn\n"},
	{"derived maps",
		"map a [mg] to 0.1 like fuel = b*c\nmap duty [%] like fuel=d\nmap e from \"e.csv\"\n",
		"map a    [mg] to 0.1 like fuel    = b * c\nmap duty [%]         like fuel    = d\nmap e                from \"e.csv\"\n"},
	{"adjustments",
		"rule r {\n fuel=1\n fuel+=3%\n\n # why\n spark-=1 deg over mid\n}\nrule s {\n a=1\n bcd=2\n}\n",
		"rule r {\n  fuel   = 1\n  fuel  += 3 %\n\n  # why\n  spark -= 1 deg over mid\n}\nrule s {\n  a   = 1\n  bcd = 2\n}\n"},
	{"settings",
		"variants v {\n pipe=stock,long\n altitude= 40m,-5m\n except pipe is short\n trim fuel+=2%\n trim ab=1\n}\n",
		"variants v {\n  pipe     = stock, long\n  altitude = 40 m, -5 m\n  except   pipe is short\n  trim fuel += 2 %\n  trim ab    = 1\n}\n"},
	{"checks",
		"check \"t\" with v/* {\n fuel(1,2)==3+-0.1%\n spark( 1 )>=4\n not (a)\n -a<1+-(-1)\n}\n",
		"check \"t\" with v/* {\n  fuel(1, 2) == 3 +- 0.1 %\n  spark(1)   >= 4\n  not (a)\n  -a         < 1 +- (-1)\n}\n"},
	{"reviews",
		"review{ # one policy\n allow fuel=2%\n # common practice\n\n allow spark_b  =0.5deg # half\n allow x= ( 1+2 )\n}\nreview {allow fuel = 2 %}\nreview{}\n",
		"review {  # one policy\n  allow fuel    = 2 %\n  # common practice\n\n  allow spark_b = 0.5 deg  # half\n  allow x       = (1 + 2)\n}\nreview { allow fuel = 2 % }\nreview { }\n"},
	{"targets",
		"target t{ # one\n compensates  a,b\nbytes   big\n table a=fuel as u16 step 0.004ms at throttle 0,-2 , idle , lo .. hi by 5,rpm 1000 ..13000by -5+2\n# two\n table abc = b as i8 step (1+2) offset -40degC\n table c=d as f32 # three\n}\ntarget u{table a=b as f32}\ntarget v{}\n",
		"target t {  # one\n  compensates a, b\n  bytes big\n  table a   = fuel as u16 step 0.004 ms                 at throttle 0, -2, idle, lo..hi by 5, rpm 1000..13000 by -5 + 2\n  # two\n  table abc = b    as i8  step (1 + 2)  offset -40 degC\n  table c   = d    as f32  # three\n}\ntarget u { table a = b as f32 }\ntarget v { }\n"},
	{"bundles",
		"bundle  b  for t{ # one\n differs  a,b\n1=c/d-2m\n 10= *e # two\n\n\njump fuel=12%\n jump spark_b   =( 1 deg )\n}\nbundle c{1=a}\n",
		"bundle b for t {  # one\n  differs a, b\n  1  = c/d-2m\n  10 = *e  # two\n\n  jump fuel    = 12 %\n  jump spark_b = (1 deg)\n}\nbundle c { 1 = a }\n"},
	{"tables in another order", "target t {\ntable a=b at rpm -5,temp -5..-1 by 1 as u8 step -1\ntable abc=b as u8\n}\n",
		"target t {\n  table a = b at rpm -5, temp -5..-1 by 1 as u8 step -1\n  table abc = b as u8\n}\n"},
	{"a plus before a minus in a check", "check \"t\" with v {\n a + -b == + - c\n}\n", "check \"t\" with v {\n  a + -b == + -c\n}\n"},
	{"comments behind adjacent lines",
		"use air # a\nuse \"b.fettle\" # b\nlet a = 1\nlet b = 2 # c\n\nlet c = 1 + # d\n2 # e\n",
		"use air         # a\nuse \"b.fettle\"  # b\nlet a = 1\nlet b = 2  # c\n\nlet c = 1 +  # d\n    2        # e\n"},
	{"a catalogue",
		"catalog fuels{name|stoich|density[kg/m^3]|note [text]|leaded [yes/no]\nlocal91|14.5|738|\"a | b\"|no\n\nx|9|1100.25| plain # why\n}\n",
		"### unchanged"},
	{"a catalogue's columns",
		"catalog fuels{name|stoich|density[kg/m^3]|note [text]|leaded [yes/no]\nlocal91|14.5|738|\"a | b\"|no\n\n\nx|9|1100.25| plain|yes # why\n# end\n}\n",
		"catalog fuels {\n" +
			"  name    | stoich | density [kg/m^3] | note [text] | leaded [yes/no]\n" +
			"  local91 |   14.5 |           738    | \"a | b\"     | no\n" +
			"\n" +
			"  x       |    9   |          1100.25 | plain       | yes              # why\n" +
			"  # end\n" +
			"}\n"},
	{"a catalogue's quotes",
		"catalog c {\nname|note [text]\na|\"\\\"b # c\" # d\nb|\"e}\"\n}\n",
		"catalog c {\n  name | note [text]\n  a    | \"\\\"b # c\"    # d\n  b    | \"e}\"\n}\n"},
	{"a catalogue of numbers and text in one column", "catalog c {\nname|v\na|1\nb|none\n}\n", "catalog c {\n  name | v\n  a    | 1\n  b    | none\n}\n"},
	{"a file's catalogue", "catalog fuels from\"fuels.csv\"", "catalog fuels from \"fuels.csv\"\n"},
	{"a grid",
		"map fuel[mg]{throttle\\rpm|3000 5000 11000\n0|1.1 _ -1.2\n25|3 10.25 _ # why\n# end\n}\n",
		"map fuel [mg] {\n" +
			"  throttle \\ rpm |    3000    5000   11000\n" +
			"  0              |    1.1     _      -1.2\n" +
			"  25             |    3      10.25    _     # why\n" +
			"  # end\n" +
			"}\n"},
	{"a grid's step says how many decimals",
		"map m to 0.05 {\na \\ b|1 2\n0|1 2\n}\nmap m to 1 {\na \\ b|1 2\n0|1 2\n}\nmap m to 5e-2 {\na \\ b|1 2\n0|1 2\n}\n",
		"map m to 0.05 {\n  a \\ b |       1       2\n  0     |    1       2\n}\n" +
			"map m to 1 {\n  a \\ b |     1     2\n  0     |     1     2\n}\n" +
			"map m to 5e-2 {\n  a \\ b |       1       2\n  0     |    1       2\n}\n"},
	{"a longer number widens the grid",
		"map m {\na [%]\\b|1 1000000\n-123456.5|-123456 2e-3\n}\n",
		"map m {\n  a [%] \\ b |          1    1000000\n  -123456.5 | -123456          2e-3\n}\n"},
	{"a map over one axis", "map m {\nrpm|1 2\n|3 4\n}\n", "map m {\n  rpm |     1     2\n      |     3     4\n}\n"},
	{"comments behind a grid stand in one column",
		"map m { # a\na\\b|1 2 # b\n\n1|1 2.5 # c\n2|1 2\n3|1 2 # d\n} # e\n",
		"map m {  # a\n" +
			"  a \\ b |      1      2  # b\n\n" +
			"  1     |    1      2.5  # c\n" +
			"  2     |    1      2\n" +
			"  3     |    1      2    # d\n" +
			"}  # e\n"},
	{"a file with faults stays as it was", "let  a = 1\nlett b = 2\n", "### unchanged"},
	{"an unclosed parenthesis", "let  a = (1\n", "### unchanged"},
	{"a grid with a fault", "map  m {\na\\b|1 2\n1|1\n}\n", "### unchanged"},
}

func TestCases(t *testing.T) {
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, errs := format.Source(source.New("tune.fettle", c.before))
			if c.after == "### unchanged" {
				if !errs.HasErrors() || got != c.before {
					t.Fatalf("want errors and the text unchanged, got\n%s", got)
				}
				return
			}
			for _, d := range errs.Sorted() {
				t.Errorf("%s %s: %s", d.Span, d.Code, d.Message)
			}
			if got != c.after {
				t.Errorf("got\n%s\nwant\n%s", show(got), show(c.after))
			}
			lawful(t, c.before)
			lawful(t, c.after)
		})
	}
}

// TestReadmeIsLaidOut: the samples of the layout's description are in it.
func TestReadmeIsLaidOut(t *testing.T) {
	b, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	samples := strings.Split(string(b), "```fettle\n")[1:]
	if len(samples) < 4 {
		t.Fatalf("%d samples", len(samples))
	}
	for _, s := range samples {
		s, _, _ = strings.Cut(s, "```")
		got, errs := format.Source(source.New("README.md", s))
		for _, d := range errs.Sorted() {
			t.Errorf("%s: %s", d.Span.Text(), d.Message)
		}
		if got != s {
			t.Errorf("got\n%s\nwant\n%s", got, s)
		}
	}
}

// show makes ends of lines visible.
func show(s string) string { return strings.ReplaceAll(s, "\n", "$\n") }
