package eval

import (
	"slices"

	"fettle/compiler/grid"
	"fettle/compiler/plan"
	"fettle/lang/formula"
)

// Most steps are carried out as one kernel: the amount, the mask and the change of
// the cells, which ends as a chain that writes the map's own cells. It goes over
// whole rows, and keeps what was there where a weight or a mask is 0.

// join lowers a step as one kernel; nil where that can't be, or isn't wanted.
func (p *Program) join(s *step, c *Cells) *kernel {
	plain := func(k *kernel) bool {
		return k == nil || !k.never && !slices.ContainsFunc(k.code, func(in instr) bool { return in.op == formula.Within })
	}
	if s.factor != nil || !plain(s.amount) || !plain(s.where) {
		return nil
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	l := p.lowering(s.Amount, c)
	k := l.k
	whole := full
	if c.RowAxis < 0 {
		whole = byCol
	}
	old, weight := l.slot(slot{shape: whole, from: mapCells, at: s.Map.Index}), -1
	if len(s.Over) > 0 {
		weight = l.slot(slot{shape: whole, from: weightCells})
	}
	k.out = l.change(s, old, l.node(s.Amount), weight)
	if weight >= 0 {
		k.out = l.op(formula.If, nil, weight, k.out, old)
	}
	if s.where != nil {
		k.out = l.op(formula.If, nil, l.node(s.Where), k.out, old)
	}
	l.finish()
	if n := len(k.linked); n == 0 || k.slots[k.out].from != scratch || k.slots[k.out].shape != whole || k.code[len(k.code)-1].dst != k.out || k.linked[n-1].to != len(k.code) || k.linked[n-1].looks {
		return nil
	}
	return k
}

// change is the arithmetic of adjust.
func (l *lowering) change(s *step, old, a, weight int) int {
	op := func(op formula.Op, a, b int) int { return l.op(op, nil, a, b) }
	weighed := func(x int) int {
		if weight < 0 {
			return x
		}
		return op(formula.Mul, weight, x)
	}
	one := l.number(1)
	var plain int
	var partly func() int
	switch s.Op {
	case "+=", "-=":
		by := formula.Add
		if s.Op == "-=" {
			by = formula.Sub
		}
		if s.Relative {
			return op(formula.Mul, old, op(by, one, weighed(a)))
		}
		return op(by, old, weighed(a))
	case "=":
		plain = a
		partly = func() int { return op(formula.Add, old, weighed(op(formula.Sub, a, old))) }
	case "*=":
		plain = op(formula.Mul, old, a)
		partly = func() int {
			return op(formula.Mul, old, op(formula.Add, one, weighed(op(formula.Sub, a, one))))
		}
	case "/=":
		plain = op(formula.Div, old, a)
		partly = func() int {
			return op(formula.Mul, old, op(formula.Add, one, weighed(op(formula.Sub, op(formula.Div, one, a), one))))
		}
	}
	if weight < 0 || s.always != nil && s.always.w == nil { // no feather
		return plain
	}
	return l.op(formula.If, nil, op(formula.Eq, weight, one), plain, partly())
}

// joins says whether a step is carried out as one kernel: where no more is asked for
// than the cells, and its area isn't a narrow part of a great map.
func (e *mapEval) joins(s *step, w *weights) bool {
	if s.joined == nil || e.opt.Reference || e.trace != nil || e.lastBy != nil || e.opt.Count && s.where != nil {
		return false
	}
	return e.cells.N() <= 1024 || 4*w.area.nc() >= len(e.cells.Cols)
}

// join carries a step out as one kernel; false where the plain way has to.
func (e *mapEval) join(s *step, env *plan.Conditions, t *grid.Table, w *weights) bool {
	if w.area.empty() {
		return true
	}
	r := running{w: e.w, k: s.joined, dest: t.Cells, weight: w.flat}
	if !r.start(env, memAmount) {
		return false
	}
	nc := len(e.cells.Cols)
	from := w.area.r0 * nc &^ (tileSize - 1) // whole tiles; what is before has no weight
	r.code(s.joined.code, from, w.area.r1*nc-from)
	return true
}
