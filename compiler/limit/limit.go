// Package limit looks whether a computed tune holds: its limits in every cell,
// its checks at their points; and for a limit that doesn't hold, which rule
// pushed the worst cell there.
//
// How it goes. A limit is looked at in every cell of the union of the
// breakpoints of the maps that it names. Its condition is taken apart at each
// `and` into comparisons, so that each cell has a margin: how much room is left
// before the bound. Comparisons allow one part in 10^9. Both sides of each are
// worked out in whole columns (look.go); then one pass goes over the cells, and
// looks closely only at those that may be worse than all before (judge.go). What a
// limit says of other cells is worked out anew when it is asked for (cell.go). To
// find who is to blame, the tune is computed again with its rules let in one by one.
// Verdicts of two programs are compared cell by cell, to see whether a limit asks
// less than it did (against.go).
//
// In: eval.Program and eval.Result. Out: verdicts. Imported by emit, diff,
// review and the compiler.
package limit

import (
	"sync"
	"sync/atomic"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/grid"
	"fettle/compiler/plan"
	"fettle/lang/unit"
)

// Slack is the share by which a comparison may be missed.
const Slack = 1e-9

// State is how a limit came out.
type State uint8

// The states, best first.
const (
	Holds   State = iota
	NotHere       // its `when` doesn't hold in this tune
	Clamped       // cells were capped
	Warns
	Fails
)

func (s State) String() string {
	return [...]string{"holds", "not here", "clamped", "warns", "fails"}[s]
}

// Verdict is a limit's outcome in one tune. What it says of a cell (AtCell, Near,
// Compare) may be asked as long as the result that was judged isn't computed into
// again.
type Verdict struct {
	Limit     *check.Limit
	State     State
	Cells     int       // looked at
	Bad       int       // where it doesn't hold, or that were capped
	At        []float64 // the worst cell, or the nearest: a value for each axis of the limit
	HasMargin bool
	Value     float64 // what is bounded, at that cell
	Bound     float64
	Margin    float64 // room left before the bound; negative when it is passed
	Unit      unit.Unit
	Blame     *Blame
	Problem   string // why it couldn't be looked at: then it fails

	of     *judged // what was judged; nil where the limit wasn't looked at
	lo     *lowered
	told   int                  // the part that tells the worst cell's margin; -1 where none does
	cell   int                  // the worst cell
	room   float64              // its margin in coherent units, and
	sure   bool                 // whether it stands out as nearest does: see again.go
	looked atomic.Pointer[look] // its cells, once they were asked for
}

// judged is what a verdict was found with.
type judged struct {
	c         *Checker
	res       *eval.Result
	env       *plan.Conditions
	reference bool
}

// Blame says how a worst cell came to be: what each element did to the margin,
// in order, the base first.
type Blame struct {
	Pushes []Push
	Main   int // the push that took the cell past its bound
}

// Push is one element's doing.
type Push struct {
	Rule   *check.Rule // nil for the base, trims and clamps
	Name   string      // "base", "rule long_pipe", "trim", "clamp most_spark"
	Step   *check.Step
	Clamp  *check.Limit // for a clamp
	Change float64      // of the margin; negative is towards the bound
	After  float64      // the margin after it
}

// Checker holds the limits and checks of a program, lowered. It may be used by
// many goroutines.
type Checker struct {
	p        *eval.Program
	limits   []*lowered
	checks   []loweredCheck
	patterns []string // of the checks, each once
	point    *eval.Cells
	idle     sync.Pool // of *memory
}

type lowered struct {
	l     *check.Limit
	cells *eval.Cells
	parts []part
	conds int // of its parts that are no comparisons
	when  *eval.Condition
	where *eval.Expr
}

// New lowers the limits and checks of a program.
func New(p *eval.Program) *Checker {
	c := &Checker{p: p, point: &eval.Cells{RowAxis: -1, ColAxis: -1, Cols: []float64{0}}}
	c.idle.New = func() any { return &memory{} }
	for _, l := range p.Check.Limits {
		c.limits = append(c.limits, c.lower(l))
	}
	for _, k := range p.Check.Checks {
		c.checks = append(c.checks, c.lowerCheck(k))
	}
	return c
}

// Grid is the union of the breakpoints of a limit's maps.
func Grid(p *check.Program, l *check.Limit) *eval.Cells {
	points := func(axis int) []float64 {
		var lists [][]float64
		for _, i := range l.Maps {
			m := p.Maps[i]
			for k, a := range m.Axes {
				if a != axis {
					continue
				}
				if k == 0 && len(m.Axes) == 2 {
					lists = append(lists, m.Base.Rows)
				} else {
					lists = append(lists, m.Base.Cols)
				}
			}
		}
		return grid.Union(lists...)
	}
	if len(l.Axes) == 1 {
		return &eval.Cells{RowAxis: -1, ColAxis: l.Axes[0], Cols: points(l.Axes[0])}
	}
	return &eval.Cells{RowAxis: l.Axes[0], ColAxis: l.Axes[1], Rows: points(l.Axes[0]), Cols: points(l.Axes[1])}
}

func (c *Checker) lower(l *check.Limit) *lowered { return c.lowerOver(l, Grid(c.p.Check, l)) }

func (c *Checker) lowerOver(l *check.Limit, cells *eval.Cells) *lowered {
	lo := &lowered{l: l, cells: cells, when: c.p.LowerCondition(l.When)}
	if l.Where != nil {
		lo.where = c.p.LowerOver(l.Where, lo.cells)
	}
	for _, n := range Split(l.Cond) {
		p := c.lowerPart(n, lo.cells)
		if lo.parts = append(lo.parts, p); p.cond != nil {
			lo.conds++
		}
	}
	return lo
}

// Judge judges a computed tune by every limit, and by the checks whose `with`
// matches it.
func (c *Checker) Judge(t *plan.Tune, res *eval.Result, reference bool) ([]*Verdict, []*Outcome) {
	j := c.begin(t, res, reference)
	defer j.end()
	return j.limits(), j.checks(t)
}

// Tune judges a computed tune by every limit.
func (c *Checker) Tune(t *plan.Tune, res *eval.Result, reference bool) []*Verdict {
	j := c.begin(t, res, reference)
	defer j.end()
	return j.limits()
}

// Checks judges a computed tune by the checks whose `with` matches it.
func (c *Checker) Checks(t *plan.Tune, res *eval.Result, reference bool) []*Outcome {
	j := c.begin(t, res, reference)
	defer j.end()
	return j.checks(t)
}

// Everywhere judges a computed tune by a limit without its own `when` and
// `where`: what it would say of the cells that it doesn't look at.
func (c *Checker) Everywhere(l *check.Limit, t *plan.Tune, res *eval.Result) *Verdict {
	lo := *c.limits[l.Index]
	whole := *l
	whole.When, whole.Where = nil, nil
	lo.l, lo.when, lo.where = &whole, &eval.Condition{}, nil
	j := c.begin(t, res, false)
	defer j.end()
	return j.limit(&lo)
}

// judging is the judging of one tune.
type judging struct {
	*judged
	probe *eval.Probe
	mem   *memory
}

func (c *Checker) begin(t *plan.Tune, res *eval.Result, reference bool) *judging {
	return c.again(&judged{c, res, t.Conditions(c.p.Check), reference})
}

func (c *Checker) again(of *judged) *judging {
	return &judging{of, c.p.Probe(of.res, of.reference), c.idle.Get().(*memory)}
}

func (j *judging) end() {
	j.probe.Close()
	j.c.idle.Put(j.mem)
}

func (j *judging) limits() []*Verdict {
	n := len(j.c.limits)
	verdicts, out := make([]Verdict, n), make([]*Verdict, n)
	at := make([]float64, 2*n)
	for i, lo := range j.c.limits {
		out[i] = &verdicts[i]
		out[i].At = at[2*i : 2*i : 2*i+2]
		j.verdict(out[i], lo)
	}
	return out
}

func (j *judging) limit(lo *lowered) *Verdict {
	v := &Verdict{}
	j.verdict(v, lo)
	return v
}

// verdict judges by one limit. Memory for the worst cell's place may be there.
func (j *judging) verdict(v *Verdict, lo *lowered) {
	at := v.At[:0]
	v.Limit, v.At, v.Cells = lo.l, nil, lo.cells.N()
	yes, err := j.probe.Holds(lo.when, j.env)
	if err != nil {
		v.State, v.Problem = Fails, err.Error()
		return
	}
	if !yes {
		v.State = NotHere
		return
	}
	k, problem := lo.look(j.probe, j.env, j.mem)
	v.Cells = k.cells()
	if problem == "" {
		problem = v.settle(k, j.mem, at)
	}
	if problem != "" {
		v.State, v.Problem = Fails, problem
		return
	}
	v.of, v.lo = j.judged, lo
	// Bounds that contradict each other leave a cell outside one of them: that fails.
	if cr := j.res.Clamp(lo.l); cr.Cells > 0 && v.Bad == 0 {
		v.clamped(cr)
	}
}

// clamped reports what a clamping limit capped: the map's own cells.
func (v *Verdict) clamped(cr eval.ClampResult) {
	m := v.Limit.Clamped
	nc := len(m.Base.Cols)
	v.State, v.Bad, v.Unit, v.HasMargin = Clamped, cr.Cells, m.Unit, true
	v.At = []float64{m.Base.Cols[cr.At%nc]}
	if len(m.Axes) == 2 {
		v.At = []float64{m.Base.Rows[cr.At/nc], m.Base.Cols[cr.At%nc]}
	}
	v.Value, v.Margin, v.Bound = cr.Before, -cr.Worst, cr.Before-cr.Worst
	if v.Limit.Hi == nil {
		v.Bound = cr.Before + cr.Worst
	}
}

// AtNoCell says that the limit's `when` holds and its `where` in no cell.
func (v *Verdict) AtNoCell() bool { return v.of != nil && v.Cells == 0 }
