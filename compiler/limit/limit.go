// Package limit looks whether a computed tune holds: its limits in every cell,
// its checks at their points; and for a limit that doesn't hold, which rule
// pushed the worst cell there.
//
// How it goes. A limit is looked at in every cell of the union of the
// breakpoints of the maps that it names. Its condition is taken apart at each
// `and` into comparisons, so that each cell has a margin: how much room is left
// before the bound. Comparisons allow one part in 10^9. To find who is to
// blame, the tune is computed again with its rules let in one by one. Verdicts of
// two programs are compared cell by cell, to see whether a limit asks less than
// it did (against.go).
//
// In: eval.Program and eval.Result. Out: verdicts. Imported by emit, diff,
// review and the compiler.
package limit

import (
	"math"
	"slices"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/grid"
	"fettle/compiler/plan"
	"fettle/lang/formula"
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

// Verdict is a limit's outcome in one tune.
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

	cells *eval.Cells
	bad   []bool
	mask  []bool
	parts []compared
	conds int       // of its parts that are no comparisons
	part  []int32   // by cell: the comparison that tells its margin; -1 where none does
	room  []float64 // by cell: that margin, in coherent units
	told  int       // the comparison that tells the worst cell's
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

// Checker holds the limits and checks of a program, lowered.
type Checker struct {
	p       *eval.Program
	limits  []*lowered
	expects map[*check.Expect]*loweredExpect
	point   *eval.Cells
}

type lowered struct {
	l     *check.Limit
	cells *eval.Cells
	parts []part
	where *eval.Expr
}

type loweredExpect struct {
	cond, left, right, tol *eval.Expr
	op                     formula.Op // of left and right
}

// New lowers the limits and checks of a program.
func New(p *eval.Program) *Checker {
	c := &Checker{p: p, expects: map[*check.Expect]*loweredExpect{}, point: &eval.Cells{RowAxis: -1, ColAxis: -1, Cols: []float64{0}}}
	for _, l := range p.Check.Limits {
		c.limits = append(c.limits, c.lower(l))
	}
	for _, k := range p.Check.Checks {
		for _, e := range k.Expects {
			x := &loweredExpect{cond: p.LowerOver(e.Cond, c.point)}
			switch n := formula.Strip(e.Cond); {
			case e.Left != nil:
				x.op, x.left, x.right = formula.Eq, p.LowerOver(e.Left, c.point), p.LowerOver(e.Right, c.point)
			case n.Op == formula.Lt, n.Op == formula.Le, n.Op == formula.Gt, n.Op == formula.Ge:
				x.op, x.left, x.right = n.Op, p.LowerOver(n.Kids[0], c.point), p.LowerOver(n.Kids[1], c.point)
			}
			if e.Tol != nil {
				x.tol = p.LowerOver(e.Tol, c.point)
			}
			c.expects[e] = x
		}
	}
	return c
}

// cellsOf is the union of the breakpoints of a limit's maps.
func (c *Checker) cellsOf(l *check.Limit) *eval.Cells {
	points := func(axis int) []float64 {
		var lists [][]float64
		for _, i := range l.Maps {
			m := c.p.Check.Maps[i]
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

func (c *Checker) lower(l *check.Limit) *lowered {
	lo := &lowered{l: l, cells: c.cellsOf(l)}
	if l.Where != nil {
		lo.where = c.p.LowerOver(l.Where, lo.cells)
	}
	var take func(n *formula.Node)
	take = func(n *formula.Node) {
		n = formula.Strip(n)
		switch n.Op {
		case formula.And:
			take(n.Kids[0])
			take(n.Kids[1])
		case formula.Lt, formula.Le, formula.Gt, formula.Ge, formula.Eq:
			lo.parts = append(lo.parts, c.comparison(n, lo.cells))
		default:
			lo.parts = append(lo.parts, part{cond: c.p.LowerOver(formula.WithSlack(n, Slack), lo.cells)})
		}
	}
	take(l.Cond)
	return lo
}

// Tune judges a computed tune by every limit.
func (c *Checker) Tune(t *plan.Tune, res *eval.Result, reference bool) []*Verdict {
	out := make([]*Verdict, len(c.limits))
	env := t.Conditions(c.p.Check)
	for i, lo := range c.limits {
		out[i] = c.verdict(lo, res, env, reference)
	}
	return out
}

// Everywhere judges a computed tune by a limit without its own `when` and
// `where`: what it would say of the cells that it doesn't look at.
func (c *Checker) Everywhere(l *check.Limit, t *plan.Tune, res *eval.Result) *Verdict {
	lo := *c.limits[l.Index]
	whole := *l
	whole.When, whole.Where = nil, nil
	lo.l, lo.where = &whole, nil
	return c.verdict(&lo, res, t.Conditions(c.p.Check), false)
}

func (c *Checker) verdict(lo *lowered, res *eval.Result, env *plan.Conditions, reference bool) *Verdict {
	v := &Verdict{Limit: lo.l, cells: lo.cells, Cells: lo.cells.N()}
	fail := func(msg string) *Verdict {
		v.State, v.Problem = Fails, msg
		return v
	}
	if lo.l.When != nil {
		yes, err := formula.Decide(lo.l.When, env)
		if err != nil {
			return fail(err.Error())
		}
		if !yes {
			v.State = NotHere
			return v
		}
	}
	n := v.Cells
	mask := make([]bool, n)
	for i := range mask {
		mask[i] = true
	}
	if lo.where != nil {
		m, err := c.p.Column(res, lo.where, env, reference, nil)
		if err != nil {
			return fail(err.Error())
		}
		v.Cells = 0
		for i, x := range m {
			if mask[i] = x != 0; mask[i] {
				v.Cells++
			}
		}
	}
	v.begin(mask)
	for _, p := range lo.parts {
		if msg := c.compare(v, p, res, env, reference); msg != "" {
			v.bad, v.part = nil, nil
			return fail(msg)
		}
	}
	v.settle(lo)
	// Bounds that contradict each other leave a cell outside one of them: that fails.
	if cr := res.Clamp(lo.l); cr.Cells > 0 && v.Bad == 0 {
		c.clamped(v, lo, cr)
	}
	return v
}

// tie is a part of a margin that float noise can make: of cells that are as near
// as that, the first in order counts.
const tie = 1e-9

// settle finds the worst cell and the state.
func (v *Verdict) settle(lo *lowered) {
	worst := -1
	for i, bad := range v.bad {
		if bad {
			v.Bad++
		}
		if !v.mask[i] {
			continue
		}
		v.choose(i)
		switch {
		case worst < 0, bad && !v.bad[worst], bad == v.bad[worst] && v.room[i] < v.room[worst]-tie*math.Abs(v.room[worst]):
			worst = i
		}
	}
	if worst >= 0 {
		v.at(lo, worst)
	}
	if v.Cells == 0 {
		v.State = NotHere // its `where` holds in no cell
	}
	if v.Bad > 0 {
		v.State = Fails
		if lo.l.Mode == check.Warn {
			v.State = Warns
		}
	}
}

func (v *Verdict) at(lo *lowered, i int) {
	v.At = place(lo.cells, i)
	v.told = int(v.part[i])
	if v.HasMargin = v.told >= 0; v.HasMargin {
		p := &v.parts[v.told]
		v.Margin, v.Value, v.Bound, v.Unit = p.margins[i], p.values[i], p.bounds[i], p.unit
	}
}

// clamped reports what a clamping limit capped: the map's own cells.
func (c *Checker) clamped(v *Verdict, lo *lowered, cr eval.ClampResult) {
	m := lo.l.Clamped
	nc := len(m.Base.Cols)
	v.State, v.Bad, v.Unit, v.HasMargin = Clamped, cr.Cells, m.Unit, true
	v.At = []float64{m.Base.Cols[cr.At%nc]}
	if len(m.Axes) == 2 {
		v.At = []float64{m.Base.Rows[cr.At/nc], m.Base.Cols[cr.At%nc]}
	}
	v.Value, v.Margin, v.Bound = cr.Before, -cr.Worst, cr.Before-cr.Worst
	if lo.l.Hi == nil {
		v.Bound = cr.Before + cr.Worst
	}
}

// Here is what a verdict says of one point.
type Here struct {
	Looks                bool // the limit looks at this point
	Holds                bool
	HasMargin            bool
	Value, Bound, Margin float64
	Unit                 unit.Unit
}

// AtCell gives what a verdict says of one point: values for the axes named.
func (v *Verdict) AtCell(axes []int, at []float64) Here {
	i := v.cell(axes, at)
	if i < 0 || !v.mask[i] {
		return Here{}
	}
	return v.here(i, int(v.part[i]))
}

// Near is what a verdict says nearest to a point: of the cells that the limit looks
// at and that stand nearest along the axes named, the one with the least room. An
// axis that isn't named is looked at along its whole length. The place is by the
// limit's axes.
func (v *Verdict) Near(axes []int, at []float64) (Here, []float64) {
	if v.bad == nil {
		return Here{}, nil
	}
	near := func(points []float64, axis int) (list []int) {
		k := slices.Index(axes, axis)
		best := math.Inf(1)
		for i, x := range points {
			switch d := math.Abs(x - at[max(k, 0)]); {
			case k < 0 || d == best:
				list = append(list, i)
			case d < best:
				list, best = []int{i}, d
			}
		}
		return list
	}
	rows := []int{0}
	if v.cells.RowAxis >= 0 {
		rows = near(v.cells.Rows, v.cells.RowAxis)
	}
	worst := -1
	for _, r := range rows {
		for _, c := range near(v.cells.Cols, v.cells.ColAxis) {
			i := r*len(v.cells.Cols) + c
			if v.mask[i] && (worst < 0 || v.bad[i] && !v.bad[worst] || v.bad[i] == v.bad[worst] && v.room[i] < v.room[worst]) {
				worst = i
			}
		}
	}
	if worst < 0 {
		return Here{}, nil
	}
	return v.here(worst, int(v.part[worst])), place(v.cells, worst)
}

// here is what one comparison says of a cell.
func (v *Verdict) here(i, part int) Here {
	h := Here{Looks: true, Holds: !v.bad[i]}
	if h.HasMargin = part >= 0; h.HasMargin {
		p := &v.parts[part]
		h.Value, h.Bound, h.Margin, h.Unit = p.values[i], p.bounds[i], p.margins[i], p.unit
	}
	return h
}

// cell finds the cell at a point, or -1.
func (v *Verdict) cell(axes []int, at []float64) int {
	if v.bad == nil {
		return -1
	}
	find := func(points []float64, axis int) int {
		if i := slices.Index(axes, axis); i >= 0 {
			return slices.Index(points, at[i])
		}
		return -1
	}
	c, r := find(v.cells.Cols, v.cells.ColAxis), 0
	if v.cells.RowAxis >= 0 {
		r = find(v.cells.Rows, v.cells.RowAxis)
	}
	if c < 0 || r < 0 {
		return -1
	}
	return r*len(v.cells.Cols) + c
}

// AtNoCell says that the limit's `when` holds and its `where` in no cell.
func (v *Verdict) AtNoCell() bool { return v.bad != nil && v.Cells == 0 }
