package limit

import (
	"math"

	"fettle/compiler/eval"
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/unit"
)

// part is one comparison, or a condition without a margin.
type part struct {
	op           formula.Op
	left, right  *eval.Expr
	swap         bool // what is bounded stands on the right
	unit         unit.Unit
	size         float64 // of the unit, so that margins in different units compare
	cond         *eval.Expr
	about, bound string // the texts of what is bounded, and of its bound
	fixed        bool   // the bound reads no map
}

// comparison lowers a comparison. Where a map itself is bounded, both sides are
// in its unit, however the bound is written; else they stay as they are compared.
func (c *Checker) comparison(n *formula.Node, cells *eval.Cells) part {
	left, right := n.Kids[0], n.Kids[1]
	p := part{op: n.Op, swap: left.Maps == 0 && right.Maps != 0, unit: left.Type.Unit}
	bounded, bound := left, right
	if p.swap {
		bounded, bound = right, left
	}
	p.about, p.bound, p.fixed = source.OneLine(bounded.Span.Text()), source.OneLine(bound.Span.Text()), bound.Maps == 0
	switch bounded = formula.Plain(bounded); bounded.Op {
	case formula.MapHere, formula.MapAt, formula.StepOf:
		p.unit = bounded.Type.Unit
		if p.unit.Dim == unit.Kelvin().Dim && !p.unit.IsPoint() {
			p.unit = unit.Kelvin() // a difference of degF reads as K, as everywhere
		}
		left, right = formula.ConvertTo(formula.Plain(left), p.unit), formula.ConvertTo(formula.Plain(right), p.unit)
	}
	p.size = p.unit.Factor.Float()
	p.left, p.right = c.p.LowerOver(left, cells), c.p.LowerOver(right, cells)
	return p
}

// above says whether the right side stands above the left one, where the
// comparison holds: 1 if so, -1 if below, 0 for ==.
func (p *part) above() int {
	switch p.op {
	case formula.Lt, formula.Le:
		return 1
	case formula.Gt, formula.Ge:
		return -1
	}
	return 0
}

// side says on which side of what is bounded the bound stands: 1 above, -1 below,
// 0 for ==.
func (p *part) side() int {
	if p.swap {
		return -p.above()
	}
	return p.above()
}

// compare gives the room left and whether the comparison holds with its slack,
// which makes one of `<` and `<=`.
func compare(op formula.Op, l, r float64) (margin float64, ok bool) {
	switch op {
	case formula.Lt, formula.Le:
		margin = r - l
	case formula.Gt, formula.Ge:
		margin = l - r
	default:
		margin = -math.Abs(l - r)
	}
	return margin, margin >= -Slack*math.Max(math.Abs(l), math.Abs(r))
}
