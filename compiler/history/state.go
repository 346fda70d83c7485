package history

import (
	"strings"

	"fettle/compiler/check"
	"fettle/compiler/grid"
	"fettle/lang/diag"
	"fettle/lang/unit"
)

// cell is a place on a map.
type cell struct {
	mapName string
	axes    []axisAt // in the map's order
}

type axisAt struct {
	name string
	unit unit.Unit
	at   float64
}

// What there is of a cell at a commit.
type kindOfState int

const (
	there   kindOfState = iota
	missing             // the workspace, the tune or the map isn't there
	broken              // the source doesn't compile, or the tune can't be computed
)

// state is a cell at a commit.
type state struct {
	kind   kindOfState
	exact  float64
	res    grid.Res
	unit   unit.Unit
	at     []float64 // the place, in the units of the axes there
	why    string    // of one missing or broken
	place  string    // of a fault
	errors int

	otherAxes bool // it is missing because the map is over other ones
}

// look finds a cell in a source, of the tune of that name.
func (c *cell) look(src *compiled, tune string) *state {
	switch {
	case src.faults != nil:
		return faulty(src.faults)
	case src.w == nil:
		return &state{kind: missing, why: "the workspace isn't there"}
	case src.w.Plan.Find(tune) == nil:
		if out, ok := src.w.Plan.Out(tune); ok {
			return &state{kind: missing, why: "left out by `except " + out.Clause.Text + "`", place: out.Clause.Span.String()}
		}
		return &state{kind: missing, why: "no tune " + tune}
	}
	p := src.w.Program
	m := mapOf(p, c.mapName)
	if m == nil {
		return &state{kind: missing, why: "no map " + c.mapName}
	}
	s := &state{kind: there, res: m.Res, unit: m.Unit, at: make([]float64, len(m.Axes))}
	if !c.onAxes(p, m, s.at) {
		return &state{kind: missing, why: "map " + m.Name + " is over " + axesText(p, m), otherAxes: true}
	}
	t := src.tune(tune)
	if t.side == nil {
		return &state{kind: broken, why: "map " + t.fault.Map.Name + ": " + t.fault.Reason, place: t.fault.Span.String()}
	}
	table := t.side.Result.Maps[m.Index]
	s.exact = table.LookupKnots(knots(m, s.at))
	return s
}

func knots(m *check.Map, at []float64) (row, col grid.Knot) {
	if len(at) == 2 {
		row = grid.Find(m.Base.Rows, at[0])
	}
	return row, grid.Find(m.Base.Cols, at[len(at)-1])
}

// onAxes gives the place in a map's units of axes.
func (c *cell) onAxes(p *check.Program, m *check.Map, at []float64) bool {
	if len(m.Axes) != len(c.axes) {
		return false
	}
	for i, k := range m.Axes {
		a, x := p.Axes[k], c.axes[i]
		if a.Name != x.name {
			return false
		}
		conv, err := unit.NewConv(x.unit, a.Unit)
		if err != nil {
			return false
		}
		at[i] = conv.Apply(x.at)
	}
	return true
}

// axesText names a map's axes with their units.
func axesText(p *check.Program, m *check.Map) string {
	var out []string
	for _, k := range m.Axes {
		out = append(out, unit.With(p.Axes[k].Name, "["+p.Axes[k].Unit.Text+"]"))
	}
	return strings.Join(out, ` \ `)
}

// faulty tells of a source that doesn't compile by its first error.
func faulty(l *diag.List) *state {
	s := &state{kind: broken, errors: l.Count(diag.Error)}
	for _, d := range l.Sorted() {
		if d.Severity == diag.Error {
			s.why, s.place = d.Message, d.Span.String()
			break
		}
	}
	return s
}

// printed is the value as it is written.
func (s *state) printed() float64 { return s.res.Round(s.exact) }

// same says whether two commits have the same cell, as printed.
func same(a, b *state) bool {
	switch {
	case a.kind != b.kind:
		return false
	case a.kind != there:
		return true
	case a.unit.Text == b.unit.Text:
		return a.printed() == b.printed()
	}
	conv, err := unit.NewConv(b.unit, a.unit)
	return err == nil && a.printed() == a.res.Round(conv.Apply(b.exact))
}

// value is a state for the Log.
func (s *state) value(tune string) *Value {
	if s.kind != there {
		return nil
	}
	return &Value{Value: s.exact, Printed: s.res.Format(s.exact), Unit: s.unit.Text, Tune: tune}
}
