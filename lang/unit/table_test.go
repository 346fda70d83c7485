package unit

import (
	"math"
	"math/big"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
)

// inCoherent converts to coherent units what the golden file names: a unit, or a value on a temperature scale.
func inCoherent(t *testing.T, text string) (float64, Dim) {
	t.Helper()
	x := 1.0
	if number, scale, ok := strings.Cut(text, " "); ok {
		if v, err := strconv.ParseFloat(number, 64); err == nil {
			x, text = v, scale
		}
	}
	u := mustParse(t, text)
	c, err := NewConv(u, Coherent(u.Dim))
	if err != nil {
		t.Fatal(err)
	}
	return c.Apply(x), u.Dim
}

// The golden file says which program made it, and how. Every unit of the table has to be in it.
func TestAgainstGNUUnits(t *testing.T) {
	data, err := os.ReadFile("testdata/gnu-units.txt")
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for line := range strings.Lines(string(data)) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		f := strings.Split(strings.TrimSuffix(line, "\n"), "|")
		if len(f) != 4 {
			t.Fatalf("not four fields: %q", line)
		}
		want, err := strconv.ParseFloat(f[3], 64)
		if err != nil {
			t.Fatal(err)
		}
		got, dim := inCoherent(t, f[0])
		if f[2] != "1" || !dim.IsNone() {
			if want := dimOf(t, strings.ReplaceAll(f[2], "circle", "rev")); dim != want {
				t.Errorf("%s has the dimension %v, want %v", f[0], dim, want)
			}
		}
		// GNU units multiplies float64 step by step, and is a few ulp off the exact value.
		if math.Abs(got-want) > 1e-15*math.Abs(want) {
			t.Errorf("%s is %.17g, GNU units has %.17g", f[0], got, want)
		}
		seen[f[0]], seen[strings.TrimPrefix(f[0], "0 ")] = true, true
	}
	for _, i := range Table() {
		if !seen[i.Name] {
			t.Errorf("%s isn't checked", i.Name)
		}
	}
}

// Values published to a number of digits; NIST SP 811, appendix B.8 lists them.
func TestPublishedValues(t *testing.T) {
	for _, c := range []struct {
		from, to string
		x        float64
		want     string // correctly rounded at its last digit
	}{
		{"hp", "W", 1, "745.699872"},        // GNU units
		{"PS", "W", 1, "735.49875"},         // exact: 75 * 9.80665
		{"lbf ft", "Nm", 1, "1.35581795"},   // GNU units
		{"psi", "Pa", 1, "6894.75729"},      // GNU units
		{"inHg", "Pa", 1, "3386.38864"},     // conventional, GNU units
		{"gal_us", "L", 1, "3.78541178"},    // GNU units
		{"gal_uk", "L", 1, "4.54609"},       // exact
		{"inHg", "kPa", 29.235, "99.0011"},  // GNU units
		{"degF", "degC", 77, "25.0"},        // exact
		{"atm", "Pa", 1, "101325.0"},        // exact
		{"lb", "kg", 1, "0.45359237"},       // exact
		{"rad", "deg", 1, "57.29577951308"}, // 180/pi
	} {
		conv, err := NewConv(mustParse(t, c.from), mustParse(t, c.to))
		if err != nil {
			t.Fatal(err)
		}
		_, decimals, _ := strings.Cut(c.want, ".")
		if got := strconv.FormatFloat(conv.Apply(c.x), 'f', len(decimals), 64); got != c.want {
			t.Errorf("%v %s is %s %s, want %s", c.x, c.from, got, c.to, c.want)
		}
	}
}

// Power from torque and revs, against the constants of the trade: 33000/(2 pi) = 5252.11312 and 60000/(2 pi) = 9549.29659.
func TestPowerFromTorque(t *testing.T) {
	for _, c := range []struct {
		torque, power string
		want          float64
	}{{"lbf_ft", "hp", 5252.11312}, {"Nm", "kW", 9549.29659}} {
		u := mustParse(t, c.torque).Mul(mustParse(t, "rpm")).Div(mustParse(t, "rad"))
		conv, err := NewConv(mustParse(t, c.power), u)
		if err != nil {
			t.Fatal(err)
		}
		if got := conv.Apply(1); math.Abs(got-c.want) > 0.5e-5 {
			t.Errorf("1 %s is %.9g %s rpm / rad, want %.9g", c.power, got, c.torque, c.want)
		}
	}
}

func TestTable(t *testing.T) {
	infos, names := Table(), Names()
	if len(infos) != len(names) || !slices.IsSorted(names) {
		t.Fatalf("%d rows, %d names", len(infos), len(names))
	}
	folded, quantities := map[string]string{}, []string{}
	for i, info := range infos {
		u, ok := Lookup(info.Name)
		if !ok || u.Text != info.Name || !u.Same(info.Unit) || !slices.Contains(names, info.Name) {
			t.Errorf("Lookup(%q) is %v, %v", info.Name, u, ok)
		}
		if info.Definition == "" || info.Source == "" || info.Quantity == "" {
			t.Errorf("%s isn't documented: %+v", info.Name, info)
		}
		if other, ok := folded[strings.ToLower(info.Name)]; ok {
			t.Errorf("%s and %s differ by letter case alone", info.Name, other)
		}
		folded[strings.ToLower(info.Name)] = info.Name
		if i == 0 || infos[i-1].Quantity != info.Quantity {
			if slices.Contains(quantities, info.Quantity) {
				t.Errorf("%s stands apart from its quantity", info.Name)
			}
			quantities = append(quantities, info.Quantity)
		}
		if info.Unit.Factor.Float() <= 0 {
			t.Errorf("%s has the size %v", info.Name, info.Unit.Factor.Float())
		}
	}
	for _, bad := range []string{"", "degc", "kg/m^3", " mg", "1"} {
		if _, ok := Lookup(bad); ok {
			t.Errorf("%q is a unit", bad)
		}
	}
	infos[0].Name, names[0] = "changed", "changed"
	if Table()[0].Name != "kg" || Names()[0] != "%" {
		t.Errorf("the table can be changed from outside")
	}
}

// Units stand in the names of folders, where capitals don't count on some systems.
func TestCapitalsTellNoUnitsApart(t *testing.T) {
	seen := map[string]string{}
	for _, name := range Names() {
		low := strings.ToLower(name)
		if other, ok := seen[low]; ok {
			t.Errorf("%s and %s differ in capitals alone", other, name)
		}
		seen[low] = name
	}
}

// A reader's definition that can't be parsed has to say the same as the row.
func TestShownDefinitions(t *testing.T) {
	rad, _ := Lookup("rad")
	if !rad.Factor.Equal(Factor{big.NewRat(1, 2), -1}) || rad.Dim != dimOf(t, "rev") {
		t.Errorf("a radian is %v", rad)
	}
	hz, _ := Lookup("Hz")
	if !hz.Same(mustParse(t, "1/s")) {
		t.Errorf("a hertz is %v", hz)
	}
	for name, want := range map[string]string{"lb": "0.45359237 kg", "kg": "base unit", "psi": "lbf/in^2", "rad": "1/(2 pi) rev", "cc": "cm^3"} {
		for _, i := range Table() {
			if i.Name == name && i.Definition != want {
				t.Errorf("%s is defined as %q, want %q", name, i.Definition, want)
			}
		}
	}
}

// The whole program starts within 8 ms; the table may take a small part of that, once.
func TestTableIsQuick(t *testing.T) {
	best := time.Hour
	for range 5 {
		start := time.Now()
		buildTable()
		best = min(best, time.Since(start))
	}
	if best > 2*time.Millisecond {
		t.Errorf("working the table out takes %v", best)
	}
}

func BenchmarkBuildTable(b *testing.B) {
	for b.Loop() {
		buildTable()
	}
}
