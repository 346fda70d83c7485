package eval

import (
	"math"

	"fettle/compiler/plan"
	"fettle/lang/elementary"
	"fettle/lang/formula"
)

// Values that depend on a tune's conditions alone are kept in one pool for the
// whole program, each distinct computation once: a dead time that ten maps use is
// worked out once a tune. They are computed when first asked for, so what no rule
// that applies needs costs nothing, and nothing can be stale.

// one is a pooled value: an operation on others of the pool.
type one struct {
	op   formula.Op
	x, y int32   // its first two operands
	more []int32 // and those after them
	node *formula.Node
}

// oneKey tells computations apart: two with equal keys give equal values.
type oneKey struct {
	op      formula.Op
	a, b    int
	val     uint64
	x, y, z int32
	more    *formula.Node // what no other field tells apart
}

// pool is only ever added to; a kernel keeps the part that it was lowered with.
type pool struct {
	ones   []one
	byNode map[*formula.Node]int32
	byKey  map[oneKey]int32
}

func newPool() *pool {
	return &pool{byNode: map[*formula.Node]int32{}, byKey: map[oneKey]int32{}}
}

// add gives the number of a node without axes and maps.
func (p *pool) add(n *formula.Node) int32 {
	n = formula.Strip(n)
	if id, ok := p.byNode[n]; ok {
		return id
	}
	args := make([]int32, len(n.Kids))
	for i, k := range n.Kids {
		args[i] = p.add(k)
	}
	key := keyOf(n, args)
	id, ok := p.byKey[key]
	if !ok {
		id = int32(len(p.ones))
		o := one{op: n.Op, node: n}
		switch {
		case len(args) > 1:
			o.y, o.more = args[1], args[2:]
			fallthrough
		case len(args) > 0:
			o.x = args[0]
		}
		p.ones = append(p.ones, o)
		p.byKey[key] = id
	}
	p.byNode[n] = id
	return id
}

// keyOf is what makes a computation; args are the numbers of its operands.
func keyOf(n *formula.Node, args []int32) oneKey {
	k := oneKey{op: n.Op, a: n.A, b: n.B, val: math.Float64bits(n.Val)}
	switch n.Op {
	case formula.Convert, formula.Within, formula.CurveAt:
		k.more = n // its conversion, range or curve stands in the node
	}
	switch len(args) {
	case 3:
		k.z = args[2]
		fallthrough
	case 2:
		k.y = args[1]
		fallthrough
	case 1:
		k.x = args[0]
	case 0:
	default:
		k.more = n
	}
	return k
}

// frame holds pooled values under one tune's conditions.
type frame struct {
	env  *plan.Conditions
	vals []float64
	// By value: round once it is known, round + 1 where a range of validity was left or
	// a comparison has no finite side, always for a constant, and else what it was in a
	// round before.
	state []uint64
	round uint64
	tick  uint64
}

const always = ^uint64(0)

// frames is how many sets of conditions a worker remembers; a mix has two.
const frames = 4

// frame finds or begins the frame of some conditions, with room for n values.
func (w *worker) frame(env *plan.Conditions, n int) *frame {
	f := &w.frames[w.last]
	if f.env == env && len(f.vals) >= n {
		return f
	}
	w.tick++
	for i := range w.frames {
		g := &w.frames[i]
		if g.env == env {
			f, w.last = g, i
			break
		}
		if g.tick < f.tick {
			f, w.last = g, i
		}
	}
	if f.env != env || f.round == 0 {
		f.env = env
		f.round += 2
	}
	f.tick = w.tick
	if len(f.vals) < n {
		f.vals = append(f.vals, make([]float64, n-len(f.vals))...)
		f.state = append(f.state, make([]uint64, n-len(f.state))...)
	}
	return f
}

// get computes a pooled value, or finds it.
func (f *frame) get(ones []one, id int32) (v float64, ok bool) {
	switch s := f.state[id]; s {
	case f.round, always:
		return f.vals[id], true
	case f.round + 1:
		return f.vals[id], false
	}
	o := &ones[id]
	v, ok = f.compute(ones, o)
	f.vals[id], f.state[id] = v, f.round
	switch {
	case o.op == formula.Const:
		f.state[id] = always
	case !ok:
		f.state[id] = f.round + 1
	}
	return v, ok
}

func (f *frame) compute(ones []one, o *one) (float64, bool) {
	switch o.op {
	case formula.Const:
		return o.node.Val, true
	case formula.GivenVal, formula.GivenYes:
		return f.env.Given(o.node.A), true
	case formula.GivenCol:
		return f.env.Column(o.node.A, o.node.B), true
	case formula.GivenIs:
		return yes(f.env.Row(o.node.A) == o.node.B), true
	}
	x, ok := f.get(ones, o.x)
	switch o.op {
	case formula.Convert:
		return o.node.Conv.Apply(x), ok
	case formula.CurveAt:
		return o.node.Curve.At(x), ok
	case formula.Within:
		return x, ok && x >= o.node.Range.Lo && x <= o.node.Range.Hi
	case formula.And, formula.Or: // the second side counts only where the first leaves it open
		if !ok || (x != 0) == (o.op == formula.Or) {
			return yes(x != 0), ok
		}
		y, ok := f.get(ones, o.y)
		return yes(y != 0), ok
	case formula.If:
		if !ok {
			return x, false
		}
		if x != 0 {
			return f.get(ones, o.y)
		}
		return f.get(ones, o.more[0])
	}
	if len(o.node.Kids) == 1 {
		return formula.Apply(o.op, []float64{x}), ok
	}
	y, also := f.get(ones, o.y)
	ok = ok && also
	switch o.op {
	case formula.Add:
		return x + y, ok
	case formula.Sub:
		return x - y, ok
	case formula.Mul:
		return x * y, ok
	case formula.Div:
		return x / y, ok
	case formula.Pow:
		return elementary.Pow(x, y), ok
	case formula.Lt, formula.Le, formula.Gt, formula.Ge, formula.Eq, formula.Ne:
		return formula.Apply(o.op, []float64{x, y}), ok && x-x == 0 && y-y == 0
	}
	var few [4]float64
	vals := append(few[:0], x, y)
	for _, id := range o.more {
		z, also := f.get(ones, id)
		vals, ok = append(vals, z), ok && also
	}
	return formula.Apply(o.op, vals), ok
}

func yes(b bool) float64 {
	if b {
		return 1
	}
	return 0
}
