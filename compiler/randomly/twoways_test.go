package randomly_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fettle/compiler"
	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/randomly"
)

// Whatever the program, the columns and the plain evaluator say the same, bit for
// bit: cells, what steps and clamps did, faults, limits and checks.
func TestTwoWaysToCompute(t *testing.T) {
	over(t, *programs, func(rt *rapid.T, tr *trial) {
		tr.again = twoWays
		if _, w := tr.program(rt, randomly.Options{}); w != nil {
			twoWays(rt, tr, w)
		}
	})
}

// Programs that failed once, and a few that are worth keeping.
func TestRegressions(t *testing.T) {
	names, err := filepath.Glob(filepath.Join(kept, "*.fettle"))
	if err != nil || len(names) < 3 {
		t.Fatalf("%d programs, %v", len(names), err)
	}
	for _, name := range names {
		t.Run(strings.TrimSuffix(filepath.Base(name), ".fettle"), func(t *testing.T) {
			text, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			tr := &trial{text: string(text)}
			w := one(tr.text).open()
			if tr.refusedBy(t, w) {
				t.Fatal("it is refused")
			}
			twoWays(t, tr, w)
			inFractions(t, tr, w)
			unmoved(t, tr, w, laidOut(t, one(tr.text)), change{})
		})
	}
}

// twoWays computes tunes by columns, with and without all that may be noted on the
// way, and by cells.
func twoWays(t tester, tr *trial, w *compiler.Workspace) {
	t.Helper()
	all := func(*check.Map) bool { return true }
	again := &eval.Result{}
	for _, tune := range w.Plan.Tunes {
		plain := w.Tune(tune, compiler.RunOptions{Reference: true, Survey: true})
		tr.tunes++
		if plain.Result.Fault != nil {
			tr.faults++
		}
		noted := w.Tune(tune, compiler.RunOptions{Survey: true, Trace: all})
		sameResults(t, tr, tune.Name, noted.Result, plain.Result)
		sameSteps(t, tr, tune.Name, noted.Result, plain.Result)
		mix := eval.Pure(w.Program, tune)
		sameResults(t, tr, tune.Name+", unwatched", w.Eval().Tune(mix, eval.Options{}), plain.Result)
		w.Eval().TuneInto(again, mix, eval.Options{Count: true}) // in the memory of the tune before
		sameResults(t, tr, tune.Name+", in used memory", again, plain.Result)
		sameVerdicts(t, tr, noted, plain)
	}
}

func sameResults(t tester, tr *trial, name string, a, b *eval.Result) {
	t.Helper()
	if fa, fb := a.Fault, b.Fault; fa != nil || fb != nil {
		if fa == nil || fb == nil || fa.Map != fb.Map || fa.Step != fb.Step || fa.Cell != fb.Cell || fa.Span != fb.Span || fa.Reason != fb.Reason {
			t.Fatalf("%s\n%s: by columns the fault is %s; by cells %s", tr.text, name, told(fa), told(fb))
		}
		return
	}
	for i := range a.Maps {
		tr.cells += len(a.Maps[i].Cells)
		if n := len(a.Maps[i].Cols) * a.Maps[i].NRows(); n == 0 || n != len(a.Maps[i].Cells) || n != len(b.Maps[i].Cells) {
			t.Fatalf("%s\n%s: map %d has %d cells, and %d by cells, of %d", tr.text, name, i, len(a.Maps[i].Cells), len(b.Maps[i].Cells), n)
		}
		for c, x := range a.Maps[i].Cells {
			if y := b.Maps[i].Cells[c]; !sameBits(x, y) || x-x != 0 {
				t.Fatalf("%s\n%s: map %d, cell %d: %v by columns, %v by cells", tr.text, name, i, c, x, y)
			}
		}
	}
}

// sameSteps compares what steps and clamps are said to have done.
func sameSteps(t tester, tr *trial, name string, a, b *eval.Result) {
	t.Helper()
	if a.Fault != nil {
		return
	}
	for s, x := range a.Steps {
		if y := b.Steps[s]; x.Applied != y.Applied || x.Touched != y.Touched || x.Changed != y.Changed {
			t.Fatalf("%s\n%s: step %d: %+v and %+v", tr.text, name, s, x, y)
		}
	}
	for l, x := range a.Clamps {
		if y := b.Clamps[l]; x != y {
			t.Fatalf("%s\n%s: clamp of limit %d: %+v and %+v", tr.text, name, l, x, y)
		}
	}
	if len(a.Thrown) != len(b.Thrown) {
		t.Fatalf("%s\n%s: %d changes thrown away, and %d", tr.text, name, len(a.Thrown), len(b.Thrown))
	}
	for i, x := range a.Thrown {
		if x != b.Thrown[i] {
			t.Fatalf("%s\n%s: thrown away %+v and %+v", tr.text, name, x, b.Thrown[i])
		}
	}
}

func sameVerdicts(t tester, tr *trial, a, b *compiler.Outcome) {
	t.Helper()
	for i, x := range a.Limits {
		y := b.Limits[i]
		if x.State != y.State || x.Bad != y.Bad || x.Cells != y.Cells || x.Problem != y.Problem || len(x.At) != len(y.At) || x.HasMargin != y.HasMargin ||
			!sameBits(x.Value, y.Value) || !sameBits(x.Bound, y.Bound) || !sameBits(x.Margin, y.Margin) {
			t.Fatalf("%s\n%s: limit %s: %+v and %+v", tr.text, a.Tune.Name, x.Limit.Name, x, y)
		}
		for k := range x.At {
			if x.At[k] != y.At[k] {
				t.Fatalf("%s\n%s: limit %s is nearest at %v, and at %v", tr.text, a.Tune.Name, x.Limit.Name, x.At, y.At)
			}
		}
	}
	for i, x := range a.Checks {
		if y := b.Checks[i]; x.OK != y.OK || x.Problem != y.Problem || !sameBits(x.Got, y.Got) || !sameBits(x.Want, y.Want) {
			t.Fatalf("%s\n%s: check %q: %+v and %+v", tr.text, a.Tune.Name, x.Expect.Text, x, y)
		}
	}
}
