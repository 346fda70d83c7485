package unit

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func mustConv(t interface {
	Helper()
	Fatalf(string, ...any)
}, from, to Unit) Conv {
	t.Helper()
	c, err := NewConv(from, to)
	if err != nil {
		t.Fatalf("%v", err)
	}
	return c
}

func TestConvExactly(t *testing.T) {
	for _, c := range []struct {
		x    float64
		from string
		to   string
		want float64
	}{
		{1, "g", "mg", 1000}, {1000, "mg", "g", 1}, {1, "mg", "g", 0.001}, {16.2, "mg", "g", 0.0162}, {40, "degC", "degF", 104},
		{104, "degF", "degC", 40}, {77, "degF", "degC", 25}, {-40, "degF", "degC", -40}, {22, "degC", "K", 295.15}, {295.15, "K", "degC", 22},
		{0, "degF", "K", 459.67 / 1.8}, {1, "psi", "Pa", 8896443230521.0 / 1290320000}, {3, "in", "mm", 76.2}, {1, "mi", "m", 1609.344},
		{11000, "rpm", "rev/min", 11000}, {6000, "rpm", "rev/s", 100}, {6000, "rpm", "deg/ms", 36}, {1, "rev", "deg", 360}, {360, "deg", "rev", 1},
		{1, "rev", "rad", 2 * math.Pi}, {180, "deg", "rad", math.Pi}, {math.Pi, "rad", "deg", 180}, {1, "rev/s", "rad/s", 2 * math.Pi},
		{5, "%", "m/m", 0.05}, {0.05, "m/m", "%", 5}, {0.85, "m/mm", "%", 85000}, {1, "bar", "kPa", 100}, {1, "g/cc", "kg/m^3", 1000},
		{420, "g/min", "mg/ms", 7}, {1, "km/h", "m/s", 1 / 3.6}, {90, "km/h", "m/s", 25}, {1, "N m", "J", 1},
		{500, "K", "degC", 226.85}, {1, "MPa", "bar", 10}, {2.5, "L", "cc", 2500},
	} {
		conv := mustConv(t, mustParse(t, c.from), mustParse(t, c.to))
		if got := conv.Apply(c.x); got != c.want {
			t.Errorf("%v %s is %.17g %s, want %.17g", c.x, c.from, got, c.to, c.want)
		}
	}
}

// Every whole degree between the boiling points of what an engine meets goes both ways without a stray digit.
func TestWholeDegrees(t *testing.T) {
	c, f := mustParse(t, "degC"), mustParse(t, "degF")
	there, back := mustConv(t, c, f), mustConv(t, f, c)
	for x := -100.0; x <= 1000; x++ {
		y := there.Apply(x)
		if want := (9*x + 160) / 5; y != want {
			t.Fatalf("%v degC is %.17g degF, want %v", x, y, want)
		}
		if z := back.Apply(y); x == 5*math.Trunc(x/5) && z != x {
			t.Fatalf("%v degC comes back as %.17g", x, z)
		}
	}
}

func TestConvOfDifferences(t *testing.T) {
	f := mustParse(t, "degF")
	if got := mustConv(t, Kelvin(), f.Difference()).Apply(10); got != 18 {
		t.Errorf("10 K are %v degrees Fahrenheit", got)
	}
	if c := mustConv(t, Kelvin(), mustParse(t, "degC").Difference()); !c.IsIdentity() {
		t.Errorf("a kelvin isn't a degree Celsius: %+v", c)
	}
}

func TestConvIdentity(t *testing.T) {
	for _, c := range [][2]string{{"mL", "cc"}, {"rpm", "rev/min"}, {"degC", "(degC)"}, {"N m", "J"}, {"hPa", "mbar"}} {
		conv := mustConv(t, mustParse(t, c[0]), mustParse(t, c[1]))
		if !conv.IsIdentity() || conv != (Conv{}) {
			t.Errorf("%s to %s is %+v", c[0], c[1], conv)
		}
		for _, x := range []float64{0.1, math.Copysign(0, -1), math.Inf(1)} {
			if got := conv.Apply(x); math.Float64bits(got) != math.Float64bits(x) {
				t.Errorf("%s to %s makes %v of %v", c[0], c[1], got, x)
			}
		}
	}
	if (Conv{1000, 0, 1}).IsIdentity() || mustConv(t, mustParse(t, "degC"), Kelvin()).IsIdentity() {
		t.Errorf("a conversion that changes the number is an identity")
	}
	if got := mustConv(t, mustParse(t, "kg"), mustParse(t, "lb")).Apply(math.Copysign(0, -1)); !math.Signbit(got) {
		t.Errorf("minus zero lost its sign")
	}
}

func TestDimError(t *testing.T) {
	for _, c := range []struct {
		from, to Unit
		words    []string
	}{
		{mustParse(t, "mg"), mustParse(t, "rpm"), []string{"`mg` (mass)", "`rpm` (engine speed"}},
		{None, mustParse(t, "m"), []string{"plain number", "`m` (length)"}},
		{mustParse(t, "psi"), Percent, []string{"pressure", "`%` (a ratio)"}},
		{mustParse(t, "Hz"), mustParse(t, "rev/s"), []string{"frequency", "engine speed"}},
	} {
		_, err := NewConv(c.from, c.to)
		var de *DimError
		if !errors.As(err, &de) || !de.From.Same(c.from) || !de.To.Same(c.to) {
			t.Errorf("%s to %s: %v", c.from.Text, c.to.Text, err)
			continue
		}
		for _, w := range c.words {
			if !strings.Contains(err.Error(), w) {
				t.Errorf("%q doesn't say %q", err, w)
			}
		}
	}
}

// genPair draws units of one dimension: two names of one quantity, or the products of two such pairs.
func genUnits(t *rapid.T, n int) []Unit {
	byDim := map[Dim][]Unit{}
	var dims []Dim
	for _, i := range Table() {
		if i.Unit.IsPoint() {
			continue
		}
		if byDim[i.Unit.Dim] == nil {
			dims = append(dims, i.Unit.Dim)
		}
		byDim[i.Unit.Dim] = append(byDim[i.Unit.Dim], i.Unit)
	}
	dim := rapid.SampledFrom(dims)
	a, b := dim.Draw(t, "first dimension"), dim.Draw(t, "second dimension")
	var us []Unit
	for range n {
		u := rapid.SampledFrom(byDim[a]).Draw(t, "first")
		us = append(us, u.Div(rapid.SampledFrom(byDim[b]).Draw(t, "second")))
	}
	return us
}

func ulps(a, b float64) float64 {
	return math.Abs(a-b) / (math.Nextafter(math.Abs(b), math.Inf(1)) - math.Abs(b))
}

func TestConvRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		us := genUnits(t, 3)
		x := rapid.Float64Range(1e-6, 1e9).Draw(t, "x")
		there, back := mustConv(t, us[0], us[1]), mustConv(t, us[1], us[0])
		if got := back.Apply(there.Apply(x)); ulps(got, x) > 4 {
			t.Fatalf("%v %s to %s and back is %v", x, us[0].Text, us[1].Text, got)
		}
		direct, by := mustConv(t, us[0], us[2]).Apply(x), mustConv(t, us[1], us[2]).Apply(there.Apply(x))
		if ulps(by, direct) > 6 {
			t.Fatalf("%v %s is %v %s, or %v by way of %s", x, us[0].Text, direct, us[2].Text, by, us[1].Text)
		}
		exact := us[0].Factor.Div(us[1].Factor).Float()
		if got := there.Apply(1); ulps(got, exact) > 0 {
			t.Fatalf("1 %s is %v %s, the exact ratio rounds to %v", us[0].Text, got, us[1].Text, exact)
		}
	})
}

func TestTemperatureRoundTrip(t *testing.T) {
	scales := []string{"degC", "degF", "K"}
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := mustParse(t, rapid.SampledFrom(scales).Draw(t, "a")), mustParse(t, rapid.SampledFrom(scales).Draw(t, "b")), mustParse(t, rapid.SampledFrom(scales).Draw(t, "c"))
		x := rapid.Float64Range(-200, 2000).Draw(t, "x")
		y := mustConv(t, a, b).Apply(x)
		// Zeros lie apart, so the last digit is that of the largest number on the way.
		if got := mustConv(t, b, a).Apply(y); math.Abs(got-x) > 4*0x1p-52*4000 {
			t.Fatalf("%v %s to %s and back is %v", x, a.Text, b.Text, got)
		}
		if got, want := mustConv(t, b, c).Apply(y), mustConv(t, a, c).Apply(x); math.Abs(got-want) > 4*0x1p-52*4000 {
			t.Fatalf("%v %s is %v %s, or %v by way of %s", x, a.Text, want, c.Text, got, b.Text)
		}
	})
}

func BenchmarkApply(b *testing.B) {
	u, _ := Lookup("psi")
	v, _ := Lookup("kPa")
	c, _ := NewConv(u, v)
	x := 1.0
	for b.Loop() {
		x = c.Apply(x) * 0.1450377377
	}
	if math.IsNaN(x) {
		b.Fatal(x)
	}
}
