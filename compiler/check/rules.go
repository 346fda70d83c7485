package check

import (
	"fettle/lang/diag"
	"fettle/lang/formula"
	"fettle/lang/syntax"
	"fettle/lang/unit"
)

const whenUse = "what depends on the axes belongs in `over` or `where`"

// regionDecls checks the named regions.
func (c *checker) regionDecls() {
	for _, d := range c.p.Resolved.Decls {
		rd, ok := d.(*syntax.Region)
		if !ok || !c.owns(d) {
			continue
		}
		r := &Region{Name: rd.Name.Text, Span: rd.Name.Span, Doc: rd.Doc}
		for _, part := range rd.Parts {
			if part.Range == nil {
				c.errs.Add("E701", part.Span, "this part of region `%s` has no range", r.Name).Hint("as in `rpm 6000..8500`")
				continue
			}
			if w, ok := c.weight(part, r.Name); ok {
				r.Parts = append(r.Parts, w)
			}
		}
		c.regions[r.Name] = r
		c.p.Regions = append(c.p.Regions, r)
	}
}

// weight checks a range of an axis with its feather.
func (c *checker) weight(part syntax.Part, region string) (Weight, bool) {
	sym, ok := c.root.symbols[part.Name.Text]
	if !ok || sym.Kind != formula.SymAxis {
		if d, declared := c.root.names.Table[part.Name.Text]; !declared || d.Header().Keyword != "axis" {
			c.wanted(part.Name, "an axis", c.declared("axis"))
		}
		return Weight{}, false
	}
	a := c.p.Axes[sym.Index]
	w := Weight{Axis: sym.Index, Region: region, Span: part.Span}
	ctx := formula.Context{Scope: c.root, Givens: true, What: "a range", Use: "what depends on the cell belongs in `where`"}
	w.Lo, w.Hi, ok = c.bounds(ctx, part.Range, a.Unit, "the range of `"+a.Name+"`")
	if part.Feather != nil {
		v := formula.Compile(part.Feather, ctx, c.errs)
		w.Feather = c.amountOf(v, a.Unit, "the feather on `"+a.Name+"`")
		ok = ok && w.Feather != nil
		if w.Feather != nil && w.Feather.IsConst() && w.Feather.Val < 0 {
			c.errs.Add("E702", part.Feather.Span, "a feather is a width and can't be negative")
			ok = false
		}
	}
	return w, ok
}

// amountOf brings a difference to a unit's scale; bare on a temperature it is K.
func (c *checker) amountOf(v *formula.Value, u unit.Unit, what string) *formula.Node {
	if v == nil {
		return nil
	}
	if v.Node.Type.Unit.IsPoint() && v.Node.Type.Kind == formula.Quantity && !v.Bare {
		d := c.errs.Add("E324", v.Node.Span, "%s is a difference, and `%s` is a point in %s", what, v.Node.Span.Text(), v.Node.Type.Unit.Text)
		d.Hint("write it in K")
		return nil
	}
	if v.Bare && u.IsPoint() {
		v = &formula.Value{Node: v.As(unit.Kelvin(), what, c.errs)}
	}
	return v.As(u.Difference(), what, c.errs)
}

func (c *checker) rules() {
	for _, d := range c.p.Resolved.Decls {
		rd, ok := d.(*syntax.Rule)
		if !ok {
			continue
		}
		r := &Rule{Index: len(c.p.Rules), Name: rd.Name.Text, Span: rd.Name.Span, Doc: rd.Doc}
		if rd.When != nil {
			r.WhenText = oneLine(rd.When.Span.Text())
			r.When = c.yesNo(rd.When, formula.Context{Scope: c.root, Givens: true, What: "`when`", Use: whenUse}, "`when`")
		}
		for _, n := range rd.Corrects {
			sym, ok := c.root.Find(n.Text)
			if !ok || (sym.Kind != formula.SymGiven && sym.Kind != formula.SymChoice && sym.Kind != formula.SymSwitch) {
				if sym.Kind != formula.SymBroken || !ok {
					c.wanted(n, "a given", c.declared("given"))
				}
				continue
			}
			r.Corrects = append(r.Corrects, sym.Index)
		}
		if len(rd.Adjusts) == 0 && rd.Span.File != nil {
			c.errs.Add("W006", rd.Name.Span, "rule `%s` adjusts nothing", r.Name)
		}
		for _, a := range rd.Adjusts {
			if s := c.step(a, r); s != nil {
				r.Steps = append(r.Steps, s)
				if c.owns(d) {
					s.Map.Steps = append(s.Map.Steps, s)
				}
			}
		}
		if c.owns(d) {
			c.p.Rules = append(c.p.Rules, r)
		}
	}
}

// yesNo checks a condition.
func (c *checker) yesNo(e *syntax.Expr, ctx formula.Context, what string) *formula.Node {
	v := formula.Compile(e, ctx, c.errs)
	if v == nil {
		return nil
	}
	if v.Node.Type.Kind != formula.YesNo {
		c.errs.Add("E320", e.Span, "%s needs a yes/no, and this is a number", what).Hint("compare it: `altitude > 500 m`")
		return nil
	}
	return v.Node
}

// step checks one adjustment. Nil if it has errors.
func (c *checker) step(a *syntax.Adjust, r *Rule) *Step {
	sym, ok := c.root.Find(a.Map.Text)
	if !ok || sym.Kind != formula.SymMap {
		if !(ok && sym.Kind == formula.SymBroken) {
			c.wanted(a.Map, "a map", c.declared("map"))
		}
		return nil
	}
	m := c.p.Maps[sym.Index]
	s := &Step{Rule: r, Map: m, Op: a.Op.Text, Span: a.Span, Index: c.steps}
	c.steps++
	ctx := c.cellContext(m)
	ctx.What = "an adjustment"
	v := formula.Compile(a.Amount, ctx, c.errs)
	if v != nil {
		c.amount(s, v, a)
	}
	good := v != nil && s.Amount != nil
	for _, part := range a.Over {
		good = c.over(s, part) && good
	}
	if len(a.Over) > 0 {
		s.OverText = oneLine(a.Over[0].Span.Join(a.Over[len(a.Over)-1].Span).Text())
	}
	if a.Where != nil {
		ctx.What = "`where`"
		s.Where = c.yesNo(a.Where, ctx, "`where`")
		if s.Where == nil {
			good = false
		} else if !s.Where.OnCell() {
			c.errs.Add("E703", a.Where.Span, "this `where` is the same in every cell").
				Hint("what depends on conditions alone belongs in the rule's `when`")
			good = false
		}
	}
	if !good {
		return nil
	}
	s.Self = s.Amount.UsesMap(m.Index) || s.Where != nil && s.Where.UsesMap(m.Index)
	return s
}

// amount settles the unit of an adjustment's amount.
func (c *checker) amount(s *Step, v *formula.Value, a *syntax.Adjust) {
	m, u := s.Map, s.Map.Unit
	n := v.Node
	if n.Type.Kind != formula.Quantity {
		c.errs.Add("E320", n.Span, "an amount is a number, and this is a yes/no")
		return
	}
	what := "the amount for `" + m.Name + "`"
	switch s.Op {
	case "=":
		s.Unit = u
		s.Amount = v.As(u, what, c.errs)
	case "*=", "/=":
		if u.IsPoint() {
			c.errs.Add("E323", a.Span, "`%s` holds points in %s, which can't be scaled", m.Name, u.Text).Hint("add a difference in K instead: `%s += 5 K`", m.Name)
			return
		}
		if !n.Type.Unit.Dim.IsNone() {
			c.errs.Add("E704", n.Span, "`%s` takes a plain factor, and `%s` is %s", s.Op, oneLine(n.Span.Text()), formula.KindOf(n.Type.Unit)).
				Hint("to add it, write `+=`")
			return
		}
		s.Unit = unit.None
		s.Amount = v.As(unit.None, what, c.errs)
	default:
		dimless := n.Type.Unit.Dim.IsNone() && !v.Bare
		switch {
		case u.IsPlain() && v.Percent:
			text := a.Op.Text
			f := 1 + n.Val/100
			if text == "-=" {
				f = 1 - n.Val/100
			}
			c.errs.Add("E705", a.Span, "`%s` is a plain number, so `%s %s` could be a share or an amount", m.Name, text, oneLine(a.Amount.Span.Text())).
				Hint("for a share write `%s *= %s`", m.Name, num(f))
			return
		case dimless && !u.Dim.IsNone():
			if u.IsPoint() {
				c.errs.Add("E323", a.Span, "`%s` holds points in %s, and a share of a point has no meaning", m.Name, u.Text).Hint("add a difference in K instead")
				return
			}
			s.Relative, s.Unit = true, unit.None
			s.Amount = v.As(unit.None, what, c.errs)
			return
		}
		s.Unit = u.Difference()
		s.Amount = c.amountOf(v, u, what)
	}
}

// over checks one member of an over clause: a region's name or a range.
func (c *checker) over(s *Step, part syntax.Part) bool {
	if part.Range == nil {
		if d, ok := c.root.names.Table[part.Name.Text]; ok && d.Header().Keyword == "region" {
			r := c.regions[part.Name.Text]
			r.used = true
			c.root.used[r.Name] = true
			if part.Feather != nil {
				c.errs.Add("E706", part.Feather.Span, "a feather belongs to a range; region `%s` has its own", r.Name).Note(r.Span, "declared here")
				return false
			}
			for _, w := range r.Parts {
				if !c.fits(s, w, part) {
					return false
				}
				s.Over = append(s.Over, w)
			}
			return len(r.Parts) > 0
		}
		if d, ok := c.root.names.Table[part.Name.Text]; ok && d.Header().Keyword == "axis" {
			c.errs.Add("E701", part.Span, "`over %s` has no range", part.Name.Text).Hint("as in `over %s 6000..8500`", part.Name.Text)
			return false
		}
		c.wanted(part.Name, "a region or an axis", append(c.declared("region"), c.declared("axis")...))
		return false
	}
	w, ok := c.weight(part, "")
	if !ok || !c.fits(s, w, part) {
		return false
	}
	s.Over = append(s.Over, w)
	return true
}

func (c *checker) fits(s *Step, w Weight, part syntax.Part) bool {
	for _, a := range s.Map.Axes {
		if a == w.Axis {
			return true
		}
	}
	var d *diag.Diagnostic
	if w.Region != "" {
		d = c.errs.Add("E707", part.Span, "region `%s` bounds `%s`, and map `%s` has no such axis", w.Region, c.p.Axes[w.Axis].Name, s.Map.Name).
			Note(w.Span, "bounded here")
	} else {
		d = c.errs.Add("E707", part.Span, "map `%s` has no axis `%s`", s.Map.Name, c.p.Axes[w.Axis].Name)
	}
	d.Note(s.Map.decl.Name.Span, "`%s` is declared here", s.Map.Name)
	return false
}

// oneLine folds a text's white space, for quoting an expression.
func oneLine(s string) string {
	out := make([]byte, 0, len(s))
	space := false
	for i := 0; i < len(s); i++ {
		switch s[i] {
		case ' ', '\t', '\n', '\r':
			space = len(out) > 0
		default:
			if space {
				out = append(out, ' ')
			}
			space = false
			out = append(out, s[i])
		}
	}
	return string(out)
}
