package eval

import (
	"math"

	"fettle/compiler/grid"
	"fettle/lang/formula"
)

// Cells is the grid that an expression is evaluated over: the crossings of row
// and column breakpoints. A one-axis grid has RowAxis -1 and one row.
type Cells struct {
	RowAxis, ColAxis int
	Rows, Cols       []float64
}

func (c *Cells) nrows() int {
	if c.RowAxis < 0 {
		return 1
	}
	return len(c.Rows)
}

// N is the number of cells.
func (c *Cells) N() int { return c.nrows() * len(c.Cols) }

// shape is how many values an operand has: one, one a row, one a column, or one
// a cell.
type shape uint8

const (
	scalar shape = 0
	byRow  shape = 1
	byCol  shape = 2
	full   shape = 3
)

func (c *Cells) size(s shape) int {
	switch s {
	case byRow:
		return c.nrows()
	case byCol:
		return len(c.Cols)
	case full:
		return c.N()
	}
	return 1
}

// kernel is an expression lowered to columns over one grid: instructions in an
// order in which each comes after its operands, every shared part once.
type kernel struct {
	id     int
	cells  *Cells
	code   []instr
	out    int // slot of the result
	node   *formula.Node
	guards bool // holds a range of validity
	consts []constant
	slots  []shape
}

type constant struct {
	slot int
	val  float64
}

// instr is one operation on whole columns.
type instr struct {
	op   formula.Op
	dst  int
	args []int
	node *formula.Node
	// For a map read at this grid's cells: how to get there.
	same       bool
	rows, cols []grid.Knot
	along      shape // of a step: byRow or byCol
}

// lower makes a kernel of a checked expression.
func (p *Program) lower(n *formula.Node, cells *Cells) *kernel {
	if n == nil {
		return nil
	}
	k := &kernel{id: p.kernels, cells: cells, node: n}
	p.kernels++
	l := &lowering{p: p, k: k, slot: map[*formula.Node]int{}}
	k.out = l.node(n)
	return k
}

type lowering struct {
	p    *Program
	k    *kernel
	slot map[*formula.Node]int
}

func (l *lowering) newSlot(s shape) int {
	l.k.slots = append(l.k.slots, s)
	return len(l.k.slots) - 1
}

func (l *lowering) node(n *formula.Node) int {
	if s, ok := l.slot[n]; ok {
		return s
	}
	s := l.make(n)
	l.slot[n] = s
	return s
}

func (l *lowering) make(n *formula.Node) int {
	k := l.k
	switch n.Op {
	case formula.Alias:
		return l.node(n.Kids[0])
	case formula.Const:
		s := l.newSlot(scalar)
		k.consts = append(k.consts, constant{s, n.Val})
		return s
	case formula.AxisVal:
		sh := byCol
		if n.A == k.cells.RowAxis {
			sh = byRow
		}
		return l.emit(instr{op: n.Op, node: n}, sh)
	case formula.GivenVal, formula.GivenYes, formula.GivenCol, formula.GivenIs:
		return l.emit(instr{op: n.Op, node: n}, scalar)
	case formula.MapHere:
		return l.mapHere(n)
	case formula.StepOf:
		here := *n
		here.Op = formula.MapHere
		key := l.here(n.A, &here)
		in := instr{op: n.Op, node: n, args: []int{key}, along: byCol}
		if n.B == k.cells.RowAxis {
			in.along = byRow
		}
		return l.emit(in, k.slots[key]|in.along)
	}
	in := instr{op: n.Op, node: n, args: make([]int, len(n.Kids))}
	sh := scalar
	for i, kid := range n.Kids {
		in.args[i] = l.node(kid)
		sh |= k.slots[in.args[i]]
	}
	if n.Op == formula.Within {
		k.guards = true
	}
	return l.emit(in, sh)
}

// here finds or makes the slot of a map's value at the cells, so that a step
// and a bare name share it.
func (l *lowering) here(m int, n *formula.Node) int {
	for _, in := range l.k.code {
		if in.op == formula.MapHere && in.node.A == m {
			return in.dst
		}
	}
	return l.mapHere(n)
}

func (l *lowering) emit(in instr, s shape) int {
	in.dst = l.newSlot(s)
	l.k.code = append(l.k.code, in)
	return in.dst
}

// mapHere reads a map at the cells: directly where the breakpoints are the
// same, else by knots that are found once, here.
func (l *lowering) mapHere(n *formula.Node) int {
	for _, in := range l.k.code {
		if in.op == formula.MapHere && in.node.A == n.A {
			return in.dst
		}
	}
	m := l.p.Check.Maps[n.A]
	c := l.k.cells
	in := instr{op: formula.MapHere, node: n}
	at := func(axis int) (points []float64, sh shape) {
		if axis == c.RowAxis {
			return c.Rows, byRow
		}
		return c.Cols, byCol
	}
	if len(m.Axes) == 1 {
		points, sh := at(m.Axes[0])
		in.same = equal(points, m.Base.Cols)
		in.rows = []grid.Knot{{}}
		in.cols = grid.KnotsOf(m.Base.Cols, points)
		return l.emit(in, sh)
	}
	rows, rsh := at(m.Axes[0])
	cols, _ := at(m.Axes[1])
	in.rows, in.cols = grid.KnotsOf(m.Base.Rows, rows), grid.KnotsOf(m.Base.Cols, cols)
	in.same = rsh == byRow && equal(rows, m.Base.Rows) && equal(cols, m.Base.Cols)
	if rsh == byCol {
		in.along = byRow // the map's rows run along this grid's columns: turn it round
	}
	return l.emit(in, full)
}

func equal(a, b []float64) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// frame is a kernel's working memory, kept from one run to the next.
type frame struct {
	vals [][]float64
}

func newFrame(k *kernel) *frame {
	f := &frame{vals: make([][]float64, len(k.slots))}
	for i, s := range k.slots {
		f.vals[i] = make([]float64, k.cells.size(s))
	}
	for _, c := range k.consts {
		f.vals[c.slot][0] = c.val
	}
	return f
}

// operand is a column with the strides that walk it over the cells.
type operand struct {
	v      []float64
	sr, sc int
}

func (k *kernel) operand(v []float64, s shape) operand {
	switch s {
	case byRow:
		return operand{v, 1, 0}
	case byCol:
		return operand{v, 0, 1}
	case full:
		return operand{v, len(k.cells.Cols), 1}
	}
	return operand{v, 0, 0}
}

func (o operand) at(r, c int) float64 { return o.v[r*o.sr+c*o.sc] }

// run evaluates a kernel; violated says that somewhere, perhaps in a branch
// that isn't taken, an argument left its range of validity.
func (w *worker) run(k *kernel, env formula.Conditions) (out operand, violated bool) {
	f := w.frames[k.id]
	if f == nil {
		f = newFrame(k)
		w.frames[k.id] = f
	}
	for i := range k.code {
		in := &k.code[i]
		dst := f.vals[in.dst]
		switch in.op {
		case formula.AxisVal:
			if k.slots[in.dst] == byRow {
				f.vals[in.dst] = k.cells.Rows
			} else {
				f.vals[in.dst] = k.cells.Cols
			}
		case formula.GivenVal, formula.GivenYes:
			dst[0] = env.Given(in.node.A)
		case formula.GivenCol:
			dst[0] = env.Column(in.node.A, in.node.B)
		case formula.GivenIs:
			dst[0] = 0
			if env.Row(in.node.A) == in.node.B {
				dst[0] = 1
			}
		case formula.MapHere:
			w.mapHere(k, in, f)
		case formula.StepOf:
			w.step(k, in, f)
		default:
			if w.operate(k, in, f) {
				violated = true
			}
		}
	}
	return k.operand(f.vals[k.out], k.slots[k.out]), violated
}

func (w *worker) mapHere(k *kernel, in *instr, f *frame) {
	t := &w.cur[in.node.A]
	switch {
	case in.same:
		f.vals[in.dst] = t.Cells
	case in.along == byRow:
		nc := len(k.cells.Cols)
		dst := f.vals[in.dst]
		for r := range in.cols {
			for c := range in.rows {
				dst[r*nc+c] = t.LookupKnots(in.rows[c], in.cols[r])
			}
		}
	default:
		f.vals[in.dst] = t.Gather(f.vals[in.dst][:0], in.rows, in.cols)
	}
}

func (w *worker) step(k *kernel, in *instr, f *frame) {
	a := k.operand(f.vals[in.args[0]], k.slots[in.args[0]])
	d := k.operand(f.vals[in.dst], k.slots[in.dst])
	nr, nc := k.cells.nrows(), len(k.cells.Cols)
	if d.sr == 0 {
		nr = 1
	}
	if d.sc == 0 {
		nc = 1
	}
	for r := range nr {
		for c := range nc {
			r2, c2 := r, c
			if in.along == byRow {
				r2 = min(r+1, nr-1)
			} else {
				c2 = min(c+1, nc-1)
			}
			d.v[r*d.sr+c*d.sc] = math.Abs(a.at(r2, c2) - a.at(r, c))
		}
	}
}
