package prove

import (
	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/grid"
	"fettle/compiler/interval"
	"fettle/compiler/plan"
	"fettle/lang/formula"
)

// box is a box of conditions with what is known of a tune everywhere in it.
type box struct {
	*session
	span    []interval.I // of each condition that varies
	env     *plan.Conditions
	scalars []form // the pool's values
	known   []bool
	// One over each of them, as far as it was asked for.
	inverses []form
	tables   []table // the maps, as far as they were asked for
	joins    uint32  // choices that weren't known so far
	failed   bool    // somewhere in the box the tune may fail
}

// given is a condition's value in the box.
func (b *box) given(g int) form {
	for k, d := range b.dims {
		if d.Given != g {
			continue
		}
		f := ranged(b.span[k])
		if k < maxConditions && !f.IsPoint() {
			f.a[firstCondition+k], f.e = f.e, 0
		}
		return f
	}
	return point(b.env.Given(g))
}

func (b *box) ranges(g int) bool {
	for _, d := range b.dims {
		if d.Given == g {
			return true
		}
	}
	return false
}

// line is a place along one axis of a grid.
type line struct {
	i int // which of the grid's lines; -1 for none of them
	x float64
}

// place is where an expression is computed: a point of a grid, or a rectangle of
// which no side crosses a breakpoint. Lines are of the rows' axis, then of the
// columns'.
type place struct {
	cells *eval.Cells
	rect
	wide     bool
	row, col form
}

// rect is a rectangle between lines.
type rect struct{ lo, hi [2]line }

func (p *place) axis(a int) *form {
	if a == p.cells.RowAxis {
		return &p.row
	}
	return &p.col
}

// cell puts a place at a cell of its grid.
func (p *place) cell(r, c int) {
	p.wide = false
	p.lo[1] = line{c, p.cells.Cols[c]}
	p.col = point(p.lo[1].x)
	if p.cells.RowAxis >= 0 {
		p.lo[0] = line{r, p.cells.Rows[r]}
		p.row = point(p.lo[0].x)
	}
}

// corner puts a place at a corner of a rectangle.
func (p *place) corner(of *place, r, c int) {
	p.cells, p.wide = of.cells, false
	for k, far := range [2]int{r, c} {
		p.lo[k] = of.lo[k]
		if far == 1 {
			p.lo[k] = of.hi[k]
		}
	}
	p.row, p.col = point(p.lo[0].x), point(p.lo[1].x)
}

// spread makes a place the rectangle between its lines.
func (p *place) spread() {
	p.wide = true
	for k, f := range [2]*form{&p.row, &p.col} {
		*f = ranged(interval.I{Lo: p.lo[k].x, Hi: p.hi[k].x})
		if !f.IsPoint() {
			f.a[rowSymbol+k], f.e = f.e, 0
		}
	}
}

func nrows(c *eval.Cells) int {
	if c.RowAxis < 0 {
		return 1
	}
	return len(c.Rows)
}

// here is a map's value at a place: a cell where it stands, or else worked out into v.
func (b *box) here(v *form, o *op, at *place) *form {
	m := b.x.check.Maps[o.node.A]
	t := &b.tables[m.Index]
	if !at.wide {
		return b.pointAt(v, o, m, t, at, at.lo)
	}
	var mem [4]form
	var corners [2][2]*form
	for r := range 2 {
		for c := range 2 {
			lines := at.lo
			if r == 1 {
				lines[0] = at.hi[0]
			}
			if c == 1 {
				lines[1] = at.hi[1]
			}
			corners[r][c] = b.pointAt(&mem[2*r+c], o, m, t, at, lines)
		}
	}
	v.patch(&corners)
	return v
}

// pointAt is a map's value at a crossing of lines.
func (b *box) pointAt(v *form, o *op, m *check.Map, t *table, at *place, lines [2]line) *form {
	knot := func(axis int, knots []grid.Knot, points []float64) grid.Knot {
		l := &lines[1]
		if axis == at.cells.RowAxis {
			l = &lines[0]
		}
		if l.i >= 0 {
			return knots[l.i]
		}
		return grid.Find(points, l.x)
	}
	if len(m.Axes) == 1 {
		return t.at(v, grid.Knot{}, knot(m.Axes[0], o.cols, t.cols))
	}
	return t.at(v, knot(m.Axes[0], o.rows, t.rows), knot(m.Axes[1], o.cols, t.cols))
}

// step is the size of the jump to the next cell.
func (b *box) step(v *form, o *op, at *place) {
	next := *at
	k, n := 1, len(at.cells.Cols)
	if o.node.B == at.cells.RowAxis {
		k, n = 0, len(at.cells.Rows)
	}
	next.lo[k].i = min(next.lo[k].i+1, n-1)
	var x, y, apart form
	apart.add(b.here(&y, o, &next), b.here(&x, o, at), -1)
	v.abs(&apart)
}

// need computes maps, those that they read first. It is false where some cell may
// have no value somewhere in the box, which fails the tune there.
func (b *box) need(maps []bool) bool {
	for _, i := range b.x.check.Order {
		if b.failed {
			return false
		}
		if maps[i] && !b.tables[i].done {
			b.compute(i)
		}
	}
	return !b.failed
}

// compute computes a map.
func (b *box) compute(i int) {
	t := &b.tables[i]
	if !b.varies[i] {
		*t = b.fixed(i)
		return
	}
	mc := b.x.maps[i]
	base := &mc.m.Base
	*t = table{rows: base.Rows, cols: base.Cols, cells: b.memory(mc.cells.N())}
	next := b.memory(mc.cells.N())
	at := place{cells: mc.cells}
	if mc.base == nil {
		for k, x := range base.Cells {
			t.cells[k] = point(x)
		}
	} else {
		b.each(mc, &at, func(k int) { t.cells[k] = *b.run(mc.base, &at) })
	}
	for _, s := range mc.steps {
		next = b.adjust(mc, s, t, next, &at)
	}
	for _, s := range b.tune.Trims {
		if s.Map == mc.m {
			next = b.adjust(mc, b.x.trims[s], t, next, &at)
		}
	}
	for _, l := range mc.clamps {
		b.clamp(mc, l, t, &at)
	}
	b.free(next)
	for k := range t.cells {
		b.failed = b.failed || t.cells[k].bad
	}
	t.done = true
}

func (b *box) each(mc *mapCode, at *place, do func(k int)) {
	nc := len(mc.cells.Cols)
	for r := range nrows(mc.cells) {
		for c := range nc {
			at.cell(r, c)
			do(r*nc + c)
		}
	}
}

// holds decides a condition of the pool; -1 for none.
func (b *box) holds(when int) (t interval.Truth, bad bool) {
	if when < 0 {
		return yes, false
	}
	v := b.scalar(when)
	return v.truth(), v.bad
}

// adjust carries out a step, into next, and gives the memory that is free then.
func (b *box) adjust(mc *mapCode, s *stepCode, t *table, next []form, at *place) []form {
	when, bad := b.holds(s.when)
	if when == no && !bad {
		return next
	}
	weights, good := b.weights(mc, s)
	if bad || !good {
		b.failed = true
		return next
	}
	var amount form
	once := len(s.amount.ops) == 1 && s.amount.ops[0].pool >= 0
	if once {
		amount = *b.scalar(s.amount.ops[0].pool)
	}
	b.each(mc, at, func(k int) {
		old, v := &t.cells[k], &next[k]
		var mem form
		w := weights.at(&mem, at)
		mask := yes
		if w.Hi > 0 && s.where != nil {
			f := b.run(s.where, at)
			if mask = f.truth(); f.bad {
				*v = unknown
				return
			}
		}
		if w.Hi == 0 || mask == no {
			*v = *old
			return
		}
		if !once {
			amount = *b.run(s.amount, at)
		}
		b.adjusted(v, s.Step, old, &amount, w)
		if when == maybe || mask == maybe {
			b.joins++
			v.join(old, v, b.joins)
		}
		v.bad = v.bad || old.bad
	})
	t.cells, next = next, t.cells
	return next
}

var one = point(1)

// adjusted is the arithmetic of an adjustment.
func (b *box) adjusted(v *form, s *check.Step, old, a, w *form) {
	if w.Lo == 1 {
		plainly(v, s, old, a)
		return
	}
	var f form
	switch s.Op {
	case "=":
		f.add(a, old, -1)
		f.mul(w, &f)
		v.add(old, &f, 1)
	case "+=", "-=":
		sign := 1.0
		if s.Op == "-=" {
			sign = -1
		}
		if f.mul(w, a); s.Relative {
			f.add(&one, &f, sign)
			v.mul(old, &f)
		} else {
			v.add(old, &f, sign)
		}
	default:
		f = *a
		if s.Op == "/=" {
			f.div(&one, a)
		}
		f.add(&f, &one, -1)
		f.mul(w, &f)
		f.add(&one, &f, 1)
		v.mul(old, &f)
	}
	if w.Hi == 1 { // there the evaluator takes the plain operation, which rounds in another way
		plainly(&f, s, old, a)
		b.joins++
		v.join(v, &f, b.joins)
	}
}

// plainly is an adjustment at full weight.
func plainly(v *form, s *check.Step, old, a *form) {
	sign := 1.0
	switch s.Op {
	case "=":
		*v = *a
	case "*=":
		v.mul(old, a)
	case "/=":
		v.div(old, a)
	case "-=":
		sign = -1
		fallthrough
	default:
		if !s.Relative {
			v.add(old, a, sign)
			return
		}
		var f form
		f.add(&one, a, sign)
		v.mul(old, &f)
	}
}

// clamp caps a map between the bounds of a clamping limit.
func (b *box) clamp(mc *mapCode, l *clampCode, t *table, at *place) {
	when, bad := b.holds(l.when)
	if when == no && !bad {
		return
	}
	if bad {
		b.failed = true
		return
	}
	b.each(mc, at, func(k int) {
		v := &t.cells[k]
		mask := when
		if l.where != nil {
			f := b.run(l.where, at)
			mask = mask.And(f.truth())
			if f.bad {
				*v = unknown
				return
			}
		}
		if mask == no {
			return
		}
		now := *v
		for i, c := range [2]*code{l.hi, l.lo} {
			if c != nil {
				now.max(&now, b.run(c, at), [2]float64{-1, 1}[i])
			}
		}
		if mask == maybe {
			b.joins++
			now.join(v, &now, b.joins)
		}
		*v = now
	})
}

// condition gives the number of a condition in the pool; -1 for none.
func (x *Prover) condition(n *formula.Node) int {
	if n == nil {
		return -1
	}
	return x.pool.add(n)
}
