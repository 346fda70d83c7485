package check

import (
	"fettle/compiler/grid"
	"fettle/lang/formula"
	"fettle/lang/syntax"
)

// curve reads a curve: a grid of one line over a quantity of its own, called as
// a function of it.
func (c *checker) curve(d *syntax.Curve) formula.Symbol {
	sym := formula.Symbol{Kind: formula.SymBroken, What: "curve", Span: d.Name.Span}
	u, ok := formula.ReadUnit(d.Unit, c.errs)
	g := syntax.ReadGrid(d.Span.File, *d.Body, c.errs)
	if g == nil {
		return sym
	}
	if g.RowAxis.Name.Text != "" {
		c.errs.Add("E608", g.RowAxis.Name.Span, "a curve runs over one quantity, and this is a grid over two").
			Hint("a grid over two axes is a `map`")
		return sym
	}
	head := g.ColAxis
	xu, good := formula.ReadUnit(head.Unit, c.errs)
	if d, declared := c.root.names.Table[head.Name.Text]; declared && d.Header().Keyword != "axis" && d.Header().Keyword != "given" || !syntax.IsName(head.Name.Text) {
		c.errs.Add("E109", head.Name.Span, "`%s` can't name what a curve runs over", head.Name.Text).
			Hint("write a name that nothing else has, an axis's or a given's")
		good = false
	}
	if !ok || !good {
		return sym
	}
	cells, given := make([]float64, len(g.Cells)), make([]bool, len(g.Cells))
	curve := &formula.Curve{Name: d.Name.Text, X: make([]float64, len(g.Cols))}
	for i, n := range g.Cells {
		cells[i], given[i], curve.X[i] = n.Value, !n.Blank, g.Cols[i].Value
	}
	filled, _, bad, ok := grid.Fill(nil, curve.X, cells, given)
	if !ok {
		c.errs.Add("E606", g.Cells[bad].Span(d.Span.File), "this blank has nothing to lean on: the curve is blank throughout")
		return sym
	}
	curve.Y = filled
	f := &formula.Fn{Name: d.Name.Text, Span: d.Name.Span, Doc: d.Doc, Params: []formula.FnParam{{Name: head.Name.Text, Unit: xu, Span: head.Name.Span}}}
	f.Body = formula.OfCurve(curve, xu, u, d.Name.Span)
	sym.Kind, sym.Fn = formula.SymFn, f
	return sym
}
