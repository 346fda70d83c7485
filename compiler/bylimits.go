package compiler

import (
	"slices"

	"fettle/compiler/check"
	"fettle/compiler/diff"
	"fettle/compiler/eval"
	"fettle/compiler/grid"
	"fettle/compiler/limit"
	"fettle/compiler/plan"
	"fettle/lang/unit"
)

// byLimits judges the tables of a tune of another program by this one's limits,
// at that tune's conditions. What a limit asks is worked out here; only what it
// looks at is the other's. A limit that reads a map which the other side doesn't
// have, or has over other axes, is left out. Nil where this program has no such
// conditions.
func (w *Workspace) byLimits(of *diff.Side) []*limit.Verdict {
	if of.Program == nil || of.Tune == nil {
		return nil
	}
	values, ok := valuesOf(w.Program, of.Program.Check, of.Tune.Values)
	if !ok {
		return nil
	}
	t := &plan.Tune{Name: of.Tune.Name, Values: values}
	res := &eval.Result{Maps: make([]grid.Table, len(w.Program.Maps))}
	there := make([]bool, len(res.Maps))
	for i, m := range w.Program.Maps {
		res.Maps[i], there[i] = tableFor(w.Program, m, of.Tables)
	}
	var out []*limit.Verdict
	for _, v := range w.limits.Tune(t, res, false) {
		reads := append(v.Limit.Cond.MapsUsed(), v.Limit.Maps...)
		if v.Limit.Where != nil {
			reads = append(reads, v.Limit.Where.MapsUsed()...)
		}
		if slices.ContainsFunc(reads, func(i int) bool { return !there[i] }) {
			continue
		}
		if v.State == limit.Fails && v.Limit.Mode == check.Clamp {
			v.State = limit.Clamped
		}
		out = append(out, v)
	}
	return out
}

// valuesOf brings values of the givens of one program to those of another, each
// by its name. What it doesn't have keeps its default; a row that a catalogue of
// it doesn't have is no value at all.
func valuesOf(p, of *check.Program, values []float64) ([]float64, bool) {
	out := make([]float64, len(p.Givens))
	for i, g := range p.Givens {
		out[i] = g.Default
		for k, other := range of.Givens {
			if other.Name != g.Name || other.Kind != g.Kind {
				continue
			}
			switch g.Kind {
			case check.Choice:
				row := slices.Index(g.Catalog.Rows, other.Catalog.Rows[int(values[k])])
				if row < 0 {
					return nil, false
				}
				out[i] = float64(row)
			case check.Switch:
				out[i] = values[k]
			default:
				c, err := unit.NewConv(other.Unit, g.Unit)
				if err != nil {
					return nil, false
				}
				out[i] = c.Apply(values[k])
			}
		}
	}
	return out, true
}

// tableFor looks a map of another side up at the breakpoints of this program's
// one; the second result says whether it could be. Without it the table is zero.
func tableFor(p *check.Program, m *check.Map, list []*diff.Table) (grid.Table, bool) {
	rows, cols := m.Base.Rows, m.Base.Cols
	out := grid.Table{Rows: rows, Cols: cols, Cells: make([]float64, max(1, len(rows))*len(cols))}
	i := slices.IndexFunc(list, func(t *diff.Table) bool { return t.Map == m.Name })
	if i < 0 {
		return out, false
	}
	t := list[i]
	axes := []diff.Axis{t.Cols}
	if t.Rows.Points != nil {
		axes = []diff.Axis{t.Rows, t.Cols}
	}
	if len(axes) != len(m.Axes) {
		return out, false
	}
	for k, a := range axes {
		if x := p.Axes[m.Axes[k]]; x.Name != a.Name || x.Unit.Text != a.Unit {
			return out, false
		}
	}
	from, err := unit.Parse(t.Unit)
	if err != nil {
		return out, false
	}
	c, err := unit.NewConv(from, m.Unit)
	if err != nil {
		return out, false
	}
	cells := t.Cells
	if t.Exact != nil {
		cells = t.Exact
	}
	src := grid.Table{Rows: t.Rows.Points, Cols: t.Cols.Points, Cells: cells}
	knots := []grid.Knot{{}}
	if rows != nil {
		knots = grid.KnotsOf(src.Rows, rows)
	}
	out.Cells = src.Gather(nil, knots, grid.KnotsOf(src.Cols, cols))
	for i, x := range out.Cells {
		out.Cells[i] = c.Apply(x)
	}
	return out, true
}
