package randomly_test

import (
	"regexp"

	"fettle/compiler/check"
	"fettle/compiler/plan"
	"fettle/lang/formula"
)

// place is where an expression is computed in fractions: under a tune's conditions,
// at a cell of a grid or at none.
type place struct {
	x      *exact
	axes   []int     // of the grid, rows first
	points [2]int    // where the cell is, in them
	at     []float64 // its coordinates
	grid   [][]float64
	memo   map[*formula.Node]fraction
}

// eval walks the checked tree. Of an `if` only the branch that is taken is
// computed, and of `and` and `or` only what decides.
func (p *place) eval(n *formula.Node) fraction {
	if f, ok := p.memo[n]; ok {
		return f
	}
	f := p.compute(n)
	p.memo[n] = f
	return f
}

func yes(is bool) fraction {
	if is {
		return exactly(1)
	}
	return exactly(0)
}

// is decides a condition; ok is false where it is lost.
func (p *place) is(n *formula.Node) (yes, ok bool) {
	f := p.eval(n)
	return f.is == known && f.x.Sign() != 0, f.is == known
}

func (p *place) compute(n *formula.Node) fraction {
	kid := func(i int) fraction { return p.eval(n.Kids[i]) }
	env := p.x.env
	switch n.Op {
	case formula.Const:
		return p.x.constant(n)
	case formula.AxisVal:
		return exactly(p.along(n.A))
	case formula.GivenVal, formula.GivenYes:
		return exactly(env.Given(n.A))
	case formula.GivenCol:
		return exactly(env.Column(n.A, n.B))
	case formula.GivenIs:
		return yes(env.Row(n.A) == n.B)
	case formula.MapHere:
		return p.here(n.A)
	case formula.MapAt:
		if len(n.Kids) == 1 {
			return p.x.look(n.A, exactly(0), kid(0))
		}
		return p.x.look(n.A, kid(0), kid(1))
	case formula.StepOf:
		return p.next(n.B).here(n.A).sub(p.here(n.A)).abs()
	case formula.Alias:
		return kid(0)
	case formula.Neg:
		return kid(0).neg()
	case formula.Abs:
		return kid(0).abs()
	case formula.Add:
		return kid(0).add(kid(1))
	case formula.Sub:
		return kid(0).sub(kid(1))
	case formula.Mul:
		return kid(0).mul(kid(1))
	case formula.Div:
		return kid(0).div(kid(1))
	case formula.Min, formula.Max:
		out := kid(0)
		for i := range n.Kids[1:] {
			if n.Op == formula.Min {
				out = out.least(kid(i + 1))
			} else {
				out = out.most(kid(i + 1))
			}
		}
		return out
	case formula.Clamp:
		return kid(0).most(kid(1)).least(kid(2))
	case formula.Round:
		return kid(0).to(nearest)
	case formula.Floor:
		return kid(0).to(below)
	case formula.Ceil:
		return kid(0).to(above)
	case formula.Convert:
		by, plus, over := n.Conv.Terms()
		out := kid(0)
		if by != 1 {
			out = out.mul(exactly(by))
		}
		if plus != 0 {
			out = out.add(exactly(plus))
		}
		if over != 1 {
			out = out.div(exactly(over))
		}
		return out
	case formula.CurveAt:
		return line(n.Curve.X, func(i int) fraction { return exactly(n.Curve.Y[i]) }, kid(0))
	case formula.Within:
		return p.within(n, kid(0))
	case formula.If:
		switch yes, ok := p.is(n.Kids[0]); {
		case !ok:
			return nothing
		case yes:
			return kid(1)
		}
		return kid(2)
	case formula.And, formula.Or:
		first, ok := p.is(n.Kids[0])
		if !ok {
			return nothing
		}
		if first == (n.Op == formula.Or) {
			return yes(first)
		}
		return kid(1)
	case formula.Not:
		if is, ok := p.is(n.Kids[0]); ok {
			return yes(!is)
		}
		return nothing
	}
	return p.compared(n)
}

func (p *place) compared(n *formula.Node) fraction {
	if len(n.Kids) != 2 {
		return nothing // exp, log and roots have no fractions
	}
	sign, ok := p.eval(n.Kids[0]).sign(p.eval(n.Kids[1]))
	if !ok {
		return nothing
	}
	switch n.Op {
	case formula.Lt:
		return yes(sign < 0)
	case formula.Le:
		return yes(sign <= 0)
	case formula.Gt:
		return yes(sign > 0)
	case formula.Ge:
		return yes(sign >= 0)
	case formula.Eq:
		return yes(sign == 0)
	case formula.Ne:
		return yes(sign != 0)
	}
	return nothing // nor have powers
}

// within holds a value to a range of validity: beyond it the tune has a fault.
func (p *place) within(n *formula.Node, v fraction) fraction {
	lo, hi := v, v
	if r := n.Range.Lo; r-r == 0 {
		lo = exactly(r)
	}
	if r := n.Range.Hi; r-r == 0 {
		hi = exactly(r)
	}
	under, ok1 := lo.sign(v)
	over, ok2 := v.sign(hi)
	if lo.x == v.x {
		under, ok1 = 0, v.is == known
	}
	if hi.x == v.x {
		over, ok2 = 0, v.is == known
	}
	switch {
	case ok1 && under > 0, ok2 && over > 0:
		p.x.fault = true
		return nothing
	case !ok1 || !ok2:
		return nothing
	}
	return v
}

// along is the cell's coordinate on an axis.
func (p *place) along(axis int) float64 {
	for i, a := range p.axes {
		if a == axis {
			return p.at[i]
		}
	}
	return 0
}

// next is the place of the next cell along an axis, or of this one at the end.
func (p *place) next(axis int) *place {
	q := *p
	q.at = append([]float64(nil), p.at...)
	for i, a := range p.axes {
		if a == axis && p.points[i]+1 < len(p.grid[i]) {
			q.points[i]++
			q.at[i] = p.grid[i][q.points[i]]
		}
	}
	return &q
}

// here is a map's value at the cell's coordinates.
func (p *place) here(m int) fraction {
	axes := p.x.p.Maps[m].Axes
	if len(axes) == 1 {
		return p.x.look(m, exactly(0), exactly(p.along(axes[0])))
	}
	return p.x.look(m, exactly(p.along(axes[0])), exactly(p.along(axes[1])))
}

// exact computes a tune in fractions.
type exact struct {
	p      *check.Program
	env    *plan.Conditions
	maps   [][]fraction
	fault  bool // an argument left its range of validity, whatever the rounding
	rough  bool // constants may be off by some last bits
	unsure bool // of some map not all is known
}

// quantity is what one in the source looks like.
var quantity = regexp.MustCompile(`^[-+(]*[0-9.]+ *([a-zA-Z%]+|\[[^]]*\])?\)*$`)

// constant is a fixed value as the checker worked it out. Roughly: it is as written,
// but for what its conversion may round; what was made of several is anyone's guess.
func (x *exact) constant(n *formula.Node) fraction {
	f := exactly(n.Val)
	switch {
	case !x.rough || f.is != known:
		return f
	case !quantity.MatchString(n.Span.Text()):
		return nothing
	}
	f.err = 8 * u * f.size
	return f
}

// look is a map at a place: along the columns, then between the rows.
func (x *exact) look(m int, row, col fraction) fraction {
	t := &x.p.Maps[m].Base
	cells, nc := x.maps[m], len(t.Cols)
	along := func(r int) fraction {
		return line(t.Cols, func(c int) fraction { return cells[r*nc+c] }, col)
	}
	if t.Rows == nil {
		return along(0)
	}
	return line(t.Rows, along, row)
}
