package compiler_test

import (
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"testing"

	"fettle/compiler"
	"fettle/compiler/plan"
)

// The evaluator works on columns; a second one computes a cell at a time on
// expr's virtual machine. They agree bit for bit.
func TestColumnsAreThePlainEvaluator(t *testing.T) {
	folders, err := filepath.Glob(filepath.Join("..", "testdata", "independent", "cases", "*"))
	if err != nil || len(folders) == 0 {
		t.Fatalf("no cases: %v", err)
	}
	examples, err := filepath.Glob(filepath.Join("..", "examples", "*", "tune.fettle"))
	if err != nil || len(examples) == 0 {
		t.Fatalf("no examples: %v", err)
	}
	if *more != "" {
		for _, name := range readings(t, *more) {
			folders = append(folders, filepath.Join(*more, name))
		}
	}
	for _, e := range examples {
		folders = append(folders, filepath.Dir(e))
	}
	for _, folder := range folders {
		t.Run(filepath.Base(folder), func(t *testing.T) {
			t.Parallel()
			compareEvaluators(t, os.DirFS(folder))
		})
	}
}

func compareEvaluators(t *testing.T, fsys fs.FS) {
	w := compiler.Open(fsys)
	if w.Diags.HasErrors() {
		if *more == "" {
			t.Error("the source has errors")
		}
		return
	}
	for _, tune := range some(w.Plan.Tunes, 60) {
		columns := w.Tune(tune, compiler.RunOptions{})
		plain := w.Tune(tune, compiler.RunOptions{Reference: true})
		compareOutcomes(t, columns, plain)
	}
}

// some picks tunes evenly, the first and the last among them.
func some(tunes []*plan.Tune, n int) []*plan.Tune {
	if len(tunes) <= n {
		return tunes
	}
	var out []*plan.Tune
	for i := range n {
		out = append(out, tunes[i*(len(tunes)-1)/(n-1)])
	}
	return out
}

func compareOutcomes(t *testing.T, a, b *compiler.Outcome) {
	t.Helper()
	name := a.Tune.Name
	fa, fb := a.Result.Fault, b.Result.Fault
	if fa != nil || fb != nil {
		if fa == nil || fb == nil || fa.Map != fb.Map || fa.Step != fb.Step || fa.Cell != fb.Cell || fa.Reason != fb.Reason {
			t.Errorf("%s: faults %+v and %+v", name, fa, fb)
		}
		return
	}
	for i := range a.Result.Maps {
		for c, x := range a.Result.Maps[i].Cells {
			if y := b.Result.Maps[i].Cells[c]; math.Float64bits(x) != math.Float64bits(y) {
				t.Fatalf("%s: map %d, cell %d: %v by columns, %v by cells", name, i, c, x, y)
			}
		}
	}
	for s, x := range a.Result.Steps {
		if y := b.Result.Steps[s]; x.Applied != y.Applied || x.Touched != y.Touched || x.Changed != y.Changed {
			t.Errorf("%s: step %d: %+v and %+v", name, s, x, y)
		}
	}
	for l, x := range a.Result.Clamps {
		if y := b.Result.Clamps[l]; x != y {
			t.Errorf("%s: clamp of limit %d: %+v and %+v", name, l, x, y)
		}
	}
	for i, x := range a.Limits {
		y := b.Limits[i]
		if x.State != y.State || x.Bad != y.Bad || x.Cells != y.Cells || x.Problem != y.Problem ||
			math.Float64bits(x.Value) != math.Float64bits(y.Value) || math.Float64bits(x.Bound) != math.Float64bits(y.Bound) || math.Float64bits(x.Margin) != math.Float64bits(y.Margin) {
			t.Errorf("%s: limit %s: %+v and %+v", name, x.Limit.Name, x, y)
		}
	}
	for i, x := range a.Checks {
		if y := b.Checks[i]; x.OK != y.OK || math.Float64bits(x.Got) != math.Float64bits(y.Got) || math.Float64bits(x.Want) != math.Float64bits(y.Want) {
			t.Errorf("%s: check %s: %+v and %+v", name, x.Expect.Text, x, y)
		}
	}
}
