package page

import (
	"html/template"
	"math"
	"strconv"
	"strings"

	"fettle/compiler/diff"
	"fettle/compiler/review"
)

// steps of shade: of a change each way, and of a value.
const (
	changeShades = 5
	valueShades  = 8
)

// heat is a map's table with a class of shade for each cell. The classes are the
// script's too.
type heat struct {
	caption string
	m       *diff.MapDiff
	values  []float64
	text    func(i int, x float64) string
	class   func(i int, x float64) string
	rows    [2]int // from and to
	cols    [2]int
}

// mild is the part of a map's largest value that a change has to come to, to be
// shaded darkest: so that small ones look small even where all are.
const mild = 0.05

// changeShade is the class of a change as a part of what is shaded darkest: n5 to
// n1 for less, p1 to p5 for more.
func changeShade(x, darkest float64) string {
	if x == 0 || darkest == 0 {
		return ""
	}
	n := int(math.Ceil(math.Abs(x) / darkest * changeShades))
	n = max(1, min(n, changeShades))
	if x < 0 {
		return "n" + strconv.Itoa(n)
	}
	return "p" + strconv.Itoa(n)
}

// valueShade is the class of a value between the least and the most: v0 to v7.
func valueShade(x, lo, hi float64) string {
	if hi <= lo {
		return "v0"
	}
	n := int((x - lo) / (hi - lo) * valueShades)
	return "v" + strconv.Itoa(max(0, min(n, valueShades-1)))
}

// tables are a map's: the change, before and after.
func tables(m *diff.MapDiff, name string) template.HTML {
	before, after := m.Before(), m.After()
	change, darkest := changes(m)
	lo, hi := bounds(before, after)
	whole := heat{m: m, rows: [2]int{0, max(1, len(m.Rows.Points))}, cols: [2]int{0, len(m.Cols.Points)}}
	value := func(_ int, x float64) string { return m.ValueText(x) }
	shade := func(_ int, x float64) string { return valueShade(x, lo, hi) }
	var b strings.Builder
	h := whole
	h.caption = "Change of " + inUnit(m.Map, m.ChangeUnit) + " in " + name + ": after less before. Blank where nothing changes."
	h.values, h.text = change, func(_ int, x float64) string {
		if x == 0 {
			return ""
		}
		return m.AmountText(x)
	}
	h.class = func(_ int, x float64) string { return changeShade(x, darkest) }
	h.write(&b)
	h = whole
	h.caption, h.values, h.text, h.class = "Before: "+inUnit(m.Map, m.Unit)+" in "+name+".", before, value, shade
	h.write(&b)
	h.caption, h.values = "After: "+inUnit(m.Map, m.Unit)+" in "+name+". Bold where it changes.", after
	h.class = func(i int, x float64) string {
		if change[i] != 0 {
			return shade(i, x) + " d"
		}
		return shade(i, x)
	}
	h.write(&b)
	return template.HTML(b.String())
}

// How many cells are shown around one that is looked at.
const (
	nearRows = 1
	nearCols = 2
)

// nearby is the part of a map around a cell: its values after, each shaded by its
// change.
func nearby(m *diff.MapDiff, row, col int) template.HTML {
	change, darkest := changes(m)
	nr, nc := max(1, len(m.Rows.Points)), len(m.Cols.Points)
	window := func(at, around, n int) [2]int {
		from := max(0, min(at-around, n-2*around-1))
		return [2]int{from, min(n, from+2*around+1)}
	}
	h := heat{m: m, values: m.After(), rows: window(row, nearRows, nr), cols: window(col, nearCols, nc)}
	h.caption = inUnit(m.Map, m.Unit) + " after, shaded by its change"
	h.text = func(_ int, x float64) string { return m.ValueText(x) }
	h.class = func(i int, _ float64) string {
		if i == row*nc+col {
			return strings.TrimSpace(changeShade(change[i], darkest) + " at")
		}
		return changeShade(change[i], darkest)
	}
	var b strings.Builder
	h.write(&b)
	return template.HTML(b.String())
}

// changes is every cell's change, and how large one is shaded darkest: the
// largest, if that isn't mild.
func changes(m *diff.MapDiff) (list []float64, darkest float64) {
	list = make([]float64, m.Total)
	lo, hi := bounds(m.Before(), m.After())
	darkest = mild * max(math.Abs(lo), math.Abs(hi))
	for _, c := range m.Cells {
		list[c.Row*len(m.Cols.Points)+c.Col] = c.Change
		darkest = max(darkest, math.Abs(c.Change))
	}
	return list, darkest
}

func bounds(lists ...[]float64) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, l := range lists {
		for _, x := range l {
			lo, hi = min(lo, x), max(hi, x)
		}
	}
	return lo, hi
}

// write writes the table. Ends of cells and rows are left out, as HTML allows,
// since there are many.
func (h *heat) write(b *strings.Builder) {
	esc := func(s string) string { return template.HTMLEscapeString(clean(s)) }
	point := func(x float64) string { return plain(x, -1) }
	b.WriteString(`<div class="scroll"><table class="heat"><caption>` + esc(h.caption) + "</caption>\n<thead><tr><th scope=\"col\">" + esc(h.corner()))
	for c := h.cols[0]; c < h.cols[1]; c++ {
		b.WriteString(`<th scope="col">` + point(h.m.Cols.Points[c]))
	}
	b.WriteString("</thead>\n<tbody>\n")
	for r := h.rows[0]; r < h.rows[1]; r++ {
		head := h.m.Map
		if h.m.Rows.Points != nil {
			head = point(h.m.Rows.Points[r])
		}
		b.WriteString(`<tr><th scope="row">` + esc(head))
		for c := h.cols[0]; c < h.cols[1]; c++ {
			i := r*len(h.m.Cols.Points) + c
			b.WriteString("<td")
			if class := h.class(i, h.values[i]); class != "" {
				b.WriteString(` class="` + class + `"`)
			}
			b.WriteString(">" + h.text(i, h.values[i]))
		}
		b.WriteString("\n")
	}
	b.WriteString("</tbody></table></div>\n")
}

// corner names the axes: "throttle [%] \ rpm".
func (h *heat) corner() string {
	cols := axisName(h.m.Cols)
	if h.m.Rows.Points == nil {
		return cols
	}
	return axisName(h.m.Rows) + ` \ ` + cols
}

func axisName(a diff.Axis) string {
	if a.Unit == a.Name {
		return a.Name
	}
	return inUnit(a.Name, a.Unit)
}

func inUnit(name, unitText string) string {
	if unitText == "" {
		return name
	}
	return name + " [" + unitText + "]"
}

// worstOf is what the worst cell of a map came to: "15.80 → 1.58 mg (-90 %) at
// throttle 100 %, rpm 11500".
func worstOf(em *review.EntryMap) string {
	if len(em.Shown) == 0 {
		return ""
	}
	m := em.Diff
	c := m.Cells[em.Shown[0]]
	size := m.ChangeText(c.Change)
	if c.HasShare {
		size = diff.Percent(c.Share)
	}
	return clean(m.OldToNew(c) + " (" + size + ") at " + m.At(c))
}
