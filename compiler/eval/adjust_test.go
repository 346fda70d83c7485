package eval

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"fettle/compiler/check"
	"fettle/compiler/plan"
)

const adjustGround = `
axis x 0..10
given lift = 3
given mg_more [mg] = 0
map mass [mg] { x | 0 1 2
                  | 12 12 12 }
map share [%] { x | 0 1 2
                  | 50 50 50 }
map plain     { x | 0 1 2
                  | 8 8 8 }
map heat [degC] { x | 0 1 2
                    | 20 20 20 }
map warm [degF] { x | 0 1 2
                    | 68 68 68 }
map ramp      { x | 0 1 2
                  | 0 1 2 }
variant bench { }
`

// Each adjustment at the weights 0, a half and 1, by the table of the
// reference: at x = 0, 1 and 2 of a range from 2 with a feather of 2.
func TestAdjustments(t *testing.T) {
	for _, c := range []struct {
		m, adjust string
		want      [3]float64
	}{
		{"mass", "= 20 mg", [3]float64{12, 16, 20}}, {"mass", "= 20", [3]float64{12, 16, 20}}, {"mass", "= 0.02 g", [3]float64{12, 16, 20}}, {"mass", "= mass * 2", [3]float64{12, 18, 24}},
		{"mass", "+= 2 mg", [3]float64{12, 13, 14}}, {"mass", "+= 2", [3]float64{12, 13, 14}}, {"mass", "+= -2", [3]float64{12, 11, 10}}, {"mass", "-= 2 mg", [3]float64{12, 11, 10}},
		{"mass", "+= 10 %", [3]float64{12, 12.6, 13.2}}, {"mass", "-= 10 %", [3]float64{12, 11.4, 10.8}}, {"mass", "+= lift / 30", [3]float64{12, 12.6, 13.2}}, {"mass", "-= mass / 120 mg", [3]float64{12, 11.4, 10.8}},
		{"mass", "+= mass / 10", [3]float64{12, 12.6, 13.2}}, {"mass", "*= 1.2", [3]float64{12, 13.2, 14.4}}, {"mass", "*= 120 %", [3]float64{12, 13.2, 14.4}}, {"mass", "/= 1.25", [3]float64{12, 10.8, 9.6}},
		{"mass", "/= 125 %", [3]float64{12, 10.8, 9.6}}, {"mass", "*= 0", [3]float64{12, 6, 0}}, {"mass", "*= -1", [3]float64{12, 0, -12}}, {"mass", "*= lift - 2", [3]float64{12, 12, 12}},
		{"share", "= 60 %", [3]float64{50, 55, 60}}, {"share", "= 0.6 * 1", [3]float64{50, 55, 60}}, {"share", "+= 5 %", [3]float64{50, 52.5, 55}}, {"share", "+= 5", [3]float64{50, 52.5, 55}}, {"share", "-= 5", [3]float64{50, 47.5, 45}},
		{"share", "+= lift / 60", [3]float64{50, 52.5, 55}}, {"share", "*= 1.1", [3]float64{50, 52.5, 55}}, {"share", "/= 2", [3]float64{50, 37.5, 25}},
		{"plain", "+= 2", [3]float64{8, 9, 10}}, {"plain", "+= lift / 3", [3]float64{8, 8.5, 9}}, {"plain", "-= share", [3]float64{8, 7.75, 7.5}}, {"plain", "*= 1.5", [3]float64{8, 10, 12}}, {"plain", "= 4", [3]float64{8, 6, 4}},
		{"heat", "= 30", [3]float64{20, 25, 30}}, {"heat", "= 303.15 K", [3]float64{20, 25, 30}}, {"heat", "= 86 degF", [3]float64{20, 25, 30}}, {"heat", "+= 5", [3]float64{20, 22.5, 25}}, {"heat", "-= 5 K", [3]float64{20, 17.5, 15}},
		{"warm", "+= 5", [3]float64{68, 72.5, 77}}, {"warm", "= 25 degC", [3]float64{68, 72.5, 77}}, {"heat", "+= heat - 10 degC", [3]float64{20, 25, 30}},
	} {
		b := lower(t, adjustGround+fmt.Sprintf("rule r { %s %s over x 2.. feather 2 }", c.m, c.adjust))
		b.expect(t, b.run(t, "bench", Options{}), c.m, c.want[:]...)
		trim := lower(t, strings.Replace(adjustGround, "variant bench { }", "", 1)+fmt.Sprintf("variant bench { trim %s %s over x 2.. feather 2 }", c.m, c.adjust))
		trim.expect(t, trim.run(t, "bench", Options{}), c.m, c.want[:]...)
	}
}

// At full weight it is the plain operation, to the last bit.
func TestFullWeightIsExact(t *testing.T) {
	old, by := 3.3, 1.1
	for _, c := range []struct {
		op   string
		want float64
	}{{"= 0.1", 0.1}, {"*= 1.1", old * by}, {"/= 1.1", old / by}, {"+= 1.1", old + by}, {"-= 1.1", old - by}} {
		b := lower(t, "axis x 0..1\nmap m {\n x | 0 1\n | 3.3 7\n}\nvariant bench { }\nrule r { m "+c.op+" over x ..0 }")
		if got := b.cells(t, b.run(t, "bench", Options{}), "m")[0]; !sameBits(got, c.want) {
			t.Errorf("3.3 %s is %.17g, want %.17g", c.op, got, c.want)
		}
	}
}

// Adjustments act in the order written; a map's own name is what they have left
// so far, a look-up of it the whole map as it was before; others are final.
func TestOrderOfAdjustments(t *testing.T) {
	b := lower(t, adjustGround+`
map seen like ramp = ramp
rule first {
  ramp += 1
  ramp *= 10
}
rule second {
  ramp = ramp(x - 1) + ramp
  plain = ramp
}
map later like plain = plain + 1
rule third when lift > 5 { ramp = 0 }
rule fourth { ramp -= 1 where x > 0 }
`)
	// ramp: 0 1 2, 1 2 3, 10 20 30, 20 30 50, 20 29 49
	res := b.run(t, "bench", Options{})
	b.expect(t, res, "ramp", 20, 29, 49)
	b.expect(t, res, "plain", 20, 29, 49)
	b.expect(t, res, "seen", 20, 29, 49)
	b.expect(t, res, "later", 21, 30, 50)
}

// Where the weight is 0 the amount isn't asked for; where it isn't, what has no
// finite value fails the tune, naming cell and rule.
func TestFaults(t *testing.T) {
	for _, c := range []struct {
		rule string
		cell int // -2: none
		span string
	}{
		{"rule r { mass /= ramp over x 1.. }", -2, ""}, {"rule r { mass /= ramp where x > 0 }", -2, ""}, {"rule r { mass /= ramp over x 0.. }", 0, "mass /= ramp over x 0.."}, {"rule r { mass /= 1 - ramp over x ..0.5 feather 0.5 }", -2, ""},
		{"rule r { mass /= 1 - ramp }", 1, "mass /= 1 - ramp"}, {"rule r { mass = 1e300 mg * ramp * 1e300 }", 1, "mass = 1e300 mg * ramp * 1e300"}, {"rule r { plain = (-ramp) ^ 0.5 where x > 0 }", 1, "plain = (-ramp) ^ 0.5 where x > 0"},
		{"rule r when lift > 5 { mass /= 0 * lift }", -2, ""}, {"rule r { plain = log(ramp) }", 0, "plain = log(ramp)"},
		{"fn held(x within 1..) = x\nrule r { plain = held(ramp) over x 1.. }", -2, ""}, {"fn held(x within 1..) = x\nrule r { plain = held(ramp) }", 0, "ramp"}, {"fn held(x within 1..) = x\nrule r { plain = if x >= 1 then held(ramp) else 0 }", -2, ""},
		{"fn held(x within 1..) = x\nrule r { plain += 1 where held(ramp) > 0 }", 0, "ramp"}, {"fn held(x within 1..) = x\nrule r when held(lift - 3) > 0 { plain += 1 }", -1, ""}, {"fn held(x within 1..) = x\nrule r { plain += 1 over x held_at.. }\nlet held_at = held(lift - 3)", -1, "x held_at.."},
	} {
		text := adjustGround + c.rule
		text = strings.ReplaceAll(text, "fn held(x", "fn held(v") // x is an axis
		text = strings.ReplaceAll(text, "1..) = x", "1..) = v")
		b := lower(t, text)
		f := b.run(t, "bench", Options{}).Fault
		switch {
		case c.cell == -2 && f != nil:
			t.Errorf("%s: %+v", c.rule, f)
		case c.cell == -2:
		case f == nil:
			t.Errorf("%s: no fault", c.rule)
		case f.Cell != c.cell || c.span != "" && f.Span.Text() != c.span || f.Step == nil || f.Step.Rule.Name != "r" || f.Reason == "":
			t.Errorf("%s: %+v at %q", c.rule, f, f.Span.Text())
		}
	}
	b := lower(t, adjustGround+"map bad like ramp = 1 / ramp")
	if f := b.run(t, "bench", Options{}).Fault; f == nil || f.Map.Name != "bad" || f.Cell != 0 || f.Step != nil {
		t.Errorf("a formula without a value: %+v", f)
	}
}

// What a step did is counted.
func TestStepResults(t *testing.T) {
	b := lower(t, adjustGround+`
rule none when lift > 5 { mass += 1 }
rule all { mass += 1 }
rule some { mass += 1 over x 2.. feather 2 }
rule same { mass *= 1 over x 1.. }
rule between { mass += 1 over x 0.2..0.8, x 1.. }
rule where_only { mass += 1 where x > 0 }
rule zero { mass += mg_more }
`)
	res := b.run(t, "bench", Options{Count: true})
	b.expect(t, res, "mass", 13, 14.5, 15)
	for i, want := range []StepResult{
		{}, {Applied: true, Touched: 3, Changed: 3}, {Applied: true, Touched: 2, Changed: 2, Weights: []bool{true}}, {Applied: true, Touched: 2, Weights: []bool{true}},
		{Applied: true, Weights: []bool{false, true}}, {Applied: true, Touched: 2, Changed: 2}, {Applied: true, Touched: 3},
	} {
		r := b.Check.Rules[i]
		want.Step = r.Steps[0]
		if got := res.Step(r.Steps[0]); fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("rule %s did %+v, want %+v", r.Name, got, want)
		}
	}
}

// An `=` of full weight throws away what other rules did to a cell; one that
// reads the map, or of half weight, or of the same rule, doesn't.
func TestThrown(t *testing.T) {
	for _, c := range []struct{ rules, want string }{
		{"rule a { mass += 1 }\nrule b { mass = 5 over x 1.. }", "a b 2"},
		{"rule a { mass += 1 over x 2.. }\nrule b { mass = 5 }", "a b 1"},
		{"rule a { mass += 1 over x 2.. }\nrule b { mass = 5 over x ..1 }", ""},
		{"rule a { mass += 1 }\nrule b { mass = 5 over x 9.. feather 9 }", ""},
		{"rule a { mass += 1 }\nrule b { mass = mass + 1 }", ""},
		{"rule a { mass += 1 }\nrule b { mass = mass(x) }", ""},
		{"rule a {\n mass += 1\n mass = 5\n}", ""},
		{"rule a { mass *= 1 }\nrule b { mass = 5 }", ""},
		{"rule a { mass += 1 }\nrule b { mass *= 2 }\nrule c { mass = 5 }", "b c 3"},
		{"rule a { mass += 1 }\nrule b { mass *= 2 over x 2.. }\nrule c { mass = 5 }", "a c 2, b c 1"},
		{"rule a when lift > 5 { mass += 1 }\nrule c { mass = 5 }", ""},
		{"rule a { mass += 1 }\nrule b { mass = 5 where x > 1 }", "a b 1"},
		{"rule a { mass += 1 }\nrule b { plain = 5 }", ""},
	} {
		b := lower(t, adjustGround+c.rules)
		var got []string
		for _, th := range b.run(t, "bench", Options{Thrown: true}).Thrown {
			got = append(got, fmt.Sprintf("%s %s %d", th.Earlier.Rule.Name, th.Later.Rule.Name, th.Cells))
		}
		if strings.Join(got, ", ") != c.want {
			t.Errorf("%s\n%s, want %s", c.rules, got, c.want)
		}
		if n := len(b.run(t, "bench", Options{}).Thrown); n > 0 {
			t.Errorf("%s\n%d are told without being asked for", c.rules, n)
		}
	}
}

// A mix computes each element with conditions of its own, or leaves it out.
func TestMix(t *testing.T) {
	b := lower(t, strings.Replace(adjustGround, "variant bench { }", `
variant bench { trim mass += 100 }
variant other {
  lift = 5
  trim mass += 1000
}`, 1)+`
map made like ramp = ramp * lift
rule up { mass += lift * 1 mg }
rule double when lift > 4 { mass *= 2 }
limit most: mass <= 500 mg else clamp
`)
	bench, other := b.plan.Find("bench"), b.plan.Find("other")
	pure := Pure(b.Check, bench)
	b.expect(t, b.mix(t, pure, Options{}), "mass", 115, 115, 115)
	b.expect(t, b.run(t, "other", Options{}), "mass", 500, 500, 500) // (12 + 5) * 2 + 1000
	here, there := bench.Conditions(b.Check), other.Conditions(b.Check)
	choose := func(of map[string]*plan.Conditions) func(s *check.Step) *plan.Conditions {
		return func(s *check.Step) *plan.Conditions {
			if s.Rule == nil {
				return here
			}
			return of[s.Rule.Name]
		}
	}
	for _, c := range []struct {
		name string
		set  func(*Mix)
		mass float64
		made float64 // at x = 2
	}{
		{"without the first rule", func(m *Mix) { m.Step = choose(map[string]*plan.Conditions{"double": here}) }, 112, 6},
		{"the first with the other's", func(m *Mix) { m.Step = choose(map[string]*plan.Conditions{"up": there, "double": here}) }, 117, 6},
		{"the second with the other's", func(m *Mix) { m.Step = choose(map[string]*plan.Conditions{"up": here, "double": there}) }, 130, 6},
		{"without trims", func(m *Mix) { m.Trims = nil }, 15, 6},
		{"with the other's trims", func(m *Mix) { m.Trims = other.Trims }, 500, 6},
		{"and without the clamp", func(m *Mix) {
			m.Trims, m.Clamp = other.Trims, func(*check.Limit) *plan.Conditions { return nil }
		}, 1015, 6},
		{"with the other's base", func(m *Mix) { m.Base = func(*check.Map) *plan.Conditions { return there } }, 115, 10},
		{"without any step", func(m *Mix) { m.Step = func(*check.Step) *plan.Conditions { return nil } }, 12, 6},
	} {
		mix := pure
		c.set(&mix)
		res := b.mix(t, mix, Options{})
		b.expect(t, res, "mass", c.mass, c.mass, c.mass)
		b.expect(t, res, "made", 0, c.made/2, c.made)
	}
	mix := pure
	mix.Step = func(*check.Step) *plan.Conditions { return nil }
	res := b.mix(t, mix, Options{})
	if got := res.Step(b.Check.Rules[0].Steps[0]); got.Applied {
		t.Errorf("a step that was left out did %+v", got)
	}
}

// A clamp caps cells between its bounds, after rules and trims, where its
// `where` looks and while its `when` holds.
func TestClamp(t *testing.T) {
	for _, c := range []struct {
		limits       string
		want         []float64 // of ramp, 0 1 2 by itself
		cells, at    int
		worst, value float64
	}{
		{"limit a: ramp <= 1.5 else clamp", []float64{0, 1, 1.5}, 1, 2, 0.5, 2},
		{"limit a: ramp >= 0.5 else clamp", []float64{0.5, 1, 2}, 1, 0, 0.5, 0},
		{"limit a: 0.75 <= ramp <= 1.5 else clamp", []float64{0.75, 1, 1.5}, 2, 0, 0.75, 0},
		{"limit a: 0.5 >= ramp else clamp", []float64{0, 0.5, 0.5}, 2, 2, 1.5, 2},
		{"limit a: ramp <= 0.5 where x < 2 else clamp", []float64{0, 0.5, 2}, 1, 1, 0.5, 1},
		{"limit a: ramp <= 0.5 when lift < 3 else clamp", []float64{0, 1, 2}, 0, -1, 0, 0},
		{"limit a: ramp <= 5 else clamp", []float64{0, 1, 2}, 0, -1, 0, 0},
		{"limit a: ramp <= plain(x) / 16 else clamp", []float64{0, 0.5, 0.5}, 2, 2, 1.5, 2},
		{"limit a: ramp <= 1 / x where x > 0 else clamp", []float64{0, 1, 0.5}, 1, 2, 1.5, 2},                                // it has no bound at 0, and doesn't look there
		{"fn held(v within 1..) = v\nlimit a: ramp <= held(x) / 2 where x > 0 else clamp", []float64{0, 0.5, 1}, 2, 2, 1, 2}, // nor this
		{"rule r { ramp += 1 }\nlimit a: ramp <= 2.5 else clamp", []float64{1, 2, 2.5}, 1, 2, 0.5, 3},
	} {
		b := lower(t, adjustGround+c.limits+"\nmap seen like ramp = ramp")
		res := b.run(t, "bench", Options{})
		b.expect(t, res, "ramp", c.want...)
		b.expect(t, res, "seen", c.want...)
		if cr := res.Clamp(b.Check.Limits[0]); cr.Cells != c.cells || cr.At != c.at || cr.Worst != c.worst || cr.Before != c.value || cr.Applied != (c.cells > 0 || !strings.Contains(c.limits, "when")) {
			t.Errorf("%s: %+v", c.limits, cr)
		}
	}
	b := lower(t, adjustGround+"limit a: ramp <= 1.5 else clamp\nlimit b: ramp >= 1.75 else clamp\nlimit c: ramp <= 1.9 else clamp")
	b.expect(t, b.run(t, "bench", Options{}), "ramp", 1.75, 1.75, 1.75) // in the order written
	b = lower(t, adjustGround+"limit a: ramp <= 1 / x else clamp")
	if f := b.run(t, "bench", Options{}).Fault; f == nil || f.Map.Name != "ramp" || f.Cell != 0 {
		t.Errorf("a bound without a value: %+v", f)
	}
}

// The chain of a cell: base, then what each step left, then the clamps.
func TestTrace(t *testing.T) {
	b := lower(t, strings.Replace(adjustGround, "variant bench { }", "variant bench { trim ramp += 4 over x 2.. feather 2 }", 1)+`
rule a { ramp *= 3 }
rule none when lift > 5 { ramp = 0 }
limit most: ramp <= 6 else clamp
`)
	res := b.run(t, "bench", Options{Trace: func(m *check.Map) bool { return m.Name == "ramp" }})
	if len(res.Traces) != 1 {
		t.Fatalf("%d traces", len(res.Traces))
	}
	tr := res.Traces[b.Check.Maps[b.index(t, "ramp")]]
	type link struct{ amount, weight, after []float64 }
	linkOf := func(s *StepTrace) link {
		if !s.Applied {
			return link{}
		}
		return link{s.Amounts(), s.Weights(), s.After}
	}
	want := []link{{[]float64{3, 3, 3}, []float64{1, 1, 1}, []float64{0, 3, 6}}, {}, {[]float64{4, 4, 4}, []float64{0, 0.5, 1}, []float64{0, 5, 10}}, {[]float64{6, 6, 6}, []float64{0, 0, 1}, []float64{0, 5, 6}}}
	if len(tr.Steps) != len(want) {
		t.Fatalf("%d links", len(tr.Steps))
	}
	if fmt.Sprint(tr.Base, tr.Final) != "[0 1 2] [0 5 6]" {
		t.Errorf("from %v to %v", tr.Base, tr.Final)
	}
	for i, s := range tr.Steps {
		if got := linkOf(&s); fmt.Sprint(got) != fmt.Sprint(want[i]) || s.Applied != (i != 1) || (s.Clamp != nil) != (i == 3) {
			t.Errorf("link %d is %+v, want %+v", i, s, want[i])
		}
	}
}

// Column evaluates over cells of the caller's, on a result's final maps.
func TestColumn(t *testing.T) {
	b := lower(t, adjustGround+`
fn held(v within 1..) = v
map wide { x | 0 4
             | 0 40 }
limit l: held(ramp) * wide + lift >= 0
`)
	res := b.run(t, "bench", Options{})
	cells := &Cells{RowAxis: -1, ColAxis: b.Check.Maps[0].Axes[0], Cols: []float64{0, 1, 1.5, 4}}
	x := b.LowerOver(b.Check.Limits[0].Cond.Kids[0], cells)
	env := b.plan.Find("bench").Conditions(b.Check)
	for _, reference := range []bool{false, true} {
		probe := b.Probe(res, reference)
		got, err := probe.Column(x, env, Column{[]float64{0, 1, 1, 1}, 4, 1}, First)
		if err != nil || got.At(0, 1) != 13 || got.At(0, 2) != 1.5*15+3 || got.At(0, 3) != 2*40+3 {
			t.Errorf("%v (%v)", got, err)
		}
		_, err = probe.Column(x, env, Column{}, First)
		probe.Close()
		if err == nil || !strings.Contains(err.Error(), "held") {
			t.Errorf("outside the range of validity: %v", err)
		}
	}
	if x.Node() != b.Check.Limits[0].Cond.Kids[0] || cells.N() != 4 {
		t.Error("the expression isn't the one that was lowered")
	}
	if math.IsNaN(res.Maps[0].Cells[0]) {
		t.Error("the result was changed")
	}
}
