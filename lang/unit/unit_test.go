package unit

import (
	"strings"
	"testing"
)

func TestComposedTexts(t *testing.T) {
	mul := func(a, b string) Unit { return mustParse(t, a).Mul(mustParse(t, b)) }
	div := func(a, b string) Unit { return mustParse(t, a).Div(mustParse(t, b)) }
	for _, c := range []struct {
		got  Unit
		want string
	}{
		{mul("mg", "rpm"), "mg rpm"}, {div("mg", "ms"), "mg/ms"}, {mul("mg/ms", "ms"), "mg"}, {div("kg", "kg"), ""},
		{div("1/s", "rpm"), "1/s/rpm"}, {mul("m", "m"), "m^2"}, {div("J", "kg K"), "J/kg/K"}, {mul("%", "mg"), "% mg"},
		{div("kg", "m^3"), "kg/m^3"}, {div("m", "m^3"), "1/m^2"}, {mustParse(t, "m/s").PowInt(2), "m^2/s^2"},
		{mustParse(t, "m/s").PowInt(-1), "s/m"}, {mustParse(t, "m").PowInt(0), ""}, {None.Mul(mustParse(t, "mm")), "mm"},
		{mustParse(t, "mm").Div(None), "mm"}, {None.Div(mustParse(t, "mm")), "1/mm"}, {div("kg", "g"), "kg/g"},
		{Coherent(dimOf(t, "kg/m^3")), "kg/m^3"}, {Coherent(dimOf(t, "Hz")), "1/s"}, {Coherent(dimOf(t, "Nm")), "kg m^2/s^2"},
		{Coherent(Dim{}), ""}, {Kelvin(), "K"}, {Unit{Text: "?("}.Mul(mustParse(t, "m")), "(?() m"},
	} {
		if c.got.Text != c.want {
			t.Errorf("got %q, want %q", c.got.Text, c.want)
		}
	}
}

func TestRoot(t *testing.T) {
	for _, c := range []struct {
		of       string
		num, den int
		want     string
	}{
		{"mm^2", 1, 2, "m"}, {"cc", 1, 3, "m"}, {"cc", 2, 3, "m^2"}, {"m", 1, 2, "m^(1/2)"}, {"J/kg", 1, 2, "m/s"}, {"%", 1, 2, ""},
	} {
		u, ok := mustParse(t, c.of).Root(c.num, c.den)
		if !ok || u.Text != c.want || !u.Factor.IsOne() {
			t.Errorf("%s to the power %d/%d is %q, %v", c.of, c.num, c.den, u.Text, ok)
		}
	}
	if u, ok := mustParse(t, "m").Root(1, 5); ok {
		t.Errorf("the fifth root of a length is %q", u.Text)
	}
	if u, ok := mustParse(t, "degC").Root(1, 2); ok {
		t.Errorf("the root of a point is %q", u.Text)
	}
	half, _ := mustParse(t, "m").Root(1, 2)
	if got := half.Mul(half); got.Text != "m" || !got.Same(mustParse(t, "m")) {
		t.Errorf("the root of a metre squared is %q", got.Text)
	}
}

func TestPredicates(t *testing.T) {
	if !None.IsPlain() || Percent.IsPlain() || mustParse(t, "m").IsPlain() || !mustParse(t, "m/m").IsPlain() || mustParse(t, "rev").IsPlain() {
		t.Errorf("IsPlain is wrong")
	}
	if p, _ := Lookup("%"); !p.Same(Percent) || p.Text != Percent.Text {
		t.Errorf("the table's %% is %v", p)
	}
	c, f, k := mustParse(t, "degC"), mustParse(t, "degF"), mustParse(t, "K")
	if !c.IsPoint() || !f.IsPoint() || k.IsPoint() || c.Same(k) || k.Same(c) || c.Same(f) || !c.Same(c) || !k.Same(Kelvin()) {
		t.Errorf("points are wrong")
	}
	if d := c.Difference(); !d.Same(k) || d.Text != "K" {
		t.Errorf("a difference in degC is in %v", d)
	}
	if d := f.Difference(); d.IsPoint() || d.Factor.Mul(mustParse(t, "%").Factor.PowInt(0)).Float() != 5.0/9 {
		t.Errorf("a difference in degF is in %v", d)
	}
	if !mustParse(t, "m").Difference().Same(mustParse(t, "m")) || !f.IsPoint() {
		t.Errorf("a length's difference is no length, or Difference changes its unit")
	}
}

func TestCanPow(t *testing.T) {
	cc, pct := mustParse(t, "cc"), Percent
	if !cc.CanPow(12) || !cc.CanPow(-12) || cc.CanPow(13) || cc.CanPow(-13) || mustParse(t, "degC").CanPow(2) {
		t.Errorf("CanPow is wrong")
	}
	steps := 0
	for ; pct.CanPow(12) && steps < 20; steps++ {
		pct = pct.PowInt(12)
	}
	if steps < 2 || steps > 6 {
		t.Errorf("a per cent may be raised to the twelfth power %d times over", steps)
	}
	if got := cc.PowInt(2000).Dim; got != (Dim{Length: 32767}) {
		t.Errorf("beyond all range a power has the dimension %v", got)
	}
}

func TestSuggest(t *testing.T) {
	for name, want := range map[string]string{
		"degc": "degC", "DEGF": "degF", "Kpa": "kPa", "kw": "kW", "RPM": "rpm", "Mg": "mg", "Mm": "mm", "ML": "mL", "nm": "Nm",
		"l": "L", "sec": "s", "°C": "degC", "µs": "us", "lbs": "lb", "m3": "m^3", "cm³": "cm^3", "s-1": "s^-1", "inch": "in", "bhp": "hp",
		"mph": "mi/h", "kmh": "km/h", "pis": "psi", "barr": "bar", "ppm": "rpm", "lbf_tf": "lbf_ft", "gal_use": "gal_us", "Ω": "ohm", "mmhg": "mmHg",
		"rpm": "rpm", "": "", "xyzzy": "", "q": "", "zz": "", "throttle": "", "m99": "", strings.Repeat("m", 50): "",
	} {
		if got := Suggest(name); got != want {
			t.Errorf("Suggest(%q) is %q, want %q", name, got, want)
		}
	}
	for spelling, name := range spellings() {
		mustParse(t, name)
		if _, ok := Lookup(spelling); ok {
			t.Errorf("the spelling %q is a unit", spelling)
		}
	}
}
