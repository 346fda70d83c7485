// Package eval computes tunes: every cell of every map, column by column, and
// on demand the chain of steps that led to each cell.
//
// How it goes. Each expression of the checked program is lowered once to a
// kernel: operations on columns of four shapes (one value, one a row, one a
// column, one a cell), in an order in which shared parts are computed once. A
// tune is then computed map by map in the checked order: base, the steps of the
// rules whose `when` holds, trims, clamps. Each step's amount and weight are
// whole columns. The plain evaluator (reference.go) does the same a cell at a
// time on expr's VM; the two agree bit for bit.
//
// What a step is computed with may be chosen step by step (Mix), which is how
// the diff attributes a change and a limit finds the rule to blame.
//
// In: check.Program, plan.Tune. Out: Result. Imported by limit, emit, diff and
// the compiler.
package eval

import (
	"sync"

	"fettle/compiler/check"
	"fettle/compiler/grid"
	"fettle/lang/formula"
)

// Program is a checked program lowered for evaluation. It is made once and may
// be used by many goroutines.
type Program struct {
	Check   *check.Program
	cells   []*Cells // by map
	bases   []*kernel
	steps   map[*check.Step]*stepKernels
	clamps  map[*check.Limit]*clampKernels
	kernels int
	mu      sync.Mutex
	idle    []*worker
}

type stepKernels struct {
	amount, where *kernel
}

type clampKernels struct {
	lo, hi, where *kernel
}

// Lower prepares a checked program.
func Lower(cp *check.Program) *Program {
	p := &Program{Check: cp, steps: map[*check.Step]*stepKernels{}, clamps: map[*check.Limit]*clampKernels{}}
	for _, m := range cp.Maps {
		c := &Cells{RowAxis: -1, Cols: m.Base.Cols}
		if len(m.Axes) == 2 {
			c.RowAxis, c.ColAxis, c.Rows = m.Axes[0], m.Axes[1], m.Base.Rows
		} else {
			c.ColAxis = m.Axes[0]
		}
		p.cells = append(p.cells, c)
	}
	for _, m := range cp.Maps {
		p.bases = append(p.bases, p.lower(m.Formula, p.cells[m.Index]))
		for _, s := range m.Steps {
			p.lowerStep(s)
		}
		for _, l := range m.Clamps {
			c := p.cells[m.Index]
			p.clamps[l] = &clampKernels{p.lower(l.Lo, c), p.lower(l.Hi, c), p.lower(l.Where, c)}
		}
	}
	for _, v := range cp.Variants {
		for _, s := range v.Trims {
			p.lowerStep(s)
		}
	}
	return p
}

func (p *Program) lowerStep(s *check.Step) {
	c := p.cells[s.Map.Index]
	p.steps[s] = &stepKernels{p.lower(s.Amount, c), p.lower(s.Where, c)}
}

// MapCells is the grid of a map.
func (p *Program) MapCells(m int) *Cells { return p.cells[m] }

// Expr is an expression lowered over a grid of the caller's, for limits.
type Expr struct {
	k *kernel
}

// LowerOver lowers an expression over a grid. Not for use while tunes are being
// computed.
func (p *Program) LowerOver(n *formula.Node, c *Cells) *Expr { return &Expr{p.lower(n, c)} }

// worker is the working memory of one goroutine.
type worker struct {
	p      *Program
	frames []*frame
	cur    []grid.Table // the maps as they stand
	vm     *vmCache
}

func (p *Program) worker() *worker {
	p.mu.Lock()
	defer p.mu.Unlock()
	if n := len(p.idle); n > 0 {
		w := p.idle[n-1]
		p.idle = p.idle[:n-1]
		if len(w.frames) < p.kernels {
			w.frames = append(w.frames, make([]*frame, p.kernels-len(w.frames))...)
		}
		return w
	}
	return &worker{p: p, frames: make([]*frame, p.kernels)}
}

func (p *Program) release(w *worker) {
	p.mu.Lock()
	p.idle = append(p.idle, w)
	p.mu.Unlock()
}

// Node is the expression that was lowered.
func (x *Expr) Node() *formula.Node { return x.k.node }
