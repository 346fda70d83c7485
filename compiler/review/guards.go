package review

import (
	"math"
	"slices"

	"fettle/compiler/check"
	"fettle/compiler/diff"
	"fettle/lang/source"
	"fettle/lang/syntax"
	"fettle/lang/unit"
)

// findGuards finds what keeps less from harm than it did beside limits: ranges of
// givens and axes that are wider, a policy that hides more or is gone, cautions
// that are gone. None of them has to move a cell.
func (r *Review) findGuards(old, new *Side) {
	a, b := old.Program, new.Program
	if a == nil || b == nil || a == b {
		return
	}
	r.Guards = append(r.Guards, policyGuards(a, b)...)
	r.Guards = append(r.Guards, rangeGuards(a, b)...)
	left := slices.Clone(b.Cautions)
	for _, c := range a.Cautions {
		if k := slices.Index(left, c); k >= 0 {
			left = slices.Delete(left, k, k+1)
			continue
		}
		r.Guards = append(r.Guards, &Guard{Kind: GuardCaution, Name: c, Gone: true, Text: [2]string{c}, Place: [2]source.Span{cautionAt(a, c)}})
	}
	r.rangesChanged(a, b)
}

// policyGuards compares what the two sources allow, map by map.
func policyGuards(a, b *check.Program) []*Guard {
	var out []*Guard
	of := func(list []check.Allowance, name string) *check.Allowance {
		for i := range list {
			if list[i].Map.Name == name {
				return &list[i]
			}
		}
		return nil
	}
	for _, y := range b.Allow {
		g := &Guard{Kind: GuardPolicy, Name: y.Map.Name, Text: [2]string{"", y.Text}, Place: [2]source.Span{{}, y.Span}}
		x := of(a.Allow, y.Map.Name)
		if x != nil {
			g.Text[0], g.Place[0] = x.Text, x.Span
		}
		if x == nil || allowsMore(x, &y) {
			out = append(out, g)
		}
	}
	for _, x := range a.Allow {
		if of(b.Allow, x.Map.Name) == nil {
			out = append(out, &Guard{Kind: GuardPolicy, Name: x.Map.Name, Gone: true, Text: [2]string{x.Text}, Place: [2]source.Span{x.Span}})
		}
	}
	return out
}

// allowsMore says whether the second allows what the first doesn't. A share and an
// amount each allow something that the other doesn't.
func allowsMore(x, y *check.Allowance) bool {
	if x.Share != y.Share {
		return true
	}
	was := x.Amount
	if !x.Share {
		conv, err := unit.NewConv(x.Map.Unit.Difference(), y.Map.Unit.Difference())
		if err != nil {
			return true
		}
		was = conv.Apply(was)
	}
	return beyond(y.Amount, was)
}

// beyond says whether a number is larger than another by more than noise.
func beyond(x, y float64) bool {
	return x > y && (math.IsInf(x, 1) || math.IsInf(y, -1) || x-y > sixDigits*math.Max(abs(x), abs(y)))
}

// interval is a declared range.
type interval struct {
	of     string // a given or an axis
	name   string
	lo, hi float64
	unit   unit.Unit
	text   string
	at     source.Span
}

// intervals are the ranges of givens, unbounded without a `within`, and of axes.
func intervals(p *check.Program) []interval {
	var out []interval
	textOf := func(s source.Span, u unit.Unit) string {
		return unit.With(source.OneLine(s.Text()), unitUnlessSaid(s.Text(), u))
	}
	for _, g := range p.Givens {
		if g.Kind != check.Number {
			continue
		}
		x := interval{GuardGiven, g.Name, g.Lo, g.Hi, g.Unit, "", g.Span}
		if !g.Within.IsZero() {
			x.text, x.at = textOf(g.Within, g.Unit), g.Within
		}
		out = append(out, x)
	}
	for _, a := range p.Axes {
		x := interval{GuardAxis, a.Name, a.Lo, a.Hi, a.Unit, "", a.Span}
		if d, ok := p.Resolved.Root.Table[a.Name].(*syntax.Axis); ok && d.Range != nil {
			x.text, x.at = textOf(d.Range.Span, a.Unit), d.Range.Span
		}
		out = append(out, x)
	}
	return out
}

// unitUnlessSaid is the unit of a range, "" where its text says it.
func unitUnlessSaid(text string, u unit.Unit) string {
	for _, t := range tokensOf(text) {
		if t.Kind == syntax.Word || t.Kind == syntax.Unit {
			return ""
		}
	}
	return u.Text
}

// rangeGuards finds the ranges that are wider than they were.
func rangeGuards(a, b *check.Program) []*Guard {
	var out []*Guard
	eachRange(a, b, func(x, y interval, lo, hi float64) {
		if beyond(x.lo, lo) || beyond(hi, x.hi) {
			out = append(out, &Guard{Kind: y.of, Name: y.name, Gone: y.text == "", Text: [2]string{x.text, y.text}, Place: [2]source.Span{x.at, y.at}})
		}
	})
	return out
}

// eachRange goes through the ranges that both sides have, with the new one in the
// unit of the old.
func eachRange(a, b *check.Program, take func(x, y interval, lo, hi float64)) {
	old := intervals(a)
	for _, y := range intervals(b) {
		for _, x := range old {
			conv, err := unit.NewConv(y.unit, x.unit)
			if x.of == y.of && x.name == y.name && err == nil {
				take(x, y, conv.Apply(y.lo), conv.Apply(y.hi))
			}
		}
	}
}

// rangesChanged lists among what changed in the source the givens that take other
// values than before. Nothing is computed from a range, so that it moves no cell.
func (r *Review) rangesChanged(a, b *check.Program) {
	eachRange(a, b, func(x, y interval, lo, hi float64) {
		same := !beyond(x.lo, lo) && !beyond(lo, x.lo) && !beyond(x.hi, hi) && !beyond(hi, x.hi)
		name := diff.KindGiven + " " + y.name
		if y.of != GuardGiven || same || slices.ContainsFunc(r.Elements, func(c *Change) bool { return c.Kind == diff.KindGiven && c.Name == name }) {
			return
		}
		rangeText := func(text string) string {
			if text == "" {
				return "any value"
			}
			return "within " + text
		}
		r.Elements = append(r.Elements, &Change{Kind: diff.KindGiven, Name: name, Places: [2]source.Span{x.at, y.at}, Why: rangeText(y.text) + " (was " + rangeText(x.text) + ")", Text: [2]string{x.text, y.text}})
	})
}

// cautionAt is where a caution is written; nowhere, if that isn't in the
// workspace itself.
func cautionAt(p *check.Program, text string) source.Span {
	for _, d := range p.Resolved.Decls {
		if c, ok := d.(*syntax.Caution); ok && c.Text.Value == text {
			return c.Header().Span
		}
	}
	return source.Span{}
}

// tell says what a guard was and is.
func (g *Guard) tell() []phrase {
	var out phrase
	was := say("and allowed %s", g.Text[0])
	if g.Text[0] == "" {
		was = say("and allowed nothing")
	}
	switch {
	case g.Kind == GuardCaution:
		out = say(`a caution was taken out: "%s"`, g.Name)
	case g.Kind == GuardPolicy && g.Gone:
		out = say("the policy allows %s nothing any more, %s", g.Name, was)
	case g.Kind == GuardPolicy:
		out = say("the policy allows %s %s now, %s", g.Name, g.Text[1], was)
	case g.Kind == GuardAxis:
		out = say("axis %s reaches over %s now, and reached over %s", g.Name, g.Text[1], g.Text[0])
	case g.Gone:
		out = say("given %s takes any value now, and took %s", g.Name, g.Text[0])
	default:
		out = say("given %s takes %s now, and took %s", g.Name, g.Text[1], g.Text[0])
	}
	if at := places(g.Place); at != nil {
		return []phrase{out, at}
	}
	return []phrase{out}
}

// brief is a guard's name alone.
func (g *Guard) brief() phrase {
	switch g.Kind {
	case GuardCaution:
		return say("a caution")
	case GuardPolicy:
		return say("the policy of %s", g.Name)
	}
	return say("%s %s", words(g.Kind), g.Name)
}

// heldTo is the verdict, by what the new side is held to: a mere refactoring asks
// as much as before, and nothing newly fails or warns.
func (r *Review) heldTo() Verdict {
	if r.Verdict != Refactoring {
		return r.Verdict
	}
	out := Refactoring
	for _, m := range r.Limits {
		switch {
		case m.Weakens(), m.Kind == Unproved:
			return Weakened
		case m.Kind == NewlyFails, m.Kind == NewlyWarns, m.Kind == Worse:
			out = Failing
		}
	}
	if len(r.Guards) > 0 {
		return Weakened
	}
	return out
}
