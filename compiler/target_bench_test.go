package compiler_test

import (
	"testing"

	"fettle/compiler/eval"
	"fettle/compiler/target"
)

// BenchmarkTargets makes all tunes of an example for its target, one after the
// other, of results that are there: each time by a new maker, as a command does.
func BenchmarkTargets(b *testing.B) {
	w := openExample(b, "tussock")
	results := make([]*eval.Result, len(w.Plan.Tunes))
	for i, t := range w.Plan.Tunes {
		results[i] = w.Eval().Tune(eval.Pure(w.Program, t), eval.Options{})
	}
	b.ReportAllocs()
	for b.Loop() {
		m := target.New(w.Eval(), w.Program.Targets[0])
		for i, t := range w.Plan.Tunes {
			o := m.Tune(t, results[i], eval.Options{})
			if o.Fails() {
				b.Fatalf("%s fails for %s", t.Name, o.Target.Name)
			}
			m.Done(o)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N*len(results)), "µs/tune")
}
