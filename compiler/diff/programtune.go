package diff

import (
	"slices"

	"fettle/compiler/check"
	"fettle/compiler/hybrid"
	"fettle/compiler/plan"
	"fettle/lang/source"
)

// What differs between two tunes of two programs beside their source: trims and
// conditions.

// trimPart is a trim of one side, or of both.
type trimPart struct {
	old, new *check.Step
	owner    string
}

// trimElements finds the trims that only one side has, by the variant that they
// stand in, and whether those that both have stand in another order.
func (c *twoPrograms) trimElements() {
	olds, news := c.old.Tune.Trims, c.new.Tune.Trims
	partner := make([]int, len(news)) // of each new trim, the old one
	used := make([]bool, len(olds))
	for i, n := range news {
		partner[i] = -1
		for k, o := range olds {
			if !used[k] && c.b.steps.SameTrim(o, n) {
				partner[i], used[k] = k, true
				break
			}
		}
	}
	for k, o := range olds {
		t := trimPart{old: o, owner: ownerOf(c.b.old.Check, o)}
		if i := slices.Index(partner, k); i >= 0 {
			t.new = news[i]
		}
		c.trims = append(c.trims, t)
	}
	for i, n := range news {
		if partner[i] < 0 {
			c.trims = append(c.trims, trimPart{new: n, owner: ownerOf(c.b.new.Check, n)})
		}
	}
	for _, t := range c.trims {
		if t.old != nil && t.new != nil || slices.Contains(c.owners, t.owner) {
			continue
		}
		c.owners = append(c.owners, t.owner)
		c.list = append(c.list, c.b.trimElement(t.owner, c.trims))
	}
	var order []*check.Step // the new trims in the order that all these elements leave them in
	for _, t := range c.trims {
		if t.new != nil {
			order = append(order, t.new)
		}
	}
	if c.moved = !slices.Equal(order, news); c.moved {
		c.list = append(c.list, c.trimOrder(order, news))
	}
}

// trimOrder is the element of trims that stand in another order.
func (c *twoPrograms) trimOrder(order, news []*check.Step) *Element {
	e := &Element{Kind: KindOrder, Name: "the order of the trims", Applies: InBoth}
	for i, n := range news {
		if order[i] == n {
			continue
		}
		e.Place, e.Places[1] = n.Span, n.Span
		e.Why = "`" + trimText(n) + "` comes before `" + trimText(order[i]) + "` (was after it)"
		for _, t := range c.trims {
			if t.new == n && t.old != nil {
				e.Places[0] = t.old.Span
			}
		}
		break
	}
	return e
}

// trimCount is how many elements the trims have.
func (c *twoPrograms) trimCount() int {
	if c.moved {
		return len(c.owners) + 1
	}
	return len(c.owners)
}

// trimsWith carries the trims over into a hybrid, with those of the first n
// elements after the source's new.
func (c *twoPrograms) trimsWith(h *hybrid.Hybrid, n int) ([]*check.Step, error) {
	if c.moved && n > len(c.owners) {
		return c.b.steps.Trims(h, hybrid.NewSide, c.new.Tune.Trims)
	}
	var out []*check.Step
	for _, t := range c.trims {
		of, step := hybrid.NewSide, t.new
		if n < len(c.owners) && !slices.Contains(c.owners[:n], t.owner) {
			of, step = hybrid.OldSide, t.old
		}
		if step == nil {
			continue
		}
		one, err := c.b.steps.Trims(h, of, []*check.Step{step})
		if err != nil {
			return nil, err
		}
		out = append(out, one...)
	}
	return out, nil
}

func trimText(s *check.Step) string { return source.OneLine(s.Span.Text()) }

// trimElement is the one element of a variant's trims, for all its tunes.
func (b *Programs) trimElement(owner string, trims []trimPart) *Element {
	e := &Element{Kind: KindTrim, Name: "trim of " + owner, Applies: InBoth, places: map[string]source.Span{}}
	for _, t := range trims {
		if t.owner != owner || t.old != nil && t.new != nil {
			continue
		}
		for i, s := range []*check.Step{t.old, t.new} {
			if s == nil {
				continue
			}
			if e.Places[i].IsZero() {
				e.Places[i] = s.Span
			} else {
				e.Text[i] += "; "
			}
			e.Text[i] += trimText(s)
			e.places[s.Map.Name] = s.Span
		}
	}
	e.Place = later(e.Places)
	switch {
	case e.Text[0] == "":
		e.Applies, e.Why = InNew, e.Text[1]+" (new)"
	case e.Text[1] == "":
		e.Applies, e.Why = InOld, e.Text[0]+" (taken out)"
	default:
		e.Why = e.Text[1] + " (was " + e.Text[0] + ")"
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	key := [2]string{owner, e.Why}
	if b.trims[key] == nil {
		b.trims[key] = e
	}
	return b.trims[key]
}

// ownerOf names the variant that a trim stands in.
func ownerOf(p *check.Program, s *check.Step) string {
	for _, v := range p.Variants {
		if slices.Contains(v.Trims, s) {
			return v.Name
		}
	}
	return s.Map.Name
}

// givenElements finds the conditions that differ, as the last hybrid takes them,
// which has the rows of both sides. One that it doesn't have is read by nothing.
func (c *twoPrograms) givenElements() {
	p := c.b.new.Check
	last := c.b.steps.At(c.source)
	for i, g := range p.Givens {
		here := g
		if last.Err == nil {
			for _, x := range last.Check.Givens {
				if x.Name == g.Name {
					here = x
				}
			}
		}
		was, has := c.b.steps.Value(here, hybrid.OldSide, c.old.Tune.Values)
		if now, _ := c.b.steps.Value(here, hybrid.NewSide, c.new.Tune.Values); was == now {
			continue
		}
		now := plan.Text(g, c.new.Tune.Values[i])
		before := "none"
		e := &Element{Kind: KindGiven, Name: "given " + g.Name, Applies: InBoth}
		if old, k := c.b.steps.Given(hybrid.OldSide, g.Name); old != nil {
			before = plan.Text(old, c.old.Tune.Values[k])
			e.Places[0] = settingAt(c.b.old.Check, c.old.Tune, k)
		}
		if !has {
			before += " (the default " + plan.Text(here, was) + " counts)"
		}
		e.Places[1] = settingAt(p, c.new.Tune, i)
		e.Place = e.Places[1]
		e.Why = before + " → " + now
		e.Conditions = []ConditionDiff{{g.Name, before, now}}
		c.givens = append(c.givens, g.Name)
		c.list = append(c.list, e)
	}
}

// settingAt is where a tune's value of a given is written: in its variant or
// one that it comes from, else at the default.
func settingAt(p *check.Program, t *plan.Tune, given int) source.Span {
	for v := t.Variant; v != nil; {
		for _, s := range v.Settings {
			if s.Given != given {
				continue
			}
			for _, at := range s.Values {
				if at.Value == t.Values[given] && !at.Span.IsZero() {
					return at.Span
				}
			}
			return s.Span
		}
		v = variantOf(p, v.From)
	}
	return p.Givens[given].Span
}

// variantOf finds the variant that a tune's name comes from.
func variantOf(p *check.Program, tune string) *check.Variant {
	for _, v := range p.Variants {
		if tune != "" && plan.Match(v.Name, tune) {
			return v
		}
	}
	return nil
}
