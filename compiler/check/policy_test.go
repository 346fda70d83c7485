package check_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"fettle/compiler/check"
	"fettle/lang/unit"
)

func mapIn(t *testing.T, name, in string) *check.Map {
	t.Helper()
	m := &check.Map{Name: name}
	if in != "" {
		u, err := unit.Parse(in)
		if err != nil {
			t.Fatal(err)
		}
		m.Unit = u
	}
	return m
}

func TestWithin(t *testing.T) {
	fuel, spark := mapIn(t, "fuel", "mg"), mapIn(t, "spark", "deg")
	p := check.NewPolicy([]check.Allowance{{Map: fuel, Share: true, Amount: 0.02}, {Map: spark, Amount: 0.5}})
	for _, c := range []struct {
		name     string
		old, new float64
		want     bool
	}{
		{"fuel", 100, 102, true},
		{"fuel", 100, 98, true},
		{"fuel", -100, -102, true},
		{"fuel", 15.1, 15.1 * 1.02, true}, // 2 % but for the last bits
		{"fuel", 0.1, 0.102, true},
		{"fuel", 100, 102.001, false},
		{"fuel", 102, 100, true},
		{"fuel", 100, 97.99, false},
		{"fuel", 0, 0, true},
		{"fuel", 0, 1e-300, false}, // 2 % of nothing is nothing
		{"fuel", 0, math.Copysign(0, -1), true},
		{"fuel", 1e-300, 0, false},
		{"spark", 17.3, 17.8, true},
		{"spark", 0.3, -0.2, true},
		{"spark", 1000000.1, 1000000.6, true},
		{"spark", 17.3, 17.81, false},
		{"spark", 0, 0.5, true},
		{"spark", 1, math.Inf(1), false},
		{"fuel", math.Inf(1), 1, false},
		{"fuel", math.Inf(-1), math.Inf(1), false},
		{"spark", math.NaN(), 1, false},
		{"spark", 1, math.NaN(), false},
		{"duty", 1, 1, true},
		{"duty", 1, math.Nextafter(1, 2), false}, // no one allowed it
	} {
		if got := p.Within(c.name, c.old, c.new); got != c.want {
			t.Errorf("%s from %v to %v: %v", c.name, c.old, c.new, got)
		}
	}
	var none check.Policy
	if !none.Empty() || none.Within("fuel", 1, 1.0001) || len(none.Texts()) != 0 {
		t.Error("the zero policy allows something")
	}
	nothing := check.NewPolicy([]check.Allowance{{Map: fuel}})
	if nothing.Within("fuel", 1, math.Nextafter(1, 2)) {
		t.Error("0 mg allows something")
	}
}

func TestStrictest(t *testing.T) {
	fuel, spark, duty := mapIn(t, "fuel", "mg"), mapIn(t, "spark", "deg"), mapIn(t, "duty", "%")
	share := func(m *check.Map, x float64, text string) check.Allowance {
		return check.Allowance{Map: m, Share: true, Amount: x, Text: text}
	}
	amount := func(m *check.Map, x float64, text string) check.Allowance {
		return check.Allowance{Map: m, Amount: x, Text: text}
	}
	for _, c := range []struct {
		what     string
		old, new []check.Allowance
		want     []string
	}{
		{"the smaller share", []check.Allowance{share(fuel, 0.02, "2 %")}, []check.Allowance{share(fuel, 0.05, "5 %")}, []string{"fuel 2 %"}},
		{"the smaller amount", []check.Allowance{amount(spark, 1, "1 deg")}, []check.Allowance{amount(spark, 0.5, "0.5 deg")}, []string{"spark 0.5 deg"}},
		{"a share and an amount", []check.Allowance{amount(fuel, 0.1, "0.1 mg")}, []check.Allowance{share(fuel, 0.02, "2 %")}, []string{"fuel 0.1 mg", "fuel 2 %"}},
		{"only one side", []check.Allowance{share(fuel, 0.02, "2 %"), amount(spark, 1, "1 deg")}, []check.Allowance{amount(spark, 1, "1 deg"), amount(duty, 1, "1 points")}, []string{"spark 1 deg"}},
		{"none before", nil, []check.Allowance{share(fuel, 0.02, "2 %")}, nil},
		{"another unit", []check.Allowance{amount(mapIn(t, "fuel", "g"), 0.0001, "0.0001 g")}, []check.Allowance{amount(fuel, 0.2, "0.2 mg")}, []string{"fuel 0.0001 g"}},
		{"another kind", []check.Allowance{amount(mapIn(t, "fuel", "ms"), 1, "1 ms")}, []check.Allowance{amount(fuel, 0.2, "0.2 mg")}, nil},
	} {
		if got := check.Strictest(c.old, c.new).Texts(); !slices.Equal(got, c.want) {
			t.Errorf("%s: %q", c.what, got)
		}
	}
	both := check.Strictest([]check.Allowance{amount(fuel, 0.1, "")}, []check.Allowance{share(fuel, 0.02, "")})
	if !both.Within("fuel", 4, 4.08) || both.Within("fuel", 4, 4.09) || both.Within("fuel", 10, 10.11) || !both.Within("fuel", 10, 10.1) {
		t.Error("a cell has to be within both")
	}
	grams := check.Strictest([]check.Allowance{amount(mapIn(t, "fuel", "g"), 0.0001, "")}, []check.Allowance{amount(fuel, 0.2, "")})
	if !grams.Within("fuel", 4, 4.1) || grams.Within("fuel", 4, 4.11) {
		t.Error("0.0001 g is 0.1 mg")
	}
}

// What the stricter of two policies hides, each of them hides; and the other way
// round. Which is the old one makes no difference in one unit.
func TestStrictestIsBoth(t *testing.T) {
	maps := []*check.Map{mapIn(t, "fuel", "mg"), mapIn(t, "spark", "deg")}
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) (out []check.Allowance) {
			for _, m := range maps {
				if rapid.IntRange(0, 3).Draw(t, name) > 0 {
					out = append(out, check.Allowance{Map: m, Share: rapid.Bool().Draw(t, name), Amount: rapid.Float64Range(0, 2).Draw(t, name)})
				}
			}
			return out
		}
		a, b := draw("a"), draw("b")
		for range 5 {
			m := rapid.SampledFrom(maps).Draw(t, "map").Name
			old, new := rapid.Float64Range(-3, 3).Draw(t, "old"), rapid.Float64Range(-3, 3).Draw(t, "new")
			want := check.NewPolicy(a).Within(m, old, new) && check.NewPolicy(b).Within(m, old, new)
			if got := check.Strictest(a, b).Within(m, old, new); got != want {
				t.Fatalf("%s from %v to %v: %v, one by one %v", m, old, new, got, want)
			}
			if check.Strictest(b, a).Within(m, old, new) != want {
				t.Fatalf("%s from %v to %v: the order of the two matters", m, old, new)
			}
		}
	})
}
