package compiler_test

import (
	"math"
	"testing"

	"fettle/compiler"
	"fettle/compiler/eval"
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

// BenchmarkHand is W by the loops written by hand, on one processor.
func BenchmarkHand(b *testing.B) {
	w, h := openW(b, 10_000), workload.NewHand()
	fuel, spark := make([]float64, 480), make([]float64, 480)
	args := make([]func(), len(w.Plan.Tunes))
	for i, t := range w.Plan.Tunes {
		altitude, temp, blend, pipe := handArgs(w, t)
		args[i] = func() { h.Tune(altitude, temp, blend, pipe, fuel, spark) }
	}
	b.ResetTimer()
	for i := 0; b.Loop(); i++ {
		args[i%len(args)]()
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/960, "ns/cell")
}

// BenchmarkCompiled is the same by the compiler's evaluator, on one processor.
func BenchmarkCompiled(b *testing.B) {
	w := openW(b, 10_000)
	var res eval.Result
	i := 0
	for b.Loop() {
		if w.Eval().TuneInto(&res, eval.Mix{All: w.Plan.Tunes[i%10_000].Conditions(w.Program)}, eval.Options{}); res.Fault != nil {
			b.Fatal(res.Fault.Reason)
		}
		i++
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/960, "ns/cell")
}
