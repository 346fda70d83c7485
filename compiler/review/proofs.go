package review

import (
	"math"
	"slices"

	"fettle/compiler/check"
	"fettle/compiler/emit"
	"fettle/compiler/prove"
	"fettle/lang/source"
	"fettle/lang/unit"
)

// What can be proved of a limit over its range of conditions, before and after.

// proofs pairs what was proved on both sides by the limits' names. One that is
// proved over less, or that isn't to be proved any more, is told of the limit
// itself: it asks less.
func (f *marginFinder) proofs() {
	old := map[string]*prove.Verdict{}
	for _, v := range f.c.old.Proofs {
		old[now(f.names.limits, v.Limit.Name)] = v
	}
	for _, v := range f.c.new.Proofs {
		m := proofMargin(f.c.old.program(), old[v.Limit.Name], f.c.new.program(), v)
		if m.Text[0] = f.names.inText(m.Text[0]); m.Kind != "" {
			f.add(m)
		}
	}
}

// proofMargin tells how a proof changed; its kind is "" where it didn't. The old one
// is nil where there was none.
func proofMargin(p *check.Program, a *prove.Verdict, q *check.Program, b *prove.Verdict) *Margin {
	m := &Margin{Proof: true, Name: b.Limit.Name, Mode: b.Limit.Mode.String(), After: stateOfProof(q, b), Text: [2]string{"", limitText(b.Limit)}, Place: [2]source.Span{{}, b.Limit.Span}}
	is, was := proofBadness(b), 0
	if a != nil {
		m.Before, m.Text[0], m.Place[0] = stateOfProof(p, a), limitText(a.Limit), a.Limit.Span
		was = proofBadness(a)
	}
	switch {
	case is == 2 && was < 2:
		m.Kind = NewlyFails
	case a != nil && a.State == prove.Proved && b.State == prove.Undecided:
		m.Kind = Unproved
	case is > was:
		m.Kind = NewlyWarns
	case a == nil:
		m.Kind = NewLimit
	case is < was:
		m.Kind = Recovered
	default:
		m.Kind = provedMoved(a, b)
	}
	return m
}

// proofBadness is 2 where nothing may be written, 1 where there is something to
// know.
func proofBadness(v *prove.Verdict) int {
	switch {
	case v.State == prove.Refuted && v.Limit.Mode == check.Fail:
		return 2
	case v.State != prove.Proved:
		return 1
	}
	return 0
}

// provedMoved says where the room that is certain went.
func provedMoved(a, b *prove.Verdict) string {
	conv, err := unit.NewConv(a.Unit.Difference(), b.Unit.Difference())
	if !emit.HasRoom(a) || !emit.HasRoom(b) || err != nil {
		return ""
	}
	before, after := conv.Apply(a.Margin), b.Margin
	switch {
	case abs(after-before) <= sixDigits*math.Max(math.Max(abs(before), abs(after)), math.Max(abs(b.Value), abs(b.Bound))):
		return ""
	case after > before:
		return Farther
	case b.State != prove.Proved:
		return Worse
	case after < nearFall*before:
		return NewlyNear
	}
	return Closer
}

// stateOfProof puts a proof in words and numbers.
func stateOfProof(p *check.Program, v *prove.Verdict) *State {
	s := &State{Word: v.State.String(), Problem: v.Problem, Unit: v.Unit.Text}
	switch v.State {
	case prove.Refuted:
		s.At, s.Cells = emit.RefutedAt(p, v), 1
	case prove.Undecided:
		s.Certain = emit.ProvedRoom(v)
	}
	if emit.HasRoom(v) {
		s.HasMargin, s.Margin, s.Value, s.Bound, s.Whole = true, emit.ProvedMargin(v), v.Value, v.Bound, v.State != prove.Refuted
	}
	return s
}

// narrowed says whether a limit is proved over less than it was: a condition isn't
// varied any more, or not as far.
func narrowed(p *check.Program, old *check.Limit, q *check.Program, new *check.Limit) bool {
	if p == nil || q == nil {
		return false
	}
	for _, x := range old.For {
		i := slices.IndexFunc(new.For, func(y check.Extent) bool { return q.Givens[y.Given].Name == p.Givens[x.Given].Name })
		if i < 0 {
			return true
		}
		y := new.For[i]
		conv, err := unit.NewConv(q.Givens[y.Given].Unit, p.Givens[x.Given].Unit)
		if err != nil || beyond(conv.Apply(y.Lo), x.Lo) || beyond(x.Hi, conv.Apply(y.Hi)) {
			return true
		}
	}
	return false
}
