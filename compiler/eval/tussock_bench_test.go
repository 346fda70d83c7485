package eval

import (
	"testing"
	"testing/fstest"

	"fettle/compiler/check"
	"fettle/compiler/plan"
	"fettle/compiler/resolve"
	"fettle/examples"
	"fettle/lang/diag"
)

// BenchmarkTussock computes the workshop's tunes one after the other, on one
// processor.
func BenchmarkTussock(b *testing.B) {
	texts, err := examples.Sources("../../examples/tussock")
	if err != nil {
		b.Fatal(err)
	}
	files := fstest.MapFS{}
	for name, text := range texts {
		files[name] = &fstest.MapFile{Data: []byte(text)}
	}
	errs := &diag.List{}
	cp := check.Run(resolve.Load(files, errs), errs)
	pl := plan.Run(cp, errs)
	if errs.HasErrors() {
		b.Fatal(errs.Sorted()[0])
	}
	p := Lower(cp)
	cells := 0
	for _, c := range p.cells {
		cells += c.N()
	}
	var res Result
	i := 0
	for b.Loop() {
		t := pl.Tunes[i%len(pl.Tunes)]
		if p.TuneInto(&res, Mix{All: t.Conditions(cp), Trims: t.Trims}, Options{}); res.Fault != nil {
			b.Fatal(res.Fault.Reason)
		}
		i++
	}
	if n := p.Stats().Plain; n > 0 {
		b.Errorf("%d columns were left to the plain evaluator", n)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(cells), "ns/cell")
}
