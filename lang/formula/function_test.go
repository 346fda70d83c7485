package formula_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"fettle/lang/formula"
	"fettle/lang/unit"
)

func TestFunctions(t *testing.T) {
	compareUnits(t, []unitCase{
		{"half(fuel)", 6, "mg"}, {"half(charge)", 250, "mg"}, {"half(half(half(fuel)))", 1.5, "mg"}, {"half(3) + half(1 g)", 501.5, "mg"}, {"blend_of(2, 3)", 9, ""}, {"blend_of(oil_ratio, 3)", 29, ""},
		{"blend_of(blend_of(2, 3), blend_of(4, 1))", 6, ""}, {"hot(21 degC) and hot(70 degF)", 1, "yes/no"}, {"if hot(19 degC) then 1 else 2", 2, ""}, {"held(3)", 6, ""}, {"held(oil_ratio / 8)", 8, ""}, {"part(duty)", 50, "%"},
	})
}

// Straight between its points, held beyond them, exact at each.
func TestCurve(t *testing.T) {
	compareUnits(t, []unitCase{
		{"bend(0 V)", 2, "ms"}, {"bend(1 V)", 0.1, "ms"}, {"bend(3 V)", 10, "ms"}, {"bend(0.5)", 1.05, "ms"}, {"bend(2000 mV)", 5.05, "ms"}, {"bend(-1 V)", 2, "ms"}, {"bend(99)", 10, "ms"},
		{"bend(1 V * n1)", 0.1, "ms"}, {"bend(1 V * n2)", 5.05, "ms"}, {"bend(1 V * n9)", 10, "ms"}, {"bend(1 V / (n1 - n1))", 10, "ms"}, {"bend(-1 V / (n1 - n1))", 2, "ms"}, {"bend(0) + 1 s", 1002, "ms"},
	})
	s := newShop(t)
	v := mustCompile(t, noCell(s), "bend(0 V / (n1 - n1))")
	if got, _ := value(t, s, v.Node); !math.IsNaN(got) {
		t.Errorf("of no number the curve makes %v", got)
	}
	if got := fault(noCell(s), "bend(3 mg)"); got != "E322 at 3 mg" {
		t.Errorf("bend(3 mg): %q", got)
	}
}

// An argument outside its range of validity fails, unless nobody takes the
// branch that it stands in.
func TestRangeOfValidity(t *testing.T) {
	s := newShop(t)
	for _, c := range []struct {
		text  string
		want  float64
		param string // of the function that refuses
	}{
		{"held(10)", 20, ""}, {"held(0)", 0, ""}, {"held(n1 * 10.5)", 0, "x"}, {"held(n1 * -0.5)", 0, "x"}, {"held(oil_ratio)", 0, "x"}, {"held(n1 / (n1 - n1))", 0, "x"}, {"held((n1 - n1) / (n1 - n1))", 0, "x"},
		{"if oil_ratio > 10 then 0 else held(oil_ratio)", 0, ""}, {"if oil_ratio < 10 then 0 else held(oil_ratio)", 0, "x"}, {"(if oil_ratio > 10 then 1 else held(oil_ratio)) + held(2)", 5, ""},
		{"oil_ratio > 10 or held(oil_ratio) > 3", 1, ""}, {"oil_ratio < 10 and held(oil_ratio) > 3", 0, ""}, {"oil_ratio > 10 and held(oil_ratio) > 3", 0, "x"}, {"held(oil_ratio) > 3 or oil_ratio > 10", 0, "x"},
		{"held(rpm / 1 rpm)", 0, "x"}, {"held(lambda)", 1.8, ""}, {"min(held(oil_ratio), 1)", 0, "x"}, {"if wet then held(n1 * 99) else 1", 1, ""}, {"if wet then 1 else held(n1 * 99)", 0, "x"},
	} {
		v := mustCompile(t, anywhere(s), c.text)
		got, err := value(t, s, v.Node)
		var out *formula.OutOfRange
		switch {
		case c.param == "" && (err != nil || got != c.want):
			t.Errorf("%s is %v (%v), want %v", c.text, got, err, c.want)
		case c.param != "" && (!errors.As(err, &out) || out.Bound.Param != c.param || out.Bound.Fn != "held"):
			t.Errorf("%s is %v (%v), want it refused", c.text, got, err)
		case c.param != "" && out.Node.Span.Text() == "":
			t.Errorf("%s: the fault has no place", c.text)
		}
	}
}

// Fixed arguments are looked at once and for all.
func TestRangeOfValidityOfFixedValues(t *testing.T) {
	s := newShop(t)
	for text, want := range map[string]string{"held(10)": "", "held(10.5)": "E330 at held(10.5)", "1 + held(-0.5)": "E330 at held(-0.5)", "held(0 / 0)": "E330 at held(0 / 0)"} {
		if got := fault(anywhere(s), text); got != want {
			t.Errorf("%s: %q, want %q", text, got, want)
		}
	}
}

// A function that names its argument twice, called in itself again and again,
// doubles each time: it is computed while it is small and refused when it
// isn't, and either takes no time.
func TestDoubling(t *testing.T) {
	s := newShop(t)
	s.function(t, "double", "x", "x + x")
	nested := func(deep int) string {
		return strings.Repeat("double(", deep) + "oil_ratio" + strings.Repeat(")", deep)
	}
	v := mustCompile(t, anywhere(s), nested(12))
	if got, _ := value(t, s, v.Node); got != 32*4096 {
		t.Errorf("doubled twelve times, 32 is %v", got)
	}
	start := time.Now()
	for _, deep := range []int{20, 60, 100} {
		if got := fault(anywhere(s), nested(deep)); !strings.HasPrefix(got, "E301 at double(") {
			t.Errorf("%d deep: %q", deep, got)
		}
	}
	if took := time.Since(start); took > time.Second {
		t.Errorf("to refuse them takes %v", took)
	}
	if got := fault(anywhere(s), nested(101)); got != "E301 at oil_ratio" {
		t.Errorf("101 deep: %q", got)
	}
	// By way of functions and of values, each twice as large as the one before.
	s.function(t, "f0", "x", "x * x")
	for i := range 12 {
		s.function(t, fmt.Sprintf("f%d", i+1), "x", fmt.Sprintf("f%d(x) + f%d(x + 1)", i, i))
	}
	v = mustCompile(t, anywhere(s), "f12(oil_ratio)")
	want := 0.0
	for _, c := range pascal(12) { // the sum over all ways of adding 1
		want += c.n * (32 + c.k) * (32 + c.k)
	}
	if got, _ := value(t, s, v.Node); got != want {
		t.Errorf("f12(32) is %v, want %v", got, want)
	}
	s.let(t, "v0", "", "oil_ratio")
	for i := range 12 {
		s.let(t, fmt.Sprintf("v%d", i+1), "", fmt.Sprintf("v%d + v%d", i, i))
	}
	v = mustCompile(t, anywhere(s), "v12 + v12")
	if got, _ := value(t, s, v.Node); got != 32*8192 {
		t.Errorf("v12 + v12 is %v", got)
	}
}

type ways struct{ n, k float64 }

// pascal is in how many ways k of m steps are taken.
func pascal(m int) []ways {
	out := []ways{{1, 0}}
	for k := 1; k <= m; k++ {
		last := out[k-1]
		out = append(out, ways{math.Round(last.n * float64(m-k+1) / float64(k)), float64(k)})
	}
	return out
}

// What is named twice is one node, and computed once.
func TestSharing(t *testing.T) {
	s := newShop(t)
	s.function(t, "square", "x", "x * x")
	v := mustCompile(t, anywhere(s), "square(square(oil_ratio + lambda))")
	adds := 0
	v.Node.Walk(func(n *formula.Node) {
		if n.Op == formula.Add {
			adds++
		}
	})
	if adds != 1 {
		t.Errorf("the argument stands there %d times", adds)
	}
	calls := &counting{shop: s}
	v = mustCompile(t, anywhere(s), "square(square(fuel(throttle, rpm) / 1 mg))")
	m, err := formula.CompileVM(v.Node)
	if err != nil {
		t.Fatal(err)
	}
	for range 2 {
		calls.n = 0
		if _, err := m.Eval(calls); err != nil || calls.n != 1 {
			t.Errorf("the map is looked up %d times (%v)", calls.n, err)
		}
	}
}

type counting struct {
	*shop
	n int
}

func (c *counting) Lookup(m int, at ...float64) float64 {
	c.n++
	return c.shop.Lookup(m, at...)
}

// As brings a value to a place's unit.
func TestAs(t *testing.T) {
	s := newShop(t)
	for _, c := range []struct {
		text, unit string
		want       float64
		fault      string
	}{
		{"3", "mg", 3, ""}, {"3 g", "mg", 3000, ""}, {"fuel", "g", 0.012, ""}, {"-3", "degC", -3, ""}, {"293.15 K", "degC", 20, ""}, {"50 %", "", 0.5, ""}, {"fuel / charge", "%", 2.4, ""}, {"2 * 3", "", 6, ""},
		{"2 * 3", "%", 600, ""}, {"0.2 + 0.1", "%", 0, "E321 at 0.2 + 0.1"}, {"2 * 3", "mg", 0, "E321 at 2 * 3"}, {"2 * 3", "degC", 0, "E321 at 2 * 3"}, {"altitude", "mg", 0, "E322 at altitude"}, {"wet", "mg", 0, "E320 at wet"},
		{"wet", "", 0, "E320 at wet"}, {"fuel", "", 0, "E322 at fuel"},
	} {
		v, errs := compileIn(anywhere(s), c.text)
		n := v.As(units(t, c.unit), "`here`", errs)
		if c.fault != "" {
			if got := errs.Sorted(); n != nil || len(got) != 1 || got[0].Code+" at "+got[0].Span.Text() != c.fault {
				t.Errorf("%s as [%s]: %v", c.text, c.unit, got)
			}
			continue
		}
		if errs.Len() > 0 || n == nil {
			t.Errorf("%s as [%s]: %v", c.text, c.unit, errs.Sorted())
			continue
		}
		if x, err := value(t, s, n); err != nil || math.Abs(x-c.want) > 1e-12 || !n.Type.Unit.Same(units(t, c.unit)) {
			t.Errorf("%s as [%s] is %v [%s], want %v", c.text, c.unit, x, n.Type.Unit.Text, c.want)
		}
	}
	var none *formula.Value
	if none.As(unit.None, "`here`", nil) != nil {
		t.Error("of nothing is made something")
	}
}

// What an expression depends on, and the maps that it reads.
func TestDependencies(t *testing.T) {
	s := newShop(t)
	v := mustCompile(t, anywhere(s), "half(fuel(throttle, speed)) + (if wet then peak else step(fuel, rpm)) * twice")
	n := v.Node
	if got := fmt.Sprint(n.MapsUsed()); got != "[0 4]" || !n.UsesMap(0) || n.UsesMap(1) || !n.UsesMap(4) || !n.OnCell() {
		t.Errorf("it reads the maps %s", got)
	}
	for name, want := range map[string]bool{"speed": true, "wet": true, "oil_ratio": true, "altitude": false, "cold": false} {
		if n.Givens.Has(s.names[name].Index) != want {
			t.Errorf("it depends on %s: %v", name, !want)
		}
	}
	v = mustCompile(t, anywhere(s), "peak")
	if !v.Node.Axes.Has(1) || v.Node.Axes.Has(0) {
		t.Error("a map over rpm depends on rpm and on nothing else")
	}
	if v = mustCompile(t, anywhere(s), "fuel(50 %, 9000 rpm)"); v.Node.Axes != 0 || !v.Node.OnCell() || v.Node.Op == formula.Const {
		t.Error("a map at one point is a map's value all the same")
	}
	var far formula.Bits = 1 << 63
	if !far.Has(63) || !far.Has(1000) || far.Has(62) {
		t.Error("indexes from 63 up share a bit")
	}
}

// An expression as large as may be is compiled and computed without running out
// of anything.
func TestLargest(t *testing.T) {
	s := newShop(t)
	chain := "oil_ratio" + strings.Repeat(" + 1", 2499)
	v := mustCompile(t, anywhere(s), chain)
	if got, err := value(t, s, v.Node); err != nil || got != 32+2499 {
		t.Errorf("the chain is %v (%v)", got, err)
	}
	if got := fault(anywhere(s), chain+" + 1"); !strings.HasPrefix(got, "E301") {
		t.Errorf("one more: %q", got)
	}
	s.function(t, "long", "x", "x"+strings.Repeat(" + 1", 2000))
	deep := strings.Repeat("long(", 45) + "oil_ratio" + strings.Repeat(")", 45)
	v = mustCompile(t, anywhere(s), deep)
	if got, err := value(t, s, v.Node); err != nil || got != 32+45*2000 {
		t.Errorf("45 functions deep it is %v (%v)", got, err)
	}
	if got := fault(anywhere(s), strings.Repeat("(", 101)+"1"+strings.Repeat(")", 101)); !strings.HasPrefix(got, "E301") {
		t.Errorf("101 parentheses: %q", got)
	}
	mustCompile(t, anywhere(s), strings.Repeat("(", 100)+"1"+strings.Repeat(")", 100))
	mustCompile(t, anywhere(s), strings.Repeat("- ", 4000)+"oil_ratio")
	mustCompile(t, anywhere(s), strings.Repeat("not ", 2000)+"wet")
	mustCompile(t, anywhere(s), "oil_ratio"+strings.Repeat(" ^ oil_ratio", 2000))
	mustCompile(t, anywhere(s), strings.Repeat("if wet then 1 else ", 600)+"2")
	mustCompile(t, anywhere(s), strings.Repeat("if wet then ", 600)+"1"+strings.Repeat(" else 2", 600))
}

func TestCompileOfNothing(t *testing.T) {
	v, errs := compileIn(noCell(newShop(t)), "")
	if v != nil || errs.Len() != 1 {
		t.Errorf("%v, %d faults", v, errs.Len())
	}
	if formula.Compile(nil, formula.Context{}, errs) != nil {
		t.Error("of nothing is made something")
	}
}
