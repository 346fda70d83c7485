package review

import (
	"slices"
	"strings"

	"fettle/compiler/check"
	"fettle/compiler/diff"
	"fettle/compiler/plan"
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// due finds what changed in the source of what a limit reads: why it asks for
// something else though its own text is the same. One that reads a value that
// changed, and asks all tunes compared for the same, is told too.
func (r *Review) due(old, new *Side) {
	a, b := old.Program, new.Program
	if a == nil || b == nil || a == b {
		return
	}
	said := map[string]bool{}
	for _, m := range r.Limits {
		if m.Check || m.Fault || m.Proof {
			continue
		}
		said[m.Name] = said[m.Name] || m.Weakens() || m.Kind == Tightened || m.asks != ""
		x, y := limitNamed(a, m.Name), limitNamed(b, m.Name)
		if x == nil || y == nil || m.asks == "" && !m.Weakens() {
			continue
		}
		names := reads(a, asksOf(x), reads(b, asksOf(y), nil))
		for _, c := range r.Elements {
			if c.readBy(names, rowsOf(b, new.tune(m.Tune))) {
				m.Due = append(m.Due, c)
			}
		}
		if own := "limit " + m.Name; m.By == own && len(m.Due) > 0 && sameWords(m.Text[0], m.Text[1]) {
			m.By, m.ByAt = m.Due[0].Name, m.Due[0].Places[1]
		}
	}
	for _, y := range b.Limits {
		x := limitNamed(a, y.Name)
		if x == nil || said[y.Name] || !sameWords(limitText(x), limitText(y)) {
			continue
		}
		names := reads(a, asksOf(x), reads(b, asksOf(y), nil))
		m := &Margin{Kind: Reworded, Name: y.Name, Mode: y.Mode.String(), Text: [2]string{limitText(x), limitText(y)}, Place: [2]source.Span{x.Span, y.Span}, Alike: true}
		for _, c := range r.Elements {
			if c.Kind != diff.KindRow && c.readBy(names, nil) {
				m.Due = append(m.Due, c)
			}
		}
		if m.Due != nil {
			r.Limits = append(r.Limits, m)
		}
	}
	sortMargins(r.Limits)
}

// tune finds a tune by its name, or by what it is called now; nil without one.
func (s *Side) tune(name string) *plan.Tune {
	if _, now, two := strings.Cut(name, " → "); two {
		name = now
	}
	for _, t := range s.Tunes {
		if t.Name == name {
			return t
		}
	}
	return nil
}

// asksOf is the text of what a limit asks: its bounds, `where` and `when`; of
// what is no comparison with a bound the whole.
func asksOf(l *check.Limit) string {
	var list []string
	for _, n := range partsOf(l.Cond, formula.And) {
		kids := n.Kids
		if len(kids) != 2 || kids[0].Maps != 0 && kids[1].Maps != 0 || kids[0].Maps == 0 && kids[1].Maps == 0 {
			kids = []*formula.Node{n}
		}
		for _, k := range kids {
			if k.Maps == 0 || k == n {
				list = append(list, k.Span.Text())
			}
		}
	}
	for _, n := range []*formula.Node{l.Where, l.When} {
		if n != nil {
			list = append(list, n.Span.Text())
		}
	}
	return strings.Join(list, "\n")
}

// reads adds to some names those that a text reads, straight or by way of values,
// functions, curves and givens, but not of maps. A row is "fuels.e10".
func reads(p *check.Program, text string, in map[string]bool) map[string]bool {
	out := map[string]bool{}
	var follow func(text string)
	follow = func(text string) {
		list := tokensOf(text)
		for i, t := range list {
			if t.Kind != syntax.Word || i > 0 && list[i-1].Text == "." || out[t.Text] {
				continue
			}
			if i+2 < len(list) && list[i+1].Text == "." {
				out[t.Text+"."+list[i+2].Text] = true
			}
			switch d := p.Resolved.Root.Table[t.Text].(type) {
			case *syntax.Let, *syntax.Fn:
				out[t.Text] = true
				follow(d.Header().Span.Text())
			case *syntax.Curve, *syntax.Catalog:
				out[t.Text] = true
			case *syntax.Given:
				out[t.Text] = true
				if d.Catalog != nil {
					out[d.Catalog.Text] = true
				}
			}
		}
	}
	follow(text)
	for name := range in {
		out[name] = true
	}
	return out
}

// readBy says whether a change is of one of some names; of a row, whether it is
// named, or one of a tune's own.
func (c *Change) readBy(names map[string]bool, rows [][2]string) bool {
	if c.Element != nil && len(c.Element.Members) > 0 {
		return slices.ContainsFunc(c.Element.Members, func(e *diff.Element) bool {
			return (&Change{Kind: e.Kind, Name: e.Name, Element: e}).readBy(names, rows)
		})
	}
	_, name, _ := strings.Cut(c.Name, " ")
	switch c.Kind {
	case diff.KindValue, diff.KindFunction, diff.KindCurve, diff.KindCatalog:
		return names[name]
	case diff.KindRow:
		catalog, row, _ := strings.Cut(name, ".")
		return names[name] || names[catalog] && slices.Contains(rows, [2]string{catalog, row})
	}
	return false
}

// rowsOf are the rows of catalogues that a tune is of.
func rowsOf(p *check.Program, t *plan.Tune) [][2]string {
	var out [][2]string
	if t == nil {
		return nil
	}
	for i, g := range p.Givens {
		if g.Kind == check.Choice {
			out = append(out, [2]string{g.Catalog.Name, g.Catalog.Rows[int(t.Values[i])]})
		}
	}
	return out
}
