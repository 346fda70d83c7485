package check

import (
	"cmp"
	"strconv"
	"strings"

	"fettle/compiler/grid"
	"fettle/lang/diag"
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/syntax"
	"fettle/lang/unit"
)

const whenUse = "it is decided once a tune; what depends on the axes belongs in `over` or `where`"

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
				if other, ok := c.root.names.Table[part.Name.Text]; ok && other.Header().Keyword == "region" {
					c.errs.Add("E701", part.Span, "`%s` is a region, and a region is made of ranges of axes", part.Name.Text).
						Note(other.Header().Name.Span, "declared here").Hint("an `over` may list several regions")
				} else {
					c.errs.Add("E701", part.Span, "this part of region `%s` has no range", r.Name).Hint("as in `%s`", c.sampleRange(part.Name.Text))
				}
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
		ok = w.Feather != nil && c.bound(part.Feather, "the feather on `"+a.Name+"`") && ok
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
		text := source.OneLine(v.Node.Span.Text())
		d := c.errs.Add("E324", v.Node.Span, "%s is a difference, and `%s` is a temperature on the scale", what, text).Hint("write it in K")
		if number := strings.TrimSpace(strings.TrimSuffix(text, "degC")); v.Node.IsConst() && number != text && !strings.ContainsAny(number, " []") {
			d.Suggest(v.Node.Span, number+" K", "write `%s K`", number)
		}
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
			r.WhenText = source.OneLine(rd.When.Span.Text())
			r.When = c.yesNo(rd.When, formula.Context{Scope: c.root, Givens: true, What: "`when`", Use: whenUse}, "`when`")
		}
		for _, n := range rd.Corrects {
			if given, ok := c.givenNamed(n); ok {
				r.Corrects = append(r.Corrects, given)
			}
		}
		if len(rd.Adjusts) == 0 && !rd.Partial {
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
		sample := "altitude > 500 m"
		if text := source.OneLine(e.Span.Text()); len(text) <= 40 && !strings.Contains(text, " if ") {
			sign := map[string]string{"a check": "==", "a limit": "<="}[what]
			sample = text + " " + cmp.Or(sign, ">") + " …"
		}
		c.errs.Add("E320", e.Span, "%s needs a yes/no, and this is a number", what).Hint("compare it, as in `%s`", sample)
		return nil
	}
	return v.Node
}

// step checks one adjustment. Nil if it has errors.
func (c *checker) step(a *syntax.Adjust, r *Rule) *Step {
	if twisted(a, c.errs) {
		return nil
	}
	sym, ok := c.root.Find(a.Map.Text)
	if !ok || sym.Kind != formula.SymMap {
		if !(ok && sym.Kind == formula.SymBroken) {
			d := c.wanted(a.Map, "a map", c.declared("map"))
			if ok && (sym.Kind == formula.SymGiven || sym.Kind == formula.SymChoice || sym.Kind == formula.SymSwitch) {
				d.Hint("a given is set in a variant: `variant NAME { %s = … }`", a.Map.Text)
			}
		}
		// Without the map its unit and axes aren't known, but the names and
		// units of the rest can be looked at.
		ctx := formula.Context{Scope: c.root, Cell: true, Maps: true, AnyAx: true, Givens: true, What: "an adjustment"}
		formula.Compile(a.Amount, ctx, c.errs)
		formula.Compile(a.Where, ctx, c.errs)
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
		s.OverText = source.OneLine(a.Over[0].Span.Join(a.Over[len(a.Over)-1].Span).Text())
	}
	if a.Where != nil {
		ctx.What = "`where`"
		s.Where = c.yesNo(a.Where, ctx, "`where`")
		if s.Where == nil {
			good = false
		} else if !s.Where.OnCell() {
			d := c.errs.Add("E703", a.Where.Span, "this `where` is the same in every cell")
			if r != nil {
				d.Hint("what depends on conditions alone belongs in the rule's `when`: `rule %s when %s { … }`", r.Name, source.OneLine(a.Where.Span.Text()))
			} else {
				d.Hint("a trim acts in its own variant only: leave the `where` out")
			}
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
		c.errs.Add("E320", n.Span, "an amount is a number, and this is a yes/no").Hint("what is done only at times has its `when` on the rule, or is `if … then … else …`")
		return
	}
	what := "the amount for `" + m.Name + "`"
	if s.Op != "*=" && s.Op != "/=" && !u.Dim.IsNone() && v.Unitless(u, "`"+m.Name+"`", c.errs) {
		return // it would count as a share
	}
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
			d := c.errs.Add("E704", n.Span, "`%s` takes a plain factor, and `%s` is %s", s.Op, source.OneLine(n.Span.Text()), formula.KindOf(n.Type.Unit))
			if n.Type.Unit.Dim == u.Dim {
				d.Hint("to add it, write `+=`")
			} else {
				d.Hint("divide it by a quantity of its kind")
			}
			return
		}
		if text := source.OneLine(a.Amount.Span.Text()); v.Percent && s.Op == "*=" && n.Val > -50 && n.Val < 50 {
			c.errs.Add("W012", a.Span, "`%s *= %s` leaves %s of `%s`: it scales by %s", m.Name, text, text, m.Name, grid.Exact(n.Val/100)).
				Hint("to add a share, write `%s += %s`", m.Name, text)
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
			sign := source.Span{File: a.Span.File, From: a.Op.From, To: a.Amount.Span.To}
			factor := "*= " + strconv.FormatFloat(f, 'g', 12, 64)
			c.errs.Add("E705", sign, "`%s` is a plain number, so `%s %s` could be a share or an amount", m.Name, text, source.OneLine(a.Amount.Span.Text())).
				Suggest(sign, factor, "for a share write `%s %s`", m.Name, factor)
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
			if r == nil {
				return false // its declaration has errors that are reported there
			}
			r.used = true
			c.root.used[r.Name] = true
			if part.Feather != nil {
				c.errs.Add("E706", part.Feather.Span, "a feather belongs to a range, and the ranges of region `%s` have their own", r.Name).Note(r.Span, "declared here")
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
			c.errs.Add("E701", part.Span, "`over %s` has no range", part.Name.Text).Hint("as in `over %s`", c.sampleRange(part.Name.Text))
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

// sampleRange shows how a range on an axis is written, with the axis's own ends.
func (c *checker) sampleRange(axis string) string {
	if sym, ok := c.root.symbols[axis]; ok && sym.Kind == formula.SymAxis {
		a := c.p.Axes[sym.Index]
		return axis + " " + grid.Exact(a.Lo) + ".." + grid.Exact(a.Hi)
	}
	return "rpm 6000..8500"
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

// twisted finds a sign written the wrong way round, which would read as `=` and
// a sign of the amount.
func twisted(a *syntax.Adjust, errs *diag.List) bool {
	text := a.Span.File.Text
	at := a.Op.From + 1
	if a.Op.Text != "=" || at >= len(text) || strings.IndexByte("+*/", text[at]) < 0 && !(text[at] == '-' && at+1 < len(text) && text[at+1] == ' ') {
		return false
	}
	sign := source.Span{File: a.Span.File, From: a.Op.From, To: at + 1}
	errs.Add("E312", sign, "`%s` is `%c=` the wrong way round: it would set `%s`, not change it", sign.Text(), text[at], a.Map.Text).
		Suggest(sign, string(text[at])+"=", "write `%c=`", text[at])
	return true
}
