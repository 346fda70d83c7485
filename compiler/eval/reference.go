package eval

import (
	"errors"
	"math"

	"fettle/compiler/check"
	"fettle/compiler/grid"
	"fettle/compiler/plan"
	"fettle/lang/formula"
)

// The plain evaluator: one cell at a time, on expr's virtual machine. Slow, and
// simple enough to believe; the columns are held to it. It also decides whether
// a range of validity was left in a branch that is really taken.

type vmCache struct {
	made map[*formula.Node]*formula.VM
}

func (w *worker) vmOf(n *formula.Node) (*formula.VM, error) {
	if w.vm == nil {
		w.vm = &vmCache{map[*formula.Node]*formula.VM{}}
	}
	if m, ok := w.vm.made[n]; ok {
		return m, nil
	}
	m, err := formula.CompileVM(n)
	if err == nil {
		w.vm.made[n] = m
	}
	return m, err
}

// plain evaluates an expression over the map's cells; cells without a weight, or
// where a mask is 0, are left at 0, unasked.
func (e *mapEval) plain(n *formula.Node, env *plan.Conditions, s *check.Step, weight *weights, mask Column) (Column, bool) {
	vm, err := e.w.vmOf(n)
	if err != nil {
		return Column{}, e.fault(-1, s, n.Span, "%v", err)
	}
	nc := len(e.cells.Cols)
	out := make([]float64, e.cells.N())
	at := &cellAt{Conditions: env, w: e.w, cells: e.cells}
	for r := range e.cells.nrows() {
		for c := range nc {
			if weight != nil && weight.at(r, c) == 0 || mask.v != nil && mask.At(r, c) == 0 {
				continue
			}
			i := r*nc + c
			at.r, at.c = r, c
			v, err := vm.Eval(at)
			if err != nil {
				var oor *formula.OutOfRange
				span := n.Span
				if errors.As(err, &oor) {
					span = oor.Node.Span
				}
				return Column{}, e.fault(i, s, span, "%v", err)
			}
			out[i] = v
		}
	}
	return Column{out, nc, 1}, true
}

// cellAt answers what an expression asks about one cell.
type cellAt struct {
	*plan.Conditions
	w     *worker
	cells *Cells
	r, c  int
}

// Axis implements formula.Cell.
func (a *cellAt) Axis(axis int) float64 {
	if axis == a.cells.RowAxis {
		return a.cells.Rows[a.r]
	}
	return a.cells.Cols[a.c]
}

// Map implements formula.Cell.
func (a *cellAt) Map(m int) float64 { return a.mapAt(m, a.r, a.c) }

func (a *cellAt) mapAt(m, r, c int) float64 {
	t := &a.w.cur[m]
	axes := a.w.p.Check.Maps[m].Axes
	here := cellAt{cells: a.cells, r: r, c: c}
	if len(axes) == 1 {
		return t.LookupKnots(grid.Knot{}, grid.Find(t.Cols, here.Axis(axes[0])))
	}
	return t.LookupKnots(grid.Find(t.Rows, here.Axis(axes[0])), grid.Find(t.Cols, here.Axis(axes[1])))
}

// Lookup implements formula.Cell.
func (a *cellAt) Lookup(m int, at ...float64) float64 {
	t := &a.w.cur[m]
	if len(at) == 1 {
		return t.Lookup(at[0])
	}
	return t.Lookup2(at[0], at[1])
}

// Step implements formula.Cell.
func (a *cellAt) Step(m, axis int) float64 {
	r, c := a.r, a.c
	if axis == a.cells.RowAxis {
		r = min(r+1, a.cells.nrows()-1)
	} else {
		c = min(c+1, len(a.cells.Cols)-1)
	}
	return math.Abs(a.mapAt(m, r, c) - a.mapAt(m, a.r, a.c))
}
