package prove

import (
	"fettle/compiler/eval"
	"fettle/compiler/grid"
	"fettle/compiler/interval"
	"fettle/lang/formula"
)

// code is an expression as a list of operations, each after its operands, shared
// parts once; the value is the last one's. What depends on the conditions alone is
// found in a pool that all expressions share.
type code struct {
	node *formula.Node
	ops  []op
}

type op struct {
	kind formula.Op
	node *formula.Node
	args []int
	pool int // of what depends on the conditions alone: where in the pool; else -1
	over int // of a division by what does: where the divisor is in the pool; else -1
	// Of a map that is read in place: where the lines of the grid stand among its
	// breakpoints.
	rows, cols []grid.Knot
}

// pool is what depends on the conditions alone, each distinct node once.
type pool struct {
	ops    []op
	byNode map[*formula.Node]int
}

func (p *pool) add(n *formula.Node) int {
	n = formula.Strip(n)
	if i, ok := p.byNode[n]; ok {
		return i
	}
	o := op{kind: n.Op, node: n, pool: -1, over: -1}
	for _, k := range n.Kids {
		o.args = append(o.args, p.add(k))
	}
	i := len(p.ops)
	p.ops = append(p.ops, o)
	p.byNode[n] = i
	return i
}

// compile makes a list of an expression over a grid; nil of none.
func (x *Prover) compile(n *formula.Node, cells *eval.Cells) *code {
	if n == nil {
		return nil
	}
	c := &code{node: n}
	at := map[*formula.Node]int{}
	var take func(n *formula.Node) int
	take = func(n *formula.Node) int {
		n = formula.Strip(n)
		if i, ok := at[n]; ok {
			return i
		}
		o := op{kind: n.Op, node: n, pool: -1, over: -1}
		switch {
		case !n.OnCell():
			o.pool = x.pool.add(n)
		case n.Op == formula.MapHere || n.Op == formula.StepOf:
			o.rows, o.cols = x.knots(n.A, cells)
		default:
			for _, k := range n.Kids {
				o.args = append(o.args, take(k))
			}
			if n.Op == formula.Div {
				o.over = c.ops[o.args[1]].pool
			}
		}
		c.ops = append(c.ops, o)
		at[n] = len(c.ops) - 1
		return len(c.ops) - 1
	}
	take(n)
	x.most = max(x.most, len(c.ops))
	return c
}

// knots is where the lines of a grid stand among a map's breakpoints, rows first.
func (x *Prover) knots(m int, cells *eval.Cells) (rows, cols []grid.Knot) {
	base := &x.check.Maps[m].Base
	along := func(axis int, points []float64) []grid.Knot {
		if axis == cells.RowAxis {
			return grid.KnotsOf(points, cells.Rows)
		}
		return grid.KnotsOf(points, cells.Cols)
	}
	axes := x.check.Maps[m].Axes
	if len(axes) == 1 {
		return nil, along(axes[0], base.Cols)
	}
	return along(axes[0], base.Rows), along(axes[1], base.Cols)
}

// scalar gives a value of the pool in the box.
func (b *box) scalar(i int) *form {
	v := &b.scalars[i]
	if b.known[i] {
		return v
	}
	o := &b.x.pool.ops[i]
	switch o.kind {
	case formula.Const:
		*v = point(o.node.Val)
	case formula.GivenVal, formula.GivenYes:
		*v = b.given(o.node.A)
	case formula.GivenCol:
		if *v = unknown; !b.ranges(o.node.A) {
			*v = point(b.env.Column(o.node.A, o.node.B))
		}
	case formula.GivenIs:
		if *v = unknown; !b.ranges(o.node.A) {
			v.setTruth(truthOf(b.env.Row(o.node.A) == o.node.B), false)
		}
	default:
		var few [4]*form
		args := few[:0]
		for k, a := range o.args {
			if k > 0 && o.kind == formula.If { // the branch that is taken alone may have a value
				if t := args[0].truth(); !args[0].bad && (k == 1 && t == no || k == 2 && t == yes) {
					args = append(args, &unknown)
					continue
				}
			}
			args = append(args, b.scalar(a))
		}
		b.apply(v, o, args)
	}
	b.known[i] = true
	return v
}

// run computes an expression at a place. The result is good until the next run.
func (b *box) run(c *code, at *place) *form {
	vals := b.vals
	var few [4]*form
	for i := range c.ops {
		o := &c.ops[i]
		v := &b.regs[i]
		vals[i] = v
		switch {
		case o.pool >= 0:
			vals[i] = b.scalar(o.pool)
		case o.kind == formula.AxisVal:
			vals[i] = at.axis(o.node.A)
		case o.kind == formula.MapHere:
			vals[i] = b.here(v, o, at)
		case o.kind == formula.StepOf:
			b.step(v, o, at)
		default:
			args := few[:0]
			for _, a := range o.args {
				args = append(args, vals[a])
			}
			b.apply(v, o, args)
		}
	}
	return vals[len(c.ops)-1]
}

// inverse is one over a value of the pool; false where that isn't defined all over
// the box.
func (b *box) inverse(i int) (*form, bool) {
	f := &b.inverses[i]
	if f.own == unset {
		y := b.scalar(i)
		if f.own = 0; y.bad || y.Has(0) {
			*f = unknown
		} else {
			f.inverse(y)
		}
	}
	return f, !f.bad
}

// unset marks an inverse that wasn't asked for yet.
const unset = ^uint32(0)

// apply computes one operation. It is the arithmetic of formula.Apply, of forms.
func (b *box) apply(v *form, o *op, args []*form) {
	n := o.node
	switch o.kind {
	case formula.Neg:
		v.neg(args[0])
	case formula.Add:
		v.add(args[0], args[1], 1)
	case formula.Sub:
		v.add(args[0], args[1], -1)
	case formula.Mul:
		v.mul(args[0], args[1])
	case formula.Div:
		if o.over >= 0 && !(args[0].IsPoint() && args[1].IsPoint()) {
			over, defined := b.inverse(o.over)
			if *v = unknown; defined {
				natural, _ := interval.Div(args[0].I, args[1].I)
				v.product(args[0], over, natural)
			}
			return
		}
		v.div(args[0], args[1])
	case formula.And, formula.Or:
		b.both(v, o.kind, args[0], args[1])
	case formula.Not:
		v.setTruth(args[0].truth().Not(), args[0].bad)
	case formula.If:
		b.choose(v, args[0], args[1], args[2])
	case formula.Lt, formula.Le, formula.Gt, formula.Ge, formula.Eq, formula.Ne:
		v.compare(o.kind, args[0], args[1])
	case formula.Min, formula.Max:
		sign := 1.0
		if o.kind == formula.Min {
			sign = -1
		}
		out := *args[0]
		for _, a := range args[1:] {
			out.max(&out, a, sign)
		}
		*v = out
	case formula.Clamp:
		var out form
		out.max(args[0], args[1], 1)
		out.max(&out, args[2], -1)
		*v = out
	case formula.Convert:
		v.convert(n, args[0])
	case formula.Within:
		*v = *args[0]
		v.bad = v.bad || !(v.Lo >= n.Range.Lo && v.Hi <= n.Range.Hi)
	case formula.CurveAt:
		b.curve(v, n.Curve, args[0])
	case formula.MapAt:
		b.lookup(v, n.A, args)
	default:
		v.function(o.kind, args)
	}
}

// both is `and` and `or`, of which the second side counts only where the first
// leaves it open.
func (b *box) both(v *form, op formula.Op, x, y *form) {
	t, settled := x.truth(), no
	if op == formula.Or {
		settled = yes
	}
	switch {
	case x.bad:
		v.setTruth(maybe, true)
	case t == settled:
		v.setTruth(t, false)
	case op == formula.And:
		v.setTruth(t.And(y.truth()), y.bad)
	default:
		v.setTruth(t.Or(y.truth()), y.bad)
	}
}

// choose is the `if`.
func (b *box) choose(v *form, cond, x, y *form) {
	switch t := cond.truth(); {
	case cond.bad:
		*v = unknown
	case t == yes:
		*v = *x
	case t == no:
		*v = *y
	default:
		b.joins++
		v.join(x, y, b.joins)
	}
}

// convert is unit.Conv.Apply.
func (f *form) convert(n *formula.Node, x *form) {
	p, plus, q := n.Conv.Terms()
	out := *x
	if p != 1 {
		k := point(p)
		out.mul(&out, &k)
	}
	if plus != 0 {
		k := point(plus)
		out.add(&out, &k, 1)
	}
	if q != 1 {
		k := point(q)
		out.div(&out, &k)
	}
	*f = out
}

// function is an operation without a case of its own in apply.
func (f *form) function(op formula.Op, args []*form) {
	x := args[0]
	if x.IsPoint() && (len(args) == 1 || args[1].IsPoint()) {
		var few [4]float64
		vals, bad := few[:0], false
		for _, a := range args {
			vals, bad = append(vals, a.Lo), bad || a.bad
		}
		*f = point(formula.Apply(op, vals))
		f.bad = f.bad || bad
		return
	}
	switch op {
	case formula.Pow:
		f.pow(x, args[1])
	case formula.Abs:
		f.abs(x)
	case formula.Sqrt:
		f.sqrt(x)
	case formula.Exp:
		f.exp(x)
	case formula.Log:
		f.log(x)
	case formula.Round, formula.Floor, formula.Ceil:
		f.whole(op, x)
	default:
		*f = unknown
	}
}
