package eval

import (
	"math"

	"fettle/compiler/plan"
	"fettle/lang/formula"
)

// run evaluates a kernel. The result is good until the worker's same scratch
// memory is used again, or a map that it reads in place changes. violated says
// that somewhere, perhaps in a branch that isn't taken, an argument left its
// range of validity; then there is no result.
func (w *worker) run(k *kernel, env *plan.Conditions, mem int) (out Column, violated bool) {
	r := running{w: w, k: k}
	if violated = !r.start(env, mem) || r.code(k.code, 0, k.cells.N()); violated {
		return Column{}, true
	}
	return r.column(k.out), false
}

// runInto is run with its result in a place of its own, padded, where it can be had
// there: in says whether it is, sound whether it is known to be finite.
func (w *worker) runInto(k *kernel, env *plan.Conditions, dest []float64) (out Column, in, sound, violated bool) {
	r := running{w: w, k: k}
	if o := &k.slots[k.out]; o.from == scratch && k.cells.size(o.shape) == len(dest) {
		r.dest = dest
	}
	if !r.start(env, memAmount) || r.code(k.code, 0, k.cells.N()) {
		return Column{}, false, false, true
	}
	return r.column(k.out), r.dest != nil, r.sound, false
}

// start finds the memory and the numbers of the tune; false where a range of
// validity is left by these alone.
func (r *running) start(env *plan.Conditions, mem int) bool {
	w, k := r.w, r.k
	if len(w.mem[mem]) < k.room {
		w.mem[mem] = make([]float64, k.room)
	}
	r.mem = w.mem[mem]
	ok := !k.never
	if len(k.pooled) > 0 {
		r.f = w.frame(env, len(k.ones))
		for _, s := range k.pooled {
			_, good := r.f.get(k.ones, int32(k.slots[s].at))
			ok = ok && good
		}
	}
	return ok
}

// code carries instructions out, chain by chain where there are any; the last chain
// on n cells from one on. True if a range of validity is left.
func (r *running) code(code []instr, from, n int) (violated bool) {
	linked := r.k.linked
	for i := 0; i < len(code); i++ {
		if len(linked) == 0 || linked[0].from != i {
			violated = r.instr(&code[i]) || violated
			continue
		}
		c := &linked[0]
		linked = linked[1:]
		again := !useWide
		switch {
		case again:
		case len(linked) == 0 && c.to == len(code) && c.n == r.k.cells.N():
			again = r.chain(c, from, n)
		default:
			again = r.chain(c, 0, c.n)
		}
		r.sound = c.sound && !again
		for ; i < c.to; i++ {
			if again {
				violated = r.instr(&code[i]) || violated
			}
		}
		i--
	}
	return violated
}

// instr carries out one instruction; true if it finds a range of validity left.
func (r *running) instr(in *instr) bool {
	w, k := r.w, r.k
	args := w.args[:0]
	for _, a := range in.args {
		args = append(args, r.column(a))
	}
	w.args = args
	if in.op == formula.Within {
		nr, nc := k.cells.dims(k.slots[in.args[0]].shape)
		return outside(args[0], nr, nc, in.node.Range.Lo, in.node.Range.Hi)
	}
	dst, sh := r.column(in.dst), k.slots[in.dst].shape
	switch in.op {
	case formula.MapHere:
		w.here(in, dst, k.cells)
	case formula.MapAt:
		w.look(in, dst, args, k.cells, sh)
	case formula.StepOf:
		steps(in, dst, args[0], k.cells, sh)
	case formula.Alias:
		args[0].Spread(dst.v, len(k.cells.Cols))
	default:
		operate(in.op, in.node, dst, args, k.cells, sh, &w.row)
	}
	return false
}

// number is the value of a kernel that is nothing but one number of the pool.
func (w *worker) number(k *kernel, env *plan.Conditions) (float64, bool) {
	return w.frame(env, len(k.ones)).get(k.ones, int32(k.slots[k.out].at))
}

// running is a kernel at work.
type running struct {
	w   *worker
	k   *kernel
	f   *frame
	mem []float64
	// Where they are wanted: where the result goes, and a step's weights.
	dest, weight []float64
	sound        bool // the result was found to be finite
}

func (r *running) column(i int) Column {
	s := &r.k.slots[i]
	var v []float64
	switch s.from {
	case fixed:
		v = s.fixed
	case pooled:
		v = r.f.vals[s.at : s.at+1]
	case mapCells:
		v = r.w.cur[s.at].Cells
	case weightCells:
		v = r.weight
	default:
		if i == r.k.out && r.dest != nil {
			v = r.dest
			break
		}
		v = r.mem[s.at : s.at+r.k.cells.size(s.shape)]
	}
	return r.k.cells.column(v, s.shape)
}

// here reads a map at the cells, by knots.
func (w *worker) here(in *instr, dst Column, cells *Cells) {
	t := &w.cur[in.node.A]
	if !in.read.turned {
		w.gather(dst.v, t, in.read.rows, in.read.cols)
		return
	}
	nc := len(cells.Cols)
	for r, col := range in.read.cols.knots {
		for c, row := range in.read.rows.knots {
			dst.v[r*nc+c] = t.LookupKnots(row, col)
		}
	}
}

// look reads a map at coordinates. Where one differs by row and the other by
// column at most, as in a look-up at other revs, the knots are found once for
// each row and each column.
func (w *worker) look(in *instr, dst Column, args []Column, cells *Cells, sh shape) {
	t := &w.cur[in.node.A]
	rows, cols := oneRow, in.read.cols
	col := args[len(args)-1]
	apart := col.sr == 0 || col.sc == 0
	if len(args) == 2 {
		apart = args[0].sc == 0 && col.sr == 0
		if rows = in.read.rows; rows == nil && apart {
			rows = w.rowLine.set(t.Rows, args[0].v[:args[0].stored(dims(args[0], cells))])
		}
	}
	if apart {
		if cols == nil {
			cols = w.colLine.set(t.Cols, col.v[:col.stored(dims(col, cells))])
		}
		w.gather(dst.v, t, rows, cols)
		return
	}
	nr, nc := cells.dims(sh)
	for r := range nr {
		for c := range nc {
			x := &dst.v[r*dst.sr+c*dst.sc]
			if len(args) == 2 {
				*x = t.Lookup2(args[0].At(r, c), col.At(r, c))
			} else {
				*x = t.Lookup(col.At(r, c))
			}
		}
	}
}

// dims is how many rows and columns of values a column has of its own.
func dims(o Column, cells *Cells) (nr, nc int) {
	nr, nc = 1, 1
	if o.sr != 0 {
		nr = cells.nrows()
	}
	if o.sc != 0 {
		nc = len(cells.Cols)
	}
	return nr, nc
}

// steps is how far a map's value goes from each cell to the next.
func steps(in *instr, dst, a Column, cells *Cells, sh shape) {
	nr, nc := cells.dims(sh)
	for r := range nr {
		for c := range nc {
			r2, c2 := r, c
			if in.step == byRow {
				r2 = min(r+1, nr-1)
			} else {
				c2 = min(c+1, nc-1)
			}
			dst.v[r*dst.sr+c*dst.sc] = math.Abs(a.At(r2, c2) - a.At(r, c))
		}
	}
}
