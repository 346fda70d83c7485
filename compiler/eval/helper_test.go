package eval

import (
	"math"
	"slices"
	"testing"
	"testing/fstest"

	"fettle/compiler/check"
	"fettle/compiler/plan"
	"fettle/compiler/resolve"
	"fettle/lang/diag"
)

// bench is a source lowered for evaluation.
type bench struct {
	*Program
	plan *plan.Plan
}

// tester is a test, or one trial of a property.
type tester interface {
	Helper()
	Fatalf(format string, args ...any)
}

// lower prepares a source that has no faults.
func lower(t tester, text string) *bench {
	t.Helper()
	b, errs := tryLower(text)
	for _, d := range errs {
		t.Fatalf("%s\n%s %s: %s at %q", text, d.Code, d.Span, d.Message, d.Span.Text())
	}
	return b
}

// tryLower prepares a source, or gives its errors.
func tryLower(text string) (b *bench, errors []*diag.Diagnostic) {
	errs := &diag.List{}
	cp := check.Run(resolve.Load(fstest.MapFS{"tune.fettle": {Data: []byte(text)}}, errs), errs)
	p := plan.Run(cp, errs)
	for _, d := range errs.Sorted() {
		if d.Severity == diag.Error {
			errors = append(errors, d)
		}
	}
	if len(errors) > 0 {
		return nil, errors
	}
	return &bench{Lower(cp), p}, nil
}

// run computes a tune in both ways, which must agree bit for bit.
func (b *bench) run(t tester, name string, opt Options) *Result {
	t.Helper()
	tune := b.plan.Find(name)
	if tune == nil {
		t.Fatalf("there is no tune %s", name)
	}
	return b.mix(t, Pure(b.Check, tune), opt)
}

func (b *bench) mix(t tester, mix Mix, opt Options) *Result {
	t.Helper()
	opt.Reference = false
	res := b.Tune(mix, opt)
	opt.Reference = true
	ref := b.Tune(mix, opt)
	opt.Reference = false
	again := b.Tune(mix, opt) // with the memory of the runs before
	b.TuneInto(again, mix, opt)
	for _, other := range []*Result{ref, again} {
		if !sameFault(res.Fault, other.Fault) {
			t.Fatalf("the fault is %+v, and otherwise %+v", res.Fault, other.Fault)
		}
		if res.Fault != nil {
			continue
		}
		for i := range res.Maps {
			if !slices.EqualFunc(res.Maps[i].Cells, other.Maps[i].Cells, sameBits) {
				t.Fatalf("map %s is %v, and otherwise %v", b.Check.Maps[i].Name, res.Maps[i].Cells, other.Maps[i].Cells)
			}
		}
		for s, sr := range res.Steps {
			if o := other.Steps[s]; sr.Applied != o.Applied || sr.Touched != o.Touched || sr.Changed != o.Changed || !slices.Equal(sr.Weights, o.Weights) {
				t.Fatalf("step %d did %+v, and otherwise %+v", s, sr, o)
			}
		}
	}
	return res
}

func sameBits(a, b float64) bool { return math.Float64bits(a) == math.Float64bits(b) }

func sameFault(a, b *Fault) bool {
	if a == nil || b == nil {
		return a == b
	}
	return *a == *b
}

// cells gives a map's final cells.
func (b *bench) cells(t tester, res *Result, name string) []float64 {
	t.Helper()
	if res.Fault != nil {
		t.Fatalf("%s: %s", res.Fault.Span.Text(), res.Fault.Reason)
	}
	return res.Maps[b.index(t, name)].Cells
}

func (b *bench) index(t tester, name string) int {
	t.Helper()
	for _, m := range b.Check.Maps {
		if m.Name == name {
			return m.Index
		}
	}
	t.Fatalf("there is no map %s", name)
	return -1
}

// near allows for the last bits of a decimal written by hand.
func near(a, b float64) bool { return math.Abs(a-b) <= 1e-13*math.Max(math.Abs(a), math.Abs(b)) }

func (b *bench) expect(t *testing.T, res *Result, name string, want ...float64) {
	t.Helper()
	if got := b.cells(t, res, name); !slices.EqualFunc(got, want, near) {
		t.Errorf("%s is %v, want %v", name, got, want)
	}
}
