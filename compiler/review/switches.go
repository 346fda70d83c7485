package review

import (
	"slices"

	"fettle/compiler/diff"
)

// switches says whether what sticks out in a map is its formula's own doing: an
// injector that opens where there is enough fuel for it, say, opens in another
// cell as all fuel moves a little. Such a map has no cells of its own that could
// be wrong. So it is where the element that moved the cell is one number for the
// whole map, or moved a map that it follows from there and not much less around it.
func (e *Entry) switches(s *cellSpike, fl *flow) bool {
	if !fl.known || fl.root(s.m.Map) {
		return false
	}
	if s.by != nil && slices.Contains([]string{diff.KindValue, diff.KindGiven, diff.KindRow}, s.by.Kind) {
		return true
	}
	if s.by != nil && s.by.Kind == diff.KindFormula && e.OldT.program() == e.NewT.program() {
		return true // it reads a condition of the tunes
	}
	even := false
	for _, em := range e.Maps {
		m := em.Diff
		if !fl.root(m.Map) || !fl.follows(m.Map, s.m.Map) || len(m.Cells) == 0 {
			continue
		}
		g := gridOf(e, m)
		if g == nil {
			return false
		}
		for i, c := range m.Cells {
			own := g.own(c)
			if own < 0 || !sameCell(m, c, s.m, s.m.Cells[s.cell]) || !moves(m, i, s.by) {
				continue
			}
			surface := g.surface(m)
			if surface.of(own) >= float64(spikeRatio*surface.outside([]int{own})) {
				return false
			}
			even = true
		}
	}
	return even
}

// sameCell says whether two cells lie at the same breakpoints, of the axes that
// both maps run over.
func sameCell(a *diff.MapDiff, i diff.CellDiff, b *diff.MapDiff, j diff.CellDiff) bool {
	at := func(m *diff.MapDiff, c diff.CellDiff) map[string]float64 {
		out := map[string]float64{m.Cols.Name: m.Cols.Points[c.Col]}
		if m.Rows.Points != nil {
			out[m.Rows.Name] = m.Rows.Points[c.Row]
		}
		return out
	}
	other := at(b, j)
	for name, x := range at(a, i) {
		if y, both := other[name]; both && x != y {
			return false
		}
	}
	return true
}

// moves says whether an element has a part in a cell; where changes aren't
// attributed it may have.
func moves(m *diff.MapDiff, cell int, by *diff.Element) bool {
	if by == nil || len(m.Parts) == 0 {
		return true
	}
	return slices.ContainsFunc(m.Parts, func(p *diff.Part) bool { return p.Element == by && p.Exact[cell] != 0 })
}
