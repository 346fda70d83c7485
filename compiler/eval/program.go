// Package eval computes tunes: every cell of every map, column by column, and
// on demand the chain of steps that led to each cell.
//
// How it goes. Each expression of the checked program is lowered once to a
// kernel (lower.go): operations on columns of four shapes (shapes.go), in an order
// in which shared parts are computed once. What depends on the cell alone is
// computed while lowering; what depends on the conditions alone is kept in a pool
// and computed once a tune (scalars.go). What is left a kernel runs over whole
// columns (kernel.go, ops.go): operations that follow each other are brought
// together (arrange.go) and carried out as chains, 16 cells at a time, in registers
// (tiles.go); look-ups go by rows (gather.go, columns.go). A tune is then computed
// map by map in the checked order: base, the steps of the rules whose `when` holds,
// trims, clamps (tune.go, adjust.go, clamp.go). A step goes over the part of the map
// where it has a weight (weight.go), most of them as one kernel (join.go). The plain
// evaluator (reference.go) does the same a cell at a time on expr's VM; the two agree
// bit for bit.
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
	maps    []mapProgram
	trims   map[*check.Step]*step
	pool    *pool
	nsteps  int
	nlimits int
	mu      sync.Mutex
	idle    []*worker
	counts  counts
	derived counts  // of programs that were made of this one
	told    *counts // where those of this one are counted
}

// mapProgram is one map lowered, when it is first computed.
type mapProgram struct {
	once   sync.Once
	base   *kernel
	steps  []*step
	clamps []*clamp
	sound  bool // the base's cells are finite, in every tune
	throws bool // an `=` that may throw changes away
}

// Lower prepares a checked program.
func Lower(cp *check.Program) *Program {
	p := &Program{Check: cp, pool: newPool(), maps: make([]mapProgram, len(cp.Maps)), trims: map[*check.Step]*step{}}
	p.told = &p.counts
	for _, l := range cp.Limits {
		p.nlimits = max(p.nlimits, l.Index+1)
	}
	for _, m := range cp.Maps {
		c := &Cells{RowAxis: -1, Cols: m.Base.Cols}
		if len(m.Axes) == 2 {
			c.RowAxis, c.ColAxis, c.Rows = m.Axes[0], m.Axes[1], m.Base.Rows
		} else {
			c.ColAxis = m.Axes[0]
		}
		p.cells = append(p.cells, c)
		for _, s := range m.Steps {
			p.nsteps = max(p.nsteps, s.Index+1)
		}
	}
	for _, v := range cp.Variants {
		for _, s := range v.Trims {
			p.nsteps = max(p.nsteps, s.Index+1)
			p.trims[s] = p.lowerStep(s)
		}
	}
	return p
}

// lowered gives a map's program; only maps that are computed are lowered.
func (p *Program) lowered(i int) *mapProgram {
	mp := &p.maps[i]
	mp.once.Do(func() {
		m := p.Check.Maps[i]
		mp.base = p.lowerBase(m.Formula, p.cells[i])
		mp.sound = m.Formula == nil && firstNotFinite(m.Base.Cells) < 0
		for k, s := range m.Steps {
			mp.steps = append(mp.steps, p.lowerStep(s))
			mp.throws = mp.throws || k > 0 && throws(s)
		}
		for _, l := range m.Clamps {
			mp.clamps = append(mp.clamps, p.lowerClamp(l))
		}
	})
	return mp
}

// MapCells is the grid of a map.
func (p *Program) MapCells(m int) *Cells { return p.cells[m] }

// Expr is an expression lowered over a grid of the caller's, for limits.
type Expr struct {
	k *kernel
}

// LowerOver lowers an expression over a grid.
func (p *Program) LowerOver(n *formula.Node, c *Cells) *Expr { return &Expr{p.lower(n, c)} }

// Node is the expression that was lowered.
func (x *Expr) Node() *formula.Node { return x.k.node }

// The parts of a worker's scratch memory: a kernel's result stays in one until it
// is used again.
const (
	memAmount = iota
	memWhere
	memMore
	mems
)

// worker is the working memory of one goroutine.
type worker struct {
	p                *Program
	cur              []grid.Table // the maps as they stand
	mem              [mems][]float64
	args             []Column
	tiles            []tile // a chain at work
	again            byte
	copies           [][]float64 // of tables in place of maps, by map
	rowLine, colLine line
	lines            []float64 // of a look-up between rows
	mix              Mix
	opt              Options
	frames           [frames]frame
	tick             uint64
	last             int          // the frame asked for last
	capped           []float64    // which cells a clamp capped, where that is asked for
	row              []float64    // an operation's operands, written out
	least, most      []float64    // a clamp's bounds in a row
	part             [2][]float64 // an adjustment's factors
	before           []float64    // a map's cells before a step, where changes are counted
	weights          weights      // of a step whose ranges differ from tune to tune
	ranges           []ends
	eval             mapEval // of the map that is being computed
	vm               *vmCache
}

func (p *Program) worker() *worker {
	p.mu.Lock()
	defer p.mu.Unlock()
	if n := len(p.idle); n > 0 {
		w := p.idle[n-1]
		p.idle = p.idle[:n-1]
		return w
	}
	return &worker{p: p}
}

func (p *Program) release(w *worker) {
	w.cur, w.mix, w.opt, w.eval = nil, Mix{}, Options{}, mapEval{}
	p.mu.Lock()
	p.idle = append(p.idle, w)
	p.mu.Unlock()
}

// grow gives a slice of n values, of the old one's memory where that is enough.
func grow(v []float64, n int) []float64 {
	if cap(v) < n {
		return make([]float64, n)
	}
	return v[:n]
}

// growPadded is grow with room up to the end of a tile.
func growPadded(v []float64, n int) []float64 {
	if cap(v) < padded(n) {
		return make([]float64, n, padded(n))
	}
	return v[:n]
}
