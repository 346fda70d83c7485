package check

import (
	"cmp"
	"slices"
	"strconv"

	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/syntax"
	"fettle/lang/unit"
)

// Allowance is how far a cell of a map may change without a reviewer being
// shown it.
type Allowance struct {
	Map    *Map
	Share  bool        // of the old value
	Amount float64     // a share as 0.02; else in the unit of a difference of the map's values
	Text   string      // the amount with its unit: "2 %", "0.5 deg"; of a map in per cent "2 points"
	Span   source.Span // the whole line; none on a command line
}

// reviews reads the policy of the workspace.
func (c *checker) reviews() {
	inFile := map[*source.File]source.Span{}
	seen := map[int]source.Span{}
	for _, d := range c.p.Resolved.Decls {
		rd, ok := d.(*syntax.Review)
		if !ok {
			continue
		}
		word := source.Span{File: rd.Span.File, From: rd.Span.From, To: rd.Span.From + len(rd.Keyword)}
		if first, twice := inFile[word.File]; twice {
			c.errs.Add("E819", word, "a second `review` in one file").Note(first, "the first").Hint("join the two")
		} else {
			inFile[word.File] = word
		}
		if len(rd.Allows) == 0 && !rd.Partial {
			c.errs.Add("W016", word, "this review allows nothing")
		}
		for _, line := range rd.Allows {
			m := c.allowedMap(line.Map)
			if m == nil {
				// The names and units of the rest can be looked at all the same.
				formula.Compile(line.Amount, formula.Context{Scope: c.root, What: "a fixed value"}, c.errs)
				continue
			}
			a, ok := c.allowance(m, line.Amount, c.root)
			if first, twice := seen[m.Index]; twice {
				c.errs.Add("E820", line.Map.Span, "`%s` is allowed twice", m.Name).Note(first, "the first")
				continue
			}
			seen[m.Index] = line.Map.Span
			if ok {
				a.Span = line.Span
				c.p.Allow = append(c.p.Allow, a)
			}
		}
	}
	slices.SortFunc(c.p.Allow, func(a, b Allowance) int { return cmp.Compare(a.Map.Index, b.Map.Index) })
}

// allowedMap finds the map of a line. Nil if there is none.
func (c *checker) allowedMap(name syntax.Name) *Map {
	sym, ok := c.quietly(name.Text)
	if ok && sym.Kind == formula.SymMap {
		return c.p.Maps[sym.Index]
	}
	if !ok || sym.Kind != formula.SymBroken {
		c.wanted(name, "a map", c.declared("map"))
	}
	return nil
}

// allowance settles what an amount is to a map, as `+=` would take it: a share
// of a map with a dimension, points of one in per cent, a difference of
// temperatures.
func (c *checker) allowance(m *Map, e *syntax.Expr, s formula.Scope) (Allowance, bool) {
	a := Allowance{Map: m}
	u, what := m.Unit, "what `"+m.Name+"` is allowed"
	v := formula.Compile(e, formula.Context{Scope: s, What: "a fixed value"}, c.errs)
	if v == nil || !c.bound(e, what) {
		return a, false
	}
	n := v.Node
	text := source.OneLine(n.Span.Text())
	if n.Type.Kind != formula.Quantity {
		c.errs.Add("E320", n.Span, "%s is a number, and `%s` is a yes/no", what, text)
		return a, false
	}
	if !u.Dim.IsNone() && v.Unitless(u, "`"+m.Name+"`", c.errs) {
		return a, false // it would count as a share
	}
	switch {
	case u.IsPlain() && v.Percent:
		number := digits(n.Val / 100)
		c.errs.Add("E705", n.Span, "`%s` is a plain number, so `%s` could be a share or an amount", m.Name, text).
			Suggest(n.Span, number, "write the amount: `%s`", number)
		return a, false
	case u.IsPoint() && !v.Bare && n.Type.Unit.Dim.IsNone():
		c.errs.Add("E323", n.Span, "`%s` holds points in %s, and a share of a point has no meaning", m.Name, u.Text).
			Hint("allow a difference in K instead: `allow %s = 5 K`", m.Name)
		return a, false
	case !u.Dim.IsNone() && !v.Bare && n.Type.Unit.Dim.IsNone():
		a.Share = true
		n = v.As(unit.None, what, c.errs)
	default:
		n = c.amountOf(v, u, what)
	}
	if n == nil {
		return a, false
	}
	x, ok := c.fixed(n, what)
	if !ok {
		return a, false
	}
	if x < 0 {
		c.errs.Add("E821", v.Node.Span, "%s is less than nothing: it goes both ways, and can't be negative", what)
		return a, false
	}
	a.Amount = x
	a.Text = allowedText(a, e)
	return a, true
}

// allowedText writes an amount with its unit: as it was written, or by its
// value where that stands behind a name or in parentheses.
func allowedText(a Allowance, e *syntax.Expr) string {
	u := a.Map.Unit.Difference()
	number, in := digits(a.Amount), u.Text
	switch t := e.Toks; {
	case len(t) == 1 && t[0].Kind == syntax.Number:
		number = t[0].Text
		if a.Map.Unit.IsPoint() {
			in = unit.Kelvin().Text
		}
	case len(t) == 2 && t[0].Kind == syntax.Number:
		number, in = t[0].Text, t[1].Text
		if t[1].Kind == syntax.Unit {
			in = in[1 : len(in)-1]
		}
	case a.Share:
		number, in = digits(a.Amount*100), "%"
	case a.Map.Unit.IsPoint(): // a difference of degF has no unit of its own
		if conv, err := unit.NewConv(u, unit.Kelvin()); err == nil {
			number, in = digits(conv.Apply(a.Amount)), unit.Kelvin().Text
		}
	}
	switch {
	case in != "%" || a.Share:
	case u.Same(unit.Percent):
		in = "points"
	default: // of a map in [mg/g]
		number, in = digits(a.Amount), u.Text
	}
	return unit.With(number, in)
}

// digits writes a number without its float noise.
func digits(x float64) string { return strconv.FormatFloat(x, 'g', 12, 64) }
