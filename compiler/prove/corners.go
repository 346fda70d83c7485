package prove

import (
	"fettle/compiler/eval"
	"fettle/compiler/limit"
	"fettle/lang/formula"
)

// part is one comparison of a limit, or a condition without a margin.
type part struct {
	limit.Comparison
	left, right, cond *code
	corners           bool // its least room in a patch is at a corner
	still             [2]bool
}

func (x *Prover) part(c limit.Comparison, cells *eval.Cells) part {
	p := part{Comparison: c}
	if c.Cond != nil {
		p.cond = x.compile(c.Cond, cells)
		return p
	}
	p.left, p.right = x.compile(c.Left, cells), x.compile(c.Right, cells)
	p.still = [2]bool{still(c.Left), still(c.Right)}
	l, r := bendOf(c.Left), bendOf(c.Right)
	switch c.Op {
	case formula.Lt, formula.Le:
		p.corners = l&convex != 0 && r&concave != 0
	case formula.Gt, formula.Ge:
		p.corners = l&concave != 0 && r&convex != 0
	default:
		p.corners = l == convex|concave && r == convex|concave
	}
	return p
}

// bend is how an expression runs along each axis within a patch, the other axis
// held: convex nowhere lies above its chords, concave nowhere below. A map does
// neither: it is straight along each axis. What is convex along each axis is greatest
// at a corner of the patch.
type bend uint8

const (
	convex bend = 1 << iota
	concave
)

func (b bend) turned() bend { return b>>1&convex | b<<1&concave }

// still says that an expression depends on the conditions alone.
func still(n *formula.Node) bool { return !n.OnCell() }

func bendOf(n *formula.Node) bend {
	n = formula.Strip(n)
	if still(n) {
		return convex | concave
	}
	kid := func(i int) bend { return bendOf(n.Kids[i]) }
	switch n.Op {
	case formula.AxisVal, formula.MapHere:
		return convex | concave
	case formula.MapAt:
		if still(n.Kids[0]) && still(n.Kids[len(n.Kids)-1]) {
			return convex | concave
		}
	case formula.Convert: // by a positive factor
		return kid(0)
	case formula.Neg:
		return kid(0).turned()
	case formula.Add:
		return kid(0) & kid(1)
	case formula.Sub:
		return kid(0) & kid(1).turned()
	case formula.Mul:
		if still(n.Kids[0]) {
			return scaled(kid(1), n.Kids[0])
		}
		if still(n.Kids[1]) {
			return scaled(kid(0), n.Kids[1])
		}
	case formula.Div:
		if still(n.Kids[1]) {
			return scaled(kid(0), n.Kids[1])
		}
	case formula.Abs:
		if kid(0) == convex|concave {
			return convex
		}
	case formula.Max, formula.Min:
		all := convex
		if n.Op == formula.Min {
			all = concave
		}
		for i := range n.Kids {
			all &= kid(i)
		}
		return all
	}
	return 0
}

// scaled is the bend of what is scaled by what is still.
func scaled(b bend, by *formula.Node) bend {
	switch by = formula.Strip(by); {
	case b == convex|concave:
		return b
	case by.Op == formula.Const && by.Val > 0:
		return b
	case by.Op == formula.Const && by.Val < 0:
		return b.turned()
	}
	return 0
}

// noise is how much rounding can move the evaluator's value at a place in a patch
// from what the exact operations give there, for expressions that have a bend: what
// holds at the corners holds between them to twice as much.
func (b *box) noise(c *code, cells *eval.Cells) float64 {
	type size struct{ most, off float64 } // of the value, and of its error
	list := make([]size, len(c.ops))
	for i := range c.ops {
		o := &c.ops[i]
		n := o.node
		var s size
		arg := func(k int) size { return list[o.args[k]] }
		switch {
		case o.pool >= 0:
			s.most = b.scalar(o.pool).Mag()
		case n.Op == formula.AxisVal:
			points := cells.Cols
			if n.A == cells.RowAxis {
				points = cells.Rows
			}
			s.most = max(points[len(points)-1], -points[0])
		case n.Op == formula.MapHere, n.Op == formula.MapAt:
			for k := range b.tables[n.A].cells {
				s.most = max(s.most, b.tables[n.A].cells[k].Mag())
			}
			if n.Op == formula.MapHere {
				s.off = float64(16 * roundoff * s.most)
			}
		case n.Op == formula.Mul:
			x, y := arg(0), arg(1)
			s.most = float64(x.most * y.most)
			s.off = float64(x.off*y.most) + float64(x.most*y.off)
		case n.Op == formula.Div:
			x, y := arg(0), b.scalar(c.ops[o.args[1]].pool).Mig()
			s = size{x.most / y, x.off / y}
		case n.Op == formula.Convert:
			p, plus, q := n.Conv.Terms()
			x := arg(0)
			s.most = (float64(x.most*p) + max(plus, -plus)) / q
			s.off = float64(x.off*p) / q
		default: // sums, and what chooses one
			for k := range o.args {
				s.most += arg(k).most
				s.off += arg(k).off
			}
		}
		s.off += float64(4 * roundoff * s.most)
		list[i] = s
	}
	return float64(list[len(list)-1].off * grown)
}
