// Package explain answers why a cell is what it is: its base, each adjustment in
// order with its amount and its weight here, the rules that didn't apply and the
// reason, and the limits that see the cell.
//
// How it goes. The evaluator's trace of a map holds, for every step, columns of
// amounts, weights and values after; a chain is one cell of each, with words.
//
// In: a judged tune whose map was traced. Out: a Chain, as text or JSON.
// Imported by cmd; imports the stages up to limit.
package explain

import (
	"math"
	"slices"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/grid"
	"fettle/compiler/limit"
	"fettle/compiler/plan"
	"fettle/compiler/target"
)

// Chain is the answer for one cell.
type Chain struct {
	Schema   string      `json:"schema"`
	Tune     string      `json:"tune"`
	Of       string      `json:"-"`                  // the revision for people; "" for the work tree
	Revision string      `json:"revision,omitempty"` // its commit
	Target   string      `json:"target,omitempty"`   // the controller that it is computed for
	Map      string      `json:"map"`
	Unit     string      `json:"unit"`
	At       []Coord     `json:"at"`
	Value    float64     `json:"value"`
	Printed  string      `json:"printed"` // as build writes it
	Between  []Corner    `json:"between,omitempty"`
	Cell     []Coord     `json:"cell"` // the cell that the links are of
	Base     Base        `json:"base"`
	Links    []Link      `json:"links"`
	Limits   []LimitHere `json:"limits"`
	Table    *Stored     `json:"table,omitempty"`
	Said     []string    `json:"cautions"`
	Doc      string      `json:"doc,omitempty"`
}

// Coord is a place on one axis.
type Coord struct {
	Axis  string  `json:"axis"`
	Value float64 `json:"value"`
	Unit  string  `json:"unit"`
	Held  bool    `json:"held,omitempty"` // the question lay beyond the edge
}

// Corner is a cell that a place between breakpoints is interpolated from.
type Corner struct {
	At     []Coord `json:"at"`
	Weight float64 `json:"weight"`
	Value  float64 `json:"value"`
}

// Base is where a cell begins.
type Base struct {
	Kind    string    `json:"kind"` // given, filled, formula
	Value   float64   `json:"value"`
	From    []Corner  `json:"from,omitempty"` // what a filled cell leaned on
	Formula string    `json:"formula,omitempty"`
	Reads   []Operand `json:"reads,omitempty"`
	Place   string    `json:"place"`
}

// Operand is a named value that a formula reads at the cell.
type Operand struct {
	Name  string  `json:"name"`
	Value float64 `json:"value"`
	Unit  string  `json:"unit"`
	// Before: the map reads itself as it was before the step.
	Before bool `json:"before,omitempty"`
}

// Link is one step of the chain.
type Link struct {
	Kind    string    `json:"kind"` // rule, trim, clamp
	Name    string    `json:"name"`
	Text    string    `json:"text"` // the adjustment as written
	Applied bool      `json:"applied"`
	Reason  string    `json:"reason,omitempty"` // why it did nothing here
	Op      string    `json:"op,omitempty"`
	Amount  *float64  `json:"amount,omitempty"`
	Unit    string    `json:"unit,omitempty"` // of the amount
	Share   bool      `json:"share,omitempty"`
	Weight  *float64  `json:"weight,omitempty"`
	Before  float64   `json:"before"`
	After   float64   `json:"after"`
	Place   string    `json:"place"`
	Doc     string    `json:"doc,omitempty"`
	Reads   []Operand `json:"reads,omitempty"` // what the amount reads here
}

// LimitHere is a limit that sees the cell.
type LimitHere struct {
	Name   string   `json:"name"`
	Text   string   `json:"text"`
	Mode   string   `json:"mode"`
	Reason string   `json:"reason,omitempty"` // why it says nothing here
	Value  *float64 `json:"value,omitempty"`
	Bound  *float64 `json:"bound,omitempty"`
	Margin *float64 `json:"margin,omitempty"`
	Unit   string   `json:"unit,omitempty"`
	Place  string   `json:"place"`
	// Of a controller's table: the maps made of it that the limit is about, and where
	// it looks nearest to the cell.
	Through []string `json:"through,omitempty"`
	At      []Coord  `json:"at,omitempty"`
}

// Input is what a chain is made from.
type Input struct {
	Program *check.Program
	Tune    *plan.Tune
	Result  *eval.Result // with the map traced
	Limits  []*limit.Verdict
	Target  *check.Target // the controller that the result is for; nil for none
	Table   *target.Table // a table of it that shows the map; nil for none
}

// Step is the numbers of one link: what a trace says of one cell.
type Step struct {
	Trace          *eval.StepTrace
	Acted          bool
	Amount, Weight float64
	Before, After  float64
}

// Walk gives the numbers of a cell's chain, base first; the last After is the
// cell's final value.
func Walk(t *eval.Trace, cell int) (base float64, steps []Step) {
	base = t.Base[cell]
	at := base
	for i := range t.Steps {
		st := &t.Steps[i]
		s := Step{Trace: st, Before: at, After: at}
		if st.Applied {
			s.Amount, s.Weight, s.After = st.Amount(cell), st.Weight(cell), st.After[cell]
			s.Acted = s.Weight != 0
		}
		at = s.After
		steps = append(steps, s)
	}
	return base, steps
}

// At explains a place of a map: coordinates in the axes' units, in the map's
// order of axes.
func At(in Input, m *check.Map, at []float64) *Chain {
	t := in.Result.Traces[m]
	table := in.Result.Maps[m.Index]
	c := &Chain{Schema: "fettle/why/1", Tune: in.Tune.Name, Map: m.Name, Unit: m.Unit.Text, Doc: m.Doc, Links: []Link{}, Limits: []LimitHere{}, Said: append([]string{}, in.Program.Cautions...)}
	points := pointsOf(m)
	knots := make([]grid.Knot, len(points))
	for i, p := range points {
		ax := in.Program.Axes[m.Axes[i]]
		knots[i] = grid.Find(p, at[i])
		c.At = append(c.At, Coord{ax.Name, at[i], ax.Unit.Text, at[i] < p[0] || at[i] > p[len(p)-1]})
	}
	row, col := grid.Knot{}, knots[len(knots)-1]
	if len(knots) == 2 {
		row = knots[0]
	}
	c.Value = table.LookupKnots(row, col)
	c.Printed = m.Res.Format(c.Value)
	if in.Target != nil {
		c.Target = in.Target.Name
	}
	cell := c.corners(in, m, &table, row, col)
	c.Cell = coords(in.Program, m, cell)
	c.base(in, m, t, cell)
	_, steps := Walk(t, cell)
	before := t.Base
	for i := range steps {
		c.Links = append(c.Links, linkOf(in, m, &steps[i], cell, before))
		if after := steps[i].Trace.After; after != nil {
			before = after
		}
	}
	if c.stored(in, m, at); c.Table != nil {
		c.limitsOfTable(in, m)
	} else {
		c.limits(in, m, coords(in.Program, m, cell))
	}
	return c
}

// corners lists the cells around a place between breakpoints and gives the one
// that weighs most.
func (c *Chain) corners(in Input, m *check.Map, t *grid.Table, row, col grid.Knot) int {
	nc := len(t.Cols)
	best, bestW := row.I*nc+col.I, -1.0
	for _, r := range []struct {
		i int
		w float64
	}{{row.I, 1 - row.F}, {row.I + 1, row.F}} {
		for _, k := range []struct {
			i int
			w float64
		}{{col.I, 1 - col.F}, {col.I + 1, col.F}} {
			w := r.w * k.w
			if w == 0 {
				continue
			}
			i := r.i*nc + k.i
			if w > bestW {
				best, bestW = i, w
			}
			c.Between = append(c.Between, Corner{coords(in.Program, m, i), w, t.Cells[i]})
		}
	}
	if len(c.Between) == 1 {
		c.Between = nil
	}
	return best
}

func pointsOf(m *check.Map) [][]float64 {
	if len(m.Axes) == 1 {
		return [][]float64{m.Base.Cols}
	}
	return [][]float64{m.Base.Rows, m.Base.Cols}
}

// coords gives a cell's place in the order of the map's axes.
func coords(p *check.Program, m *check.Map, cell int) []Coord {
	nc := len(m.Base.Cols)
	var out []Coord
	if len(m.Axes) == 2 {
		a := p.Axes[m.Axes[0]]
		out = append(out, Coord{Axis: a.Name, Value: m.Base.Rows[cell/nc], Unit: a.Unit.Text})
	}
	a := p.Axes[m.Axes[len(m.Axes)-1]]
	return append(out, Coord{Axis: a.Name, Value: m.Base.Cols[cell%nc], Unit: a.Unit.Text})
}

func (c *Chain) base(in Input, m *check.Map, t *eval.Trace, cell int) {
	c.Base = Base{Value: t.Base[cell]}
	switch {
	case m.Formula != nil:
		c.Base.Kind, c.Base.Formula = "formula", formulaText(m)
		c.Base.Place = m.Formula.Span.String()
		c.Base.Reads = reads(in, m, cell, m.Formula, nil)
	case m.Given[cell]:
		c.Base.Kind, c.Base.Place = "given", m.Places[cell].String()
	default:
		c.Base.Kind, c.Base.Place = "filled", m.Places[cell].String()
		for _, i := range m.From[cell] {
			c.Base.From = append(c.Base.From, Corner{At: coords(in.Program, m, i), Weight: 0, Value: m.Base.Cells[i]})
		}
	}
}

// limits lists the limits that name the map, with what they say of the cell.
func (c *Chain) limits(in Input, m *check.Map, at []Coord) {
	for _, v := range in.Limits {
		if slices.Contains(v.Limit.Maps, m.Index) {
			h := limitHere(in, v, v.AtCell(m.Axes, values(at)))
			c.Limits = append(c.Limits, h)
		}
	}
}

// limitsOfTable lists the limits that name the map of a table or one that is made
// of it, with what they say of the table's cell that weighs most.
func (c *Chain) limitsOfTable(in Input, m *check.Map) {
	marked := make([]bool, len(in.Program.Maps))
	marked[m.Index] = true
	made := in.Program.Dependents(marked)
	for _, v := range in.Limits {
		named := slices.Contains(v.Limit.Maps, m.Index)
		var through []string
		for _, i := range v.Limit.Maps {
			if made[i] {
				through = append(through, in.Program.Maps[i].Name)
			}
		}
		if !named && through == nil {
			continue
		}
		here, at := v.AtCell(m.Axes, values(c.Table.Cell)), []float64(nil)
		if !named {
			here, at = v.Near(m.Axes, values(c.Table.Cell))
		}
		h := limitHere(in, v, here)
		h.Through = through
		for i, x := range at {
			a := in.Program.Axes[v.Limit.Axes[i]]
			h.At = append(h.At, Coord{Axis: a.Name, Value: x, Unit: a.Unit.Text})
		}
		c.Limits = append(c.Limits, h)
	}
}

func values(at []Coord) []float64 {
	out := make([]float64, len(at))
	for i := range at {
		out[i] = at[i].Value
	}
	return out
}

// limitHere puts in words what a limit says of a cell.
func limitHere(in Input, v *limit.Verdict, here limit.Here) LimitHere {
	h := LimitHere{Name: v.Limit.Name, Text: v.Limit.Text, Mode: v.Limit.Mode.String(), Unit: v.Unit.Text, Place: v.Limit.Span.String()}
	switch {
	case v.State == limit.NotHere:
		h.Reason = "its `where` holds in no cell"
		if v.Cells > 0 || v.Limit.Where == nil {
			h.Reason = "not in this tune: " + WhenReason(in, v.Limit.When)
		}
	case v.Problem != "":
		h.Reason = v.Problem
	case !here.Looks:
		h.Reason = "it doesn't look at this cell"
	case here.HasMargin:
		h.Value, h.Bound, h.Margin, h.Unit = num(here.Value), num(here.Bound), num(here.Margin), here.Unit.Text
	case here.Holds:
		h.Reason = "holds here"
	default:
		h.Reason = "doesn't hold here"
	}
	return h
}

func num(x float64) *float64 {
	if math.IsInf(x, 0) || math.IsNaN(x) {
		return nil
	}
	return &x
}
