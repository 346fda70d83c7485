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
