package diff

import (
	"fmt"
	"math"
	"sort"
	"strings"
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

// grid writes the rows and columns that hold a differing cell: "old → new", and
// the value alone where a cell of them is the same on both sides.
func (t *textWriter) grid(m *MapDiff) {
	g := &textGrid{m: m, cells: map[[2]int]*CellDiff{}, rows: map[int]float64{}, cols: map[int]float64{}}
	for i := range m.Cells {
		c := &m.Cells[i]
		g.cells[[2]int{c.Row, c.Col}] = c
		size := math.Abs(c.Change)
		g.rows[c.Row] = max(g.rows[c.Row], size)
		g.cols[c.Col] = max(g.cols[c.Col], size)
		g.old = max(g.old, width(m.value(c.Old)))
		g.new = max(g.new, width(m.value(c.New)))
	}
	g.choose(t.opt)
	head := m.Cols.Name
	if m.Rows.Points != nil {
		head = m.Rows.Name + ` \ ` + m.Cols.Name
	}
	g.head = width(head)
	for _, r := range g.shownRows {
		g.head = max(g.head, width(g.rowName(r)))
	}
	g.fit(t.opt)
	cell := g.old + 3 + g.new
	if t.opt.Color {
		cell += 2
	}
	line := "  " + pad(head, g.head)
	for _, c := range g.shownCols {
		line += "   " + pad(number(m.Cols.Points[c]), cell)
	}
	t.line("%s", line)
	for _, r := range g.shownRows {
		line := "  " + pad(g.rowName(r), g.head)
		for _, c := range g.shownCols {
			line += "   " + g.cell(r, c, cell, t.opt.Color)
		}
		t.line("%s", line)
	}
	if more := g.folded(); more != "" {
		t.line("  %s", more)
	}
}

type textGrid struct {
	m                    *MapDiff
	cells                map[[2]int]*CellDiff
	rows, cols           map[int]float64 // those with a differing cell, and their largest change
	old, new, head       int             // widths
	shownRows, shownCols []int
}

func (g *textGrid) rowName(r int) string {
	if g.m.Rows.Points == nil {
		return ""
	}
	return number(g.m.Rows.Points[r])
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

// fit takes the columns of the largest changes, as many as there is room for.
func (g *textGrid) fit(opt TextOptions) {
	if !opt.Cells {
		one := 3 + g.old + 3 + g.new
		if opt.Color {
			one += 2
		}
		room := max(1, (opt.Width-2-g.head)/one)
		g.shownCols = g.shownCols[:min(room, len(g.shownCols))]
	}
	sort.Ints(g.shownCols)
	// A row whose differing cells are all in other columns has nothing to show.
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
		return pad(padLeft(g.m.sameValue(r, c), g.old), cell)
	}
	s := padLeft(g.m.value(d.Old), g.old) + " → " + padLeft(g.m.value(d.New), g.new)
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
