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

// tussock is the workshop's source, lowered.
func tussock(t tester) *bench {
	t.Helper()
	texts, err := examples.Sources("../../examples/tussock")
	if err != nil {
		t.Fatalf("%v", err)
	}
	files := fstest.MapFS{}
	for name, text := range texts {
		files[name] = &fstest.MapFile{Data: []byte(text)}
	}
	errs := &diag.List{}
	cp := check.Run(resolve.Load(files, errs), errs)
	pl := plan.Run(cp, errs)
	if errs.HasErrors() {
		t.Fatalf("%v", errs.Sorted()[0])
	}
	return &bench{Lower(cp), pl}
}

// BenchmarkTussock computes the workshop's tunes one after the other, on one
// processor.
func BenchmarkTussock(b *testing.B) {
	w := tussock(b)
	cells := 0
	for _, c := range w.Program.cells {
		cells += c.N()
	}
	var res Result
	i := 0
	for b.Loop() {
		t := w.plan.Tunes[i%len(w.plan.Tunes)]
		if w.TuneInto(&res, Mix{All: t.Conditions(w.Check), Trims: t.Trims}, Options{}); res.Fault != nil {
			b.Fatal(res.Fault.Reason)
		}
		i++
	}
	if n := w.Stats().Plain; n > 0 {
		b.Errorf("%d columns were left to the plain evaluator", n)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(cells), "ns/cell")
}
