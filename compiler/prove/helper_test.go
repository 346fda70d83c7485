package prove

import (
	"fmt"
	"io/fs"
	"testing/fstest"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/plan"
	"fettle/compiler/resolve"
	"fettle/lang/diag"
)

// bench is a source prepared, with its tunes.
type bench struct {
	*Prover
	plan *plan.Plan
}

type tester interface {
	Helper()
	Fatalf(format string, args ...any)
}

func load(t tester, files fs.FS) *bench {
	t.Helper()
	errs := &diag.List{}
	cp := check.Run(resolve.Load(files, errs), errs)
	p := plan.Run(cp, errs)
	for _, d := range errs.Sorted() {
		if d.Severity == diag.Error {
			t.Fatalf("%s %s: %s at %q", d.Code, d.Span, d.Message, d.Span.Text())
		}
	}
	return &bench{New(eval.Lower(cp)), p}
}

func source(t tester, text string) *bench {
	t.Helper()
	return load(t, fstest.MapFS{"tune.fettle": {Data: []byte(text)}})
}

// show writes a verdict in a line.
func show(v *Verdict) string {
	out := v.State.String()
	if v.HasMargin {
		out += fmt.Sprintf(" %.6g %s", v.Margin, v.Unit.Text)
	}
	for _, c := range v.Conditions {
		out += fmt.Sprintf(" [%.6g]", c.Value)
	}
	if v.At != nil {
		out += fmt.Sprintf(" at %.6g: %.6g, %.6g", v.At, v.Value, v.Bound)
	}
	if v.Problem != "" {
		out += ": " + v.Problem
	}
	return out + fmt.Sprintf(" (%d boxes)", v.Boxes)
}
