package hybrid

import (
	"fmt"
	"slices"

	"fettle/compiler/check"
	"fettle/compiler/grid"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// maps finds the maps whose base differs: a grid by its breakpoints and cells,
// wherever they are written; a formula by its text.
func (d *differ) maps() {
	for _, name := range d.both(func(x syntax.Decl) bool { _, ok := x.(*syntax.Map); return ok }) {
		a, b := mapOf(d.old.p, name), mapOf(d.new.p, name)
		kind := Base
		if b != nil && b.Formula != nil {
			kind = Formula
		}
		if a == nil || b == nil || a.Unit.Text != b.Unit.Text || a.Res != b.Res || (a.Formula == nil) != (b.Formula == nil) {
			d.add(d.slot(kind, name))
			continue
		}
		if a.Formula != nil {
			if normal(d.old.byName[name]) != normal(d.new.byName[name]) {
				d.add(d.slot(kind, name))
			}
			continue
		}
		why, at := d.gridChange(a, b)
		if why == "" {
			d.steps.start.put(name, d.new.byName[name])
			continue
		}
		e := d.slot(kind, name)
		e.Why = why
		if !at[1].IsZero() {
			e.Places = at
		}
		d.add(e)
	}
}

func mapOf(p *check.Program, name string) *check.Map {
	for _, m := range p.Maps {
		if m.Name == name {
			return m
		}
	}
	return nil
}

// gridChange says how two grids differ; "" where they don't. Where cells do, the
// places are those of the one that changed most.
func (d *differ) gridChange(a, b *check.Map) (why string, at [2]source.Span) {
	names := func(p *check.Program, m *check.Map) (out []string) {
		for _, i := range m.Axes {
			out = append(out, p.Axes[i].Name)
		}
		return out
	}
	if x, y := names(d.old.p, a), names(d.new.p, b); !equal(x, y) {
		return "over other axes", at
	}
	if !slices.Equal(a.Base.Rows, b.Base.Rows) || !slices.Equal(a.Base.Cols, b.Base.Cols) {
		return "other breakpoints: " + counts(b) + " (were " + counts(a) + ")", at
	}
	n, worst, filled := 0, -1, 0
	for i, x := range a.Base.Cells {
		y := b.Base.Cells[i]
		if x == y {
			continue
		}
		if !b.Given[i] && !a.Given[i] {
			filled++ // it follows from its neighbours
			continue
		}
		n++
		if worst < 0 || abs(y-x) > abs(b.Base.Cells[worst]-a.Base.Cells[worst]) {
			worst = i
		}
	}
	if n == 0 {
		return "", at
	}
	cell := fmt.Sprintf("%s → %s", grid.Exact(a.Base.Cells[worst]), grid.Exact(b.Base.Cells[worst]))
	if n == 1 {
		why = "a cell: " + cell
	} else {
		why = fmt.Sprintf("%d cells, the most %s", n, cell)
	}
	if filled > 0 {
		why += ", and what is filled in from them"
	}
	return why, [2]source.Span{cellAt(a, worst), cellAt(b, worst)}
}

func abs(x float64) float64 { return max(x, -x) }

// cellAt is where a cell was written, or its map where it wasn't.
func cellAt(m *check.Map, i int) source.Span {
	if i < len(m.Places) && !m.Places[i].IsZero() {
		return m.Places[i]
	}
	return m.Span
}

func counts(m *check.Map) string {
	if len(m.Axes) == 1 {
		return fmt.Sprint(len(m.Base.Cols))
	}
	return fmt.Sprintf("%d by %d", len(m.Base.Rows), len(m.Base.Cols))
}
