package compiler

import (
	"sync"

	"fettle/compiler/check"
	"fettle/compiler/diff"
	"fettle/compiler/eval"
	"fettle/compiler/limit"
	"fettle/compiler/plan"
	"fettle/compiler/prove"
	"fettle/compiler/review"
)

// Side makes a side of a review of a workspace's tunes: those that a pattern
// names, or all where it is "".
func (w *Workspace) Side(origin review.Origin, pattern string) *review.Side {
	s := &review.Side{Origin: origin, Program: w.Program, Plan: w.Plan, Pattern: pattern, Tunes: w.Plan.Tunes, Prove: prove.DefaultBudget}
	if pattern != "" {
		s.Tunes, _ = w.Select([]string{pattern}, nil)
		s.Single = w.Plan.Find(pattern) != nil
	}
	s.Origin.Digest = w.Digest()
	if w.limits != nil {
		s.ByLimits = w.byLimits
	}
	s.Judge = func(t *plan.Tune) *review.Judged {
		o := w.Tune(t, RunOptions{Prove: s.Prove})
		j := &review.Judged{Tune: t, Limits: o.Limits, Checks: o.Checks, Proofs: o.Proofs, Fails: o.Failed()}
		if f := o.Result.Fault; f != nil {
			j.Fault = "map `" + f.Map.Name + "` can't be computed: " + f.Reason + " (" + f.Span.String() + ")"
			return j
		}
		j.Everywhere = func(l *check.Limit) *limit.Verdict { return w.limits.Everywhere(l, t, o.Result) }
		j.Side = diff.OfResult(w.eval, t, o.Result)
		return j
	}
	return s
}

// Review compares two sides.
func Review(old, new *review.Side, opt review.Options) (*review.Review, error) {
	for _, s := range []*review.Side{old, new} {
		if s.Program != nil {
			if err := afford(s.Program, len(s.Tunes)); err != nil {
				return nil, err
			}
		}
	}
	if opt.Prove > 0 {
		old.Prove, new.Prove = opt.Prove, opt.Prove
	}
	if opt.Attribute == nil && old.Program != nil && new.Program != nil {
		opt.Attribute, opt.Changed = attribution(old, new)
	}
	return review.Make(old, new, opt)
}

// attribution chooses how changes between two sides are attributed, and to what.
func attribution(old, new *review.Side) (review.Attribution, func() []*diff.Element) {
	if old.Program == new.Program {
		return diff.AttributeTunes, nil
	}
	var once sync.Once
	var between *diff.Programs
	attribute := func(p *diff.Pair) {
		once.Do(func() { between = diff.Between(p.Old.Program, p.New.Program) })
		between.Attribute(p)
	}
	changed := func() []*diff.Element {
		// Where no pair differs, nothing was attributed.
		once.Do(func() { between = diff.Between(eval.Lower(old.Program), eval.Lower(new.Program)) })
		return between.Elements()
	}
	return attribute, changed
}
