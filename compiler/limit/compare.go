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

// Comparison is one comparison of a limit's condition, or a condition without a
// margin.
type Comparison struct {
	Op          formula.Op
	Left, Right *formula.Node
	Swap        bool // what is bounded stands on the right
	Unit        unit.Unit
	Size        float64       // of the unit, so that margins in different units compare
	Cond        *formula.Node // with its slack; nil of a comparison

	about, bound *formula.Node
}

// Split takes a limit's condition apart at each `and`.
func Split(n *formula.Node) []Comparison {
	n = formula.Strip(n)
	switch n.Op {
	case formula.And:
		return append(Split(n.Kids[0]), Split(n.Kids[1])...)
	case formula.Lt, formula.Le, formula.Gt, formula.Ge, formula.Eq:
		return []Comparison{comparisonOf(n)}
	}
	return []Comparison{{Cond: formula.WithSlack(n, Slack)}}
}

// comparisonOf reads a comparison. Where a map itself is bounded, both sides are
// in its unit, however the bound is written; else they stay as they are compared.
func comparisonOf(n *formula.Node) Comparison {
	left, right := n.Kids[0], n.Kids[1]
	p := Comparison{Op: n.Op, Swap: left.Maps == 0 && right.Maps != 0, Unit: left.Type.Unit}
	p.about, p.bound = left, right
	if p.Swap {
		p.about, p.bound = right, left
	}
	switch bounded := formula.Plain(p.about); bounded.Op {
	case formula.MapHere, formula.MapAt, formula.StepOf:
		p.Unit = bounded.Type.Unit
		if p.Unit.Dim == unit.Kelvin().Dim && !p.Unit.IsPoint() {
			p.Unit = unit.Kelvin() // a difference of degF reads as K, as everywhere
		}
		left, right = formula.ConvertTo(formula.Plain(left), p.Unit), formula.ConvertTo(formula.Plain(right), p.Unit)
	}
	p.Size = p.Unit.Factor.Float()
	p.Left, p.Right = left, right
	return p
}

// lowerPart lowers a comparison, or a condition without a margin.
func (c *Checker) lowerPart(n Comparison, cells *eval.Cells) part {
	if n.Cond != nil {
		return part{cond: c.p.LowerOver(n.Cond, cells)}
	}
	return part{
		op: n.Op, left: c.p.LowerOver(n.Left, cells), right: c.p.LowerOver(n.Right, cells), swap: n.Swap, unit: n.Unit, size: n.Size,
		about: source.OneLine(n.about.Span.Text()), bound: source.OneLine(n.bound.Span.Text()), fixed: n.bound.Maps == 0,
	}
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

// Compared is the room left in a comparison of two numbers, and whether it holds
// with its slack.
func Compared(op formula.Op, l, r float64) (margin float64, ok bool) { return compare(op, l, r) }

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
