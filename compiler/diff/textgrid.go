package diff

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"fettle/compiler/grid"
	"fettle/lang/diag"
)

// maxRows is how many rows of a grid are shown where not every cell is wanted.
const maxRows = 10

// Shades of the 256-colour table that stay apart for every kind of colour
// blindness: blues for less, oranges for more, stronger from half of the map's
// largest change on.
const (
	shadeLess     = "\x1b[38;5;75m"
	shadeMuchLess = "\x1b[1;38;5;33m"
	shadeMore     = "\x1b[38;5;215m"
	shadeMuchMore = "\x1b[1;38;5;208m"
	shadeOff      = "\x1b[0m"
)

// gapMark stands in the place of rows and columns that differ and aren't shown,
// between those that are.
const gapMark = "…"

// allowedMark stands behind the old value of a cell whose change is allowed.
const allowedMark = "~"

// grid writes the rows and columns that hold a differing cell: "old → new", and
// the value alone where a cell of them is the same on both sides. A narrow
// column or a row of "…" stands wherever others that differ are left out between
// two that are shown, so that nobody takes those two for neighbours.
func (t *textWriter) grid(m *MapDiff) {
	g := newTextGrid(m)
	g.choose(t.opt)
	head := m.corner()
	g.head = width(head)
	for _, r := range g.shownRows {
		g.head = max(g.head, width(g.rowName(r)))
	}
	g.fit(t.opt)
	cell := g.old + 3 + g.new
	if t.opt.Color {
		cell += 2
	}
	line := func(name string, cell func(c int) string) {
		text := "  " + pad(diag.Clean(name), g.head)
		for i, c := range g.shownCols {
			if i > 0 && leftOut(g.cols, g.shownCols[i-1], c) {
				text += "   " + gapMark
			}
			text += "   " + cell(c)
		}
		t.colored(text)
	}
	line(head, func(c int) string { return pad(grid.Exact(m.Cols.Points[c]), cell) })
	for i, r := range g.shownRows {
		if i > 0 && leftOut(g.rows, g.shownRows[i-1], r) {
			line(gapMark, func(int) string { return pad(gapMark, cell) })
		}
		line(g.rowName(r), func(c int) string { return g.cell(r, c, cell, t.opt.Color) })
	}
	if more := g.folded(); more != "" {
		t.line("  %s", more)
	}
	if n := len(m.allowed); n > 0 {
		t.line("  and %s within what is allowed, marked %s", counted(n, "more cell differs", "more cells differ"), allowedMark)
	}
}

type textGrid struct {
	m                    *MapDiff
	cells                map[[2]int]*CellDiff
	rows, cols           map[int]float64 // those with a differing cell, and their largest change
	old, new, head       int             // widths
	shownRows, shownCols []int
}

func newTextGrid(m *MapDiff) *textGrid {
	g := &textGrid{m: m, cells: map[[2]int]*CellDiff{}, rows: map[int]float64{}, cols: map[int]float64{}}
	for i := range m.Cells {
		c := &m.Cells[i]
		g.cells[[2]int{c.Row, c.Col}] = c
		size := math.Abs(c.Change)
		g.rows[c.Row] = max(g.rows[c.Row], size)
		g.cols[c.Col] = max(g.cols[c.Col], size)
		g.old = max(g.old, width(m.ValueText(c.Old)))
		g.new = max(g.new, width(m.ValueText(c.New)))
	}
	return g
}

// corner names the axes.
func (m *MapDiff) corner() string {
	if m.Rows.Points == nil {
		return m.Cols.Name
	}
	return m.Rows.Name + ` \ ` + m.Cols.Name
}

func (g *textGrid) rowName(r int) string {
	if g.m.Rows.Points == nil {
		return ""
	}
	return grid.Exact(g.m.Rows.Points[r])
}

// choose takes the rows of the largest changes, as many as are shown, and the
// columns in which they differ.
func (g *textGrid) choose(opt TextOptions) {
	g.shownRows = bySize(g.rows)
	if !opt.Cells && len(g.shownRows) > maxRows {
		g.shownRows = g.shownRows[:maxRows]
	}
	sort.Ints(g.shownRows)
	cols := map[int]float64{}
	for _, r := range g.shownRows {
		for c := range g.cols {
			if d := g.cells[[2]int{r, c}]; d != nil {
				cols[c] = max(cols[c], math.Abs(d.Change))
			}
		}
	}
	g.shownCols = bySize(cols)
}

// fit takes the columns of the largest changes, as many as there is room for,
// with the marks between them: one column in any case.
func (g *textGrid) fit(opt TextOptions) {
	bySize := g.shownCols
	g.shownCols = ascending(bySize)
	for n := len(bySize); !opt.Cells && n > 1 && g.width(opt) > opt.Width; {
		n--
		g.shownCols = ascending(bySize[:n])
	}
	g.dropRows()
}

// dropRows leaves out the rows whose differing cells are all in columns that
// aren't shown.
func (g *textGrid) dropRows() {
	rows := g.shownRows[:0]
	for _, r := range g.shownRows {
		for _, c := range g.shownCols {
			if g.cells[[2]int{r, c}] != nil {
				rows = append(rows, r)
				break
			}
		}
	}
	g.shownRows = rows
}

// width is that of a row with the columns that are shown.
func (g *textGrid) width(opt TextOptions) int {
	one := 3 + g.old + 3 + g.new
	if opt.Color {
		one += 2
	}
	n := 2 + g.head + one*len(g.shownCols)
	for i := 1; i < len(g.shownCols); i++ {
		if leftOut(g.cols, g.shownCols[i-1], g.shownCols[i]) {
			n += 3 + width(gapMark)
		}
	}
	return n
}

// leftOut says whether a row or column that differs lies between two others.
func leftOut(differ map[int]float64, from, to int) bool {
	for i := from + 1; i < to; i++ {
		if _, ok := differ[i]; ok {
			return true
		}
	}
	return false
}

func ascending(list []int) []int {
	out := append([]int(nil), list...)
	sort.Ints(out)
	return out
}

// bySize lists the keys, those of the largest values first.
func bySize(sizes map[int]float64) []int {
	var out []int
	for k := range sizes {
		out = append(out, k)
	}
	sort.Slice(out, func(i, j int) bool {
		if a, b := sizes[out[i]], sizes[out[j]]; a != b {
			return a > b
		}
		return out[i] < out[j]
	})
	return out
}

func (g *textGrid) cell(r, c, cell int, color bool) string {
	d := g.cells[[2]int{r, c}]
	if d == nil {
		s := padLeft(g.m.sameValue(r, c), g.old)
		if g.m.allowed[[2]int{r, c}] {
			s += " " + allowedMark
		}
		return pad(s, cell)
	}
	s := padLeft(g.m.ValueText(d.Old), g.old) + " → " + padLeft(g.m.ValueText(d.New), g.new)
	if !color {
		return s
	}
	much := math.Abs(d.Change) >= math.Abs(g.m.Cells[g.m.Summary.Worst].Change)/2
	shade, sign := shadeMore, "+"
	switch {
	case d.Change < 0 && much:
		shade, sign = shadeMuchLess, "-"
	case d.Change < 0:
		shade, sign = shadeLess, "-"
	case much:
		shade = shadeMuchMore
	}
	return shade + s + " " + sign + shadeOff
}

// folded says which rows and columns that differ are not shown.
func (g *textGrid) folded() string {
	var out []string
	if n := len(g.cols) - len(g.shownCols); n > 0 {
		out = append(out, counted(n, "more column", "more columns"))
	}
	if n := len(g.rows) - len(g.shownRows); n > 0 {
		out = append(out, counted(n, "more row", "more rows"))
	}
	if out == nil {
		return ""
	}
	seen := 0
	for _, r := range g.shownRows {
		for _, c := range g.shownCols {
			if g.cells[[2]int{r, c}] != nil {
				seen++
			}
		}
	}
	return fmt.Sprintf("… and %s: %d of the %d cells are shown, the largest changes among them", strings.Join(out, " and "), seen, len(g.m.Cells))
}
