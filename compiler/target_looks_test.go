package compiler_test

import (
	"slices"
	"testing"
	"testing/fstest"

	"fettle/compiler"
	"fettle/compiler/eval"
	"fettle/compiler/target"
)

// many is a workspace whose tunes differ in one thing each that the limits on a
// target's tables read or don't: what was made of one tune must not be taken for
// another by mistake.
const many = `
axis load [%] 0..100
axis rpm [rpm] 1000..9000

given height [m]   = 0
given volts  [V]   = 14
given part   from parts = one
given wet          = no
given hot          = no
given strict       = no
given temp         = 20
given spare        = 1

catalog parts {
  name | most | loss
  one  |  9.0 | 0.5
  two  |  8.0 | 0.7
}

map fuel [mg] {
  load \ rpm | 1000 2000 3000 5000 7000 9000
  0          |    2    3    4  5.5    6    5
  50         |    4    5    7    8    9    8
  100        |    5    6    9   12   11    9
}
map spark [deg] {
  load \ rpm | 1000 2000 3000 5000 7000 9000
  0          |   10   14   22   26   30   28
  20         |    9   13   20   24   29   26
  60         |    9   11   19   23   29   25
  100        |    8   10   14   20   26   25
}
map open  [ms] like fuel  = fuel * 1 [ms/mg] / 2 + 14 V * 0.05 [ms/V]
map flows [ms] like fuel  = max(open - parts.one.loss * spare * 1 ms, 0 ms)
map late  [deg] like spark = 40 deg - spark
map both  [deg] like spark = late + open * 0 [deg/ms]

rule thin  corrects height { fuel *= 1 - height / 100000 m }
rule rain  when wet { spark -= 1 deg over load 50.. feather 20 }
rule cell  when hot { flows += 0.1 ms * (volts / 14 V) over rpm 2000.. feather 500 }
rule later when hot { late += part.loss * 1 deg * temp / 20 }

limit fits:    flows <= part.most * 1 ms else warn
limit closes:  flows <= 5 ms else clamp
limit not_late: late <= 35 deg else warn
limit little:  open >= 0.1 ms * (volts / 12 V) when not wet
limit sparks:  spark <= 29 deg or rpm >= 7500 rpm else warn
limit steps:   step(spark, rpm) <= 10 deg where load >= 50 else warn
limit joint:   both + spark == 40 deg
limit strictly: spark >= 9 deg when strict else warn
limit fuelled: fuel >= 1 mg and fuel <= 11 mg else warn

variants all {
  height = 0 m, 500 m
  wet    = no, yes
  hot    = no, yes
  part   = one, two
  volts  = 14 V, 12 V
}
variant lean from all/0m-wet-hot-one-14V { trim flows -= 0.3 ms over load 50.. }
variant same from all/0m-wet-hot-one-14V { trim flows -= 0.4 ms over load 50.. }
variant told   from all/0m-wet-hot-one-14V { strict = yes }
variant cold   from all/0m-wet-hot-one-14V { temp = 10 }
variant warm   from all/0m-wet-hot-one-14V { temp = 40 }
variant spared from all/0m-wet-hot-one-14V { spare = 1.1 }
variant more from all/0m-wet-hot-one-14V { trim fuel += 3 % }

target e {
  compensates height
  table open   = open  as u16 step 0.01 ms
  table coarse = open  as u8  step 0.5 ms   at load 0, 100, rpm auto 4 by 500
  table spark  = spark as u8  step 0.5 deg  at load auto 3 by 20, rpm auto 4 by 500
  table third  = open  as f32               at load 0, 50, 100, rpm auto 3 by 1000
}
target plain {
  table open = open as u8 step 0.1 ms
  table fuel = fuel as u8 step 0.5 mg
}
target turned {
  table late = late as u8 step 1 deg at load auto 3 by 20, rpm 1000, 5000, 9000
}
`

// The limits on the tables come out, tune after tune, as they come out in whole
// rounds of the plain evaluator for that tune alone: whatever else was made before,
// in one order or the other.
func TestLooksAreWholeRounds(t *testing.T) {
	w := opened(t, fstest.MapFS{"tune.fettle": {Data: []byte(many)}})
	again := opened(t, fstest.MapFS{"tune.fettle": {Data: []byte(many)}})
	tunes := slices.Clone(w.Plan.Tunes)
	if len(tunes) != 39 {
		t.Fatalf("%d tunes", len(tunes))
	}
	plain := map[string]*compiler.Outcome{}
	for _, tune := range again.Plan.Tunes {
		plain[tune.Name] = again.Tune(tune, compiler.RunOptions{Targets: again.Program.Targets, Reference: true})
	}
	states := map[string]bool{}
	for range 2 {
		for _, tune := range tunes {
			o := w.Tune(tune, compiler.RunOptions{Targets: w.Program.Targets})
			for i, on := range o.Targets {
				sameOn(t, tune.Name, on, plain[tune.Name].Targets[i])
				for _, v := range on.Limits {
					states[v.State.String()] = true
				}
			}
		}
		slices.Reverse(tunes)
	}
	for _, s := range []string{"holds", "not here", "clamped", "warns"} {
		if !states[s] {
			t.Errorf("no limit %s", s)
		}
	}
}

func TestLooksOfTheExample(t *testing.T) {
	w := opened(t, sourcesOf(t))
	for _, tune := range some(w.Plan.Tunes, 24) {
		o := w.Tune(tune, compiler.RunOptions{Targets: w.Program.Targets})
		plain := w.Tune(tune, compiler.RunOptions{Targets: w.Program.Targets, Reference: true})
		for i, on := range o.Targets {
			sameOn(t, tune.Name, on, plain.Targets[i])
		}
	}
}

// What is kept of a tune outlives the tune: a result's memory is used again once
// the outcome is done with, and its verdicts stay as they were.
func TestVerdictsOutliveTheResult(t *testing.T) {
	w := opened(t, sourcesOf(t))
	m := target.New(w.Eval(), w.Program.Targets[0])
	var made, want []*target.Outcome
	tunes := some(w.Plan.Tunes, 12)
	for _, tune := range tunes {
		as := w.Eval().Tune(eval.Pure(w.Program, tune), eval.Options{})
		o := m.Tune(tune, as, eval.Options{})
		made = append(made, &target.Outcome{Target: o.Target, Tables: o.Tables, Limits: o.Limits})
		m.Done(o)
		want = append(want, target.New(w.Eval(), m.Target).Tune(tune, as, eval.Options{}))
	}
	for i, o := range made {
		sameVerdicts(t, tunes[i].Name, o.Limits, want[i].Limits)
		for k, one := range o.Tables {
			if !slices.Equal(one.Exact.Cells, want[i].Tables[k].Exact.Cells) || !slices.Equal(one.Cells, want[i].Tables[k].Cells) {
				t.Errorf("%s: table %s differs", tunes[i].Name, one.Name)
			}
		}
	}
}

// sameOn compares all that is said of a tune for a target.
func sameOn(t *testing.T, name string, a, b *target.Outcome) {
	t.Helper()
	if len(a.Limits) == 0 || len(a.Limits) != len(b.Limits) || a.Fails() != b.Fails() || (a.Fault == nil) != (b.Fault == nil) {
		t.Fatalf("%s for %s: %d and %d limits", name, a.Target.Name, len(a.Limits), len(b.Limits))
	}
	sameVerdicts(t, name+" for "+a.Target.Name, a.Limits, b.Limits)
	for i, x := range a.Tables {
		y := b.Tables[i]
		if !slices.Equal(x.Cells, y.Cells) || !slices.Equal(x.Rows.Points, y.Rows.Points) || !slices.Equal(x.Cols.Points, y.Cols.Points) {
			t.Errorf("%s for %s: table %s differs", name, a.Target.Name, x.Name)
		}
		sameVerdicts(t, name+" for "+a.Target.Name+", "+x.Name, a.LimitsOn(a.Target.Tables[i]), b.LimitsOn(b.Target.Tables[i]))
	}
}

func sameVerdicts(t *testing.T, at string, a, b []target.Verdict) {
	t.Helper()
	for i, x := range a {
		y := b[i]
		if x.Limit.Name != y.Limit.Name || x.State != y.State || x.Cells != y.Cells || x.Bad != y.Bad || x.HasMargin != y.HasMargin || x.Problem != y.Problem ||
			x.Value != y.Value || x.Bound != y.Bound || x.Margin != y.Margin || !slices.Equal(x.At, y.At) {
			t.Errorf("%s: limit %s %s in %d of %d, %g to %g at %v; by whole rounds %s in %d of %d, %g to %g at %v",
				at, x.Limit.Name, x.State, x.Bad, x.Cells, x.Value, x.Bound, x.At, y.State, y.Bad, y.Cells, y.Value, y.Bound, y.At)
		}
		for _, m := range x.Limit.Maps {
			if !slices.Equal(x.Result.Maps[m].Cells, y.Result.Maps[m].Cells) {
				t.Errorf("%s: limit %s was looked at on another map %d", at, x.Limit.Name, m)
			}
		}
	}
}
