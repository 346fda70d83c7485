package eval

import (
	"fettle/compiler/grid"
	"fettle/compiler/plan"
	"fettle/lang/formula"
)

// step carries out one adjustment: decides whether it applies, works out weights
// and amounts, and goes over the part of the map that has a weight.
func (e *mapEval) step(s *step, env *plan.Conditions) bool {
	if s.when.node != nil || env == nil {
		yes, err := e.w.holds(&s.when, env)
		if err != nil {
			return e.fault(-1, s.Step, s.Rule.When.Span, "%v", err)
		}
		if !yes {
			return e.skipped(s)
		}
	}
	if s.scales && !e.noting {
		if k, ok := e.w.number(s.amount, env); ok {
			e.known, e.finiteYet = false, false
			e.res.Steps[s.Index] = StepResult{Step: s.Step, Applied: true}
			e.scale(k)
			return true
		}
	}
	w, ok := e.weights(s, env)
	if !ok {
		return false
	}
	t := e.settled()
	e.before(t)
	var mask Column // none
	if s.factor != nil && e.trace == nil && !e.opt.Reference {
		e.rect(formula.Mul, t, s.factor.area, Column{s.factor.cells, s.factor.area.nc(), 1})
		return e.after(s, w, mask, t)
	}
	if e.joins(s, w) {
		if s.Op == "=" && !w.core.empty() && !e.sound() {
			return false // before it is thrown away
		}
		if e.join(s, env, t, w) {
			return e.after(s, w, mask, t)
		}
	}
	if s.where != nil {
		if mask, ok = e.column(s.where, env, s.Step, w, mask, memWhere); !ok {
			return false
		}
	}
	amount, ok := e.column(s.amount, env, s.Step, w, mask, memAmount)
	if !ok {
		return false
	}
	if s.Op == "=" && !w.core.empty() && !e.sound() {
		return false // before it is thrown away
	}
	e.record(s, amount, w, mask)
	e.apply(s, t, amount, w, mask)
	return e.after(s, w, mask, t)
}

// skipped notes a step that doesn't apply.
func (e *mapEval) skipped(s *step) bool {
	e.res.Steps[s.Index] = StepResult{Step: s.Step}
	if e.trace != nil {
		e.trace.Steps = append(e.trace.Steps, StepTrace{Step: s.Step})
	}
	return true
}

// scale multiplies the whole map by a number, later: several such steps, one
// after the other, go over the cells once, and the first of them reads the base
// where it stands.
func (e *mapEval) scale(k float64) {
	if e.waiting == len(e.scales) {
		e.settled()
	}
	e.scales[e.waiting] = k
	e.waiting++
}

// settled gives the map with nothing left to be done later.
func (e *mapEval) settled() *grid.Table {
	t := &e.w.cur[e.m.Index]
	switch from := e.from; {
	case e.waiting > 0:
		if from == nil {
			from = t.Cells
		}
		scaled(t.Cells, from, e.scales[:e.waiting])
	case from != nil:
		copy(t.Cells, from)
	}
	e.waiting, e.from = 0, nil
	return t
}

// apply goes over the area of a step's weights.
func (e *mapEval) apply(s *step, t *grid.Table, amount Column, w *weights, mask Column) {
	if mask.v != nil || e.opt.Reference {
		e.cellwise(s, t, amount, w, mask)
		return
	}
	switch s.Op {
	case "+=", "-=":
		op := formula.Add
		if s.Op == "-=" {
			op = formula.Sub
		}
		f := amount.from(w.area.r0, w.area.c0)
		if w.w != nil {
			f = e.combine(formula.Mul, Column{w.w, w.area.nc(), 1}, f, w.area)
		}
		if !s.Relative {
			e.rect(op, t, w.area, f)
			return
		}
		f = e.combine(op, oneColumn, f, w.area)
		e.rect(formula.Mul, t, w.area, f)
	case "=":
		e.set(t, w.core, amount)
		e.borders(w, func(b span, k Column) { // old + w*(a-old)
			f := e.combine(formula.Sub, amount.from(b.r0, b.c0), cellsOf(t, b), b)
			f = e.combine(formula.Mul, k, f, b)
			e.rect(formula.Add, t, b, f)
		})
	case "*=":
		e.rect(formula.Mul, t, w.core, amount.from(w.core.r0, w.core.c0))
		e.borders(w, func(b span, k Column) { // old * (1 + w*(a-1))
			f := e.combine(formula.Sub, amount.from(b.r0, b.c0), oneColumn, b)
			f = e.combine(formula.Mul, k, f, b)
			f = e.combine(formula.Add, oneColumn, f, b)
			e.rect(formula.Mul, t, b, f)
		})
	case "/=":
		e.rect(formula.Div, t, w.core, amount.from(w.core.r0, w.core.c0))
		e.borders(w, func(b span, k Column) { // old * (1 + w*(1/a-1))
			f := e.combine(formula.Div, oneColumn, amount.from(b.r0, b.c0), b)
			f = e.combine(formula.Sub, f, oneColumn, b)
			f = e.combine(formula.Mul, k, f, b)
			f = e.combine(formula.Add, oneColumn, f, b)
			e.rect(formula.Mul, t, b, f)
		})
	}
}

// set writes a column into a rectangle of the map.
func (e *mapEval) set(t *grid.Table, b span, by Column) {
	n := len(t.Cols)
	if b.nr()*b.nc() == len(t.Cells) && by.sr == n {
		copy(t.Cells, by.v)
		return
	}
	for r := b.r0; r < b.r1; r++ {
		by.from(r, b.c0).Spread(t.Cells[r*n+b.c0:r*n+b.c1], b.nc())
	}
}

var oneColumn = Column{[]float64{1}, 0, 0}

// borders goes over the area outside the core, in up to four rectangles.
func (e *mapEval) borders(w *weights, do func(b span, weight Column)) {
	if w.w == nil {
		return
	}
	a, k := w.area, w.core
	parts := [...]span{{a.r0, k.r0, a.c0, a.c1}, {k.r0, k.r1, a.c0, k.c0}, {k.r0, k.r1, k.c1, a.c1}, {k.r1, a.r1, a.c0, a.c1}}
	for _, b := range parts {
		if !b.empty() {
			do(b, Column{w.w, a.nc(), 1}.from(b.r0-a.r0, b.c0-a.c0))
		}
	}
}

func cellsOf(t *grid.Table, b span) Column {
	return Column{t.Cells, len(t.Cols), 1}.from(b.r0, b.c0)
}

// rect changes a rectangle of the map's cells by an operand that begins at its
// first cell.
func (e *mapEval) rect(op formula.Op, t *grid.Table, b span, by Column) {
	if b.empty() {
		return
	}
	cells := cellsOf(t, b)
	arith(op, &cells, &cells, &by, b.nr(), b.nc())
}

// combine computes an operation over a rectangle into the worker's memory, in as
// few values as its operands have: a factor that is the same for a whole row is
// computed once.
func (e *mapEval) combine(op formula.Op, a, b Column, at span) Column {
	nr, nc := at.nr(), at.nc()
	if a.sr == 0 && b.sr == 0 {
		nr = 1
	}
	if a.sc == 0 && b.sc == 0 {
		nc = 1
	}
	use := &e.w.part[0] // not where an operand stands, which may be read again
	if within(*use, a) || within(*use, b) {
		use = &e.w.part[1]
	}
	*use = grow(*use, nr*nc)
	d := Column{*use, nc, 1}
	if nc == 1 { // a value a row, or one
		for r := range nr {
			rowVV(op, d.v[r:r+1], a.v[r*a.sr:][:1], b.v[r*b.sr:][:1])
		}
	} else {
		arith(op, &d, &a, &b, nr, nc)
	}
	if nr == 1 {
		d.sr = 0
	}
	if a.sc == 0 && b.sc == 0 {
		d.sc = 0
	}
	return d
}

// within says whether a column stands in a memory.
func within(mem []float64, c Column) bool { return len(mem) > 0 && &mem[0] == &c.v[0] }

// cellwise is apply a cell at a time: where a `where` picks them, and in the plain
// evaluator.
func (e *mapEval) cellwise(s *step, t *grid.Table, amount Column, w *weights, mask Column) {
	for r := w.area.r0; r < w.area.r1; r++ {
		for c := w.area.c0; c < w.area.c1; c++ {
			if mask.v == nil || mask.At(r, c) != 0 {
				i := r*len(t.Cols) + c
				t.Cells[i] = adjust(s.Step, t.Cells[i], amount.At(r, c), w.at(r, c))
			}
		}
	}
}

// before keeps what a step's work is told by.
func (e *mapEval) before(t *grid.Table) {
	if e.opt.Count || e.lastBy != nil {
		e.w.before = grow(e.w.before, len(t.Cells))
		copy(e.w.before, t.Cells)
	}
}

// after notes what a step did.
func (e *mapEval) after(s *step, w *weights, mask Column, t *grid.Table) bool {
	e.known, e.finiteYet = false, false
	sr := StepResult{Step: s.Step, Applied: true, Weights: w.reach}
	if e.noting {
		if e.careful && !e.finite(t.Cells, s.Step) {
			return false
		}
		if e.trace != nil {
			e.trace.Steps[len(e.trace.Steps)-1].After = e.res.keep(t.Cells)
		}
		if e.opt.Count || e.lastBy != nil {
			e.count(s, w, mask, t, &sr)
		}
	}
	e.res.Steps[s.Index] = sr
	return true
}

// count compares the cells before and after a step.
func (e *mapEval) count(s *step, w *weights, mask Column, t *grid.Table, sr *StepResult) {
	nc := len(t.Cols)
	if w == &e.w.weights {
		sr.Weights = append([]bool(nil), w.reach...) // its memory is used again
	}
	sr.Touched = w.area.nr() * w.area.nc()
	var thrown map[int32]int
	if e.lastBy != nil && throws(s.Step) {
		thrown = map[int32]int{}
	}
	if mask.v == nil && e.lastBy == nil {
		for r := w.area.r0; r < w.area.r1; r++ {
			from, to := r*nc+w.area.c0, r*nc+w.area.c1
			sr.Changed += differing(t.Cells[from:to], e.w.before[from:to])
		}
		return
	}
	for r := w.area.r0; r < w.area.r1; r++ {
		for c := w.area.c0; c < w.area.c1; c++ {
			i := r*nc + c
			if mask.v != nil && mask.At(r, c) == 0 {
				sr.Touched--
				continue
			}
			if thrown != nil && e.lastBy[i] != 0 && w.at(r, c) == 1 {
				thrown[e.lastBy[i]]++
			}
			if t.Cells[i] != e.w.before[i] {
				sr.Changed++
				if e.lastBy != nil {
					e.lastBy[i] = int32(len(e.done) + 1)
				}
			}
		}
	}
	if e.lastBy == nil {
		return
	}
	for k, earlier := range e.done {
		if n := thrown[int32(k+1)]; n > 0 && earlier.Rule != s.Rule {
			e.res.Thrown = append(e.res.Thrown, Thrown{earlier, s.Step, n})
		}
	}
	e.done = append(e.done, s.Step)
}
