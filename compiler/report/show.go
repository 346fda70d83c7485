// Package report prints what people look at before they read: the table of a
// map, the list of tunes, the verdicts of a check.
//
// In: checked programs and judged tunes. Out: text for a terminal, or values
// with a published schema for --json. Imported by cmd; imports the stages up to
// limit, and explain for its words.
package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"fettle/compiler/check"
	"fettle/compiler/emit"
	"fettle/compiler/grid"
	"fettle/compiler/plan"
)

// Options says how a report is printed.
type Options struct {
	Color bool
	Width int // of the terminal; 0: don't fold
}

// Table is one map of one tune, ready to print.
type Table struct {
	Tune   string      `json:"tune"`
	Map    string      `json:"map"`
	Target string      `json:"target,omitempty"` // whose table this is
	Name   string      `json:"table,omitempty"`
	Unit   string      `json:"unit"`
	Doc    string      `json:"doc,omitempty"`
	Axes   []TableAxis `json:"axes"` // rows first; one axis: the columns
	Cells  [][]string  `json:"cells"`
	// How a controller's table is stored.
	Storage string `json:"storage,omitempty"`
	notes   []string
	values  *grid.Table
	filled  []bool
}

// TableAxis is an axis with its breakpoints.
type TableAxis struct {
	Name   string    `json:"name"`
	Unit   string    `json:"unit"`
	Points []float64 `json:"points"`
}

// NewTable makes the table of a computed map.
func NewTable(p *check.Program, t *plan.Tune, m *check.Map, g *grid.Table) *Table {
	out := &Table{Tune: t.Name, Map: m.Name, Unit: m.Unit.Text, Doc: m.Doc, values: g}
	for i, a := range m.Axes {
		points := g.Cols
		if i == 0 && len(m.Axes) == 2 {
			points = g.Rows
		}
		out.Axes = append(out.Axes, TableAxis{p.Axes[a].Name, p.Axes[a].Unit.Text, points})
	}
	nc := len(g.Cols)
	for r := range g.NRows() {
		row := make([]string, nc)
		for c := range nc {
			row[c] = m.Res.Format(g.Cells[r*nc+c])
		}
		out.Cells = append(out.Cells, row)
	}
	if m.Formula == nil {
		out.filled = make([]bool, len(g.Cells))
		for i := range out.filled {
			out.filled[i] = !m.Given[i]
		}
	}
	return out
}

// TSV is the table for the clipboard, tabs between cells.
func (t *Table) TSV() string {
	var b strings.Builder
	b.WriteString(t.corner())
	cols := t.Axes[len(t.Axes)-1].Points
	for _, x := range cols {
		b.WriteString("\t" + grid.Res{}.Format(x))
	}
	b.WriteByte('\n')
	for r, row := range t.Cells {
		b.WriteString(t.rowHead(r))
		for _, s := range row {
			b.WriteString("\t" + s)
		}
		b.WriteByte('\n')
	}
	return b.String()
}

func (t *Table) corner() string {
	head := func(a TableAxis) string { return grid.AxisHead{Name: a.Name, Unit: a.Unit}.String() }
	if len(t.Axes) == 1 {
		return head(t.Axes[0])
	}
	return head(t.Axes[0]) + ` \ ` + head(t.Axes[1])
}

func (t *Table) rowHead(r int) string {
	if len(t.Axes) == 1 {
		return ""
	}
	return point(t.Axes[0].Points[r])
}

// title is what a table is asked for by.
func (t *Table) title() string {
	if t.Target != "" {
		return t.Target + "." + t.Name
	}
	return t.Map
}

func point(x float64) string { return grid.Res{}.Format(x) }

// Text prints the table aligned, shaded by value where colours are wanted, and
// folded into blocks of columns where the terminal is narrow.
func (t *Table) Text(w io.Writer, opt Options) {
	size := fmt.Sprintf("%d cells", len(t.Cells[0]))
	if len(t.Axes) == 2 {
		size = fmt.Sprintf("%d × %d cells", len(t.Cells), len(t.Cells[0]))
	}
	lo, hi := t.span()
	fmt.Fprintf(w, "%s   %s   %s, %s to %s\n", t.Tune, strings.TrimSpace(t.title()+" "+bracket(t.Unit)), size, t.text(lo), t.text(hi))
	for _, note := range t.notes {
		fmt.Fprintf(w, "  %s\n", note)
	}
	cells := alignDots(t.Cells)
	cols := t.Axes[len(t.Axes)-1].Points
	heads := make([]string, len(cols))
	wide := 0
	for c, x := range cols {
		heads[c] = point(x)
		wide = max(wide, len(heads[c]))
	}
	for _, row := range cells {
		for _, s := range row {
			wide = max(wide, len(s))
		}
	}
	first := len([]rune(t.corner()))
	per := len(cols)
	if opt.Width > 0 {
		per = max(1, min(per, (opt.Width-2-first-2)/(wide+1)))
	}
	for from := 0; from < len(cols); from += per {
		to := min(len(cols), from+per)
		if from > 0 {
			fmt.Fprintln(w)
		}
		t.block(w, opt, cells, heads, from, to, first, wide, lo, hi)
	}
}

func (t *Table) block(w io.Writer, opt Options, cells [][]string, heads []string, from, to, first, wide int, lo, hi float64) {
	fmt.Fprintf(w, "  %s ", padRight(t.corner(), first))
	for c := from; c < to; c++ {
		fmt.Fprintf(w, " %*s", wide, heads[c])
	}
	fmt.Fprintln(w)
	nc := len(heads)
	for r, row := range cells {
		fmt.Fprintf(w, "  %s ", padRight(t.rowHead(r), first))
		for c := from; c < to; c++ {
			s := fmt.Sprintf("%*s", wide, row[c])
			if opt.Color {
				s = shade(s, t.values.Cells[r*nc+c], lo, hi)
			}
			fmt.Fprint(w, " "+s)
		}
		fmt.Fprintln(w)
	}
}

// span is the least and greatest cell.
func (t *Table) span() (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, x := range t.values.Cells {
		lo, hi = min(lo, x), max(hi, x)
	}
	return lo, hi
}

// text finds how a cell's value is written.
func (t *Table) text(x float64) string {
	nc := len(t.Cells[0])
	for i, v := range t.values.Cells {
		if v == x {
			return t.Cells[i/nc][i%nc]
		}
	}
	return point(x)
}

func bracket(u string) string {
	if u == "" {
		return ""
	}
	return "[" + u + "]"
}

func padRight(s string, n int) string { return s + strings.Repeat(" ", max(0, n-len([]rune(s)))) }

// alignDots pads numbers behind, so that their decimal points stand in line.
func alignDots(cells [][]string) [][]string {
	most := 0
	after := func(s string) int {
		if i := strings.IndexByte(s, '.'); i >= 0 {
			return len(s) - i
		}
		return 0
	}
	for _, row := range cells {
		for _, s := range row {
			most = max(most, after(s))
		}
	}
	out := make([][]string, len(cells))
	for r, row := range cells {
		out[r] = make([]string, len(row))
		for c, s := range row {
			out[r][c] = s + strings.Repeat(" ", most-after(s))
		}
	}
	return out
}

// shades run from dark blue over grey to yellow, a ramp that reads the same to
// colour-blind eyes and in black and white; numbers stand on every cell.
var shades = []struct{ back, fore int }{{17, 15}, {18, 15}, {60, 15}, {240, 15}, {243, 15}, {101, 0}, {143, 0}, {185, 0}, {227, 0}}

func shade(s string, x, lo, hi float64) string {
	i := 0
	if hi > lo {
		i = int((x - lo) / (hi - lo) * float64(len(shades)))
	}
	c := shades[max(0, min(i, len(shades)-1))]
	return fmt.Sprintf("\x1b[48;5;%d;38;5;%dm%s\x1b[0m", c.back, c.fore, s)
}

// Set is several tables under one schema.
type Set struct {
	Schema string   `json:"schema"`
	Status string   `json:"status"` // written or failed: whether build writes them
	Tables []*Table `json:"tables"`
	Said   []string `json:"cautions"`
}

// Tables wraps tables for --json. fails says that build doesn't write them.
func Tables(list []*Table, p *check.Program, fails bool) Set {
	status := emit.Written
	if fails {
		status = emit.Failed
	}
	return Set{"fettle/show/1", status, list, notNil(p.Cautions)}
}
