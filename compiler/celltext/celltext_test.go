package celltext_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"fettle/compiler/celltext"
)

func write(t testing.TB, text string) string {
	t.Helper()
	var b strings.Builder
	if err := celltext.Write(&b, text); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// cases are texts as they stand and as they are written; they are the fuzzer's
// seeds too.
var cases = []struct{ name, text, want string }{
	{"nothing", "", ""},
	{"a source without tables", "use air\n\nlet a = 1  # one\nrule r { fuel += 3 % }", "use air\n\nlet a = 1  # one\nrule r { fuel += 3 % }"},
	{"a grid", `axis throttle [%] 0..100
map fuel [mg] to 0.01 { # two axes
  throttle \ rpm [rpm] | 3000 10000 # the revs

  # idle
  0  |  1.1  _   # measured
  2.5|-10.25 1e3
}
`, `axis throttle [%] 0..100
map fuel [mg] to 0.01 { # two axes
  throttle \ rpm [rpm] | 3000 10000 # the revs

  # idle
  # measured
  fuel at throttle     0   %, rpm  3000        1.1 mg
  fuel at throttle     0   %, rpm 10000        _
  fuel at throttle     2.5 %, rpm  3000      -10.25 mg
  fuel at throttle     2.5 %, rpm 10000        1e3 mg
}
`},
	{"one axis, no unit", "map m {\n  rpm | 1 2\n      | 3 4 }\n", "map m {\n  rpm | 1 2\n  m at rpm     1        3\n  m at rpm     2        4\n}\n"},
	{"a curve with CR LF", "curve c [ms] {\r\n  volts [V] | 9 14.5\r\n  | 1.2 0.8\r\n}\r\n", "curve c [ms] {\r\n  volts [V] | 9 14.5\r\n  c at volts     9   V        1.2 ms\r\n  c at volts    14.5 V        0.8 ms\r\n}\r\n"},
	{"a catalogue", "catalog fuels {\n  name | stoich | density [kg/m^3] | note [text] | \n  pump | 14.6 | 745 | \"a | b\" |\n  race102_of_june | | yes | | 1 # dear\n}\n",
		"catalog fuels {\n  name | stoich | density [kg/m^3] | note [text] | \n  pump | 14.6 | 745 | \"a | b\" |\n  race102_of_june | | yes | | 1 # dear\n}\n"},
	{"a catalogue that can be read", "catalog fuels {\n  name | stoich | density [kg/m^3] | note [text]\n  pump | 14.6 | 745 | \"a | b\"\n  race102_of_june | | yes |  # dear\n}\n",
		`catalog fuels {
  name | stoich | density [kg/m^3] | note [text]
  fuels.pump.stoich        14.6
  fuels.pump.density       745 kg/m^3
  fuels.pump.note          "a | b"
  # dear
  fuels.race102_of_june.stoich
  fuels.race102_of_june.density   yes
  fuels.race102_of_june.note
}
`},
	{"a catalogue of names", "catalog c {\n  name\n  a\n  b\n}\n", "catalog c {\n  name\n  c.a\n  c.b\n}\n"},
	{"rows that can't be read stay", "map m {\n  x \\ y | 1 2\n  0 | 1\n  1 2 3\n  2 | 4,5 7 # 4.5?\n  | 1 2\n}\nmap n {\n  x / y | 1 2\n  0 | 1 2\n",
		"map m {\n  x \\ y | 1 2\n  0 | 1\n  1 2 3\n  # 4.5?\n  m at x     2, y     1        4,5\n  m at x     2, y     2        7\n  | 1 2\n}\nmap n {\n  x / y | 1 2\n  0 | 1 2\n"},
	{"a conflict", "map m {\n  x | 1 2\n<<<<<<< ours\n | 1 2\n=======\n | 1 3\n>>>>>>> theirs\n}\n",
		"map m {\n  x | 1 2\n<<<<<<< ours\n  m at x     1        1\n  m at x     2        2\n=======\n  m at x     1        1\n  m at x     2        3\n>>>>>>> theirs\n}\n"},
	{"a table in CSV", "\ufeffthrottle [%] \\ rpm [rpm],3000,5000\r\n0, 1.10 ,\r\n12.5,_,\"2\"\r\n\r\n3,4\r\n",
		"\ufeffthrottle [%] \\ rpm [rpm],3000,5000\r\n  throttle     0   %, rpm  3000        1.10\r\n  throttle     0   %, rpm  5000        _\r\n  throttle    12.5 %, rpm  3000        _\r\n  throttle    12.5 %, rpm  5000         \"2\"\r\n\r\n3,4\r\n"},
	{"a table over one axis in CSV", "rpm,1000,2000\n,1,2", "rpm,1000,2000\n  rpm  1000        1\n  rpm  2000        2\n"},
	{"a catalogue in CSV", "name,stoich,note [text]\npump98,14.6,\"a, \"\"b\"\"\"\nx,1\ny,2,\n", "name,stoich,note [text]\n  pump98.stoich     14.6\n  pump98.note       \"a, \"\"b\"\"\"\nx,1\n  y.stoich          2\n  y.note\n"},
	{"some other CSV", "a,b\n1,2\n", "a,b\n1,2\n"},
	{"another separator", "rpm;1000;2000\n;1;2\n", "rpm;1000;2000\n;1;2\n"},
	{"no text", "name,\xff\n1,2\n", "name,\xff\n1,2\n"},
	{"a cell that commands the terminal", "map m {\n x | 1\n | \x1b[31m\n}\n", "map m {\n x | 1\n  m at x     1         ␛[31m\n}\n"},
	{"hidden characters", "# a\tb \x00\x7f\u009b1m \u202eback\rover\r\n\xff\x07\r", "# a\tb ␀␡<U+009B>1m <U+202E>back␍over\r\n\xff␇␍"},
}

func TestWrite(t *testing.T) {
	for _, c := range cases {
		if d := cmp.Diff(c.want, write(t, c.text)); d != "" {
			t.Errorf("%s:\n%s", c.name, d)
		}
	}
}

// A changed cell is one changed line, whatever is put in its place.
func TestOneCellOneLine(t *testing.T) {
	type place struct{ file, old string }
	texts := map[string]string{}
	for _, name := range []string{"base.fettle", "base_fuel.csv", "fuels.csv", "heads_and_fuels.fettle"} {
		b, err := os.ReadFile(filepath.Join("..", "..", "examples", "tussock", name))
		if err != nil {
			t.Fatal(err)
		}
		texts[name] = string(b)
	}
	places := []place{{"base.fettle", "26.5   25.5   25.0"}, {"base_fuel.csv", "0,1.90,1.75"}, {"base_fuel.csv", "2.05,,2.00"}, {"fuels.csv", "14.6,745,98"}, {"heads_and_fuels.fettle", "14.4 |    97"}}
	rapid.Check(t, func(r *rapid.T) {
		p := rapid.SampledFrom(places).Draw(r, "place")
		n := rapid.StringMatching(`-?[0-9]{1,12}(\.[0-9]{1,8})?(e[0-9])?`).Draw(r, "number")
		parts := strings.FieldsFunc(p.old, func(c rune) bool { return strings.ContainsRune(" ,|", c) })
		old := parts[1] // the second number, or the third behind an empty cell
		at := strings.Index(p.old, parts[0]) + len(parts[0])
		at += strings.Index(p.old[at:], old)
		if n == old {
			return
		}
		before := texts[p.file]
		if strings.Count(before, p.old) == 0 {
			r.Fatalf("%s has no %s", p.file, p.old)
		}
		after := strings.Replace(before, p.old, p.old[:at]+n+p.old[at+len(old):], 1)
		a, b := strings.Split(write(t, before), "\n"), strings.Split(write(t, after), "\n")
		var differ []int
		for i := range a {
			if len(a) == len(b) && a[i] != b[i] {
				differ = append(differ, i)
			}
		}
		if len(differ) != 1 || !strings.Contains(a[differ[0]], old) || !strings.Contains(b[differ[0]], n) {
			r.Fatalf("%s to %s in %s: lines %v of %d and %d", old, n, p.file, differ, len(a), len(b))
		}
	})
}

// Nothing fails and no ink is lost: every word of the text is written.
func FuzzWrite(f *testing.F) {
	for _, c := range cases {
		f.Add(c.text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got := write(t, text)
		if strings.ContainsFunc(got, func(c rune) bool { return c < ' ' && !strings.ContainsRune("\t\r\n", c) || c == 0x202e }) {
			t.Fatalf("hidden characters in %q", got)
		}
		if strings.ContainsFunc(text, func(c rune) bool { return !unicode.IsGraphic(c) && !strings.ContainsRune("\t\n", c) }) {
			return
		}
		if !utf8.ValidString(text) && got != text {
			t.Fatalf("%q became %q", text, got)
		}
		for _, word := range strings.FieldsFunc(text, func(c rune) bool { return strings.ContainsRune(" \t\r\n|,#{}", c) }) {
			if !strings.Contains(got, word) {
				t.Fatalf("%q is lost: from\n%s\nto\n%s", word, text, got)
			}
		}
		for _, line := range strings.SplitAfter(text, "\n") {
			if strings.HasPrefix(line, "#") && !strings.ContainsAny(text, "\"|") && !strings.Contains(got, strings.TrimSpace(line)) {
				t.Fatalf("%q is lost: from\n%s\nto\n%s", line, text, got)
			}
		}
	})
}
