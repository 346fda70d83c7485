package unit

import (
	"math"
	"testing"
)

func dimOf(t *testing.T, text string) Dim {
	t.Helper()
	return mustParse(t, text).Dim
}

func mustParse(t interface {
	Helper()
	Fatalf(string, ...any)
}, text string) Unit {
	t.Helper()
	u, err := Parse(text)
	if err != nil {
		t.Fatalf("Parse(%q): %v", text, err)
	}
	return u
}

func TestDimReadsLikeATuner(t *testing.T) {
	for text, want := range map[string]string{
		"%": "none", "mg": "mass", "psi": "pressure", "rpm": "engine speed (angle/time)", "g/min": "flow (mass/time)",
		"cc/min": "flow (volume/time)", "kg/m^3": "density", "Nm": "torque/energy", "kW": "power", "km/h": "speed",
		"Nm rpm": "torque times engine speed", "kgf": "force", "degC": "temperature", "mg/rev": "mass/angle",
		"J/kg/K": "heat capacity (energy/mass/temperature)", "g/mol": "molar mass", "V": "voltage", "ohm": "resistance",
		"Hz": "frequency (1/time)", "kPa/s": "mass/length/time^3", "1/K": "1/temperature", "lb/hp/h": "consumption (mass/energy)",
		"K^2 s": "time temperature^2",
	} {
		if got := dimOf(t, text).String(); got != want {
			t.Errorf("%s reads %q, want %q", text, got, want)
		}
	}
}

func TestDimPow(t *testing.T) {
	area := dimOf(t, "m^2")
	half, ok := area.Pow(1, 2)
	if !ok || half != dimOf(t, "m") {
		t.Errorf("the root of an area is %v, %v", half, ok)
	}
	quarter, ok := area.Pow(1, 24)
	if !ok || quarter != (Dim{Length: 1}) {
		t.Errorf("the 24th root of an area is %v, %v", quarter, ok)
	}
	for _, bad := range [][2]int{{1, 48}, {1, 5}, {1, 0}, {5000, 1}, {math.MaxInt, 1}, {math.MinInt, 1}} {
		if d, ok := area.Pow(bad[0], bad[1]); ok {
			t.Errorf("m^2 to the power %d/%d is %v", bad[0], bad[1], d)
		}
	}
	if d, ok := area.Pow(-1, -2); !ok || d != half {
		t.Errorf("m^2 to the power -1/-2 is %v, %v", d, ok)
	}
	if d, ok := area.Pow(0, 1); !ok || !d.IsNone() {
		t.Errorf("m^2 to the power 0 is %v, %v", d, ok)
	}
}

func TestDimSaturates(t *testing.T) {
	d := Dim{Length: math.MaxInt16}
	if got := d.Mul(d); got != d {
		t.Errorf("the largest exponent doubled is %v", got)
	}
	if got := (Dim{}).Div(d).Div(d); got != (Dim{Length: -math.MaxInt16}) {
		t.Errorf("the smallest exponent doubled is %v", got)
	}
}
