package eval

import (
	"math"

	"fettle/lang/formula"
)

// Most instructions of a kernel do something to each value by itself. Those that
// follow each other and have the same shape are carried out as a chain: all of
// them on the first 16 values, then all on the next, what one makes going on to the
// next in registers (tiles_amd64.s). Only what is read again later is written to
// memory. Each value gets the same operations in the same order as one instruction
// after the other, and those are what is done where there are no such registers.

// tileSize is how many values are worked on at a time. Memory of a chain ends at a
// whole number of them; what stands behind the last value is of no use.
const tileSize = 16

func padded(n int) int { return (n + tileSize - 1) &^ (tileSize - 1) }

// routine is the number of an operation on registers. Behind a V the operand has a
// value for each cell, behind an S the same for all.
type routine uintptr

// The order is that of the table in tiles_amd64.s.
const (
	tileEnd routine = iota
	loadV
	loadS
	store
	addV
	addS
	subV
	subS
	busV // the operand less what is in the registers
	busS
	mulV
	mulS
	divV
	divS
	vidV // the operand by what is in the registers
	vidS
	minV
	minS
	maxV
	maxS
	ltV
	ltS
	leV
	leS
	gtV
	gtS
	geV
	geS
	eqV
	eqS
	neV
	neS
	andV
	andS
	orV
	orS
	tileNot
	tileNeg
	tileAbs
	tileSqrt
	tileRound
	tileFloor
	tileCeil
	tileHold
	tileSquare
	tileFinite
	ifVV
	ifVS
	ifSV
	ifSS
	thenVV // what is in the registers where the first operand says so, else the second
	thenVS
	elseVV // the other way round
	elseVS
)

// pairs are the routines of operations with two operands, by which of them is in the
// registers: the first, or the second.
var pairs = map[formula.Op][2]routine{
	formula.Add: {addV, addV}, formula.Sub: {subV, busV}, formula.Mul: {mulV, mulV}, formula.Div: {divV, vidV},
	formula.Min: {minV, minV}, formula.Max: {maxV, maxV},
	formula.Lt: {ltV, gtV}, formula.Le: {leV, geV}, formula.Gt: {gtV, ltV}, formula.Ge: {geV, leV}, formula.Eq: {eqV, eqV}, formula.Ne: {neV, neV},
	formula.And: {andV, andV}, formula.Or: {orV, orV},
}

// singles are those of operations with one; a square is a power here.
var singles = map[formula.Op]routine{
	formula.Not: tileNot, formula.Neg: tileNeg, formula.Abs: tileAbs, formula.Sqrt: tileSqrt,
	formula.Round: tileRound, formula.Floor: tileFloor, formula.Ceil: tileCeil, formula.Pow: tileSquare,
}

// tile is an operation as the routines read it.
type tile struct {
	do   routine
	a, b *float64
}

// chain is a run of instructions that are carried out together.
type chain struct {
	from, to int // in the kernel's code
	n        int // values
	ops      []link
	looks    bool // it finds out whether values are what they are taken to be
	sound    bool // among them, whether those of the kernel's result are finite
}

// link is an operation of a chain: its operands' slots (-1 for none), or where they
// stand for good.
type link struct {
	do       routine
	a, b     int
	atA, atB *float64
}

// squares is between what a square by multiplication is math.Pow's.
var squares = [2]float64{math.Nextafter(leastSquare, 1), math.Nextafter(mostSquare, 1)}

// marks tells the values of a tile that count: the first 16, or fewer by beginning
// later.
var marks = func() (out [2 * tileSize]uint64) {
	for i := range tileSize {
		out[i] = ^uint64(0)
	}
	return out
}()

// links says whether an instruction can be part of a chain.
func (k *kernel) links(in *instr) bool {
	if in.read != nil {
		return false
	}
	switch in.op {
	case formula.Within, formula.If:
		return true
	case formula.Pow:
		b := &k.slots[in.args[1]]
		return b.from == fixed && b.shape == scalar && b.fixed[0] == 2
	}
	_, one := singles[in.op]
	_, two := pairs[in.op]
	return one || two
}

// chain makes a chain of instructions.
func (k *kernel) chain(from, to int) chain {
	c := chain{from: from, to: to, n: k.cells.size(k.shapeOf(&k.code[from]))}
	read := make([]bool, len(k.slots)) // from memory
	at := -1                           // what is in the registers
	single := func(slot int) routine {
		read[slot] = true
		if k.slots[slot].shape == scalar {
			return 1
		}
		return 0
	}
	load := func(slot int) {
		if at != slot {
			c.ops = append(c.ops, link{do: loadV + single(slot), a: slot, b: -1})
			at = slot
		}
	}
	for i := from; i < to; i++ {
		in := &k.code[i]
		a := in.args[0]
		_, two := pairs[in.op]
		switch {
		case in.op == formula.Within:
			load(a)
			c.ops = append(c.ops, link{do: tileHold, a: -1, b: -1, atA: &[]float64{in.node.Range.Lo, in.node.Range.Hi}[0]})
			c.looks = true
			continue
		case in.op == formula.If:
			b, d := in.args[1], in.args[2]
			vector := k.slots[a].shape != scalar && at != a
			switch {
			case vector && at == b:
				c.ops = append(c.ops, link{do: thenVV + single(a) + single(d), a: a, b: d})
			case vector && at == d:
				c.ops = append(c.ops, link{do: elseVV + single(a) + single(b), a: a, b: b})
			default:
				load(a)
				c.ops = append(c.ops, link{do: ifVV + 2*single(b) + single(d), a: b, b: d})
			}
		case two:
			which, other := 0, in.args[1]
			if at == other || at != a && k.slots[a].shape == scalar {
				which, a, other = 1, other, a
			}
			load(a)
			c.ops = append(c.ops, link{do: pairs[in.op][which] + single(other), a: other, b: -1})
		default:
			load(a)
			one := link{do: singles[in.op], a: -1, b: -1}
			if one.do == tileSquare {
				one.atA, c.looks = &squares[0], true
			}
			c.ops = append(c.ops, one)
		}
		at = in.dst
		if k.sound && at == k.out {
			c.ops = append(c.ops, link{do: tileFinite, a: -1, b: -1})
			c.looks, c.sound = true, true
		}
		c.ops = append(c.ops, link{do: store, a: in.dst, b: -1})
	}
	kept := c.ops[:0]
	for _, op := range c.ops {
		if op.do == store && !read[op.a] && k.slots[op.a].last < to {
			continue
		}
		k.fix(op.a, &op.atA)
		k.fix(op.b, &op.atB)
		kept = append(kept, op)
	}
	c.ops = append(kept, link{do: tileEnd, a: -1, b: -1})
	return c
}

// fix notes where an operand stands that never changes.
func (k *kernel) fix(slot int, at **float64) {
	if slot < 0 || k.slots[slot].from != fixed {
		return
	}
	s := &k.slots[slot]
	if s.shape != scalar && cap(s.fixed) < padded(len(s.fixed)) {
		s.fixed = append(make([]float64, 0, padded(len(s.fixed))), s.fixed...)
	}
	*at = &s.fixed[0]
}

// chain carries a chain out on n of its values from one on; true if it found values
// that aren't what they were taken to be.
func (r *running) chain(c *chain, from, n int) bool {
	w := r.w
	code := w.tiles[:0]
	for i := range c.ops {
		op := &c.ops[i]
		t := tile{op.do, op.atA, op.atB}
		if op.a >= 0 && t.a == nil {
			t.a = r.begin(op.a)
		}
		if op.b >= 0 && t.b == nil {
			t.b = r.begin(op.b)
		}
		code = append(code, t)
	}
	w.tiles = code
	w.again = 0
	runTiles(&code[0], from, n, &marks[0], &w.again)
	return w.again != 0
}

// begin is where a slot's values begin, in memory that a chain can work on.
func (r *running) begin(slot int) *float64 {
	s := &r.k.slots[slot]
	switch s.from {
	case pooled:
		return &r.f.vals[s.at]
	case weightCells:
		return &r.weight[0]
	case mapCells:
		v := r.w.cur[s.at].Cells
		if cap(v) < padded(len(v)) { // a table that stands in place of a map
			v = r.w.copied(s.at, v)
		}
		return &v[0]
	case scratch:
		if slot == r.k.out && r.dest != nil {
			return &r.dest[0]
		}
		return &r.mem[s.at]
	}
	return &s.fixed[0]
}

// copied gives a map's cells with room up to the end of a tile.
func (w *worker) copied(m int, cells []float64) []float64 {
	for len(w.copies) <= m {
		w.copies = append(w.copies, nil)
	}
	w.copies[m] = growPadded(w.copies[m], len(cells))
	copy(w.copies[m], cells)
	return w.copies[m]
}
