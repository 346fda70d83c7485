package compiler_test

import (
	"math"
	"testing"
	"testing/fstest"

	"fettle/compiler"
	"fettle/compiler/limit"
	"fettle/compiler/target"
)

// forTarget computes the tune bench of a text for its only target, by columns and
// by the plain evaluator, which must agree.
func forTarget(t *testing.T, text string) *target.Outcome {
	t.Helper()
	w := opened(t, fstest.MapFS{"tune.fettle": {Data: []byte(text)}})
	of := func(reference bool) *target.Outcome {
		o := w.Tune(w.Plan.Find("bench"), compiler.RunOptions{Targets: w.Program.Targets, Reference: reference})
		if o.Failed() {
			t.Fatalf("the tune fails without a target:\n%s", text)
		}
		return o.Targets[0]
	}
	a, b := of(false), of(true)
	if (a.Fault == nil) != (b.Fault == nil) || len(a.Limits) != len(b.Limits) {
		t.Fatalf("the evaluators don't agree on\n%s", text)
	}
	for i, v := range a.Limits {
		if o := b.Limits[i]; v.State != o.State || v.Value != o.Value || v.Bad != o.Bad {
			t.Errorf("limit %s: %s at %g, by the plain evaluator %s at %g", v.Limit.Name, v.State, v.Value, o.State, o.Value)
		}
	}
	return a
}

const opening = `
axis rpm [rpm] 1000..14000
given wet = no
map open_time [ms] {
  rpm | 3000  7000  11000
      |  2.0   3.9    4.6
}
`

// A limit on a map that is made of a tabled one is looked at on what is made of
// the written table. A revolution at 11000 rpm lasts 60 / 11000 s = 5.4545 ms; the
// 4.6 ms of the map are 84.33 % of it, the 5.2 ms of four steps of 1.3 ms 95.33 %.
func TestLimitsOnMapsMadeOfATable(t *testing.T) {
	const made = opening + `
map duty [%] like open_time = open_time * rpm / 1 rev
`
	for _, c := range []struct {
		name, text string
		fails      bool
		value      float64
	}{
		{"one step away", made + "limit l: duty <= 85 %\n", true, 5.2 * 11000 / 600},
		{"two steps away", made + "map share [%] like open_time = duty / 2\nlimit l: share <= 45 %\n", true, 5.2 * 11000 / 1200},
		{"its rules and trims are its own", made + "rule margin { duty *= 1.01 }\nlimit l: duty <= 96 %\n", true, 5.2 * 11000 / 600 * 1.01},
		{"a clamp of its own holds it", made + "limit cap: duty <= 85 % else clamp\nlimit l: duty <= 86 %\n", false, 85},
		{"by a rule that reads it", opening + "map heat [K] like open_time = 0 K\nrule hot { heat = open_time * 10 [K/ms] }\nlimit l: heat <= 50 K\n", true, 52},
		{"by a look-up", opening + "map heat [K] { rpm | 5000\n | 0 }\nrule hot { heat += open_time(11000) * 10 [K/ms] }\nlimit l: heat <= 50 K\n", true, 52},
		{"a map of its own breakpoints", opening + "map duty [%] { rpm | 9000 11000\n | 0 0 }\nrule made { duty = open_time * rpm / 1 rev }\nlimit l: duty <= 85 %\n", true, 5.2 * 11000 / 600},
		{"a map that isn't made of it", opening + "map other [ms] like open_time = 4.6 ms\nlimit l: other <= 4.6 ms\n", false, 4.6},
		{"a clamp on the tabled map", opening + "limit l: open_time <= 5 ms else clamp\n", true, 5.2},
	} {
		o := forTarget(t, c.text+"variant bench { }\ntarget e { table op = open_time as u8 step 1.3 ms }\n")
		v := o.Limits[len(o.Limits)-1]
		if o.Fails() != c.fails || (v.State == limit.Fails) != c.fails || math.Abs(v.Value-c.value) > 1e-9*c.value {
			t.Errorf("%s: fails %t with %s at %.12g, want %t at %.12g", c.name, o.Fails(), v.State, v.Value, c.fails, c.value)
		}
	}
}

// A table that is itself made of a tabled map is taken as it is written; a map made
// of both is made of what is written.
func TestTablesOfMapsMadeOfEachOther(t *testing.T) {
	o := forTarget(t, opening+`
map twice [ms] like open_time = open_time * 2
map left  [ms] like open_time = twice - open_time
limit l: left <= 4.7 ms
variant bench { }
target e {
  table op    = open_time as u8  step 1.3 ms
  table twice = twice     as u16 step 0.1 ms
}
`)
	if v := o.Limits[0]; v.State != limit.Holds || math.Abs(v.Value-(9.2-5.2)) > 1e-9 {
		// 4.0 ms at 11000 rpm, 7.8 - 3.9 = 3.9 at 7000: the nearest is the first.
		t.Errorf("%s at %g", v.State, v.Value)
	}
}

// What can't be computed of the written tables fails the tune for the target.
func TestFaultOfWrittenTables(t *testing.T) {
	o := forTarget(t, opening+`
fn held(x within ..5) = x
map kept [ms] like open_time = held(open_time / 1 ms) * 1 ms
variant bench { }
target e { table op = open_time as u8 step 1.3 ms }
`)
	if !o.Fails() || o.Fault == nil || o.Fault.Map.Name != "kept" || o.Written() != nil {
		t.Errorf("fails %t, fault %+v", o.Fails(), o.Fault)
	}
}
