package check_test

import (
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"

	"fettle/compiler/check"
	"fettle/compiler/resolve"
	"fettle/lang/diag"
	"fettle/lang/unit"
)

// ground is what the reviews of these tests stand on; maps are declared in
// another order than they are allowed.
const ground = `axis rpm [rpm] 1000..14000
let far = 0.07
let dose [mg] = 3
map fuel [mg] {
  rpm | 3000  6000
      |  1.1   1.3
}
map spark   [deg]  like fuel = 20 deg
map duty    [%]    like fuel = 50 %
map lambda         like fuel = 0.9
map coolant [degC] like fuel = 80 degC
map head    [degF] like fuel = 300 degF
map share   [mg/g] like fuel = 68 [mg/g]
map charge  [K]    like fuel = 300 K
variant bench { }
`

func program(t *testing.T, files fstest.MapFS) *check.Program {
	t.Helper()
	errs := &diag.List{}
	p := check.Run(resolve.Load(files, errs), errs)
	for _, d := range errs.Sorted() {
		if d.Severity == diag.Error {
			t.Errorf("%s %s: %s", d.Code, d.Span, d.Message)
		}
	}
	return p
}

func reviewed(t *testing.T, review string) *check.Program {
	t.Helper()
	return program(t, fstest.MapFS{"tune.fettle": {Data: []byte(ground + review)}})
}

// told is an allowance as it is compared.
type told struct {
	Map    string
	Share  bool
	Amount float64
	Text   string
	Line   string
}

func all(list []check.Allowance) (out []told) {
	for _, a := range list {
		out = append(out, told{a.Map.Name, a.Share, a.Amount, a.Text, a.Span.Text()})
	}
	return out
}

func TestAllowed(t *testing.T) {
	for _, c := range []struct {
		line string
		want told
	}{
		{"fuel = 2 %", told{"fuel", true, 0.02, "2 %", ""}},
		{"fuel = 0.2", told{"fuel", false, 0.2, "0.2 mg", ""}},
		{"fuel = 0.0002 g", told{"fuel", false, 0.2, "0.0002 g", ""}},
		{"fuel = far", told{"fuel", true, 0.07, "7 %", ""}},
		{"fuel = dose", told{"fuel", false, 3, "3 mg", ""}},
		{"fuel = (2 % + 1 %)", told{"fuel", true, 0.03, "3 %", ""}},
		{"fuel = 0", told{"fuel", false, 0, "0 mg", ""}},
		{"spark = 0.5 deg", told{"spark", false, 0.5, "0.5 deg", ""}},
		{"duty = 2 %", told{"duty", false, 2, "2 points", ""}},
		{"duty = 2", told{"duty", false, 2, "2 points", ""}},
		{"duty = far", told{"duty", false, 7, "7 points", ""}},
		{"lambda = 0.02", told{"lambda", false, 0.02, "0.02", ""}},
		{"lambda = far", told{"lambda", false, 0.07, "0.07", ""}},
		{"coolant = 2 K", told{"coolant", false, 2, "2 K", ""}},
		{"coolant = 2", told{"coolant", false, 2, "2 K", ""}},
		{"head = 5 K", told{"head", false, 9, "5 K", ""}},
		{"head = 5", told{"head", false, 9, "5 K", ""}},
		{"head = (3 K + 2 K)", told{"head", false, 9, "5 K", ""}},
		{"share = 2 %", told{"share", false, 20, "20 mg/g", ""}},
		{"share = 2 [mg/g]", told{"share", false, 2, "2 mg/g", ""}},
		{"charge = 2 %", told{"charge", true, 0.02, "2 %", ""}},
	} {
		c.want.Line = "allow " + c.line
		got := all(reviewed(t, "review { allow "+c.line+" }\n").Allow)
		if d := cmp.Diff([]told{c.want}, got, near); d != "" {
			t.Errorf("allow %s: %s", c.line, d)
		}
	}
}

// near compares numbers that were worked out.
var near = cmp.Comparer(func(a, b float64) bool { return a == b || a-b < 1e-12 && b-a < 1e-12 })

// The reviews of all files are one policy, in the order of the maps.
func TestOnePolicy(t *testing.T) {
	p := program(t, fstest.MapFS{
		"tune.fettle": {Data: []byte("use \"a.fettle\"\n" + ground + "review {\n  allow lambda = 0.01\n  allow fuel = 2 %\n}\n")},
		"a.fettle":    {Data: []byte("review { allow spark = 0.5 deg }\n")},
	})
	want := []told{
		{"fuel", true, 0.02, "2 %", "allow fuel = 2 %"},
		{"spark", false, 0.5, "0.5 deg", "allow spark = 0.5 deg"},
		{"lambda", false, 0.01, "0.01", "allow lambda = 0.01"},
	}
	if d := cmp.Diff(want, all(p.Allow), near); d != "" {
		t.Error(d)
	}
	if got := check.NewPolicy(p.Allow).Places(); len(got) != 3 || got[1].File.Name != "a.fettle" {
		t.Errorf("places %v", got)
	}
}

func TestReadAllow(t *testing.T) {
	p := reviewed(t, "")
	for text, want := range map[string][]told{
		"fuel=2%,spark=0.5deg":             {{"fuel", true, 0.02, "2 %", ""}, {"spark", false, 0.5, "0.5 deg", ""}},
		" spark = 0.5 deg , fuel = 0.2 ":   {{"spark", false, 0.5, "0.5 deg", ""}, {"fuel", false, 0.2, "0.2 mg", ""}},
		"duty=2%,coolant=2K,share=3[mg/g]": {{"duty", false, 2, "2 points", ""}, {"coolant", false, 2, "2 K", ""}, {"share", false, 3, "3 mg/g", ""}},
		" none ":                           nil,
	} {
		got, err := check.ReadAllow(p, text)
		if err != nil || got == nil {
			t.Errorf("%q: %v %v", text, got, err)
			continue
		}
		if d := cmp.Diff(want, all(got), near); d != "" {
			t.Errorf("%q: %s", text, d)
		}
		for _, a := range got {
			if !a.Span.IsZero() {
				t.Errorf("%q stands at %v", text, a.Span)
			}
		}
	}
}

// Of tables that were read only names and units are known.
func TestReadAllowOfTables(t *testing.T) {
	mg, _ := unit.Lookup("mg")
	p := &check.Program{Maps: []*check.Map{{Name: "fuel", Unit: mg}}}
	got, err := check.ReadAllow(p, "fuel=0.0002g")
	if err != nil || len(got) != 1 || got[0].Amount < 0.2-1e-12 || got[0].Amount > 0.2+1e-12 {
		t.Errorf("%+v %v", got, err)
	}
}

func TestReadAllowRefuses(t *testing.T) {
	p := reviewed(t, "")
	for text, want := range map[string]string{
		"":                   "nothing is allowed here",
		"fuel":               `"fuel" isn't a map and its amount, as in ` + "`fuel=2%`",
		"fuel=":              "isn't a map and its amount",
		"=2%":                "isn't a map and its amount",
		"fuel==2%":           "isn't a map and its amount",
		"fuel=2%,":           "a comma stands where a map and its amount belong",
		"fuel=2,5%":          `"5%" names no map: it is written as in ` + "`fuel=2%`, with a dot before decimals",
		"none,fuel=2%":       "`none` stands alone",
		"fule=2%":            "there is no map `fule`: did you mean `fuel`?",
		"Fuel=2%":            "there is no map `Fuel`: did you mean `fuel`?",
		"bench=2%":           "there is no map `bench`: there is fuel, spark, duty, lambda, coolant, head, share, charge",
		"fuel=2%,fuel=1%":    "`fuel` is allowed twice",
		"fuel=2deg":          "what `fuel` is allowed is mass [mg], but `2deg` is angle [deg]",
		"fuel=-2%":           "can't be negative",
		"fuel=dose":          "fuel: there is no `dose`",
		"fuel=1e999":         "larger than any number",
		"lambda=2%":          "could be a share or an amount; write the amount: `0.02`",
		"coolant=2%":         "a share of a point has no meaning",
		"coolant=2degC":      "is a temperature on the scale; write `2 K`",
		"fuel=2%\x1b[31mred": "a character that can't be seen",
		"fu\x1bel=2%":        `"fu\x1bel=2%"`,
	} {
		got, err := check.ReadAllow(p, text)
		if err == nil || got != nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, %v\nwant %s", text, got, err, want)
		} else if strings.ContainsAny(err.Error(), "\x1b\n") {
			t.Errorf("%q: what is said has signs that can't be printed: %q", text, err)
		}
	}
}
