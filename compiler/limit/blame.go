package limit

import (
	"math"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/plan"
	"fettle/lang/formula"
)

// Explain finds, for each limit of a tune that fails or warns, what pushed its
// worst cell there.
func (c *Checker) Explain(t *plan.Tune, res *eval.Result, verdicts []*Verdict) {
	var todo []*Verdict
	for _, v := range verdicts {
		if (v.State == Fails || v.State == Warns) && v.HasMargin && v.At != nil {
			todo = append(todo, v)
		}
	}
	if len(todo) == 0 {
		return
	}
	env := t.Conditions(c.p.Check)
	pure := eval.Pure(c.p.Check, t)
	type element struct {
		name  string
		rule  *check.Rule
		step  *check.Step
		allow func(s *check.Step) bool
		clamp int // clamps before this one in the source are let in
	}
	all := func(*check.Step) bool { return true }
	elements := []element{{name: "base", allow: func(*check.Step) bool { return false }}}
	for _, r := range c.p.Check.Rules {
		applied := false
		for _, s := range r.Steps {
			applied = applied || res.Step(s).Applied
		}
		if applied {
			last := r.Index
			elements = append(elements, element{"rule " + r.Name, r, r.Steps[0], func(s *check.Step) bool { return s.Rule != nil && s.Rule.Index <= last }, 0})
		}
	}
	for i := range t.Trims {
		in := map[*check.Step]bool{}
		for _, s := range t.Trims[:i+1] {
			in[s] = true
		}
		elements = append(elements, element{"trim", nil, t.Trims[i], func(s *check.Step) bool { return s.Rule != nil || in[s] }, 0})
	}
	for _, l := range c.p.Check.Limits {
		if res.Clamp(l).Cells > 0 {
			elements = append(elements, element{"clamp " + l.Name, nil, nil, all, l.Index + 1})
		}
	}
	asked := make([]bool, len(c.p.Check.Maps))
	for _, v := range todo {
		v.Blame = &Blame{}
		for _, n := range []*formula.Node{v.Limit.Cond, v.Limit.Where} {
			if n != nil {
				for _, m := range n.MapsUsed() {
					asked[m] = true
				}
			}
		}
	}
	need := c.p.Check.Needed(asked)
	var before *eval.Result
	var memory [2]eval.Result
	for _, el := range elements {
		mix := pure
		mix.Step = func(s *check.Step) *plan.Conditions {
			if el.allow(s) {
				return env
			}
			return nil
		}
		mix.Clamp = func(l *check.Limit) *plan.Conditions {
			if l.Index < el.clamp {
				return env
			}
			return nil
		}
		part := before
		if before == nil || el.rule == nil || touches(el.rule, need) {
			if part = &memory[0]; part == before {
				part = &memory[1]
			}
			c.p.TuneInto(part, mix, eval.Options{Need: need})
		}
		if part.Fault != nil {
			continue
		}
		before = part
		j := c.again(&judged{c, part, env, false})
		for _, v := range todo {
			margin, ok := j.marginAt(v)
			if !ok {
				continue
			}
			push := Push{Rule: el.rule, Name: el.name, Step: el.step, Clamp: clampOf(c, el.clamp), After: margin, Change: margin}
			if n := len(v.Blame.Pushes); n > 0 {
				push.Change = margin - v.Blame.Pushes[n-1].After
			}
			v.Blame.Pushes = append(v.Blame.Pushes, push)
		}
		j.end()
	}
	for _, v := range todo {
		v.Blame.settle(Slack * math.Max(math.Abs(v.Value), math.Abs(v.Bound)))
		if len(v.Blame.Pushes) == 0 {
			v.Blame = nil
		}
	}
}

// marginAt is what the comparison that tells a verdict's worst cell says of that
// cell in another result; false where the limit doesn't look at it, or can't.
func (j *judging) marginAt(v *Verdict) (float64, bool) {
	k, problem := v.lo.look(j.probe, j.env, j.mem)
	i := k.lo.index(v.Limit.Axes, v.At)
	if problem != "" || i < 0 || !k.looks(i) || !k.finite(j.mem) {
		return 0, false
	}
	_, _, margin := k.told(v.told, i)
	return margin, true
}

// touches says whether a rule adjusts any of the maps marked.
func touches(r *check.Rule, marked []bool) bool {
	for _, s := range r.Steps {
		if marked[s.Map.Index] {
			return true
		}
	}
	return false
}

// settle finds the push that crossed the bound for the last time; the base, where
// it is past it before any rule.
func (b *Blame) settle(slack float64) {
	crossed := -1
	for i, p := range b.Pushes {
		before := math.Inf(1)
		if i > 0 {
			before = b.Pushes[i-1].After
		}
		if p.After < -slack && before >= -slack {
			crossed = i
		}
	}
	b.Main = max(crossed, 0)
}

// clampOf is the clamp that an element lets in last, if any.
func clampOf(c *Checker, n int) *check.Limit {
	if n == 0 {
		return nil
	}
	return c.p.Check.Limits[n-1]
}
