package compiler_test

import (
	"testing"

	"fettle/compiler"
)

// BenchmarkTune computes and judges whole tunes of an example, one after the
// other, on one processor; a tune costs the same however many there are.
func BenchmarkTune(b *testing.B) {
	w := openExample(b, "tussock")
	cells := 0
	for _, m := range w.Program.Maps {
		cells += w.Eval().MapCells(m.Index).N()
	}
	i := 0
	for b.Loop() {
		if o := w.Tune(w.Plan.Tunes[i%len(w.Plan.Tunes)], compiler.RunOptions{}); o.Result.Fault != nil {
			b.Fatalf("%s: %s", o.Tune.Name, o.Result.Fault.Reason)
		}
		i++
	}
	b.ReportMetric(float64(cells)*float64(b.N)/b.Elapsed().Seconds(), "cells/s")
}

// BenchmarkCheck opens the example and computes and judges all of its tunes, with
// its targets, on all processors, as `fettle check` does.
func BenchmarkCheck(b *testing.B) {
	files := texts(b, "tussock")
	for b.Loop() {
		w := open(files)
		survey := w.NewSurvey()
		opt := compiler.RunOptions{Survey: true, Targets: w.Program.Targets, Keep: func(*compiler.Outcome) bool { return false }}
		w.Run(w.Plan.Tunes, opt, survey.Add)
	}
}
