package eval

import (
	"fmt"

	"fettle/compiler/check"
	"fettle/compiler/grid"
	"fettle/compiler/plan"
	"fettle/lang/source"
)

// Mix chooses what each element of a tune is computed with: the conditions for
// each, or nil to leave the element out. Pure gives one tune's.
type Mix struct {
	Base  func(m *check.Map) *plan.Conditions
	Step  func(s *check.Step) *plan.Conditions
	Clamp func(l *check.Limit) *plan.Conditions
	Trims []*check.Step
	// All, if set, is what every element is computed with, in place of the three
	// functions.
	All *plan.Conditions
}

// Pure is the mix of one tune: everything with its own conditions.
func Pure(p *check.Program, t *plan.Tune) Mix {
	c := t.Conditions(p)
	return Mix{
		Base:  func(*check.Map) *plan.Conditions { return c },
		Step:  func(*check.Step) *plan.Conditions { return c },
		Clamp: func(*check.Limit) *plan.Conditions { return c },
		Trims: t.Trims,
	}
}

func (m *Mix) base(of *check.Map) *plan.Conditions {
	if m.All != nil {
		return m.All
	}
	return m.Base(of)
}

func (m *Mix) step(s *check.Step) *plan.Conditions {
	if m.All != nil {
		return m.All
	}
	return m.Step(s)
}

func (m *Mix) clamp(l *check.Limit) *plan.Conditions {
	if m.All != nil {
		return m.All
	}
	return m.Clamp(l)
}

// Options says what is wanted of an evaluation beside the cells.
type Options struct {
	Trace     func(m *check.Map) bool // maps whose chains are wanted; nil for none
	Reference bool                    // by the plain evaluator
	Count     bool                    // how many cells each step touched and changed
	Thrown    bool                    // changes that an `=` throws away
	// Tables that stand in place of maps, each with the breakpoints that its map has:
	// such a map is taken as it is, without base, steps and clamps.
	Fixed map[int]grid.Table
	// A result whose maps are taken as they are, those that are marked: what differs
	// doesn't reach them. They have no steps and no clamps, and no chains are asked for.
	As   *Result
	Same []bool
	Need []bool // by map: those that are computed, and what they read among them; nil for all
}

// Result is a computed tune.
type Result struct {
	Maps   []grid.Table  // final, by map
	Steps  []StepResult  // by the steps' indexes; see Step
	Clamps []ClampResult // by the limits' indexes; see Clamp
	Traces map[*check.Map]*Trace
	Fault  *Fault // the first thing that couldn't be computed; the tune fails
	Thrown []Thrown
	own    [][]float64 // the cells that were made for this result, by map
	chains []float64   // memory of its chains
}

// StepResult says what a step did in a tune.
type StepResult struct {
	Step    *check.Step // nil where it wasn't come to
	Applied bool        // its rule's `when` holds
	// Where they are asked for:
	Touched int    // cells with a weight above 0
	Changed int    // cells whose value changed
	Weights []bool // for each range of `over`: whether it reaches any breakpoint
}

// ClampResult says what a clamp did.
type ClampResult struct {
	Limit   *check.Limit // nil where it wasn't come to
	Applied bool
	Cells   int
	Worst   float64 // how far the farthest cell was outside
	At      int     // that cell; -1 for none
	Before  float64
}

// Thrown is a change of an earlier step that a later `=` threw away.
type Thrown struct {
	Earlier, Later *check.Step
	Cells          int
}

// Fault is a value that couldn't be computed.
type Fault struct {
	Map    *check.Map
	Cell   int // -1 where it isn't one cell
	Step   *check.Step
	Span   source.Span
	Reason string
}

const notFinite = "the result isn't a finite number"

// Step is what a step did; nothing, if it is of another program.
func (res *Result) Step(s *check.Step) StepResult {
	if s.Index < len(res.Steps) && res.Steps[s.Index].Step == s {
		return res.Steps[s.Index]
	}
	return StepResult{}
}

// Clamp is what a clamp did; nothing, if it is of another program.
func (res *Result) Clamp(l *check.Limit) ClampResult {
	if l.Index < len(res.Clamps) && res.Clamps[l.Index].Limit == l {
		return res.Clamps[l.Index]
	}
	return ClampResult{At: -1}
}

// Tune computes a tune.
func (p *Program) Tune(mix Mix, opt Options) *Result {
	res := &Result{}
	p.TuneInto(res, mix, opt)
	return res
}

// TuneInto computes a tune into an earlier result, whose memory is used again:
// nothing of that result may be in use any more.
func (p *Program) TuneInto(res *Result, mix Mix, opt Options) {
	w := p.worker()
	w.mix, w.opt = mix, opt
	w.tune(res, &w.mix, &w.opt)
	p.release(w)
}

// reset empties a result and keeps its memory.
func (res *Result) reset(p *Program) {
	if len(res.own) != len(p.Check.Maps) {
		res.own, res.Maps = make([][]float64, len(p.Check.Maps)), make([]grid.Table, len(p.Check.Maps))
		res.Steps, res.Clamps = make([]StepResult, p.nsteps), make([]ClampResult, p.nlimits)
	}
	clear(res.Maps)
	clear(res.Steps)
	clear(res.Clamps)
	res.Traces, res.Fault, res.Thrown, res.chains = nil, nil, nil, res.chains[:0]
}

func (w *worker) tune(res *Result, mix *Mix, opt *Options) {
	res.reset(w.p)
	w.cur = res.Maps
	for _, i := range w.p.Check.Order {
		if opt.Need != nil && !opt.Need[i] {
			continue
		}
		e := &w.eval
		*e = mapEval{w: w, m: w.p.Check.Maps[i], p: w.p.lowered(i), res: res, opt: opt, cells: w.p.cells[i], mix: mix}
		if !e.run() {
			return
		}
	}
}

// mapEval computes one map.
type mapEval struct {
	w           *worker
	m           *check.Map
	p           *mapProgram
	res         *Result
	opt         *Options
	mix         *Mix
	cells       *Cells
	trace       *Trace
	known       bool // the cells are finite as they stand, from least to most
	least, most float64
	finiteYet   bool          // the cells are finite as they stand
	from        []float64     // where the cells are to be read from first; nil for in place
	scales      [4]float64    // what they are all to be multiplied by
	waiting     int           // how many of those there are
	noting      bool          // each step is looked at
	careful     bool          // look after each step whether all is finite
	retry       bool          // something isn't: go again, carefully
	lastBy      []int32       // which step changed a cell last, for Thrown
	done        []*check.Step // the steps so far, for the same
}

func (e *mapEval) fault(cell int, s *check.Step, span source.Span, format string, args ...any) bool {
	if e.res.Fault == nil {
		e.res.Fault = &Fault{Map: e.m, Cell: cell, Step: s, Span: span, Reason: fmt.Sprintf(format, args...)}
	}
	return false
}

// run computes the map. What isn't finite stays so through every step but an `=`
// and a clamp, so it is enough to look before those and at the end; which step
// it came from is found by going again.
func (e *mapEval) run() bool {
	thrown := len(e.res.Thrown)
	if e.attempt() {
		return true
	}
	if e.retry {
		e.res.Thrown = e.res.Thrown[:thrown]
		e.careful, e.lastBy, e.done = true, nil, nil
		e.attempt()
	}
	return false
}

func (e *mapEval) attempt() bool {
	t := &e.w.cur[e.m.Index]
	if e.opt.As != nil && e.opt.Same[e.m.Index] {
		*t = e.opt.As.Maps[e.m.Index]
		return true
	}
	if fixed, ok := e.opt.Fixed[e.m.Index]; ok {
		*t = fixed
		return e.finite(t.Cells, nil)
	}
	own := &e.res.own[e.m.Index]
	*own = growPadded(*own, e.cells.N())
	*t = grid.Table{Rows: e.m.Base.Rows, Cols: e.m.Base.Cols, Cells: *own}
	e.begin()
	if !e.base(t) {
		return false
	}
	if e.trace != nil {
		if e.trace.Base = e.m.Base.Cells; e.m.Formula != nil {
			e.trace.Base = e.res.keep(t.Cells)
		}
	}
	for _, s := range e.p.steps {
		if !e.step(s, e.mix.step(s.Step)) {
			return false
		}
	}
	for _, s := range e.mix.Trims {
		if s.Map.Index == e.m.Index && !e.step(e.w.p.trims[s], e.mix.step(s)) {
			return false
		}
	}
	e.settled()
	for _, l := range e.p.clamps {
		if !e.clamp(l, e.mix.clamp(l.Limit)) {
			return false
		}
	}
	if e.trace != nil {
		e.trace.Final = e.stands()
	}
	return e.sound()
}

// begin prepares what is kept beside the cells.
func (e *mapEval) begin() {
	if e.opt.Trace != nil && e.opt.Trace(e.m) {
		e.trace = &Trace{Map: e.m}
		if e.res.Traces == nil {
			e.res.Traces = map[*check.Map]*Trace{}
		}
		e.res.Traces[e.m] = e.trace
	}
	trims := func() bool {
		for _, s := range e.mix.Trims {
			if s.Map == e.m && throws(s) {
				return true
			}
		}
		return false
	}
	if e.opt.Thrown && (e.p.throws || trims()) {
		e.lastBy = make([]int32, e.cells.N())
	}
	e.noting = e.opt.Count || e.opt.Reference || e.lastBy != nil || e.trace != nil || e.careful
}

func (e *mapEval) base(t *grid.Table) bool {
	if e.m.Formula == nil {
		e.from, e.finiteYet = e.m.Base.Cells, e.p.sound
	} else if !e.formula(t) {
		return false
	}
	if e.noting {
		e.settled()
	}
	return !e.careful || e.finite(t.Cells, nil)
}

// formula computes the cells by the map's formula, where they belong if that can be.
func (e *mapEval) formula(t *grid.Table) bool {
	env := e.mix.base(e.m)
	if k := e.p.base; !e.opt.Reference && len(k.code) > 0 {
		v, in, sound, violated := e.w.runInto(k, env, t.Cells)
		if !violated {
			e.finiteYet = sound
			if !in {
				v.Spread(t.Cells, len(t.Cols))
			}
			return true
		}
	}
	v, ok := e.column(e.p.base, env, nil, nil, Column{}, memAmount)
	if ok {
		v.Spread(t.Cells, len(t.Cols))
	}
	return ok
}

// sound says whether all cells are finite; if not, the map is computed again to
// find out why.
func (e *mapEval) sound() bool {
	e.retry = !e.known && !e.finiteYet && firstNotFinite(e.w.cur[e.m.Index].Cells) >= 0
	return !e.retry
}

// extent is sound, and finds the least and the greatest cell.
func (e *mapEval) extent() bool {
	if e.known {
		return true
	}
	var bad int
	e.least, e.most, bad = extent(e.w.cur[e.m.Index].Cells)
	e.known, e.retry = bad < 0, bad >= 0
	return e.known
}

func (e *mapEval) finite(cells []float64, s *check.Step) bool {
	if i := firstNotFinite(cells); i >= 0 {
		span := e.m.Span
		if s != nil {
			span = s.Span
		}
		return e.fault(i, s, span, notFinite)
	}
	return true
}

// column evaluates an expression over the map's cells; where it has no weight and
// where a mask is 0 the value doesn't matter.
func (e *mapEval) column(k *kernel, env *plan.Conditions, s *check.Step, weight *weights, mask Column, mem int) (Column, bool) {
	if !e.opt.Reference {
		if o := &k.slots[k.out]; o.from == fixed && len(k.code) == 0 && !k.never {
			return k.cells.column(o.fixed, o.shape), true
		}
		v, violated := e.w.run(k, env, mem)
		if !violated {
			return v, true
		}
	}
	e.w.p.told.plain.Add(1)
	// A range of validity was left, perhaps only in a branch that isn't taken: the
	// plain evaluator knows.
	return e.plain(k.node, env, s, weight, mask)
}
