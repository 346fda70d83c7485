package compiler

import (
	"slices"

	"fettle/compiler/check"
	"fettle/compiler/limit"
	"fettle/compiler/plan"
	"fettle/compiler/prove"
	"fettle/lang/formula"
)

// prove proves the limits of a tune that have a range and apply, by how they came
// out in its own conditions.
func (w *Workspace) prove(t *plan.Tune, budget int, own []*limit.Verdict) []*prove.Verdict {
	var out []*prove.Verdict
	for _, p := range w.prover.Tune(t, budget) {
		if own[p.Limit.Index].State != limit.NotHere || mayApply(p.Limit) {
			out = append(out, p)
		}
	}
	return out
}

// mayApply says whether a limit's `when` reads a condition that its range covers,
// so that it may hold somewhere there though it doesn't in the tune.
func mayApply(l *check.Limit) bool {
	return l.When != nil && slices.ContainsFunc(l.For, func(e check.Extent) bool { return reads(l.When, e.Given) })
}

func reads(n *formula.Node, given int) bool {
	found := false
	n.Walk(func(k *formula.Node) {
		switch k.Op {
		case formula.GivenVal, formula.GivenYes, formula.GivenCol, formula.GivenIs:
			found = found || k.A == given
		}
	})
	return found
}
