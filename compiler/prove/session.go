package prove

import (
	"math"
	"slices"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/interval"
	"fettle/compiler/plan"
)

// session is the proving of a tune's limits over one range of conditions: boxes that
// one limit had computed serve the next.
type session struct {
	x      *Prover
	tune   *plan.Tune
	dims   []check.Extent
	varies []bool // by map: it may differ within the range
	base   *eval.Result
	boxes  map[string]*box
	room   map[int][][]form // memory for cells, by their number
	regs   []form
	vals   []*form
	res    *eval.Result // memory of looks
}

// kept is how many boxes are remembered: the first ones, which every limit asks for.
// So many cells are remembered with them.
const (
	kept      = 12
	keptCells = 1 << 18
)

// session finds or begins the session for a limit's range.
func (x *Prover) session(list []*session, l *limitCode, t *plan.Tune) (*session, []*session) {
	for _, s := range list {
		if slices.EqualFunc(s.dims, l.For, func(a, b check.Extent) bool { return a.Given == b.Given && a.Lo == b.Lo && a.Hi == b.Hi }) {
			return s, list
		}
	}
	s := &session{x: x, tune: t, dims: l.For, boxes: map[string]*box{}, room: map[int][][]form{}, regs: make([]form, x.most), vals: make([]*form, x.most), res: &eval.Result{}}
	s.findVarying()
	return s, append(list, s)
}

// findVarying marks the maps that read a condition of the range, or a map that does.
func (s *session) findVarying() {
	cp := s.x.check
	s.varies = make([]bool, len(cp.Maps))
	own := make([]bool, len(cp.Maps))
	for i, m := range s.x.maps {
		if m == nil {
			continue
		}
		var c limitCode
		c.readsMap(m)
		for _, t := range s.tune.Trims {
			if t.Map == m.m {
				c.readsStep(t)
			}
		}
		for _, d := range s.dims {
			own[i] = own[i] || c.givens.Has(d.Given)
		}
	}
	for i, depends := range cp.Dependents(own) {
		s.varies[i] = own[i] || depends
	}
}

// fixed is a map that is the same all over the range, as the evaluator has it.
func (s *session) fixed(i int) table {
	from := &s.base.Maps[i]
	t := table{rows: from.Rows, cols: from.Cols, cells: s.memory(len(from.Cells)), done: true}
	for k, x := range from.Cells {
		t.cells[k] = point(x)
	}
	return t
}

// memory gives room for n cells.
func (s *session) memory(n int) []form {
	list := s.room[n]
	if len(list) == 0 {
		return make([]form, n)
	}
	s.room[n] = list[:len(list)-1]
	return list[len(list)-1]
}

func (s *session) free(cells []form) {
	if n := len(cells); n > 0 {
		s.room[n] = append(s.room[n], cells)
	}
}

// box gives the box of a span of the conditions, in which so many cells are asked
// for.
func (s *session) box(span []interval.I, cells int) (b *box, keep bool) {
	var key []byte
	for _, x := range span {
		for _, end := range [2]float64{x.Lo, x.Hi} {
			bits := math.Float64bits(end)
			for range 8 {
				key = append(key, byte(bits))
				bits >>= 8
			}
		}
	}
	if b = s.boxes[string(key)]; b != nil {
		return b, true
	}
	n := len(s.x.pool.ops)
	b = &box{session: s, span: span, env: s.at(middle(span)), scalars: make([]form, n), known: make([]bool, n), tables: make([]table, len(s.x.check.Maps))}
	b.inverses = make([]form, n)
	for i := range b.inverses {
		b.inverses[i].own = unset
	}
	if keep = len(s.boxes) < min(kept, keptCells/cells); keep {
		s.boxes[string(key)] = b
	}
	return b, keep
}

// release gives a box's memory back.
func (b *box) release() {
	for i := range b.tables {
		b.free(b.tables[i].cells)
	}
	b.tables = nil
}

// at is the tune's conditions with other values for those of the range.
func (s *session) at(values []float64) *plan.Conditions {
	all := append([]float64(nil), s.tune.Values...)
	for k, d := range s.dims {
		all[d.Given] = values[k]
	}
	return &plan.Conditions{Program: s.x.check, Values: all}
}

func middle(span []interval.I) []float64 {
	out := make([]float64, len(span))
	for k, x := range span {
		out[k] = x.Mid()
	}
	return out
}
