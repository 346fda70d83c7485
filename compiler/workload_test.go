package compiler_test

import (
	"math"
	"testing"

	"fettle/compiler"
	"fettle/compiler/plan"
	"fettle/testdata/bench/workload"
)

// handArgs reads a tune's conditions as the hand-written loops take them.
func handArgs(w *compiler.Workspace, t *plan.Tune) (altitude, temp float64, blend workload.Blend, pipe workload.Pipe) {
	v := map[string]float64{}
	for i, g := range w.Program.Givens {
		v[g.Name] = t.Values[i]
	}
	return v["altitude"], v["air_temp"], workload.Blends[int(v["blend"])], workload.Pipes[int(v["pipe"])]
}

func openW(t testing.TB, n int) *compiler.Workspace {
	w := compiler.Open(workload.Files(n))
	if w.Diags.HasErrors() || len(w.Plan.Tunes) != n {
		t.Fatalf("%d tunes; %v", len(w.Plan.Tunes), w.Diags.Sorted())
	}
	return w
}

// The loops written by hand give the cells that the compiler gives, so that their
// times can be compared.
func TestHandWrittenLoopsAgree(t *testing.T) {
	w, h := openW(t, 2000), workload.NewHand()
	fuel, spark := make([]float64, 480), make([]float64, 480)
	capped, guarded := 0, 0
	for _, tune := range w.Plan.Tunes {
		o := w.Tune(tune, compiler.RunOptions{})
		if o.Failed() {
			t.Fatalf("%s: %+v", tune.Name, o.Result.Fault)
		}
		altitude, temp, blend, pipe := handArgs(w, tune)
		h.Tune(altitude, temp, blend, pipe, fuel, spark)
		if temp < 12 || temp > 28 {
			guarded++
		}
		for m, hand := range [][]float64{fuel, spark} {
			for i, want := range hand {
				got := o.Result.Maps[m].Cells[i]
				if math.Abs(got-want) > 1e-12*math.Abs(want) {
					t.Fatalf("%s, map %d, cell %d: %v, by hand %v", tune.Name, m, i, got, want)
				}
				if want == 21 || want == 29.5 {
					capped++
				}
			}
		}
	}
	if capped == 0 || guarded == 0 || guarded == len(w.Plan.Tunes) {
		t.Errorf("%d cells capped, %d of %d tunes guarded: not much of a comparison", capped, guarded, len(w.Plan.Tunes))
	}
}
