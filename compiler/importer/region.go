package importer

import (
	"fmt"
	"strings"

	"fettle/lang/source"
)

// region is the table without what stands around it: a head line and rows, all
// of one width.
type region struct {
	head []cell
	rows [][]cell
}

// at gives a cell of a row, or a blank with its place.
func (j *job) cellAt(row, col int) cell {
	r := j.rows[row]
	if col < len(r) {
		return r[col]
	}
	c := cell{row: row + 1, col: col + 1, span: source.Span{File: j.file}}
	if len(r) > 0 {
		end := r[len(r)-1].span.To
		c.span.From, c.span.To = end, end
	}
	return c
}

// extent is where the filled cells of a row begin and end.
func extent(row []cell) (lo, hi int) {
	for i, c := range row {
		if !c.blank() {
			if hi == 0 {
				lo = i
			}
			hi = i + 1
		}
	}
	return lo, hi
}

// region finds the table: its head is the first line as wide as most lines are
// that begins a grid or a catalogue. Lines above and below are titles and notes.
func (j *job) region() *region {
	var filled []int
	for i, row := range j.rows {
		if _, hi := extent(row); hi > 0 {
			filled = append(filled, i)
		}
	}
	width := func(i int) int { _, hi := extent(j.rows[i]); return hi }
	usual := usualWidth(filled, width)
	if len(filled) < 2 || usual < 2 {
		j.refuse("no table is in the file: a table has a line of heads and lines of cells under it")
		j.errs.Last().Hint("if the cells are parted by an unusual sign, name it: `--delimiter`")
		return nil
	}
	first, head := -1, -1
	for k, i := range filled {
		if width(i) < usual || k+1 == len(filled) {
			continue
		}
		if first < 0 {
			first = k
		}
		if j.beginsGrid(filled[k:]) || j.beginsCatalog(filled[k:]) {
			head = k
			break
		}
	}
	if head < 0 {
		head = max(first, 0)
	}
	for _, i := range filled[:head] {
		lo, hi := extent(j.rows[i])
		if h := headOf(j.rows[i][lo].text); hi == lo+1 && h.bracket && h.unit != "" && goodName(h.name) {
			j.title = h
		}
		j.notef("%s was passed over: %s", j.line(i), quote(j.rows[i][lo].text))
	}
	last := len(filled) - 1
	for ; last > head+1 && filled[last] > filled[last-1]+1; last-- {
		lo, hi := extent(j.rows[filled[last]])
		if hi != lo+1 || j.rows[filled[last]][lo].number != "" {
			break
		}
		j.notef("%s was passed over: %s", j.line(filled[last]), quote(j.rows[filled[last]][lo].text))
	}
	j.dial.Head = filled[head] + 1
	return j.cut(filled[head : last+1])
}

// line names a line of the file, or a row of a sheet.
func (j *job) line(i int) string {
	if j.dial.Form == "workbook" {
		return fmt.Sprintf("row %d", i+1)
	}
	if at := j.cellAt(i, 0).span; at.File == j.file {
		return fmt.Sprintf("line %d", at.Line())
	}
	return fmt.Sprintf("line %d", i+1)
}

// cut takes the lines of the table, and refuses what doesn't belong to it.
func (j *job) cut(lines []int) *region {
	left, right := len(j.rows[lines[0]]), 0
	for k, i := range lines {
		lo, hi := extent(j.rows[i])
		left = min(left, lo)
		if k == 0 {
			right = hi
		}
		if k > 0 && i != lines[k-1]+1 {
			j.fault("E904", j.cellAt(i, lo), "something stands below the blank line that ends the table").
				Hint("take it out, or the blank lines, or copy the table alone")
			return nil
		}
		if hi > right {
			j.fault("E904", j.cellAt(i, hi-1), "%s stands outside the table, whose head line has %d columns", quote(j.rows[i][hi-1].text), right-left)
			if j.dial.Delimiter == "commas" {
				j.errs.Last().Hint("a decimal comma parts cells too: write dots, or put semicolons between the cells")
			}
			return nil
		}
	}
	if right-left < 2 {
		j.fault("E904", j.cellAt(lines[0], left), "the table has one column, and nothing beside it")
		return nil
	}
	if (right-left)*len(lines) > MaxCells {
		j.refuse("the table has over %d cells, the most that is read", MaxCells)
		return nil
	}
	g := &region{}
	for k, i := range lines {
		row := make([]cell, right-left)
		for c := range row {
			row[c] = j.cellAt(i, left+c)
		}
		if k == 0 {
			g.head = row
		} else {
			g.rows = append(g.rows, row)
		}
	}
	if j.opt.Transpose {
		g.transpose()
		j.notef("turned: what stood down the side runs across now")
	}
	return g
}

// transpose turns rows to columns.
func (g *region) transpose() {
	all := append([][]cell{g.head}, g.rows...)
	turned := make([][]cell, len(g.head))
	for c := range turned {
		turned[c] = make([]cell, len(all))
		for r := range all {
			turned[c][r] = all[r][c]
		}
	}
	g.head, g.rows = turned[0], turned[1:]
}

// beginsGrid says whether the first of some lines is the head of a grid: numbers
// but for the corner, and a number, or nothing, at the beginning of the next.
func (j *job) beginsGrid(lines []int) bool {
	lo, hi := extent(j.rows[lines[0]])
	next, _ := extent(j.rows[lines[1]])
	lo = min(lo, next)
	numbers := 0
	for c := lo + 1; c < hi; c++ {
		switch {
		case j.cellAt(lines[0], c).number != "":
			numbers++
		case !j.cellAt(lines[0], c).blank():
			return false
		}
	}
	begin := j.cellAt(lines[1], lo)
	return numbers > 0 && j.cellAt(lines[0], lo).number == "" && (begin.number != "" || begin.blank() && len(lines) == 2)
}

// beginsCatalog says whether the first of some lines is the head of a catalogue:
// texts alone, and a text at the beginning of the next.
func (j *job) beginsCatalog(lines []int) bool {
	lo, hi := extent(j.rows[lines[0]])
	for c := lo; c < hi; c++ {
		if at := j.cellAt(lines[0], c); at.number != "" || at.blank() {
			return false
		}
	}
	begin := j.cellAt(lines[1], lo)
	return !begin.blank() && begin.number == "" && (len(lines) == 2 || !j.beginsGrid(lines[1:]))
}

// kind settles whether the table is a map or a catalogue.
func (j *job) kind(g *region) bool {
	if j.opt.As != "" {
		j.out.As = j.opt.As
		return true
	}
	numbers := func(cells []cell) (n int) {
		for _, c := range cells {
			if c.number != "" {
				n++
			}
		}
		return n
	}
	var side []cell
	for _, row := range g.rows {
		side = append(side, row[0])
	}
	across, down := numbers(g.head[1:]), numbers(side)
	oneLine := len(g.rows) == 1 && down == 0
	switch {
	case strings.Contains(g.head[0].text, `\`): // the corner names two axes
		j.out.As = "map"
	case across*2 > len(g.head)-1 && (down*2 > len(side) || oneLine): // what isn't a number there is told later
		j.out.As = "map"
	case across == 0 && down < len(side):
		j.out.As = "catalog"
	default:
		d := j.fault("E909", g.head[0], "this may be a map or a catalogue: a map has numbers in its first line and its first column, a catalogue has heads and names there")
		switch {
		case len(g.head) == 2 && across == 0 && down == len(side):
			d.Hint("a table of two columns becomes a map over one axis by `--transpose`")
		default:
			d.Hint("`--as map` or `--as catalog` settles it")
		}
		return false
	}
	return true
}

// readAs is the sentence that says how the file was read.
func (j *job) readAs() string {
	d, parts := j.dial, []string{}
	if d.Form == "workbook" {
		parts = append(parts, "a workbook, sheet "+d.Sheet)
	} else {
		parts = append(parts, d.Encoding, d.Delimiter)
	}
	switch d.Decimal {
	case "none":
		parts = append(parts, "whole numbers")
	default:
		parts = append(parts, "decimal "+d.Decimal)
	}
	if d.Thousands != "" {
		name := map[string]string{" ": "spaces", "'": "apostrophes", ",": "commas", ".": "dots"}[d.Thousands]
		parts = append(parts, name+" between thousands")
	}
	if d.Form == "text" && d.LineEnds != "none" {
		parts = append(parts, map[bool]string{true: "mixed line ends", false: d.LineEnds}[d.LineEnds == "mixed"])
	}
	parts = append(parts, "head in "+j.line(d.Head-1), count(j.out.Rows, "row")+" by "+count(j.out.Columns, "column"))
	return strings.Join(parts, ", ") + "; " + strings.Join(j.said, ", ")
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
