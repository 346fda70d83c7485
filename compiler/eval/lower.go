package eval

import (
	"math"
	"slices"

	"fettle/lang/formula"
)

// kernel is an expression lowered to columns over one grid: instructions in an
// order in which each comes after its operands, every shared part once. What
// depends on the cell alone is computed when it is lowered, what depends on the
// conditions alone in the pool; instructions are left for the rest.
type kernel struct {
	cells  *Cells
	node   *formula.Node
	code   []instr
	linked []chain // parts of the code, in its order
	slots  []slot
	out    int
	ones   []one // the pool as it was when this was lowered
	pooled []int // slots that come from it
	room   int   // values of scratch memory
	never  bool  // a range of validity is left whatever the conditions
	sound  bool  // it is to be found out whether the result is finite
}

// slot is where an operand's values are.
type slot struct {
	shape shape
	from  origin
	at    int // in the pool, among the maps, or in the scratch memory
	fixed []float64
	last  int // the instruction that reads it last
}

type origin uint8

const (
	scratch origin = iota
	fixed          // by lowering, for good
	pooled
	mapCells    // a map's own cells, in place
	weightCells // a step's weights
)

// instr is one operation on whole columns.
type instr struct {
	op   formula.Op
	dst  int
	args []int
	node *formula.Node
	read *reading // of a map
	step shape    // of a step: along byRow or byCol
}

// reading is how a map is looked up: at lines of knots for the rows and for the
// columns, where those are known when the kernel is lowered.
type reading struct {
	rows, cols *line
	turned     bool // the map's rows run along this grid's columns
}

// lower makes a kernel of a checked expression.
func (p *Program) lower(n *formula.Node, cells *Cells) *kernel { return p.lowerAs(n, cells, false) }

// lowerBase makes one of a map's formula, that looks whether what it computes is
// finite.
func (p *Program) lowerBase(n *formula.Node, cells *Cells) *kernel { return p.lowerAs(n, cells, true) }

func (p *Program) lowerAs(n *formula.Node, cells *Cells, sound bool) *kernel {
	if n == nil {
		return nil
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	l := p.lowering(n, cells)
	k := l.k
	k.out, k.sound = l.node(n), sound
	l.finish()
	p.counts.note(k)
	return k
}

// finish puts the code in order and gives each value its place.
func (l *lowering) finish() {
	l.k.ones = l.p.pool.ones
	l.spread()
	l.arrange()
	l.place()
}

func (p *Program) lowering(n *formula.Node, cells *Cells) *lowering {
	return &lowering{p: p, k: &kernel{cells: cells, node: n}, byNode: map[*formula.Node]int{}, byKey: map[oneKey]int{}}
}

type lowering struct {
	p      *Program
	k      *kernel
	byNode map[*formula.Node]int
	byKey  map[oneKey]int
}

func (l *lowering) slot(s slot) int {
	l.k.slots = append(l.k.slots, s)
	return len(l.k.slots) - 1
}

func (l *lowering) node(n *formula.Node) int {
	n = formula.Strip(n)
	if s, ok := l.byNode[n]; ok {
		return s
	}
	s := l.make(n)
	l.byNode[n] = s
	return s
}

func (l *lowering) make(n *formula.Node) int {
	switch {
	case n.Op == formula.AxisVal:
		return l.slot(slot{shape: l.k.cells.axisShape(n.A), from: fixed, fixed: l.k.cells.points(n.A)})
	case n.Op == formula.Const:
		return l.slot(slot{from: fixed, fixed: []float64{n.Val}})
	case n.Axes|n.Maps == 0:
		s := l.slot(slot{from: pooled, at: int(l.p.pool.add(n))})
		l.k.pooled = append(l.k.pooled, s)
		return s
	case n.Op == formula.MapHere:
		return l.here(n)
	case n.Op == formula.StepOf:
		here := *n
		here.Op = formula.MapHere
		in := instr{op: n.Op, node: n, args: []int{l.here(&here)}, step: l.k.cells.axisShape(n.B)}
		return l.emit(in, l.k.slots[in.args[0]].shape|in.step)
	}
	args := make([]int, len(n.Kids))
	for i, kid := range n.Kids {
		args[i] = l.node(kid)
	}
	switch n.Op {
	case formula.Within:
		l.hold(n, args[0])
		return args[0]
	case formula.Convert: // (x*p + plus) / q
		p, plus, q := n.Conv.Terms()
		return l.with(formula.Div, l.with(formula.Add, l.with(formula.Mul, args[0], p), plus), q)
	case formula.Mul, formula.Div: // by 1 it is what it was
		if one := l.k.slots[args[1]]; one.from == fixed && one.shape == scalar && one.fixed[0] == 1 {
			return args[0]
		}
	case formula.Min, formula.Max:
		for len(args) > 2 {
			args = append([]int{l.op(n.Op, n, args[0], args[1])}, args[2:]...)
		}
	case formula.Clamp:
		return l.op(formula.Min, n, l.op(formula.Max, n, args[0], args[1]), args[2])
	}
	return l.op(n.Op, n, args...)
}

// op is the slot of an operation, found or made.
func (l *lowering) op(op formula.Op, n *formula.Node, args ...int) int {
	key := oneKey{op: op}
	switch op {
	case formula.MapAt, formula.CurveAt:
		key.more = n // which map or curve stands in the node
	}
	var sh shape
	for i, a := range args {
		sh |= l.k.slots[a].shape
		*[...]*int32{&key.x, &key.y, &key.z}[i] = int32(a)
	}
	if s, ok := l.byKey[key]; ok {
		return s
	}
	in := instr{op: op, node: n, args: args}
	var s int
	if op == formula.MapAt {
		s = l.at(in, sh)
	} else {
		s = l.emit(in, sh)
	}
	l.byKey[key] = s
	return s
}

// with is an operation with a number, or nothing where it would change nothing.
func (l *lowering) with(op formula.Op, a int, x float64) int {
	if op == formula.Add && x == 0 || op != formula.Add && x == 1 {
		return a
	}
	return l.op(op, nil, a, l.number(x))
}

// number is the slot of a number.
func (l *lowering) number(x float64) int {
	key := oneKey{op: formula.Const, val: math.Float64bits(x)}
	s, ok := l.byKey[key]
	if !ok {
		s = l.slot(slot{from: fixed, fixed: []float64{x}})
		l.byKey[key] = s
	}
	return s
}

// hold adds a look whether an operand stays in a range of validity. The operand
// itself is the value.
func (l *lowering) hold(n *formula.Node, a int) {
	k := l.k
	if s := &k.slots[a]; s.from == fixed {
		nr, nc := k.cells.dims(s.shape)
		k.never = k.never || outside(k.cells.column(s.fixed, s.shape), nr, nc, n.Range.Lo, n.Range.Hi)
		return
	}
	k.code = append(k.code, instr{op: n.Op, node: n, args: []int{a}, dst: -1})
}

// emit adds an instruction, or carries it out at once where its operands never
// change.
func (l *lowering) emit(in instr, sh shape) int {
	k := l.k
	if in.read == nil && in.op != formula.StepOf && !slices.ContainsFunc(in.args, func(a int) bool { return k.slots[a].from != fixed }) {
		dst := make([]float64, k.cells.size(sh))
		args := make([]Column, len(in.args))
		for i, a := range in.args {
			args[i] = k.cells.column(k.slots[a].fixed, k.slots[a].shape)
		}
		operate(in.op, in.node, k.cells.column(dst, sh), args, k.cells, sh, new([]float64))
		return l.slot(slot{shape: sh, from: fixed, fixed: dst})
	}
	in.dst = l.slot(slot{shape: sh})
	k.code = append(k.code, in)
	return in.dst
}

// here reads a map at the cells: in place where the breakpoints are the same,
// else by knots that are found once, here.
func (l *lowering) here(n *formula.Node) int {
	key := keyOf(n, nil)
	if s, ok := l.byKey[key]; ok {
		return s
	}
	m, c := l.p.Check.Maps[n.A], l.k.cells
	in := instr{op: n.Op, node: n, read: &reading{}}
	var sh shape
	same := true
	if len(m.Axes) == 1 {
		sh = c.axisShape(m.Axes[0])
		points := c.points(m.Axes[0])
		same = slices.Equal(points, m.Base.Cols)
		in.read.rows, in.read.cols = oneRow, lineOf(m.Base.Cols, points)
	} else {
		sh = full
		in.read.turned = c.axisShape(m.Axes[0]) == byCol
		rows, cols := c.points(m.Axes[0]), c.points(m.Axes[1])
		same = !in.read.turned && slices.Equal(rows, m.Base.Rows) && slices.Equal(cols, m.Base.Cols)
		in.read.rows, in.read.cols = lineOf(m.Base.Rows, rows), lineOf(m.Base.Cols, cols)
	}
	var s int
	if same {
		s = l.slot(slot{shape: sh, from: mapCells, at: n.A})
	} else {
		s = l.emit(in, sh)
	}
	l.byKey[key] = s
	return s
}

// at looks a map up at coordinates; knots of those that never change are found
// here.
func (l *lowering) at(in instr, sh shape) int {
	m := l.p.Check.Maps[in.node.A]
	in.read = &reading{}
	knots := func(arg int, points []float64) *line {
		if s := l.k.slots[in.args[arg]]; s.from == fixed && s.shape != full {
			return lineOf(points, s.fixed)
		}
		return nil
	}
	if len(in.args) == 1 {
		in.read.cols = knots(0, m.Base.Cols)
	} else {
		in.read.rows, in.read.cols = knots(0, m.Base.Rows), knots(1, m.Base.Cols)
	}
	return l.emit(in, sh)
}
