package eval

import (
	"math"

	"fettle/compiler/check"
	"fettle/compiler/plan"
)

// clamp is a clamping limit lowered.
type clamp struct {
	*check.Limit
	lo, hi, where *kernel
	when          condition
}

func (p *Program) lowerClamp(l *check.Limit) *clamp {
	c := p.cells[l.Clamped.Index]
	return &clamp{l, p.lower(l.Lo, c), p.lower(l.Hi, c), p.lower(l.Where, c), p.condition(l.When)}
}

// clamp caps a map's cells between the bounds of a clamping limit.
func (e *mapEval) clamp(l *clamp, env *plan.Conditions) bool {
	cr := &e.res.Clamps[l.Index]
	*cr = ClampResult{Limit: l.Limit, At: -1}
	yes, err := e.w.holds(&l.when, env)
	if err != nil {
		return e.fault(-1, nil, l.Span, "%v", err)
	}
	if !yes {
		if e.trace != nil {
			e.trace.Steps = append(e.trace.Steps, StepTrace{Clamp: l.Limit})
		}
		return true
	}
	cr.Applied = true
	var where Column
	if l.where != nil {
		v, ok := e.column(l.where, env, nil, nil, Column{}, memWhere)
		if !ok {
			return false
		}
		where = v
	}
	lo, ok := e.bound(l.lo, env, where, memAmount)
	if !ok {
		return false
	}
	hi, ok := e.bound(l.hi, env, where, memMore)
	if !ok || !e.extent() {
		return false
	}
	if e.trace == nil {
		e.cap(l, cr, lo, hi, where, nil)
		return true
	}
	bound, k := hi, l.hi
	if k == nil {
		bound, k = lo, l.lo
	}
	nc := len(e.cells.Cols)
	link := StepTrace{Clamp: l.Limit, Applied: true, nc: nc, amount: e.kept(k, bound), mask: noWeight, After: e.stands()}
	e.w.capped = grow(e.w.capped, e.cells.N())
	clear(e.w.capped)
	if e.cap(l, cr, lo, hi, where, e.w.capped); cr.Cells > 0 {
		link.mask, link.After = Column{e.res.keep(e.w.capped), nc, 1}, e.res.keep(e.w.cur[e.m.Index].Cells)
	}
	e.trace.Steps = append(e.trace.Steps, link)
	return true
}

// noWeight is the mask of a clamp that caps no cell.
var noWeight = Column{[]float64{0}, 0, 0}

// bound works out one bound; nil for none. It must be finite where the clamp
// looks.
func (e *mapEval) bound(k *kernel, env *plan.Conditions, where Column, mem int) (Column, bool) {
	if k == nil {
		return Column{}, true
	}
	v, ok := e.column(k, env, nil, nil, where, mem)
	if !ok {
		return Column{}, false
	}
	nr, nc := dims(v, e.cells)
	if where.v == nil && firstNotFinite(v.v[:v.stored(nr, nc)]) < 0 {
		return v, true
	}
	for r := range e.cells.nrows() {
		for c := range e.cells.Cols {
			if x := v.At(r, c); x-x != 0 && (where.v == nil || where.At(r, c) != 0) {
				return Column{}, e.fault(r*len(e.cells.Cols)+c, nil, e.m.Span, notFinite)
			}
		}
	}
	return v, true
}

// cap caps the cells, notes the farthest of them, and marks them in capped if it
// isn't nil.
func (e *mapEval) cap(l *clamp, cr *ClampResult, lo, hi, where Column, capped []float64) {
	cells, nc := e.w.cur[e.m.Index].Cells, len(e.cells.Cols)
	if where.v == nil && (lo.v == nil || lo.sr+lo.sc == 0 && e.least >= lo.v[0]) && (hi.v == nil || hi.sr+hi.sc == 0 && e.most <= hi.v[0]) {
		return // as nearly always
	}
	w := e.w
	w.least, w.most = unbounded(w.least, nc, math.Inf(-1)), unbounded(w.most, nc, math.Inf(1))
	for r := range e.cells.nrows() {
		row := cells[r*nc : (r+1)*nc]
		least, most := lo.row(r, w.least), hi.row(r, w.most)
		for c, old := range row {
			if !(old > most[c] || old < least[c]) || where.v != nil && where.At(r, c) == 0 {
				continue
			}
			now := old
			if now > most[c] {
				now = most[c]
			}
			if now < least[c] {
				now = least[c]
			}
			if now == old {
				continue
			}
			i := r*nc + c
			if over := max(old-now, now-old); cr.At < 0 || over > cr.Worst {
				cr.Worst, cr.At, cr.Before = over, i, old
			}
			cr.Cells++
			e.known, e.finiteYet = false, false
			row[c] = now
			if capped != nil {
				capped[i] = 1
			}
		}
	}
}

// unbounded is a row of a bound that isn't there.
func unbounded(v []float64, n int, x float64) []float64 {
	v = grow(v, n)
	fill(v, x)
	return v
}

// row gives a column's values in a row: where it has one for each column of the grid,
// in place, else written into a row that is at hand. A column that is none is that row.
func (o Column) row(r int, at []float64) []float64 {
	switch {
	case o.v == nil:
	case o.sc == 1:
		return o.v[r*o.sr:][:len(at)]
	case r == 0 || o.sr != 0:
		fill(at, o.v[r*o.sr])
	}
	return at
}
