package diff

import "fettle/compiler/grid"

// Excerpt is the part of a map's table that a terminal would show, as texts, for
// other ways of writing.
type Excerpt struct {
	Corner string     // the axes' names
	Cols   []string   // breakpoints; "…" where columns that differ are left out
	Rows   [][]string // a breakpoint and its cells, or "…" alone; "" where one axis is all
	More   string     // what is left out; "" if nothing is
}

// Excerpt gives the rows and columns of the largest changes, so many at most.
func (m *MapDiff) Excerpt(rows, cols int) Excerpt {
	g := newTextGrid(m)
	g.choose(TextOptions{Cells: true})
	if list := bySize(g.rows); len(list) > rows {
		g.shownRows = ascending(list[:rows])
	}
	g.shownCols = ascending(g.shownCols[:min(cols, len(g.shownCols))])
	g.dropRows()
	out := Excerpt{Corner: m.corner(), More: g.folded()}
	for i, c := range g.shownCols {
		if i > 0 && leftOut(g.cols, g.shownCols[i-1], c) {
			out.Cols = append(out.Cols, gapMark)
		}
		out.Cols = append(out.Cols, grid.Exact(m.Cols.Points[c]))
	}
	for i, r := range g.shownRows {
		if i > 0 && leftOut(g.rows, g.shownRows[i-1], r) {
			out.Rows = append(out.Rows, []string{gapMark})
		}
		row := []string{g.rowName(r)}
		for k, c := range g.shownCols {
			if k > 0 && leftOut(g.cols, g.shownCols[k-1], c) {
				row = append(row, gapMark)
			}
			row = append(row, g.plainCell(r, c))
		}
		out.Rows = append(out.Rows, row)
	}
	return out
}

// plainCell is "3.00 → 3.87", or the value alone where it is the same on both
// sides.
func (g *textGrid) plainCell(r, c int) string {
	if d := g.cells[[2]int{r, c}]; d != nil {
		return g.m.ValueText(d.Old) + " → " + g.m.ValueText(d.New)
	}
	s := g.m.sameValue(r, c)
	if g.m.allowed[[2]int{r, c}] {
		s += " " + allowedMark
	}
	return s
}

// Allowed is how many cells differ that Narrow left out.
func (m *MapDiff) Allowed() int { return len(m.allowed) }
