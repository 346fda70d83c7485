package check

import (
	"strconv"
	"strings"

	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/syntax"
	"fettle/lang/unit"
)

// variants checks the settings of variants; plan expands them.
func (c *checker) variants() {
	for _, d := range c.p.Resolved.Decls {
		if h := d.Header(); isBroken(d) && (h.Keyword == "variant" || h.Keyword == "variants") && c.owns(d) {
			c.p.Variants = append(c.p.Variants, &Variant{Name: h.Name.Text, Broken: true, Span: h.Name.Span})
		}
		vd, ok := d.(*syntax.Variant)
		if !ok {
			continue
		}
		v := &Variant{Name: vd.Name.Text, Matrix: vd.Matrix, Broken: vd.Partial, Span: vd.Name.Span, Doc: vd.Doc}
		if vd.From != nil {
			v.From, v.FromSpan = vd.From.Text, vd.From.Span
		}
		seen := map[int]syntax.Name{}
		for _, sd := range vd.Settings {
			s, ok := c.setting(sd, vd.Matrix)
			if !ok {
				v.Broken = true
				continue
			}
			if first, twice := seen[s.Given]; twice {
				c.errs.Add("E805", sd.Given.Span, "`%s` is set twice", sd.Given.Text).Note(first.Span, "the first")
				continue
			}
			seen[s.Given] = sd.Given
			v.Settings = append(v.Settings, s)
		}
		for _, e := range vd.Except {
			if !vd.Matrix {
				c.errs.Add("E806", e.Span, "`except` leaves combinations out of a matrix, and `%s` is one variant", v.Name).Hint("a matrix is declared with `variants`")
				continue
			}
			n := c.yesNo(e, formula.Context{Scope: c.root, Givens: true, What: "`except`", Use: "it sees the conditions of a tune only"}, "`except`")
			if n == nil {
				v.Broken = true
			} else {
				v.Excepts = append(v.Excepts, Except{Cond: n, Text: source.OneLine(e.Span.Text()), Span: e.Span})
			}
		}
		if vd.Matrix && len(vd.Settings) == 0 && !vd.Partial {
			v.Broken = true
			c.errs.Add("E816", vd.Name.Span, "matrix `%s` has no values to combine", v.Name).Hint("one tune is declared with `variant`")
		}
		for _, t := range vd.Trims {
			if s := c.step(t, nil); s != nil {
				v.Trims = append(v.Trims, s)
			}
		}
		if c.owns(d) {
			c.p.Variants = append(c.p.Variants, v)
		}
	}
}

func isBroken(d syntax.Decl) bool { _, ok := d.(*syntax.Broken); return ok }

// setting checks what a variant says of one given.
func (c *checker) setting(d *syntax.Setting, matrix bool) (Setting, bool) {
	sym, ok := c.quietly(d.Given.Text)
	if !ok || sym.Kind != formula.SymGiven && sym.Kind != formula.SymChoice && sym.Kind != formula.SymSwitch {
		if !(ok && sym.Kind == formula.SymBroken) {
			dd := c.wanted(d.Given, "a given", c.declared("given"))
			if ok && sym.Kind == formula.SymMap {
				dd.Suggest(source.Span{File: d.Span.File, From: d.Span.From, To: d.Span.From}, "trim ",
					"to change a map in this variant alone, write `trim %s = …`", d.Given.Text)
			}
		}
		return Setting{}, false
	}
	g := c.p.Givens[sym.Index]
	s := Setting{Given: sym.Index, Span: d.Span}
	if len(d.Values) > 1 && !matrix {
		c.errs.Add("E807", d.Values[1].Span, "one variant has one value of `%s`, and this is a second", g.Name).Hint("for several tunes declare a matrix with `variants`")
		return s, false
	}
	good := true
	at := map[float64]source.Span{} // where each value stands first
	for _, e := range d.Values {
		sp, ok := c.setpoint(g, e)
		if !ok {
			good = false
			continue
		}
		if first, twice := at[sp.Value]; twice {
			c.errs.Add("E808", e.Span, "the value %s stands twice", source.OneLine(e.Span.Text())).Note(first, "the first")
			good = false
		} else {
			at[sp.Value] = sp.Span
		}
		s.Values = append(s.Values, sp)
	}
	return s, good && len(s.Values) > 0
}

// setpoint checks one value of a given and makes its part of a tune's name.
func (c *checker) setpoint(g *Given, e *syntax.Expr) (Setpoint, bool) {
	sp := Setpoint{Span: e.Span}
	switch g.Kind {
	case Choice:
		i, ok := c.row(g.Catalog, e)
		if !ok {
			return sp, false
		}
		sp.Value, sp.Text = float64(i), g.Catalog.Rows[i]
		return sp, true
	case Switch:
		if len(e.Toks) == 1 && (e.Toks[0].Text == "yes" || e.Toks[0].Text == "no") {
			if e.Toks[0].Text == "yes" {
				sp.Value, sp.Text = 1, g.Name
			} else {
				sp.Text = "no_" + g.Name
			}
			return sp, true
		}
		dd := c.errs.Add("E809", e.Span, "`%s` is yes or no, and this is neither", g.Name)
		switch e.Span.Text() {
		case "1", "true", "on":
			dd.Suggest(e.Span, "yes", "write `yes`")
		case "0", "false", "off":
			dd.Suggest(e.Span, "no", "write `no`")
		}
		return sp, false
	}
	x, ok := c.value(c.root, e, g.Unit, "`"+g.Name+"`")
	if !ok {
		return sp, false
	}
	if x < g.Lo || x > g.Hi {
		c.errs.Add("E505", e.Span, "%s is outside the range of `%s`, %s", source.OneLine(e.Span.Text()), g.Name, source.OneLine(g.Within.Text())).Note(g.Within, "its range")
		return sp, false
	}
	sp.Value = x
	sp.Text = pathText(g, e, x)
	return sp, true
}

// pathText writes a quantity as part of a tune's name: as it was written,
// without spaces and brackets, with its unit.
func pathText(g *Given, e *syntax.Expr, x float64) string {
	num, u := "", g.Unit.Text
	for i, t := range e.Toks {
		switch {
		case t.Text == "-" && i == 0:
			num += "minus"
		case t.Text == "+" && i == 0:
		case t.Kind == syntax.Number && !strings.ContainsAny(num, "0123456789"):
			num += exponentPath.Replace(t.Text) // of an exponent
		case i > 0 && e.Toks[i-1].Kind == syntax.Number && (t.Kind == syntax.Word || t.Kind == syntax.Unit || t.Text == "%"):
			u = strings.Trim(t.Text, "[]")
		case t.Kind == syntax.Word && len(e.Toks) == 1:
			return t.Text
		default: // an expression: its value
			num, u = strings.Replace(strconv.FormatFloat(x, 'f', -1, 64), "-", "minus", 1), g.Unit.Text
			return num + unitPath(u)
		}
	}
	return num + unitPath(u)
}

var (
	exponentPath = strings.NewReplacer("-", "minus", "+", "")
	unitSigns    = strings.NewReplacer(" ", "", "%", "pct", "/", "per", "*", "", "(", "", ")", "")
)

func unitPath(u string) string { return unitSigns.Replace(u) }

// checks reads the expected values.
func (c *checker) checks() {
	for _, d := range c.p.Resolved.Decls {
		cd, ok := d.(*syntax.Check)
		if !ok {
			continue
		}
		k := &Check{Title: cd.Title.Value, With: cd.With.Text, WithAt: cd.With.Span, Span: cd.Title.Span}
		if len(cd.Expects) == 0 && !cd.Partial {
			c.errs.Add("W007", cd.Title.Span, "this check expects nothing")
		}
		for _, e := range cd.Expects {
			if x := c.expect(e); x != nil {
				k.Expects = append(k.Expects, x)
			}
		}
		// What `with` names is looked up when the tunes are known.
		c.p.Checks = append(c.p.Checks, k)
	}
}

// hasOwnUnit says whether a value is told in a declared unit: a look-up, a
// condition, a fixed value; not what was worked out of them.
func hasOwnUnit(n *formula.Node) bool {
	switch formula.Plain(n).Op {
	case formula.Const, formula.MapAt, formula.GivenVal, formula.GivenCol:
		return true
	}
	return false
}

func (c *checker) expect(d *syntax.Expect) *Expect {
	if d.Cond == nil {
		return nil
	}
	ctx := formula.Context{Scope: c.root, Maps: true, Givens: true, Judge: true, What: "a check", Use: "look a map up at a point: `fuel(100 %, 11000 rpm)`"}
	n := c.yesNo(d.Cond, ctx, "a check")
	if n == nil {
		return nil
	}
	x := &Expect{Cond: n, Text: source.OneLine(d.Span.Text()), Span: d.Span}
	if n.Op == formula.Eq {
		x.Left, x.Right = n.Kids[0], n.Kids[1]
	}
	if d.Tol == nil {
		return x
	}
	if x.Left == nil {
		c.errs.Add("E810", d.Tol.Span, "a tolerance belongs to `==`, and this compares otherwise").Hint("write `fuel(100 %%, 9000 rpm) == 15.1 mg +- 1 %%`")
		return nil
	}
	ctx.Maps = false
	v := formula.Compile(d.Tol, ctx, c.errs)
	if v == nil {
		return nil
	}
	if v.Node.IsConst() && v.Node.Val < 0 {
		c.errs.Add("E810", d.Tol.Span, "a tolerance goes both ways and can't be negative")
		return nil
	}
	if v.Percent {
		x.TolShare = true
		x.Tol = v.As(v.Node.Type.Unit, "the tolerance", c.errs)
		x.Tol = formula.ConvertTo(x.Tol, unit.None)
		return x
	}
	if u := x.Left.Type.Unit; v.Bare && !u.IsPlain() && !hasOwnUnit(x.Left) {
		c.errs.Add("E321", v.Node.Span, "`%s` needs a unit: what is compared is an expression", source.OneLine(v.Node.Span.Text())).
			Hint("as in `+- 0.1 mg`, or `+- 1 %%` for a share")
		return nil
	}
	x.Tol = c.amountOf(v, x.Left.Type.Unit, "the tolerance")
	if x.Tol == nil {
		return nil
	}
	return x
}
