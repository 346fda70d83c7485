package unit

import (
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestParse(t *testing.T) {
	for _, c := range []struct{ text, same string }{
		{"N m", "Nm"}, {"N*m", "Nm"}, {"lbf ft", "lbf_ft"}, {"rev/min", "rpm"}, {" kg / m ^ 3 ", "kg/m^3"},
		{"J/kg/K", "J/(kg K)"}, {"kg/m*s", "kg s/m"}, {"1/s", "Hz"}, {"s^-1", "1/s"}, {"1/(1/s)", "s"}, {"(m/s)^2", "J/kg"},
		{"m^+2", "m^2"}, {"m^0", "m/m"}, {"(degC)", "degC"}, {"%/K", "1/(K/%)"}, {"(1/s)^-1", "s"}, {"mL", "cc"}, {"cm^3", "cc"},
		{"m^3", "L*m/mm"}, {"(kg/m) s", "kg s/m"}, {"Pa", "J/m^3"}, {"W", "V A"}, {"ohm", "V^2/W"}, {"\tmg", "g*m/km"},
	} {
		u, v := mustParse(t, c.text), mustParse(t, c.same)
		if !u.Same(v) {
			t.Errorf("%q isn't %q: %v, %v", c.text, c.same, u, v)
		}
		if want := strings.Trim(c.text, " \t"); u.Text != want {
			t.Errorf("Parse(%q) keeps the text %q", c.text, u.Text)
		}
	}
}

func TestParseErrors(t *testing.T) {
	long := strings.Repeat("m*", 120) + "m"
	for _, c := range []struct {
		text    string
		at, n   int
		msg     string
		suggest string
	}{
		{"", 0, 0, "missing", ""},
		{"  ", 2, 0, "missing", ""},
		{"degc", 0, 4, "no unit `degc`", "degC"},
		{"kg/M^3", 3, 1, "no unit `M`", "m"},
		{" kg/m3", 4, 2, "no unit `m3`", "m^3"},
		{"J/degC", 2, 4, "point on a scale", "K"},
		{"degF^2", 0, 4, "point on a scale", "K"},
		{"degC^1", 0, 4, "point on a scale", "K"},
		{"m degC", 2, 4, "point on a scale", "K"},
		{"J/kg K", 4, 1, "two ways", ""},
		{"1/s m", 3, 1, "two ways", ""},
		{"mg%", 2, 1, "missing before this", ""},
		{"m(s)", 1, 1, "missing before this", ""},
		{"m·s", 1, 2, "missing before this", ""},
		{"m · s", 2, 2, "space or `*`", ""},
		{"m^", 2, 0, "whole number", ""},
		{"m^x", 2, 1, "whole number", ""},
		{"m^1.5", 2, 2, "whole number", ""},
		{"m^(1/2)", 2, 0, "whole number", ""},
		{"m^13", 2, 2, "-12..12", ""},
		{"m^-13", 2, 3, "-12..12", ""},
		{"m^99999999999999999999999", 2, 23, "-12..12", ""},
		{"m^2^3", 3, 1, "parentheses", ""},
		{"(((m^12)^12)^12)^12", 13, 2, "too large", ""},
		{"(m", 0, 1, "isn't closed", ""},
		{"m)", 1, 1, "closes nothing", ""},
		{"()", 1, 1, "missing before this `)`", ""},
		{"m/", 2, 0, "missing", ""},
		{"m//s", 2, 1, "missing before this `/`", ""},
		{"*m", 0, 1, "missing before this `*`", ""},
		{"1", 0, 1, "no numbers", ""},
		{"m/1", 2, 1, "no numbers", ""},
		{"100 km", 0, 3, "no numbers", ""},
		{"-m", 0, 2, "no numbers", ""},
		{long, 0, 241, "at most 200", ""},
	} {
		_, err := Parse(c.text)
		var pe *ParseError
		if !errors.As(err, &pe) {
			t.Errorf("Parse(%q): %v", c.text, err)
			continue
		}
		if pe.At != c.at || pe.Len != c.n || !strings.Contains(pe.Msg, c.msg) || pe.Suggest != c.suggest {
			t.Errorf("Parse(%q) is %+v, want %+v", c.text, *pe, c)
		}
		if c.suggest != "" && !strings.Contains(err.Error(), "did you mean `"+c.suggest+"`?") {
			t.Errorf("Parse(%q) doesn't offer %q: %v", c.text, c.suggest, err)
		}
	}
}

// genText writes a random unit of linear names that Parse takes.
func genText(t *rapid.T) string {
	var ts []term
	for range rapid.IntRange(1, 4).Draw(t, "names") {
		name := rapid.SampledFrom(Names()).Filter(func(n string) bool { u, _ := Lookup(n); return !u.IsPoint() }).Draw(t, "name")
		exp := rapid.SampledFrom([]int{-3, -2, -1, 1, 2, 3}).Draw(t, "exponent")
		ts = append(ts, term{name: name, exp: exp * whole})
	}
	return formatTerms(ts)
}

// writable says that a composed text is within a source's bounds: joined names may have a higher power than those.
func writable(text string) bool {
	sum := 0
	for _, t := range readTerms(text) {
		n := max(t.exp, -t.exp) / whole
		if sum += n; n > MaxPower {
			return false
		}
	}
	return len(text) <= maxText && sum <= maxDegree
}

func TestComposedTextsParse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u, v := mustParse(t, genText(t)), mustParse(t, genText(t))
		n := rapid.IntRange(-3, 3).Draw(t, "n")
		for _, w := range []Unit{u.Mul(v), u.Div(v), u.PowInt(n), Coherent(u.Dim)} {
			if w.Text == "" {
				if !w.IsPlain() {
					t.Fatalf("%q and %q make a unit without a text: %v", u.Text, v.Text, w)
				}
				continue
			}
			if !writable(w.Text) {
				continue
			}
			if again := mustParse(t, w.Text); !again.Same(w) {
				t.Fatalf("%q and %q make %q, which reads as another unit", u.Text, v.Text, w.Text)
			}
		}
		if !u.Mul(v).Div(v).Same(u) || !u.Mul(v).Same(v.Mul(u)) || !u.PowInt(2).Same(u.Mul(u)) {
			t.Fatalf("%q and %q: a b / b isn't a", u.Text, v.Text)
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"", "kg/m^3", "J/kg/K", "1/s", "(m/s)^-2", "degC", "N m", "%", "m·s", "(((m^12)^12)^12)", "lb/hp/h", "m^(1/2)", "µg"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		u, err := Parse(text)
		if err != nil {
			var pe *ParseError
			if !errors.As(err, &pe) || pe.At < 0 || pe.Len < 0 || pe.At+pe.Len > len(text) || pe.Msg == "" {
				t.Fatalf("Parse(%q): %#v", text, err)
			}
			if pe.Suggest != "" {
				mustParse(t, pe.Suggest)
			}
			return
		}
		again, err := Parse(u.Text)
		if err != nil || !again.Same(u) || again.Text != u.Text {
			t.Fatalf("Parse(%q) has the text %q, which gives %v, %v", text, u.Text, again, err)
		}
		composed := u.Mul(None)
		if u.IsPoint() || composed.Text == "" || !writable(composed.Text) {
			return
		}
		if again := mustParse(t, composed.Text); !again.Same(u) {
			t.Fatalf("%q composes to %q, another unit", text, composed.Text)
		}
	})
}
