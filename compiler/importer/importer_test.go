package importer

import (
	"fmt"
	"strings"
	"testing"
	"unicode/utf16"

	"fettle/lang/diag"
	"fettle/lang/unit"
)

// ground is the axes of a workspace.
func ground(t testing.TB) []Axis {
	percent, err := unit.Parse("%")
	if err != nil {
		t.Fatal(err)
	}
	rpm, err := unit.Parse("rpm")
	if err != nil {
		t.Fatal(err)
	}
	return []Axis{{"throttle", percent, 0, 100}, {"rpm", rpm, 1000, 14000}}
}

func utf16le(s string) string {
	out := "\xff\xfe"
	for _, u := range utf16.Encode([]rune(s)) {
		out += string([]byte{byte(u), byte(u >> 8)})
	}
	return out
}

const twoByTwo = `map fuel [mg] {
  throttle \ rpm |    1000    2000
  0              |    1.5     2.25
  50             |    3       _
}
`

// Each of these is the same map.
var dialects = []struct{ name, in, says string }{
	{"our own", "throttle [%] \\ rpm [rpm],1000,2000\n0,1.5,2.25\n50,3,\n", "UTF-8, commas, decimal dot, LF, head in line 1, 2 rows by 2 columns"},
	{"no corner", ",1000,2000\n0,1.5,2.25\n50,3,\n", "commas"},
	{"semicolons, decimal commas", "throttle \\ rpm;1000;2000\r\n0;1,5;2,25\r\n50;3;\r\n", "semicolons, decimal comma, CRLF"},
	{"tabs, old line ends", "\t1000\t2000\r0\t1,5\t2,25\r50\t3\t_\r", "tabs, decimal comma, CR,"},
	{"bars", "|1000|2000\n0|1.5|2.25\n50|3|\n", "bars, decimal dot"},
	{"the language's own grid", "throttle \\ rpm | 1000 2000\n 0 | 1.5 2.25\n 50 | 3 _\n", "spaces with a bar behind the first column"},
	{"spaces", "throttle [%] \\ rpm [rpm] 1000 2000\n0 1.5 2.25\n50 3 _\n", "spaces, decimal dot"},
	{"aligned", "          1 000    2 000\n0           1.5     2.25\n50          3        _\n", "two spaces or more, decimal dot, spaces between thousands"},
	{"a mark and quotes", "\ufeff\"throttle [%] \\ rpm [rpm]\",\"1,000\",\"2,000\"\n\"0\",\"1.5\",2.25\n50,3,\n", "UTF-8 with a byte order mark, commas, decimal dot, commas between thousands"},
	{"UTF-16", utf16le("throttle \\ rpm;1.000;2.000\r\n0;1,5;2,25\r\n50;3;\r\n"), "UTF-16, semicolons, decimal comma, dots between thousands, CRLF"},
	{"apostrophes", ";1'000;2\u2019000\n0;1.5;2.25\n50;3;\n", "apostrophes between thousands"},
	{"titles, notes, empty edges", "Fuel of Tuesday;;;\n;;;\n;throttle \\ rpm;1000;2000;\n;0;1.5;2.25;\n;50;3;;\n;;;\nmeasured in the rain;;;\n;;;\n", "head in line 3"},
	{"falling", "throttle \\ rpm,2000,1000\n50,,3\n0,2.25,1.5\n", ""},
	{"bare dots and signs", ",1e3,2E3\n0,+1.5,2.25\n50,3.,\n", ""},
	{"in revolutions", "throttle (%) \\ rpm (1/min),1000,2000\n0,1.5,2.25\n50,3,\n", ""},
	{"other names of axes' units", "Throttle [pct] \\ RPM [U/min],1000,2000\n0,1.5,2.25\n50,3,\n", ""},
	{"per cent in the breakpoints", "throttle \\ rpm,1000,2000\n0%,1.5,2.25\n50 %,3,\n", ""},
}

func TestDialects(t *testing.T) {
	for _, c := range dialects {
		t.Run(c.name, func(t *testing.T) {
			r, errs := Import([]byte(c.in), Options{File: "fuel.csv", Unit: "mg", Axes: ground(t)})
			if r == nil {
				t.Fatal(text(errs))
			}
			if got := sameNumbers(r.Text); got != sameNumbers(twoByTwo) {
				t.Errorf("got\n%s", r.Text)
			}
			if !strings.Contains(r.ReadAs, c.says) {
				t.Errorf("read as %q, and not %q", r.ReadAs, c.says)
			}
		})
	}
}

// sameNumbers takes the layout and two ways to write a thousand out.
func sameNumbers(s string) string {
	return strings.NewReplacer("1e3", "1000", "2e3", "2000").Replace(strings.Join(strings.Fields(s), " "))
}

func text(errs *diag.List) string {
	var b strings.Builder
	diag.Text(&b, errs.Sorted(), diag.TextOptions{})
	return b.String()
}

func TestResults(t *testing.T) {
	for _, c := range []struct {
		name, in string
		opt      Options
		want     string
		note     string
	}{
		{"the file's name", ",1000,2000\n5,1,2\n", Options{File: "a/Fuel Map 2.csv"}, "map fuel_map_2 { throttle \\ rpm | 1000 2000 5 | 1 2 }", "`fuel_map_2`, after `Fuel Map 2`"},
		{"a name that begins with a digit", ",1000,2000\n5,1,2\n", Options{File: "2nd.csv"}, "map m2nd { throttle \\ rpm | 1000 2000 5 | 1 2 }", ""},
		{"a word of the language", ",1000,2000\n5,1,2\n", Options{File: "map.csv"}, "map map_1 { throttle \\ rpm | 1000 2000 5 | 1 2 }", ""},
		{"turned", "rpm \\ throttle,5\n1000,1\n2000,2\n", Options{File: "a.csv", Transpose: true, Rows: "throttle", Cols: "rpm"}, "map a { throttle \\ rpm | 1000 2000 5 | 1 2 }", "turned"},
		{"one axis", "rpm,1000,2000\n,1,2\n", Options{File: "a.csv"}, "map a { rpm | 1000 2000 | 1 2 }", ""},
		{"one axis down the side", "rpm,idle gas [mg]\n1000,1\n2000,2\n", Options{File: "a.csv", Transpose: true}, "map idle_gas [mg] { rpm | 1000 2000 | 1 2 }", ""},
		{"a title that is a head", "fuel [mg]\n\n,1000,2000\n5,1,2\n6,1,2\n", Options{File: "a.csv"}, "map fuel [mg] { throttle \\ rpm | 1000 2000 5 | 1 2 6 | 1 2 }", "passed over"},
		{"per cent in cells", ",1000,2000\n5,1 %,2%\n", Options{File: "a.csv"}, "map a [%] { throttle \\ rpm | 1000 2000 5 | 1 2 }", ""},
		{"axes by flags", "x,1,2\n5,1,2\n", Options{File: "a.csv", Rows: "load [kPa]", Cols: "gear"}, "map a { load [kPa] \\ gear | 1 2 5 | 1 2 }", "no axis `gear`"},
		{"a unit that differs", "throttle \\ rpm [rev/s],20,40\n5,1,2\n", Options{File: "a.csv"}, "map a { throttle \\ rpm [rev/s] | 20 40 5 | 1 2 }", ""},
		{"beyond the axis", "throttle \\ rpm,20,40\n5,1,2\n", Options{File: "a.csv"}, "map a { throttle \\ rpm | 20 40 5 | 1 2 }", "go beyond"},
		{"a comma settled", ";1000;2000\n5;1,234;2,345\n", Options{File: "a.csv", Decimal: ","}, "map a { throttle \\ rpm | 1000 2000 5 | 1.234 2.345 }", ""},
		{"a dot settled", ";1000;2000\n5;1,234;2,345\n", Options{File: "a.csv", Decimal: "."}, "map a { throttle \\ rpm | 1000 2000 5 | 1234 2345 }", ""},
		{"settled by a nought", ";1000;2000\n5;1,234;0,345\n", Options{File: "a.csv"}, "map a { throttle \\ rpm | 1000 2000 5 | 1.234 0.345 }", ""},
		{"three decimals in our own", "throttle [%] \\ rpm [rpm]\t1000\t2000\n5\t1.234\t2.345\n", Options{File: "a.tsv"}, "map a { throttle \\ rpm | 1000 2000 5 | 1.234 2.345 }", ""},
		{"printer's minus", ",1000,2000\n5,\u22121,2\n", Options{File: "a.csv"}, "map a { throttle \\ rpm | 1000 2000 5 | -1 2 }", ""},
		{"Latin-1", ",1000,2000\n5,1,2\n\n\xb5 of Mittwoch\n", Options{File: "a.csv"}, "map a { throttle \\ rpm | 1000 2000 5 | 1 2 }", "isn't UTF-8"},
		{"a delimiter named", "1;2 1000 2000\n5 1 2\n", Options{File: "a.csv", Delimiter: "spaces"}, "map a { throttle \\ rpm | 1000 2000 5 | 1 2 }", "corner"},
		{"a catalogue", "Fuel;Density (kg/m³);Leaded;Note\nPump 98;745;no;\"of; the # \"\"valley\"\" |\"\n102;728,5;Yes;\n", Options{File: "Fuels.csv"},
			"catalog fuels { name | density [kg/m^3] | leaded | note [text] pump_98 | 745 | no | \"of; the # \\\"valley\\\" |\" n102 | 728.5 | yes | \"\" }", "`n102`"},
		{"a catalogue turned", "name,a,b\nmass [g],1,2\n", Options{File: "c.csv", Transpose: true}, "catalog c { name | mass [g] a | 1 b | 2 }", ""},
		{"a catalogue with per cents", "name,share\na,5 %\nb,6%\n", Options{File: "c.csv"}, "catalog c { name | share [%] a | 5 b | 6 }", ""},
		{"a catalogue of texts", "name,shop [text],phone [text]\na,North,12\n", Options{File: "c.csv"}, "catalog c { name | shop [text] | phone [text] a | North | 12 }", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.opt.Axes = ground(t)
			r, errs := Import([]byte(c.in), c.opt)
			if r == nil {
				t.Fatal(text(errs))
			}
			if got := strings.Join(strings.Fields(r.Text), " "); got != c.want {
				t.Errorf("got  %s\nwant %s", got, c.want)
			}
			if !strings.Contains(strings.Join(r.Notes, "\n"), c.note) {
				t.Errorf("notes: %q", r.Notes)
			}
		})
	}
}

func TestRefused(t *testing.T) {
	met := map[string]bool{}
	for _, c := range []struct {
		name, in string
		opt      Options
		want     string // code, place, and a part of what is said
	}{
		{"empty", " \n", Options{}, "E901 :1:1: the file is empty"},
		{"nothing parted", "hello\nworld\n", Options{}, "E901 :1:1: no table"},
		{"an old workbook", "\xd0\xcf\x11\xe0rest", Options{}, "E901 :1:1: the file is a workbook of the old kind"},
		{"no workbook", "PK\x03\x04rest", Options{}, "E901 :1:1: the file is a zip archive"},
		{"zero bytes", "a\x00,b\n", Options{}, "E901 :1:1: the file has bytes of nothing"},
		{"too large", strings.Repeat("1", MaxFile+1), Options{}, "E901 :1:1: the file has over"},
		{"too many cells", strings.Repeat(strings.Repeat("1,", 100)+"\n", 10000), Options{}, "E901 :1:1: the file has over 1000000 cells"},
		{"an open quote", "a,b\nc,\"d\n", Options{}, "E901 :2:3: B2: a quote is opened"},
		{"two readings", ";1000;2000\n5;1,234;2,345\n", Options{}, "E902 :2:3: B2: `1,234` may be 1234 or 1.234"},
		{"two readings of dots", ";1000;2000\n5;1.234;2.345\n", Options{}, "E902 :2:3: B2: `1.234` may be 1.234 or 1234"},
		{"both marks", ";1000;2000\n5;1,5;2.5\n", Options{}, "E902 :2:3: B2: `1,5` has a decimal comma, and `2.5` (C2) has a decimal dot"},
		{"two marks of thousands", ";1'000;2 000\n5;1;2\n", Options{}, "E902 :1:8: C1: `2 000` has ` `"},
		{"a word", ",1000,2000\n5,1,x\n", Options{}, "E903 :2:5: C2: `x` is not a number"},
		{"a day", ",1000,2000\n5,Jan 5,2\n", Options{}, "E903 :2:3: B2: `Jan 5` is a date"},
		{"a day of three numbers", ",1000,2000\n5,5.1.2024,2\n", Options{}, "E903 :2:3: B2: `5.1.2024` is a date"},
		{"another decimal mark", ";1000;2000\n5;1,5;2\n", Options{Decimal: "."}, "E903 :2:3: B2: `1,5` is not a number"},
		{"decimal commas between commas", "a,1000,2000\n0,1,5,2,5\n", Options{}, "E904"},
		{"a breakpoint lost", ",1000,,3000\n5,1,2,3\n6,1,2,3\n", Options{}, "E904 :1:7: C1: a column without its breakpoint"},
		{"a second table", ",1000,2000\n5,1,2\n\n6,1,2\n", Options{}, "E904 :4:1: A4: something stands below"},
		{"one column", ";;\n;a\n;0", Options{Transpose: true}, "E904 :2:2: B2: the table has one column"},
		{"outside", ",1000,2000\n5,1,2\n6,1,2,3\n", Options{}, "E904 :3:7: D3: `3` stands outside"},
		{"no cells", ",1000,2000\n5,_,_\n6,_,_\n", Options{}, "E904"},
		{"a number in the corner", "0,1000,2000\n5,1,2\n", Options{As: "map"}, "E904 :1:1: A1: `0` stands where the names"},
		{"unknown axes", ",20,40\n5,1,2\n", Options{}, "E905 :1:1: A1: `throttle` stands for both axes"},
		{"two axes fit", ",2000,4000\n5,1,2\n", Options{Axes: append(ground(t), Axis{Name: "gas", Hi: 9000}, ground(t)[0])}, "E905 :1:2: B1: which axis runs along the columns, 2000 to 4000? It may be rpm or gas"},
		{"no axis", ",20000,40000\n5,1,2\n", Options{}, "E905 :1:2: B1: which axis runs along the columns, 20000 to 40000? Neither"},
		{"the same axis twice", "rpm \\ rpm,2000,4000\n5,1,2\n", Options{}, "E905 :1:1: A1: `rpm` stands for both"},
		{"another kind of unit", "throttle \\ rpm [kPa],20,40\n5,1,2\n", Options{}, "E905 :1:22: B1: axis `rpm` of the workspace is in [rpm]"},
		{"some per cents", ",1000,2000\n5,1%,2\n", Options{}, "E906 :2:3: B2: `1%` has a per cent sign, and `2` (C2) has none"},
		{"per cents in mg", ",1000,2000\n5,1%,2%\n", Options{Unit: "mg"}, "E906"},
		{"falls and rises", ",1000,2000,1500\n5,1,2,3\n", Options{}, "E205 :1:12: D1: the column breakpoint `1500` comes after `2000`"},
		{"twice", ",1000,1000.0\n5,1,2\n", Options{}, "E205 :1:7: C1: the column breakpoint `1000.0` stands twice"},
		{"an unknown unit", "throttle \\ rpm [rpmm],1000,2000\n5,1,2\n", Options{}, "E308"},
		{"neither", "rpm,fuel\n1000,1\n2000,2\n", Options{}, "E909 :1:1: A1: this may be a map"},
		{"a row without letters", "name,a\n?,1\nb,2\n", Options{}, "E908 :2:1: A2: a row without a name"},
		{"a column without letters", "name,!\na,1\n", Options{}, "E908 :1:6: B1: a column without a name"},
		{"two rows", "name,a\nPump 98,1\npump-98,2\n", Options{}, "E215 :3:1: A3: the row `pump_98` stands twice"},
		{"two columns", "name,a b,a-b\nx,1,2\n", Options{}, "E215 :1:10: C1: the column `a_b` stands twice"},
		{"a blank in a catalogue", "name,a,b\nx,1,2\ny,,2\n", Options{}, "E217 :3:3: B3: a cell of the column `a` is empty"},
		{"a word among numbers", "name,a\nx,1\ny,2\nz,many\n", Options{}, "E903 :4:3: B4: `many` is not a number"},
		{"perhaps", "name,a [yes/no]\nx,perhaps\n", Options{}, "E216 :2:3: B2: `perhaps` is neither"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if c.opt.Axes == nil {
				c.opt.Axes = ground(t)
			}
			r, errs := Import([]byte(c.in), c.opt)
			items := errs.Sorted()
			if r != nil || len(items) == 0 {
				t.Fatalf("it is taken in: %+v", r)
			}
			line, at := 0, 0
			if !items[0].Span.IsZero() {
				line, at = items[0].Span.File.Pos(items[0].Span.From)
			}
			met[items[0].Code] = true
			got := items[0].Code + " :" + fmt.Sprint(line) + ":" + fmt.Sprint(at) + ": " + items[0].Message
			if !strings.HasPrefix(got, c.want) {
				t.Errorf("got  %s\nwant %s", got, c.want)
			}
		})
	}
	for _, code := range []string{"E901", "E902", "E903", "E904", "E905", "E906", "E908", "E909"} {
		if !met[code] {
			t.Errorf("no case shows %s", code)
		}
	}
}
