// Package prove proves limits over ranges of conditions: that a limit holds
// everywhere in a box of conditions, in every cell of its maps and at every point
// between them, where the maps are read as a controller reads them.
//
// How it goes. A tune is computed over a whole box of conditions at once. Each
// value is a form (form.go, curved.go): an interval that holds what the evaluator
// computes anywhere in the box, rounding and all, and a linear part in the
// conditions with an error, which keeps values together that come from the same
// conditions. Expressions are lists of operations on forms (code.go, lookup.go);
// the maps follow from them as in the evaluator, base, steps, trims, clamps
// (box.go, weight.go). What isn't decided in a box, a `when` or the branch of an
// `if`, gives a form that holds both outcomes.
//
// Then the limit is looked at in each patch between neighbouring breakpoints
// (judge.go). Where its room bends upwards nowhere, as it does if both sides are
// sums of maps, the least of it is at the corners (corners.go); else the patch is
// computed as a rectangle, and cut while that helps. Where some patch isn't certain,
// the box is cut in two, the worst box first, until all hold or the budget is spent
// (search.go). In between, the tune is computed by the evaluator at the middles of
// boxes. If the limit breaks there, it is driven to the worst point near by, and
// the plain evaluator has the last word on that point (witness.go). So "refuted"
// never rests on intervals, and "proved" never on samples.
//
// What is proved is what the evaluator computes: a value without a range of its own
// is taken as computed, not as the exact number that it stands for. A limit that
// reads a `step` is proved in its cells, since between them there is none. A
// box in which the tune fails somewhere refutes the limit too.
//
// In: eval.Program and a tune. Out: verdicts. Imported by the compiler.
package prove

import (
	"math"
	"strconv"
	"strings"
	"sync"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/grid"
	"fettle/compiler/limit"
	"fettle/compiler/plan"
	"fettle/lang/formula"
	"fettle/lang/unit"
)

// State is what came of it.
type State uint8

// The states, best first.
const (
	Proved State = iota
	Undecided
	Refuted
)

func (s State) String() string { return [...]string{"proved", "undecided", "refuted"}[s] }

// Condition is a given with a value.
type Condition struct {
	Given int
	Value float64
}

// Verdict is what came of proving a limit. Tunes that differ in nothing that counts
// share one.
type Verdict struct {
	Limit *check.Limit
	State State
	// The room left before the bound, in Unit: the least that is certain everywhere, 0
	// where the bound is reached to within the slack of a comparison; of what is
	// refuted, the room at the witness, negative.
	Margin    float64
	HasMargin bool
	Unit      unit.Unit
	// A place: the witness; of what is proved, where the least room was found by looking;
	// of what is undecided, the middle of the box and of the rectangle that are worst,
	// and then Value and Bound are still those of the least room that was found.
	Conditions []Condition
	At         []float64 // by the limit's axes
	Value      float64   // what is bounded, at that place, and its bound
	Bound      float64
	Boxes      int    // of conditions that were looked at
	Problem    string // why the tune fails at the conditions, or what couldn't be shown
}

// DefaultBudget is how many boxes are looked at for a limit before it is given up;
// fewer of those that take much work.
const DefaultBudget = 256

// Prover proves the limits of a program that have a range. It may be used by many
// goroutines.
type Prover struct {
	p      *eval.Program
	check  *check.Program
	pool   pool
	most   int                       // operations of the longest list
	maps   []*mapCode                // those that are needed
	trims  map[*check.Step]*stepCode // of those maps
	limits []*limitCode              // with a range, in order
	mu     sync.Mutex
	known  map[string]*known
}

// known is a verdict, or one that someone is working on.
type known struct {
	once    sync.Once
	verdict *Verdict
}

// mapCode is a map prepared.
type mapCode struct {
	m      *check.Map
	cells  *eval.Cells
	base   *code
	steps  []*stepCode
	clamps []*clampCode
}

type stepCode struct {
	*check.Step
	when          int // in the pool; -1 for none
	amount, where *code
	fixed         weights // that are the same in every tune
	ends          []ends  // of weights that aren't; nil where they are
}

type clampCode struct {
	*check.Limit
	when          int
	lo, hi, where *code
}

// limitCode is a limit prepared.
type limitCode struct {
	*check.Limit
	cells  *eval.Cells
	parts  []part
	when   int
	where  *code
	clips  []clip
	steps  bool         // it reads a step, so it is looked at in its cells alone
	need   []bool       // the maps that it comes from
	givens formula.Bits // what it and those maps read
	total  int          // cells of those maps and of its own grid
	cost   int          // of a box, as a part of the budget
	looks  *looks
}

// New prepares the limits of a program that have a range.
func New(p *eval.Program) *Prover {
	x := &Prover{p: p, check: p.Check, maps: make([]*mapCode, len(p.Check.Maps)), trims: map[*check.Step]*stepCode{}, known: map[string]*known{}}
	x.pool.byNode = map[*formula.Node]int{}
	for _, l := range p.Check.Limits {
		if len(l.For) > 0 {
			x.limits = append(x.limits, x.limit(l))
		}
	}
	return x
}

// Any says whether there is anything to prove.
func (x *Prover) Any() bool { return len(x.limits) > 0 }

func (x *Prover) limit(l *check.Limit) *limitCode {
	c := &limitCode{Limit: l, cells: limit.Grid(x.check, l), when: x.condition(l.When)}
	c.where = x.compile(l.Where, c.cells)
	c.clips = x.clips(l.Where, c.cells)
	marked := make([]bool, len(x.check.Maps))
	nodes := []*formula.Node{l.Cond, l.Where, l.When}
	for _, n := range nodes {
		c.reads(n)
		for _, m := range n.MapsUsed() {
			marked[m] = true
		}
		if n != nil {
			n.Walk(func(k *formula.Node) { c.steps = c.steps || k.Op == formula.StepOf })
		}
	}
	for _, p := range limit.Split(l.Cond) {
		c.parts = append(c.parts, x.part(p, c.cells))
	}
	c.need = x.check.Needed(marked)
	for i, wanted := range c.need {
		if wanted {
			x.prepare(i)
			c.readsMap(x.maps[i])
		}
	}
	for s := range x.trims {
		if c.need[s.Map.Index] {
			c.readsStep(s)
		}
	}
	c.measure(x)
	c.looks = x.looks(c)
	return c
}

// What a proof may take: so many cells in all maps that a limit comes from, since
// each takes a hundred bytes in each box; and of a budget a box counts once, and once
// more for each so many operations.
const (
	maxCells = 1 << 20
	workload = 1 << 18
)

// measure works out what a box costs.
func (c *limitCode) measure(x *Prover) {
	ops := func(n int, list ...*code) {
		for _, k := range list {
			if k != nil {
				c.cost += n * len(k.ops)
			}
		}
	}
	for i, wanted := range c.need {
		if !wanted {
			continue
		}
		m := x.maps[i]
		n := m.cells.N()
		c.total += n
		c.cost += n * (1 + len(m.steps) + len(m.clamps))
		ops(n, m.base)
		for _, s := range m.steps {
			ops(n, s.amount, s.where)
		}
		for _, l := range m.clamps {
			ops(n, l.lo, l.hi, l.where)
		}
	}
	n := c.cells.N()
	c.total += n
	for _, p := range c.parts {
		ops(n, p.left, p.right, p.cond)
	}
	ops(n, c.where)
	c.cost = 1 + c.cost/workload
}

func (c *limitCode) reads(n *formula.Node) {
	if n != nil {
		c.givens |= n.Givens
	}
}

func (c *limitCode) readsStep(s *check.Step) {
	c.reads(s.Amount)
	c.reads(s.Where)
	if s.Rule != nil {
		c.reads(s.Rule.When)
	}
	for i := range s.Over {
		c.reads(s.Over[i].Lo)
		c.reads(s.Over[i].Hi)
		c.reads(s.Over[i].Feather)
	}
}

func (c *limitCode) readsMap(m *mapCode) {
	c.reads(m.m.Formula)
	for _, s := range m.m.Steps {
		c.readsStep(s)
	}
	for _, l := range m.m.Clamps {
		for _, n := range []*formula.Node{l.When, l.Where, l.Lo, l.Hi} {
			c.reads(n)
		}
	}
}

// prepare compiles a map.
func (x *Prover) prepare(i int) {
	if x.maps[i] != nil {
		return
	}
	m := x.check.Maps[i]
	c := &mapCode{m: m, cells: x.p.MapCells(i)}
	x.maps[i] = c
	c.base = x.compile(m.Formula, c.cells)
	for _, s := range m.Steps {
		c.steps = append(c.steps, x.stepOf(s, c.cells))
	}
	for _, l := range m.Clamps {
		c.clamps = append(c.clamps, &clampCode{l, x.condition(l.When), x.compile(l.Lo, c.cells), x.compile(l.Hi, c.cells), x.compile(l.Where, c.cells)})
	}
	for _, v := range x.check.Variants {
		for _, s := range v.Trims {
			if s.Map == m {
				x.trims[s] = x.stepOf(s, c.cells)
			}
		}
	}
}

func (x *Prover) stepOf(s *check.Step, cells *eval.Cells) *stepCode {
	c := &stepCode{Step: s, when: -1, amount: x.compile(s.Amount, cells), where: x.compile(s.Where, cells)}
	if s.Rule != nil {
		c.when = x.condition(s.Rule.When)
	}
	var same bool
	if c.fixed, same = fixedWeights(s, cells); !same {
		for i := range s.Over {
			w := &s.Over[i]
			c.ends = append(c.ends, ends{x.condition(w.Lo), x.condition(w.Hi), x.condition(w.Feather)})
		}
	}
	return c
}

// Tune proves the limits that have a range, in their order, of a tune. The budget is
// how many boxes are looked at for each; 0 is the default.
func (x *Prover) Tune(t *plan.Tune, budget int) []*Verdict {
	if budget <= 0 {
		budget = DefaultBudget
	}
	var out []*Verdict
	var sessions []*session
	for _, l := range x.limits {
		key := x.key(l, t, budget)
		x.mu.Lock()
		k := x.known[key]
		if k == nil {
			k = &known{}
			x.known[key] = k
		}
		x.mu.Unlock()
		k.once.Do(func() {
			var s *session
			s, sessions = x.session(sessions, l, t)
			k.verdict = s.prove(l, budget)
		})
		out = append(out, k.verdict)
	}
	return out
}

// key is all of a tune that counts for a limit.
func (x *Prover) key(l *limitCode, t *plan.Tune, budget int) string {
	var b strings.Builder
	word := func(v uint64) {
		b.WriteString(strconv.FormatUint(v, 36))
		b.WriteByte(',')
	}
	word(uint64(l.Index))
	word(uint64(budget))
	for g := range x.check.Givens {
		ranged := false
		for _, e := range l.For {
			ranged = ranged || e.Given == g
		}
		if !ranged && l.givens.Has(g) {
			word(math.Float64bits(t.Values[g]))
		}
	}
	for _, s := range t.Trims {
		if l.need[s.Map.Index] {
			b.WriteByte('t')
			word(uint64(s.Index))
		}
	}
	return b.String()
}

// middles are the breakpoints of an axis with the middle of each stretch.
func middles(points []float64) []float64 {
	out := append([]float64(nil), points...)
	for i := range max(len(points)-1, 0) {
		out = append(out, float64(points[i]/2)+float64(points[i+1]/2))
	}
	return grid.Union(out)
}
