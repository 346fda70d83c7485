package page

import (
	"encoding/binary"
	"math"
	"runtime"
	"slices"

	"fettle/compiler/check"
	"fettle/compiler/diff"
	"fettle/compiler/eval"
	"fettle/compiler/explain"
	"fettle/compiler/plan"
	"fettle/compiler/review"
	"fettle/lang/formula"
	"fettle/lang/source"
)

// A chain of a map in one tune is its base and its steps, each with the amount
// and the weight of every cell. Values after each step aren't kept: the script
// computes them in the same way as the evaluator, from the same numbers.

// chain is a map's, on one side of a tune.
type chain struct {
	Base  int      `json:"b"`           // place in bases
	From  int      `json:"v"`           // values of the base, in reals; -1: what is written
	Rows  int      `json:"r"`           // its breakpoints, in axes; -1 for one axis
	Cols  int      `json:"c"`           //
	Facts int      `json:"f,omitempty"` // what its formula reads of the conditions, in texts
	Reads [][3]int `json:"m,omitempty"` // the maps that its formula reads here: name and unit in texts, column
	Steps []link   `json:"s"`
}

// link is one step of a chain.
type link struct {
	Step   int   `json:"i"`           // place in steps
	Not    int   `json:"n,omitempty"` // why it doesn't apply in this tune, in texts
	Amount any   `json:"a,omitempty"` // a number, or the place of a column of them in reals
	Weight any   `json:"w,omitempty"` // the same; left out for 1
	Facts  int   `json:"f,omitempty"`
	Capped []any `json:"c,omitempty"` // of a clamp: cells, each with what it was set to
}

// step is what a step is in its source.
type step struct {
	Kind  string `json:"k"`
	Name  string `json:"n"`
	Text  string `json:"t"`
	Place string `json:"p"`
	Op    string `json:"o"`
	Unit  string `json:"u,omitempty"`
	Share bool   `json:"s,omitempty"`
	Outs  string `json:"x,omitempty"` // why it does nothing where its weight is 0
}

// base is where the cells of a map begin.
type base struct {
	Formula string        `json:"f,omitempty"`
	Place   int           `json:"p,omitempty"` // of the formula, in texts
	Places  []int         `json:"q,omitempty"` // of each cell, in texts
	Filled  map[int][]int `json:"l,omitempty"` // what each filled cell leaned on
}

// traced evaluates one side of a pair with the chains of the maps that differ.
func traced(s *diff.Side, maps []*diff.MapDiff) *eval.Result {
	if s.Program == nil || s.Tune == nil {
		return nil
	}
	p := s.Program.Check
	want := make([]bool, len(p.Maps))
	for _, d := range maps {
		for i, m := range p.Maps {
			want[i] = want[i] || m.Name == d.Map && d.Differs()
		}
	}
	res := s.Program.Tune(eval.Pure(p, s.Tune), eval.Options{Trace: func(m *check.Map) bool { return want[m.Index] }, Need: p.Needed(want)})
	if res.Fault != nil {
		return nil
	}
	return res
}

// ahead is how many entries' chains are computed before they are asked for.
const ahead = 8

// allTraced evaluates both sides of entries on all processors, somewhat ahead of
// who asks for them in order.
func allTraced(entries []*review.Entry) func(i int) [2]*eval.Result {
	done := make([]chan [2]*eval.Result, len(entries))
	for i := range done {
		done[i] = make(chan [2]*eval.Result, 1)
	}
	room := make(chan struct{}, ahead)
	next := make(chan int)
	go func() {
		for i := range entries {
			room <- struct{}{}
			next <- i
		}
		close(next)
	}()
	for range runtime.GOMAXPROCS(0) {
		go func() {
			for i := range next {
				p := entries[i].Pair
				done[i] <- [2]*eval.Result{traced(p.Old, p.Maps), traced(p.New, p.Maps)}
			}
		}()
	}
	return func(i int) [2]*eval.Result {
		r := <-done[i]
		<-room
		return r
	}
}

// chain keeps the chain of a map and gives its place; -1 where there is none.
func (d *data) chain(s *diff.Side, res *eval.Result, name string) int {
	if res == nil {
		return -1
	}
	p := s.Program.Check
	i := slices.IndexFunc(p.Maps, func(m *check.Map) bool { return m.Name == name })
	if i < 0 {
		return -1
	}
	m := p.Maps[i]
	t := res.Traces[m]
	if t == nil {
		return -1
	}
	in := explain.Input{Program: p, Tune: s.Tune, Result: res}
	env := s.Tune.Conditions(p)
	c := chain{Base: d.base(p, m), From: -1, Rows: -1, Cols: d.axisOf(p, m, len(m.Axes)-1), Steps: []link{}}
	if len(m.Axes) == 2 {
		c.Rows = d.axisOf(p, m, 0)
	}
	acts := false
	for k := range t.Steps {
		l, acted := d.link(in, env, &t.Steps[k])
		c.Steps = append(c.Steps, l)
		acts = acts || acted
	}
	if m.Formula != nil {
		c.Facts = d.factsOf(p, env, m.Formula)
		c.Reads = d.reads(s, m)
	}
	if m.Formula == nil || acts {
		c.From = d.realColumn(t.Base)
	}
	return d.chains.add(c)
}

// link makes one step of a chain; acted says whether it does anything in a cell.
func (d *data) link(in explain.Input, env *plan.Conditions, t *eval.StepTrace) (l link, acted bool) {
	if t.Clamp != nil {
		l.Step = d.clamp(t.Clamp)
		if !t.Applied {
			l.Not = d.text(explain.WhenReason(in, t.Clamp.When))
		}
		for i, w := range t.Weights() {
			if w != 0 {
				l.Capped = append(l.Capped, i, t.After[i])
			}
		}
		return l, len(l.Capped) > 0
	}
	l.Step = d.step(t.Step)
	if !t.Applied {
		l.Not = d.text(explain.WhenReason(in, t.Step.Rule.When))
		return l, false
	}
	amounts, weights := t.Amounts(), t.Weights()
	for i, w := range weights {
		if w == 0 {
			amounts[i] = math.NaN() // nothing asks for it
		}
		acted = acted || w != 0
	}
	if !acted {
		l.Weight = 0
		return l, false
	}
	l.Amount = d.numbers(amounts)
	if w := d.numbers(weights); w != any(1.0) {
		l.Weight = w
	}
	l.Facts = d.factsOf(in.Program, env, t.Step.Amount)
	return l, true
}

// factsKey is an expression with the values of what it reads of the conditions.
type factsKey struct {
	node   *formula.Node
	values string
}

// factsOf is what an expression reads of a tune's conditions, in texts.
func (d *data) factsOf(p *check.Program, env *plan.Conditions, n *formula.Node) int {
	var values []byte
	for i, x := range env.Values {
		if n.Givens.Has(i) {
			values = binary.LittleEndian.AppendUint64(values, math.Float64bits(x))
		}
	}
	key := factsKey{n, string(values)}
	at, ok := d.facts[key]
	if !ok {
		at = d.text(explain.Facts(p, env, n))
		d.facts[key] = at
	}
	return at
}

// numbers is a number where all of a column are the same, else the place of the
// column, in brackets. NaN stands for any number.
func (d *data) numbers(list []float64) any {
	first, same := math.NaN(), true
	for _, x := range list {
		switch {
		case math.IsNaN(x):
		case math.IsNaN(first):
			first = x
		case x != first:
			same = false
		}
	}
	if same {
		return first
	}
	out := slices.Clone(list)
	for i, x := range out {
		if math.IsNaN(x) {
			out[i] = 0
		}
	}
	return []int{d.realColumn(out)}
}

func (d *data) step(s *check.Step) int {
	return d.once(s, func() int {
		out := step{Kind: "trim", Name: "trim", Text: clean(source.OneLine(s.Span.Text())), Place: clean(s.Span.String()), Op: s.Op, Unit: s.Unit.Text, Share: s.Relative}
		if s.Rule != nil {
			out.Kind, out.Name = "rule", s.Rule.Name
		}
		switch {
		case len(s.Over) > 0 && s.Where != nil:
			out.Outs = "outside its `over` and `where`"
		case s.Where != nil:
			out.Outs = "its `where` is no here"
		default:
			out.Outs = "outside its `over`"
		}
		return d.steps.add(out)
	})
}

func (d *data) clamp(l *check.Limit) int {
	return d.once(l, func() int {
		return d.steps.add(step{Kind: "clamp", Name: l.Name, Text: clean(l.Text), Place: clean(l.Span.String()), Op: "clamp", Unit: l.Clamped.Unit.Text, Outs: "the cell is inside the bound"})
	})
}

func (d *data) base(p *check.Program, m *check.Map) int {
	return d.once(m, func() int {
		var b base
		if m.Formula != nil {
			b.Formula, b.Place = clean(source.OneLine(m.FormulaSpan().Text())), d.text(m.Formula.Span.String())
			return d.bases.add(b)
		}
		for i, s := range m.Places {
			b.Places = append(b.Places, d.text(s.String()))
			if !m.Given[i] {
				if b.Filled == nil {
					b.Filled = map[int][]int{}
				}
				b.Filled[i] = m.From[i]
			}
		}
		return d.bases.add(b)
	})
}

func (d *data) axisOf(p *check.Program, m *check.Map, k int) int {
	a := p.Axes[m.Axes[k]]
	points := m.Base.Cols
	if k == 0 && len(m.Axes) == 2 {
		points = m.Base.Rows
	}
	return d.axis(axis{a.Name, a.Unit.Text, points})
}

// printed is the column of a table's printed values, which several formulas of a
// tune read.
func (d *data) printed(m *check.Map, t *diff.Table) int {
	if at, ok := d.tables[t]; ok {
		return at
	}
	at := d.column(m.Name, decimalsIn(m.Res), t.Printed())
	d.tables[t] = at
	return at
}

// reads lists the maps over the same breakpoints that a map's formula reads, with
// their values as printed.
func (d *data) reads(s *diff.Side, m *check.Map) [][3]int {
	p := s.Program.Check
	list, ok := d.read[m]
	if !ok {
		list = readHere(p, m)
		d.read[m] = list
	}
	var out [][3]int
	for _, i := range list {
		o := p.Maps[i]
		out = append(out, [3]int{d.text(o.Name), d.text(o.Unit.Text), d.printed(o, s.Tables[i])})
	}
	return out
}

// readHere lists the maps over the same breakpoints that a map's formula reads.
func readHere(p *check.Program, m *check.Map) []int {
	var out []int
	m.Formula.Walk(func(n *formula.Node) {
		if n.Op != formula.MapHere || slices.Contains(out, n.A) || n.A == m.Index {
			return
		}
		o := p.Maps[n.A]
		if slices.Equal(o.Axes, m.Axes) && slices.Equal(o.Base.Rows, m.Base.Rows) && slices.Equal(o.Base.Cols, m.Base.Cols) {
			out = append(out, n.A)
		}
	})
	return out
}
