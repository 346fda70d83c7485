package meaning

import (
	"fmt"
	"slices"
	"strings"

	"fettle/compiler"
	"fettle/compiler/emit"
	"fettle/compiler/limit"
	"fettle/compiler/prove"
	"fettle/lang/diag"
)

// Verdict says whether the edits go together.
type Verdict struct {
	Conflict []string // what is wrong with the merged workspace and with neither side, a line each; none if they do
	Ours     []string // then: what each side changed
	Theirs   []string
	Unjudged string // why there is no telling
}

// Judge compiles the workspace with the merged text of the file.
func (s *Scene) Judge(merged string) *Verdict {
	if s.why != "" {
		return &Verdict{Unjudged: s.why}
	}
	units := s.Units()
	together := s.blend(merged, units)
	w := compiler.Open(together)
	if b, ok := together.(*blend); ok && len(b.clashes) > 0 {
		slices.Sort(b.clashes)
		return &Verdict{Unjudged: strings.Join(slices.Compact(b.clashes), ", ") + ": in conflict"}
	}
	v := &Verdict{}
	var found []failure
	if !w.Diags.HasErrors() {
		if !slices.Contains(w.Files(), s.rel) {
			return &Verdict{Unjudged: "nothing in its workspace uses it"}
		}
		found = failures(w)
		if len(found) == 0 {
			return v
		}
	}
	if v.Unjudged = s.broken(); v.Unjudged != "" {
		return v
	}
	if w.Diags.HasErrors() {
		v.Conflict = errorLines(w)
	} else {
		known := map[failureKey]bool{}
		for _, side := range []int{ours, theirs} {
			for _, f := range failures(s.open(side)) {
				known[f.key] = true
			}
		}
		v.Conflict = newOnes(found, known)
	}
	if len(v.Conflict) > 0 {
		names := w.Files()
		for _, side := range []int{ours, theirs} {
			names = append(names, s.open(side).Files()...)
		}
		v.Ours, v.Theirs = s.edits(ours, names, units), s.edits(theirs, names, units)
	}
	return v
}

func sideName(side int) string {
	if side == ours {
		return "ours"
	}
	return "theirs"
}

// open compiles a side, once.
func (s *Scene) open(side int) *compiler.Workspace {
	if s.opened[side] == nil {
		s.opened[side] = compiler.Open(s.sides[side])
	}
	return s.opened[side]
}

// broken says which side has errors of its own, so that nobody can tell whose
// the merged ones are.
func (s *Scene) broken() string {
	for _, side := range []int{ours, theirs} {
		if s.open(side).Diags.HasErrors() {
			return sideName(side) + " has errors of its own"
		}
	}
	return ""
}

// errorLines says what keeps the merged source from compiling.
func errorLines(w *compiler.Workspace) []string {
	const most = 5
	var out []string
	for _, d := range w.Diags.Sorted() {
		if d.Severity != diag.Error {
			continue
		}
		if len(out) == most {
			return append(out, fmt.Sprintf("and %d more errors", w.Diags.Count(diag.Error)-most))
		}
		line := d.Message + " (" + d.Code + ")"
		if !d.Span.IsZero() {
			line = d.Span.String() + ": " + line
		}
		out = append(out, line)
	}
	return out
}

// failureKey tells failures apart: what fails, in which tune.
type failureKey struct{ what, tune string }

type failure struct {
	key    failureKey
	reason string
	excess float64 // how far a bound is passed, as a share of it
}

// failures computes every tune, and gives what fails in the order of the source.
func failures(w *compiler.Workspace) []failure {
	var out []failure
	w.Run(w.Plan.Tunes, compiler.RunOptions{Prove: prove.DefaultBudget}, func(o *compiler.Outcome) {
		add := func(what string, excess float64, in emit.Input) {
			if reasons := emit.Reasons(in); len(reasons) > 0 {
				out = append(out, failure{failureKey{what, o.Tune.Name}, reasons[0], excess})
			}
		}
		if o.Result.Fault != nil {
			add("map "+o.Result.Fault.Map.Name, 0, w.Input(o, emit.Source{}))
			return
		}
		for _, v := range o.Limits {
			if v.State == limit.Fails {
				in := w.Input(o, emit.Source{})
				in.Limits, in.Checks, in.Proofs = []*limit.Verdict{v}, nil, nil
				add("limit "+v.Limit.Name, share(v), in)
			}
		}
		for _, p := range o.Proofs {
			in := w.Input(o, emit.Source{})
			in.Limits, in.Checks, in.Proofs = nil, nil, []*prove.Verdict{p}
			add("proof of "+p.Limit.Name, -p.Margin, in)
		}
		for _, c := range o.Checks {
			if !c.OK {
				in := w.Input(o, emit.Source{})
				in.Limits, in.Checks, in.Proofs = nil, []*limit.Outcome{c}, nil
				add("check "+c.Check.Title+"\n"+c.Expect.Text, 0, in)
			}
		}
	})
	return out
}

// share is how far a limit is passed, for the size of its bound.
func share(v *limit.Verdict) float64 {
	if !v.HasMargin || v.Bound == 0 {
		return -v.Margin
	}
	if v.Bound < 0 {
		return v.Margin / v.Bound
	}
	return -v.Margin / v.Bound
}

// newOnes says what fails anew, the worst tune of each, in the order of the
// source.
func newOnes(found []failure, known map[failureKey]bool) []string {
	var order []string
	worst := map[string]failure{}
	tunes := map[string]int{}
	for _, f := range found {
		if known[f.key] {
			continue
		}
		w, ok := worst[f.key.what]
		if !ok {
			order = append(order, f.key.what)
		}
		if !ok || f.excess > w.excess {
			worst[f.key.what] = f
		}
		tunes[f.key.what]++
	}
	var out []string
	for _, what := range order {
		line := worst[what].reason
		if n := tunes[what]; n == 2 {
			line += "; and in another tune"
		} else if n > 2 {
			line += fmt.Sprintf("; and in %d more tunes", n-1)
		}
		out = append(out, line)
	}
	return out
}
