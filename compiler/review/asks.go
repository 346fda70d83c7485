package review

import (
	"slices"
	"strings"

	"fettle/compiler/check"
	"fettle/compiler/limit"
	"fettle/lang/diag"
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// unsaid finds limits and checks whose text changed without any pair of tunes to
// show it: no tune compared is one that they look at, or something worse is told
// of those. A tune that comes later may be one.
func (r *Review) unsaid(old, new *Side, all []*Margin) []*Margin {
	a, b := old.Program, new.Program
	if a == nil || b == nil || a == b {
		return nil
	}
	type key struct {
		check bool
		name  string
	}
	said := map[key]bool{}
	for _, m := range all {
		if m.Proof {
			continue
		}
		if m.Weakens() || m.Kind == Tightened || m.asks == Tightened || m.asks == Reworded && !m.Alike || !m.Added && (m.Before == nil || m.After == nil) {
			said[key{m.Check, m.Name}] = true
		}
	}
	var out []*Margin
	for _, x := range a.Limits {
		name := now(r.names.limits, x.Name)
		m := &Margin{Name: name, Mode: x.Mode.String(), Text: [2]string{r.names.inText(limitText(x))}, Place: [2]source.Span{x.Span}, Kind: GoneLimit, Alike: true}
		if y := limitNamed(b, name); y != nil {
			m.Text[1], m.Place[1], m.Mode, m.Kind = limitText(y), y.Span, y.Mode.String(), Reworded
			switch {
			case narrowed(a, x, b, y):
				m.Kind = Loosened
			case sameWords(m.Text[0], m.Text[1]):
				continue
			case narrower(x, y), strictness(y.Mode) < strictness(x.Mode):
				m.Kind = Loosened
			case narrower(y, x), narrowed(b, y, a, x):
				m.Kind = Tightened
			}
		}
		if !said[key{false, name}] {
			out = append(out, m)
		}
	}
	for _, x := range a.Checks {
		title := now(r.names.checks, x.Title)
		y := checkTitled(b, title)
		m := &Margin{Check: true, Name: title, Mode: check.Fail.String(), Text: [2]string{r.names.inText(checkText(x))}, Place: [2]source.Span{x.Span}, Kind: GoneLimit, Alike: true}
		if y != nil {
			m.Kind, m.Text[1], m.Place[1] = Reworded, checkText(y), y.Span
		}
		if !sameWords(m.Text[0], m.Text[1]) && !said[key{true, title}] {
			out = append(out, m)
		}
	}
	return out
}

func limitNamed(p *check.Program, name string) *check.Limit {
	for _, l := range p.Limits {
		if l.Name == name {
			return l
		}
	}
	return nil
}

func checkTitled(p *check.Program, title string) *check.Check {
	for _, c := range p.Checks {
		if c.Title == title {
			return c
		}
	}
	return nil
}

// checkText is a check on one line: the tunes that it is for, and what it expects.
func checkText(c *check.Check) string {
	var list []string
	if c.With != "" {
		list = append(list, "with "+c.With)
	}
	for _, e := range c.Expects {
		list = append(list, source.OneLine(e.Text))
	}
	return strings.Join(list, ", ")
}

// sameWords says whether two texts are the same but for how they are spaced.
func sameWords(a, b string) bool { return a == b || spelled(a) == spelled(b) }

// spelled is a text's words, a blank between each.
func spelled(text string) string {
	var out []string
	for _, t := range tokensOf(text) {
		out = append(out, t.Text)
	}
	return strings.Join(out, " ")
}

func tokensOf(text string) []syntax.Token {
	var out []syntax.Token
	pieces, _ := syntax.Tokens(source.New("", text), &diag.List{})
	for _, p := range pieces {
		for _, t := range p {
			if t.Kind != syntax.Newline && t.Kind != syntax.EOF {
				out = append(out, t)
			}
		}
	}
	return out
}

// narrower says whether a limit's condition can be seen to let in less than it
// did: its `when` asks for more, or its `where` does.
func narrower(old, new *check.Limit) bool {
	return narrows(old.When, new.When) || narrows(old.Where, new.Where)
}

// narrows compares two conditions by their texts, each taken apart at `and`: the
// new one narrows if it asks for all that the old one asks for, or for more of
// the same, and is another one. Of an old `or` it may leave out what it likes.
func narrows(old, new *formula.Node) bool {
	switch {
	case new == nil:
		return false
	case old == nil:
		return true
	case sameWords(old.Span.Text(), new.Span.Text()):
		return false
	}
	a, b := partsOf(old, formula.And), partsOf(new, formula.And)
	all := true
	for _, x := range a {
		all = all && slices.ContainsFunc(b, func(y *formula.Node) bool { return implies(y, x) })
	}
	if all {
		return true
	}
	a, b = partsOf(old, formula.Or), partsOf(new, formula.Or)
	for _, y := range b {
		if !slices.ContainsFunc(a, func(x *formula.Node) bool { return implies(y, x) }) {
			return false
		}
	}
	return true
}

// partsOf takes a condition apart.
func partsOf(n *formula.Node, at formula.Op) []*formula.Node {
	if n = formula.Strip(n); n.Op == at {
		return append(partsOf(n.Kids[0], at), partsOf(n.Kids[1], at)...)
	}
	return []*formula.Node{n}
}

// implies says whether a condition can be seen to hold only where another does:
// it is the same, or compares the same with a number that is nearer.
func implies(y, x *formula.Node) bool {
	if sameWords(y.Span.Text(), x.Span.Text()) && y.Op == x.Op {
		return true
	}
	if y.Op != x.Op || len(y.Kids) != 2 {
		return false
	}
	left, right := sameWords(y.Kids[0].Span.Text(), x.Kids[0].Span.Text()), sameWords(y.Kids[1].Span.Text(), x.Kids[1].Span.Text())
	k := 1
	switch {
	case left && !right:
	case right && !left:
		k = 0
	default:
		return false
	}
	n, o := formula.Plain(y.Kids[k]), formula.Plain(x.Kids[k])
	if !n.IsConst() || !o.IsConst() || !n.Type.Unit.Same(o.Type.Unit) {
		return false
	}
	switch y.Op {
	case formula.Lt, formula.Le:
		return (n.Val <= o.Val) == (k == 1)
	case formula.Gt, formula.Ge:
		return (n.Val >= o.Val) == (k == 1)
	}
	return false
}

// lookedAt says whether a limit looks at anything in a tune.
func lookedAt(v *limit.Verdict) bool { return v != nil && v.State != limit.NotHere }
