package eval

import (
	"slices"

	"fettle/lang/formula"
)

// Before a kernel's instructions are given their places in memory, they are put in
// an order in which those of one shape follow each other, and made chains of
// (tiles.go). A chain over all cells reads a value for each: what has one a row or a
// column is written out for it, or made for all cells from the start.

// shapeOf is what an instruction goes over: the shape of its result, or of what it
// looks at.
func (k *kernel) shapeOf(in *instr) shape {
	if in.dst < 0 {
		return k.slots[in.args[0]].shape
	}
	return k.slots[in.dst].shape
}

// spread writes operands out that have a value a row or a column, where a chain
// goes over all cells: for good, where they never change.
func (l *lowering) spread() {
	k := l.k
	done := map[int]int{}
	code := k.code
	k.code = nil
	l.widen(code)
	for _, in := range code {
		if k.links(&in) && k.shapeOf(&in) == full {
			in.args = slices.Clone(in.args)
			for i, a := range in.args {
				s := k.slots[a]
				if s.shape == full || s.shape == scalar {
					continue
				}
				wide, ok := done[a]
				if !ok {
					wide = l.slot(slot{shape: full})
					if s.from == fixed {
						v := make([]float64, k.cells.N(), padded(k.cells.N()))
						k.cells.column(s.fixed, s.shape).Spread(v, len(k.cells.Cols))
						k.slots[wide] = slot{shape: full, from: fixed, fixed: v}
					} else {
						k.code = append(k.code, instr{op: formula.Alias, dst: wide, args: []int{a}})
					}
					done[a] = wide
				}
				in.args[i] = wide
			}
		}
		k.code = append(k.code, in)
	}
}

// widen has what is simply made of values that never change and of numbers of the
// tune made for all cells at once: that takes less than to write it out.
func (l *lowering) widen(code []instr) {
	k := l.k
	simple := func(in *instr) bool {
		return k.links(in) && in.dst >= 0 && in.op != formula.Div && in.op != formula.Sqrt
	}
	// From the beginning: what can be made so, which is what its operands can be.
	can, made := make([]bool, len(code)), make([]int, len(k.slots))
	for i := range made {
		made[i] = -1
	}
	for i := range code {
		in := &code[i]
		can[i] = simple(in)
		for _, a := range in.args {
			s := &k.slots[a]
			can[i] = can[i] && (s.from == fixed || s.shape == scalar || made[a] >= 0 && can[made[a]])
		}
		if in.dst >= 0 {
			made[in.dst] = i
		}
	}
	// From the end: what chains over all cells read, and nothing else.
	wanted, narrow := make([]bool, len(k.slots)), make([]bool, len(k.slots))
	narrow[k.out] = true
	for i := len(code) - 1; i >= 0; i-- {
		in := &code[i]
		if in.dst >= 0 && can[i] && wanted[in.dst] && !narrow[in.dst] && k.slots[in.dst].shape != scalar {
			k.slots[in.dst].shape = full
		}
		all := k.links(in) && k.shapeOf(in) == full
		for _, a := range in.args {
			wanted[a], narrow[a] = wanted[a] || all, narrow[a] || !all
		}
	}
}

// arrange brings instructions together that can be chained, each still after those
// that make its operands.
func (l *lowering) arrange() {
	k := l.k
	made := make([]bool, len(k.slots)) // or made by no instruction
	for i := range made {
		made[i] = true
	}
	for _, in := range k.code {
		if in.dst >= 0 {
			made[in.dst] = false
		}
	}
	rest := k.code
	k.code = make([]instr, 0, len(rest))
	ready := func(like *instr) int {
		return slices.IndexFunc(rest, func(in instr) bool {
			if like != nil && (!k.links(&in) || k.shapeOf(&in) != k.shapeOf(like)) {
				return false
			}
			return !slices.ContainsFunc(in.args, func(a int) bool { return !made[a] })
		})
	}
	var last *instr // of the chain that is being made
	for from := 0; len(rest) > 0; {
		i := -1
		if last != nil {
			i = ready(last)
		}
		if i < 0 {
			l.close(from)
			i, from = ready(nil), len(k.code)
		}
		in := rest[i]
		k.code = append(k.code, in)
		rest = slices.Delete(rest, i, i+1)
		if in.dst >= 0 {
			made[in.dst] = true
		}
		if last = nil; k.links(&in) {
			last = &in
		}
		if len(rest) == 0 {
			l.close(from)
		}
	}
}

// close notes that the code from here on is a chain, if it is.
func (l *lowering) close(from int) {
	if k := l.k; from < len(k.code) && k.links(&k.code[from]) {
		k.linked = append(k.linked, chain{from: from, to: len(k.code)})
	}
}

// place gives each result of an instruction its part of the scratch memory. A
// part is used again once nothing reads it any more; a result may take the place
// of an operand of its own shape, since each value is read before it is written.
// What a chain reads stays until the chain is done, so that it can be gone over
// again.
func (l *lowering) place() {
	k := l.k
	made := make([]int, len(k.slots))
	for i := range k.slots {
		k.slots[i].last, made[i] = -1, -1
	}
	for i, in := range k.code {
		for _, a := range in.args {
			k.slots[a].last = i
		}
		if in.dst >= 0 {
			made[in.dst] = i
		}
	}
	k.slots[k.out].last = len(k.code)
	var free [full + 1][]int
	give := func(s int) { free[k.slots[s].shape] = append(free[k.slots[s].shape], k.slots[s].at) }
	next := 0 // chain
	var late []int
	for i := range k.code {
		in := &k.code[i]
		if next < len(k.linked) && k.linked[next].to == i {
			next++
		}
		from := len(k.code) // of the chain that this is in
		if next < len(k.linked) && k.linked[next].from <= i {
			from = k.linked[next].from
		}
		if from == len(k.code) || from == i {
			for _, s := range late {
				give(s)
			}
			late = late[:0]
		}
		release := func() {
			for j, a := range in.args {
				switch s := &k.slots[a]; {
				case s.from != scratch || s.last != i || slices.Contains(in.args[:j], a):
				case from <= i && made[a] < from:
					late = append(late, a)
				default:
					give(a)
				}
			}
		}
		if in.dst < 0 {
			release()
			continue
		}
		elementwise := in.read == nil && in.op != formula.StepOf && in.op != formula.Alias
		if elementwise {
			release()
		}
		d := &k.slots[in.dst]
		if list := free[d.shape]; len(list) > 0 {
			d.at, free[d.shape] = list[len(list)-1], list[:len(list)-1]
		} else {
			d.at = k.room
			k.room += padded(k.cells.size(d.shape))
		}
		if !elementwise {
			release()
		}
		if d.last < 0 {
			give(in.dst) // nothing reads it
		}
	}
	for i, c := range k.linked {
		k.linked[i] = k.chain(c.from, c.to)
	}
}
