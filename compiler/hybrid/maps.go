package hybrid

import (
	"fmt"
	"slices"
	"strings"

	"fettle/compiler/check"
	"fettle/compiler/grid"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// maps finds the maps whose base differs: a grid by its breakpoints and cells,
// wherever they are written; a formula by its text.
func (d *differ) maps() {
	for _, name := range d.both(isMap) {
		a, b := mapOf(d.old.p, name), mapOf(d.new.p, name)
		kind := Base
		if b.Formula != nil {
			kind = Formula
		}
		if a == nil || (a.Formula == nil) != (b.Formula == nil) {
			d.add(d.slot(kind, name)) // was something else
			continue
		}
		why, at := d.mapChange(a, b)
		if why == "" {
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

// mapChange says how the bases of two maps differ; "" where they don't.
func (d *differ) mapChange(a, b *check.Map) (string, [2]source.Span) {
	var out []string
	say := func(now, before string) { out = append(out, now+" (was "+before+")") }
	if a.Unit.Text != b.Unit.Text {
		say(inUnit(b), inUnit(a))
	}
	if a.Res != b.Res {
		say(toRes(b), toRes(a))
	}
	if b.Formula == nil {
		why, at := d.gridChange(a, b)
		switch {
		case a.Unit.Text == b.Unit.Text:
			if why != "" {
				out = append(out, why)
			}
		case why == "":
			out = append(out, "its numbers as they were")
		default: // the numbers differ as the units do
			at = [2]source.Span{}
		}
		if len(out) > 1 || why == "" {
			at = [2]source.Span{}
		}
		return strings.Join(out, ", "), at
	}
	x, y := d.old.byName[a.Name].(*syntax.Map), d.new.byName[b.Name].(*syntax.Map)
	if x.Like.Text != y.Like.Text {
		say("like "+y.Like.Text, "like "+x.Like.Text)
	}
	if p, q := normalExpr(x.Expr), normalExpr(y.Expr); p != q {
		out = append(out, was(exprText(y.Expr), exprText(x.Expr)))
	}
	return strings.Join(out, ", "), [2]source.Span{}
}

func inUnit(m *check.Map) string {
	if m.Unit.Text == "" {
		return "in plain numbers"
	}
	return "in [" + m.Unit.Text + "]"
}

func toRes(m *check.Map) string {
	if !m.Res.Set() {
		return "to 6 digits"
	}
	return "to " + grid.Exact(m.Res.Step())
}

// gridChange says how two grids differ; "" where they don't. Where cells do, the
// places are those of the one that changed most.
func (d *differ) gridChange(a, b *check.Map) (why string, at [2]source.Span) {
	names := func(p *check.Program, m *check.Map) (names, units []string) {
		for _, i := range m.Axes {
			names, units = append(names, p.Axes[i].Name), append(units, p.Axes[i].Unit.Text)
		}
		return names, units
	}
	axes, units := names(d.new.p, b)
	old, oldUnits := names(d.old.p, a)
	if !slices.Equal(old, axes) {
		return "over other axes", at
	}
	var out []string
	points := func(k int, x, y []float64) {
		come, gone := without(y, x), without(x, y)
		switch {
		case len(come)+len(gone) == 0:
		case units[k] != oldUnits[k]:
			out = append(out, fmt.Sprintf("%s in [%s] (was in [%s])", axes[k], units[k], oldUnits[k]))
		default:
			out = append(out, pointsText(axes[k], come, "new"), pointsText(axes[k], gone, "taken out"))
		}
	}
	if a.Base.Rows != nil {
		points(0, a.Base.Rows, b.Base.Rows)
	}
	points(len(axes)-1, a.Base.Cols, b.Base.Cols)
	out = slices.DeleteFunc(out, func(s string) bool { return s == "" })
	shape := len(out) > 0
	n, filled := 0, 0
	var worst [2]int
	most := -1.0
	for j, y := range b.Base.Cells {
		i := sameCell(a, b, j)
		if i < 0 || a.Base.Cells[i] == y {
			continue
		}
		if !b.Given[j] && !a.Given[i] {
			filled++ // it follows from its neighbours
			continue
		}
		n++
		if by := abs(y - a.Base.Cells[i]); by > most {
			most, worst = by, [2]int{i, j}
		}
	}
	if n > 0 {
		cell := fmt.Sprintf("%s: %s → %s", cellName(axes, b, worst[1]), grid.Exact(a.Base.Cells[worst[0]]), grid.Exact(b.Base.Cells[worst[1]]))
		if n > 1 {
			cell = fmt.Sprintf("%d cells, the most at %s", n, cell)
		}
		out = append(out, cell)
		if !shape {
			at = [2]source.Span{cellAt(a, worst[0]), cellAt(b, worst[1])}
		}
	}
	switch {
	case filled > 0 && n > 0:
		out[len(out)-1] += ", and what is filled in from them"
	case filled > 0 && !shape:
		out = append(out, fmt.Sprintf("%d cells that are filled in from others", filled))
	}
	return strings.Join(out, ", "), at
}

// without lists what of some points others don't have.
func without(points, others []float64) []float64 {
	var out []float64
	for _, x := range points {
		if !slices.Contains(others, x) {
			out = append(out, x)
		}
	}
	return out
}

// mostPoints is how many breakpoints are named one by one.
const mostPoints = 3

func pointsText(axis string, points []float64, what string) string {
	if len(points) == 0 {
		return ""
	}
	if len(points) > mostPoints {
		return fmt.Sprintf("%d breakpoints on %s (%s)", len(points), axis, what)
	}
	var list []string
	for _, x := range points {
		list = append(list, grid.Exact(x))
	}
	return axis + " " + strings.Join(list, ", ") + " (" + what + ")"
}

// sameCell is the place in an old grid of a cell of a new one; -1 for none.
func sameCell(a, b *check.Map, j int) int {
	nc := len(b.Base.Cols)
	row, col := 0, slices.Index(a.Base.Cols, b.Base.Cols[j%nc])
	if b.Base.Rows != nil {
		row = slices.Index(a.Base.Rows, b.Base.Rows[j/nc])
	}
	if row < 0 || col < 0 {
		return -1
	}
	return row*len(a.Base.Cols) + col
}

// cellName is a cell's coordinates: "throttle 100, rpm 9000".
func cellName(axes []string, m *check.Map, i int) string {
	nc := len(m.Base.Cols)
	out := axes[len(axes)-1] + " " + grid.Exact(m.Base.Cols[i%nc])
	if m.Base.Rows != nil {
		out = axes[0] + " " + grid.Exact(m.Base.Rows[i/nc]) + ", " + out
	}
	return out
}

func abs(x float64) float64 { return max(x, -x) }

// cellAt is where a cell was written, or its map where it wasn't.
func cellAt(m *check.Map, i int) source.Span {
	if i < len(m.Places) && !m.Places[i].IsZero() {
		return m.Places[i]
	}
	return m.Span
}
