package prove

import (
	"math"
	"strings"
	"sync"
	"testing"
)

const small = `
axis load [%] 0..100
axis rpm 0..10000
given height [m] = 0 within -500..5000
given heat [degC] = 20 within -40..60
given wet = no
map fuel [mg] {
  load \ rpm | 1000 2000 4000
  0          |    1    2    3
  100        |    4    6    5
}
variant bench { }
variant rain { wet = yes }
`

// verdict proves the one limit of a source for a tune.
func verdict(t *testing.T, text, tune string, budget int) *Verdict {
	t.Helper()
	x := source(t, small+text)
	out := x.Tune(x.plan.Find(tune), budget)
	if len(out) != 1 {
		t.Fatalf("there are %d verdicts", len(out))
	}
	return out[0]
}

func TestVerdicts(t *testing.T) {
	// Of what varies by a tenth for each 1000 m the most is at 2000 m, 1.2 times 6 mg.
	thin := "rule thin { fuel *= 1 + height / 10000 m }\n"
	over := " for height -500 m..2000 m"
	for _, c := range []struct {
		name, text, tune string
		state            State
		margin, within   float64 // the margin is at most so, and less by no more
		at               []float64
		conditions       []float64
	}{
		{"a bound of a map", thin + "limit l: fuel <= 8 mg" + over, "bench", Proved, 0.8, 0.05, []float64{100, 2000}, []float64{2000}},
		{"the bound that is reached", thin + "limit l: fuel <= 7.2 mg" + over, "bench", Proved, 0, 1e-9, []float64{100, 2000}, []float64{2000}},
		{"a bound that is passed", thin + "limit l: fuel <= 7 mg" + over, "bench", Refuted, -0.2, 1e-12, []float64{100, 2000}, []float64{2000}},
		{"from below", thin + "limit l: 0.9 mg <= fuel" + over, "bench", Proved, 0.05, 0.01, []float64{0, 1000}, []float64{-500}},
		{"a range", thin + "limit l: 0.9 mg <= fuel <= 8 mg" + over, "bench", Proved, 0.05, 0.01, []float64{0, 1000}, []float64{-500}},
		// The least is in the middle of the range.
		{"inside the box", "rule r { fuel *= 1 + ((height - 700 m) / 1000 m) ^ 2 }\nlimit l: fuel >= 0.9 mg" + over, "bench", Proved, 0.1, 0.02, nil, nil},
		{"passed inside the box alone", "rule r { fuel *= 1 + ((height - 700 m) / 1000 m) ^ 2 }\nlimit l: fuel >= 1.0001 mg" + over, "bench", Refuted, -0.0001 + 1e-9, 1e-8, []float64{0, 1000}, []float64{700}},
		// load * (100 - load) is 2500 between two cells in which it is 0.
		{"between the cells", "limit l: (load / 1 %) * (100 - load / 1 %) + 0 * fuel / 1 mg <= 2400" + over, "bench", Refuted, -100, 1e-6, nil, nil},
		{"between the cells, held", "limit l: (load / 1 %) * (100 - load / 1 %) + 0 * fuel / 1 mg <= 2600" + over, "bench", Proved, 100, 10, nil, nil},
		{"where it is looked at", thin + "limit l: fuel <= 5 mg where load <= 50" + over, "bench", Proved, 0.2, 0.02, nil, nil},
		{"where it isn't", thin + "limit l: fuel <= 4.7 mg where load <= 50" + over, "bench", Refuted, -0.1, 1e-6, nil, []float64{2000}},
		{"when it counts", "limit l: fuel <= 5 mg when wet" + over, "rain", Refuted, -1, 1e-12, []float64{100, 2000}, nil},
		{"in no tune", "limit l: fuel <= 5 mg when wet" + over, "bench", Proved, math.Inf(1), 0, nil, nil},
		{"a rule that begins in the box", "rule high when height > 1000 m { fuel += 1 mg }\nlimit l: fuel <= 7.5 mg" + over, "bench", Proved, 0.5, 0.05, nil, nil},
		{"a rule that begins in the box and is too much", "rule high when height > 1990 m { fuel += 1 mg }\nlimit l: fuel <= 6.5 mg" + over, "bench", Refuted, -0.5, 1e-12, []float64{100, 2000}, nil},
		{"a clamp", thin + "limit cap: fuel <= 5 mg else clamp\nlimit l: fuel <= 5 mg" + over, "bench", Proved, 0, 1e-9, nil, nil},
		{"steps of cells", thin + "limit l: step(fuel, rpm) <= 3 mg" + over, "bench", Proved, 0.6, 0.05, nil, nil},
		{"a condition without a margin", thin + "limit l: fuel < 0.5 mg or fuel > 0.9 mg" + over, "bench", Proved, math.Inf(1), 0, nil, nil},
		{"one that doesn't hold between cells", thin + "limit l: fuel < 1.8 mg or fuel > 1.9 mg" + over, "bench", Refuted, math.Inf(1), 0, nil, nil},
		{"two conditions", "rule r { fuel *= (1 + height / 10000 m) * (1 - (heat - 20 degC) / 1000 K) }\nlimit l: fuel <= 8 mg" + over + ", heat -20 degC..60 degC", "bench", Proved, 0.512, 0.05, []float64{100, 2000}, []float64{2000, -20}},
		{"a condition that cancels", "rule r { fuel *= exp(height / 1000 m) \n fuel /= exp(height / 1000 m) }\nlimit l: fuel <= 6.1 mg" + over, "bench", Proved, 0.1, 0.03, nil, nil},
	} {
		v := verdict(t, c.text+"\n", c.tune, 0)
		bad := v.State != c.state || v.HasMargin == math.IsInf(c.margin, 1)
		bad = bad || v.HasMargin && (v.Margin > c.margin+1e-12 || v.Margin < c.margin-c.within)
		for i, x := range c.at {
			bad = bad || math.Abs(v.At[i]-x) > 1e-3*math.Abs(x)
		}
		for i, x := range c.conditions {
			bad = bad || math.Abs(v.Conditions[i].Value-x) > 1e-2*math.Abs(x)
		}
		if bad {
			t.Errorf("%s: %s\n%s", c.name, show(v), c.text)
		}
	}
}

// A tune that fails somewhere in the range refutes the limit, with the reason.
func TestATuneThatFails(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"no value", "rule r { fuel /= (height - 1000 m) / 1 m }", "finite"},
		{"out of the range of validity", "fn f(x [m] within 0..1500) = 1 + x / 1 km\nrule r { fuel *= f(abs(height)) }", "range of validity"},
		{"a range the wrong way round", "rule r { fuel += 1 mg over rpm 1000..(height / 1 m) }", "before it begins"},
	} {
		over := " for height 0 m..2000 m\n"
		v := verdict(t, c.text+"\nlimit l: fuel <= 900 g"+over, "bench", 0)
		if v.State != Refuted || !strings.Contains(v.Problem, c.want) {
			t.Errorf("%s: %s", c.name, show(v))
		}
	}
}

// What isn't certain within the budget is said to be undecided, with what is certain.
func TestUndecided(t *testing.T) {
	// The two are the same, but by ways that no box sees to be.
	text := "map other [mg] like fuel = fuel * (height / 1 km - 0.3) ^ 2\nmap twice [mg] like fuel = fuel * (height / 1 km - 0.3) * (height / 1 km - 0.3)\nlimit l: abs(other - twice) <= 0.000001 mg for height -500 m..2000 m\n"
	v := verdict(t, text, "bench", 20)
	if v.State != Undecided || !v.HasMargin || v.Margin > 0 || v.Margin < -6 || v.Boxes > 20 || len(v.Conditions) != 1 {
		t.Errorf("it is %s", show(v))
	}
	more := verdict(t, text, "bench", 200)
	if more.Margin <= v.Margin {
		t.Errorf("with more boxes it is %s", show(more))
	}
}

// Tunes that are the same but for what the range covers share a verdict.
func TestSharedVerdicts(t *testing.T) {
	x := source(t, small+"rule r when not wet { fuel *= 1 + height / 10000 m }\nvariants v {\n height = 0 m, 500 m\n heat = 0, 30\n wet = no, yes\n}\nlimit l: fuel <= 8 mg for height -500 m..2000 m\n")
	for _, tune := range x.plan.Tunes {
		x.Tune(tune, 0)
	}
	if len(x.known) != 2 {
		t.Errorf("%d verdicts were worked out", len(x.known))
	}
	x = source(t, small+"variant a { trim fuel += 1 mg }\nvariant b { trim fuel += 2 mg }\nvariant c from b { heat = 5 }\nlimit l: fuel <= 9 mg for height -500 m..2000 m\n")
	for name, want := range map[string]float64{"bench": 3, "a": 2, "b": 1, "c": 1} {
		if v := x.Tune(x.plan.Find(name), 0)[0]; math.Abs(v.Margin-want) > 1e-9 {
			t.Errorf("%s: %s", name, show(v))
		}
	}
}

// Many at once get the verdicts that one alone gets.
func TestAtOnce(t *testing.T) {
	text := small + "rule r when not wet { fuel *= 1 + height / 10000 m }\nrule s { fuel *= 1 + (heat - 20 degC) / 1000 K }\nvariants v {\n heat = 0, 10, 20, 30\n wet = no, yes\n}\nlimit l: fuel <= 8 mg for height -500 m..2000 m\nlimit m: fuel * rpm <= 25000 mg for height -500 m..2000 m\n"
	one, all := source(t, text), source(t, text)
	got := make([][]*Verdict, len(all.plan.Tunes))
	var wg sync.WaitGroup
	for range 3 {
		for i, tune := range all.plan.Tunes {
			wg.Go(func() {
				v := all.Tune(tune, 0)
				all.mu.Lock()
				got[i] = v
				all.mu.Unlock()
			})
		}
	}
	wg.Wait()
	for i, tune := range one.plan.Tunes {
		for k, v := range one.Tune(tune, 0) {
			if a, b := show(v), show(got[i][k]); a != b {
				t.Errorf("%s: %s is %s, and at once %s", tune.Name, v.Limit.Name, a, b)
			}
		}
	}
}

// A limit over one axis is looked at between its cells too, and so is one of maps
// that are turned round or have other breakpoints.
func TestShapes(t *testing.T) {
	for _, c := range []struct {
		text   string
		state  State
		margin float64
	}{
		{"map line { rpm | 1000 3000\n | 1 2 }\nrule r { line *= 1 + height / 10000 m }\nlimit l: line <= 2.5 for height 0 m..2000 m", Proved, 0.1},
		{"map line { rpm | 1000 3000\n | 1 2 }\nlimit l: line * (4000 - rpm) <= 3500 for height 0 m..2000 m", Proved, 375},                              // 1.25 * 2500 at 1500 rpm
		{"map turned [mg] { rpm \\ load | 0 50 100\n 1500 | 1 2 3\n 2500 | 2 4 3 }\nlimit l: turned + fuel <= 11 mg for height 0 m..2000 m", Proved, 2}, // 3 mg and 6 mg
		{"map line { rpm | 1000 3000\n | 1 2 }\nlimit l: fuel * line <= 9.9 mg for height 0 m..2000 m", Refuted, -1.1},
	} {
		v := verdict(t, c.text+"\n", "bench", 0)
		if v.State != c.state || v.Margin > c.margin+1e-9 || v.Margin < c.margin*0.9-math.Abs(c.margin)*0.2 {
			t.Errorf("%s: %s", c.text, show(v))
		}
	}
}

// A limit whose maps are too large to be proved over ranges says so, and one with
// larger maps is looked at in fewer boxes.
func TestSizes(t *testing.T) {
	x := source(t, small+"limit l: fuel <= 8 mg for height -500 m..2000 m\n")
	l := x.limits[0]
	l.total = maxCells + 1
	if v := x.Tune(x.plan.Find("bench"), 0)[0]; v.State != Undecided || !strings.Contains(v.Problem, "1048577 cells") {
		t.Errorf("it is %s", show(v))
	}
}
