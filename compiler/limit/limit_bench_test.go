package limit_test

import (
	"testing"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/limit"
	"fettle/compiler/plan"
	"fettle/compiler/resolve"
	"fettle/examples"
	"fettle/lang/diag"
	"fettle/lang/source"
)

// BenchmarkTussock judges all tunes of an example, of results that are there: by
// its limits, by its expected values, and who is to blame for what warns. New is
// what is lowered before.
func BenchmarkTussock(b *testing.B) {
	files, err := examples.Sources("../../examples/tussock")
	if err != nil {
		b.Fatal(err)
	}
	errs := &diag.List{}
	cp := check.Run(resolve.Load(source.Memory(files), errs), errs)
	tunes := plan.Run(cp, errs).Tunes
	if errs.HasErrors() {
		b.Fatal(errs.Sorted()[0].Message)
	}
	p := eval.Lower(cp)
	c := limit.New(p)
	results := make([]*eval.Result, len(tunes))
	verdicts := make([][]*limit.Verdict, len(tunes))
	for i, t := range tunes {
		results[i] = p.Tune(eval.Pure(cp, t), eval.Options{})
		verdicts[i] = c.Tune(t, results[i], false)
	}
	for _, part := range []struct {
		name string
		run  func(i int)
	}{
		{"limits", func(i int) { c.Tune(tunes[i], results[i], false) }},
		{"checks", func(i int) { c.Checks(tunes[i], results[i], false) }},
		{"blame", func(i int) { c.Explain(tunes[i], results[i], verdicts[i]) }},
		{"new", func(i int) {
			if i == 0 {
				limit.New(p)
			}
		}},
	} {
		b.Run(part.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				for i := range tunes {
					part.run(i)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/1e3/float64(b.N*len(tunes)), "µs/tune")
		})
	}
}
