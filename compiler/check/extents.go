package check

import (
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// extents reads the ranges of conditions over which a limit is proved.
func (c *checker) extents(l *Limit, d *syntax.Limit) bool {
	if len(d.For) == 0 {
		return true
	}
	whole := d.For[0].Span.Join(d.For[len(d.For)-1].Span)
	if l.Mode == Clamp {
		e := c.errs.Add("E836", whole, "limit `%s` caps its cells, so it holds everywhere and there is nothing to prove", l.Name)
		if word := wordBefore(whole, "for"); !word.IsZero() {
			e.Suggest(word.Join(whole), "", "leave the `for` out")
		}
		return false
	}
	l.ForText = source.OneLine(whole.Text())
	first, ok := map[int]source.Span{}, true
	for _, part := range d.For {
		x, fine := c.extent(part)
		if !fine {
			ok = false
			continue
		}
		if at, twice := first[x.Given]; twice {
			c.errs.Add("E835", part.Name.Span, "`%s` stands twice in this `for`", part.Name.Text).Note(at, "the first stands here")
			ok = false
			continue
		}
		first[x.Given] = part.Name.Span
		l.For = append(l.For, x)
	}
	return ok
}

// extent reads one of them.
func (c *checker) extent(part syntax.Part) (x Extent, ok bool) {
	name := part.Name
	sym, known := c.quietly(name.Text) // to prove over it isn't to read it
	switch {
	case known && (sym.Kind == formula.SymChoice || sym.Kind == formula.SymSwitch):
		what := "a row of a catalogue"
		if sym.Kind == formula.SymSwitch {
			what = "yes or no"
		}
		c.errs.Add("E833", name.Span, "`%s` is %s, and `for` takes a quantity with its range", name.Text, what).
			Note(sym.Span, "declared here").Hint("leave it out: the limit is proved for each tune's own `%s`", name.Text)
		return x, false
	case known && sym.Kind == formula.SymBroken:
		return x, false
	case !known || sym.Kind != formula.SymGiven:
		e := c.wanted(name, "a given", c.declared("given"))
		if known && sym.Kind == formula.SymAxis {
			e.Hint("a limit is proved along the whole axis; what chooses cells is its `where`")
		}
		return x, false
	}
	x.Given, x.Span = sym.Index, part.Span
	g := c.p.Givens[x.Given]
	switch r := part.Range; {
	case r == nil:
		e := c.errs.Add("E834", name.Span, "`for %s` has no range", name.Text)
		if g.Within.IsZero() {
			e.Hint("write both ends, as in `for altitude -100 m..2500 m`")
		} else {
			e.Suggest(name.Span, name.Text+" "+source.OneLine(g.Within.Text()), "for all that `%s` may be, write `%s %s`", name.Text, name.Text, source.OneLine(g.Within.Text()))
		}
		return x, false
	case r.Lo == nil || r.Hi == nil:
		c.errs.Add("E834", r.Span, "this range of `%s` has an open end", name.Text).Hint("write both ends: a proof says how far it goes")
		return x, false
	case part.Feather != nil:
		c.errs.Add("E834", part.Feather.Span, "a range to prove over has no feather").Hint("the limit holds up to the ends, and nothing is said beyond")
		return x, false
	}
	if x.Lo, x.Hi, ok = c.constRange(c.root, part.Range, g.Unit, "`for`"); !ok {
		return x, false
	}
	for _, end := range []struct {
		at   *syntax.Expr
		x    float64
		text string
	}{{part.Range.Lo, x.Lo, "begins below"}, {part.Range.Hi, x.Hi, "goes above"}} {
		if end.x < g.Lo || end.x > g.Hi {
			c.errs.Add("E505", end.at.Span, "this range %s what `%s` may be, %s", end.text, g.Name, source.OneLine(g.Within.Text())).
				Note(g.Within, "its range").Hint("narrow the `for`, or widen the `within`")
			ok = false
		}
	}
	return x, ok
}
