package eval

import (
	"fmt"
	"math"

	"fettle/compiler/check"
	"fettle/compiler/grid"
	"fettle/compiler/plan"
	"fettle/lang/formula"
	"fettle/lang/source"
)

// Mix chooses what each element of a tune is computed with: the conditions for
// each, or nil to leave the element out. Pure gives one tune's.
type Mix struct {
	Base  func(m *check.Map) *plan.Conditions
	Step  func(s *check.Step) *plan.Conditions
	Clamp func(l *check.Limit) *plan.Conditions
	Trims []*check.Step
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

// Options says what is wanted of an evaluation beside the cells.
type Options struct {
	Trace     func(m *check.Map) bool // maps whose chains are wanted; nil for none
	Reference bool                    // by the plain evaluator
	Thrown    bool                    // note changes that an `=` throws away
	// Tables that stand in place of maps, each with the breakpoints that its map has:
	// such a map is taken as it is, without base, steps and clamps.
	Fixed map[int]grid.Table
	Need  []bool // by map: those that are computed, and what they read among them; nil for all
}

// Result is a computed tune.
type Result struct {
	Maps   []grid.Table // final, by map
	Steps  map[*check.Step]StepResult
	Clamps map[*check.Limit]ClampResult
	Traces map[*check.Map]*Trace
	Fault  *Fault // the first thing that couldn't be computed; the tune fails
	Thrown []Thrown
}

// StepResult says what a step did in a tune.
type StepResult struct {
	Applied bool   // its rule's `when` holds
	Touched int    // cells with a weight above 0
	Changed int    // cells whose value changed
	Weights []bool // for each range of `over`: whether it reaches any breakpoint
}

// ClampResult says what a clamp did.
type ClampResult struct {
	Applied bool
	Cells   int
	Worst   float64 // how far the farthest cell was outside
	At      int     // that cell
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

// Trace is the chain of every cell of one map.
type Trace struct {
	Map   *check.Map
	Base  []float64
	Steps []StepTrace
	Final []float64
}

// StepTrace is one link of the chain, for every cell.
type StepTrace struct {
	Step    *check.Step
	Clamp   *check.Limit
	Applied bool
	Amount  []float64 // in the step's unit
	Weight  []float64
	After   []float64
}

// Tune computes a tune.
func (p *Program) Tune(mix Mix, opt Options) *Result {
	w := p.worker()
	defer p.release(w)
	return w.tune(mix, opt)
}

func (w *worker) tune(mix Mix, opt Options) *Result {
	cp := w.p.Check
	res := &Result{Maps: make([]grid.Table, len(cp.Maps)), Steps: make(map[*check.Step]StepResult), Clamps: map[*check.Limit]ClampResult{}}
	w.cur = res.Maps
	for _, i := range cp.Order {
		if opt.Need != nil && !opt.Need[i] {
			continue
		}
		m := cp.Maps[i]
		e := &mapEval{w: w, m: m, res: res, opt: opt, cells: w.p.cells[i]}
		if opt.Trace != nil && opt.Trace(m) {
			e.trace = &Trace{Map: m}
			if res.Traces == nil {
				res.Traces = map[*check.Map]*Trace{}
			}
			res.Traces[m] = e.trace
		}
		if !e.run(mix) {
			return res
		}
	}
	return res
}

// mapEval computes one map.
type mapEval struct {
	w      *worker
	m      *check.Map
	res    *Result
	opt    Options
	cells  *Cells
	trace  *Trace
	lastBy []int32 // which step changed a cell last, for Thrown
	steps  []*check.Step
}

func (e *mapEval) fault(cell int, s *check.Step, span source.Span, format string, args ...any) bool {
	if e.res.Fault == nil {
		e.res.Fault = &Fault{Map: e.m, Cell: cell, Step: s, Span: span, Reason: fmt.Sprintf(format, args...)}
	}
	return false
}

func (e *mapEval) run(mix Mix) bool {
	t := &e.w.cur[e.m.Index]
	if fixed, ok := e.opt.Fixed[e.m.Index]; ok {
		*t = fixed
		return e.finite(t.Cells, nil)
	}
	*t = grid.Table{Rows: e.m.Base.Rows, Cols: e.m.Base.Cols, Cells: make([]float64, e.cells.N())}
	if e.m.Formula == nil {
		copy(t.Cells, e.m.Base.Cells)
	} else {
		v, ok := e.column(e.m.Formula, e.w.p.bases[e.m.Index], mix.Base(e.m), nil, nil)
		if !ok {
			return false
		}
		e.spread(t.Cells, v)
	}
	if !e.finite(t.Cells, nil) {
		return false
	}
	if e.trace != nil {
		e.trace.Base = clone(t.Cells)
	}
	for _, s := range e.m.Steps {
		if !e.step(s, mix.Step(s)) {
			return false
		}
	}
	for _, s := range mix.Trims {
		if s.Map.Index == e.m.Index && !e.step(s, mix.Step(s)) {
			return false
		}
	}
	for _, l := range e.m.Clamps {
		if !e.clamp(l, mix.Clamp(l)) {
			return false
		}
	}
	if e.trace != nil {
		e.trace.Final = clone(t.Cells)
	}
	return true
}

func clone(v []float64) []float64 { return append([]float64(nil), v...) }

// spread writes a column of any shape over all cells.
func (e *mapEval) spread(dst []float64, v operand) {
	nc := len(e.cells.Cols)
	for r := range e.cells.nrows() {
		for c := range nc {
			dst[r*nc+c] = v.at(r, c)
		}
	}
}

func (e *mapEval) finite(cells []float64, s *check.Step) bool {
	for i, x := range cells {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			span := e.m.Span
			if s != nil {
				span = s.Span
			}
			return e.fault(i, s, span, "the result isn't a finite number")
		}
	}
	return true
}

// column evaluates an expression over the map's cells; where the weight is 0 the
// value doesn't matter (nil: everywhere it does).
func (e *mapEval) column(n *formula.Node, k *kernel, env *plan.Conditions, s *check.Step, weight []float64) (operand, bool) {
	if e.opt.Reference {
		return e.plain(n, env, s, weight)
	}
	v, violated := e.w.run(k, env)
	if violated {
		// Perhaps only in a branch that isn't taken: the plain evaluator knows.
		return e.plain(n, env, s, weight)
	}
	return v, true
}

// applies decides a rule's `when`.
func applies(s *check.Step, env *plan.Conditions) (bool, error) {
	if env == nil {
		return false, nil
	}
	if s.Rule == nil || s.Rule.When == nil {
		return true, nil
	}
	return formula.Decide(s.Rule.When, env)
}

func (e *mapEval) step(s *check.Step, env *plan.Conditions) bool {
	yes, err := applies(s, env)
	if err != nil {
		return e.fault(-1, s, s.Rule.When.Span, "%v", err)
	}
	if !yes {
		e.res.Steps[s] = StepResult{}
		if e.trace != nil {
			e.trace.Steps = append(e.trace.Steps, StepTrace{Step: s})
		}
		return true
	}
	t := &e.w.cur[e.m.Index]
	weight, reach, ok := e.weight(s, env)
	if !ok {
		return false
	}
	sk := e.w.p.steps[s]
	if s.Where != nil {
		mask, ok := e.column(s.Where, sk.where, env, s, weight)
		if !ok {
			return false
		}
		weight = e.mask(weight, mask)
	}
	amount, ok := e.column(s.Amount, sk.amount, env, s, weight)
	if !ok {
		return false
	}
	return e.apply(s, t, amount, weight, reach)
}

// apply carries out one adjustment on every cell with a weight.
func (e *mapEval) apply(s *check.Step, t *grid.Table, amount operand, weight []float64, reach []bool) bool {
	sr := StepResult{Applied: true, Weights: reach}
	nc := len(e.cells.Cols)
	var st *StepTrace
	if e.trace != nil {
		e.trace.Steps = append(e.trace.Steps, StepTrace{Step: s, Applied: true, Amount: make([]float64, len(t.Cells)), Weight: make([]float64, len(t.Cells))})
		st = &e.trace.Steps[len(e.trace.Steps)-1]
		e.spread(st.Amount, amount)
	}
	if e.opt.Thrown && e.lastBy == nil {
		e.lastBy = make([]int32, len(t.Cells))
	}
	thrown := map[int32]int{}
	for r := range e.cells.nrows() {
		for c := range nc {
			i := r*nc + c
			w := 1.0
			if weight != nil {
				w = weight[i]
			}
			if st != nil {
				st.Weight[i] = w
			}
			if w == 0 {
				continue
			}
			sr.Touched++
			old := t.Cells[i]
			now := adjust(s, old, amount.at(r, c), w)
			if math.IsNaN(now) || math.IsInf(now, 0) {
				return e.fault(i, s, s.Span, "the result isn't a finite number")
			}
			t.Cells[i] = now
			if e.lastBy != nil && s.Op == "=" && !s.Self && w == 1 && e.lastBy[i] != 0 {
				thrown[e.lastBy[i]]++
			}
			if now != old {
				sr.Changed++
				if e.lastBy != nil {
					e.lastBy[i] = int32(len(e.steps) + 1)
				}
			}
		}
	}
	if e.lastBy != nil {
		for k, earlier := range e.steps {
			if n := thrown[int32(k+1)]; n > 0 && earlier.Rule != s.Rule {
				e.res.Thrown = append(e.res.Thrown, Thrown{earlier, s, n})
			}
		}
		e.steps = append(e.steps, s)
	}
	if st != nil {
		st.After = clone(t.Cells)
	}
	e.res.Steps[s] = sr
	return true
}

// adjust is the meaning of the five adjustments at a weight in (0, 1]. At full
// weight the plain operation is used, so that nothing is lost to rounding.
func adjust(s *check.Step, old, a, w float64) float64 {
	switch s.Op {
	case "=":
		if w == 1 {
			return a
		}
		return old + float64(w*(a-old))
	case "+=":
		if s.Relative {
			return old * (1 + float64(w*a))
		}
		return old + float64(w*a)
	case "-=":
		if s.Relative {
			return old * (1 - float64(w*a))
		}
		return old - float64(w*a)
	case "*=":
		if w == 1 {
			return old * a
		}
		return old * (1 + float64(w*(a-1)))
	case "/=":
		if w == 1 {
			return old / a
		}
		return old * (1 + float64(w*(1/a-1)))
	}
	return math.NaN()
}
