package merge

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"fettle/lang/source"
	"fettle/lang/syntax"
)

// The lines of a merged grid or catalogue: those of ours, with the cells of
// theirs put in, or of the side that has them.

// writer writes the lines of a merged table.
type writer struct {
	g      *merged
	v      [3]*piece
	widths map[int]int
}

// tableLines writes a merged table: its head, then its rows with their comments.
func (m *merger) tableLines(w *writer, name string) (out doc) {
	g := w.g
	var head [3]*item
	for side, p := range w.v {
		head[side] = p.block.items[0]
	}
	m.remarks(&out, "a comment in "+name, head[base].lead, head[ours].lead, head[theirs].lead)
	note, agreed := oneOf(head[base].note, head[ours].note, head[theirs].note)
	if !agreed {
		m.conflict("the comment behind the first line of " + name + ": changed on both sides")
	}
	all := len(g.colGone) > 0 // every line is in conflict
	line := func(side int) []string {
		n := note
		if !agreed {
			n = head[side].note
		}
		return []string{w.headLine(side) + n}
	}
	if all || g.headClash || !agreed {
		out.clash([3][]string{line(base), line(ours), line(theirs)})
	} else {
		out.add(line(ours)...)
	}
	for _, r := range g.rows {
		var it [3]*item
		for side := range it {
			if i, ok := g.rowAt[side][r]; ok {
				it[side] = w.v[side].block.items[i+1]
			}
		}
		m.tableRow(&out, w, r, it, all, name)
	}
	return out
}

// tableRow writes a row.
func (m *merger) tableRow(out *doc, w *writer, r int, it [3]*item, all bool, name string) {
	g := w.g
	b, o, t := it[base], it[ours], it[theirs]
	var lead doc
	var notes [3]string
	agreed, together := true, false
	switch {
	case g.rowGone[r] || b == nil && o != nil && t != nil && o.comments() != t.comments():
		// each version with its own comments
		agreed = b != nil || g.rowGone[r]
		for side, i := range it {
			if i != nil {
				notes[side] = i.note
			}
		}
		if !agreed {
			m.conflict("the comments of a row of " + name + ": added on both sides, and not alike")
		}
	case b != nil && o != nil && t != nil:
		lead, together = remarks(b.lead, o.lead, t.lead), true
		if !lead.clean() {
			m.conflict("a comment in " + name + ": changed on both sides")
		}
		var note string
		if note, agreed = oneOf(b.note, o.note, t.note); agreed {
			notes = [3]string{note, note, note}
		} else {
			m.conflict("the comment behind a row of " + name + ": changed on both sides")
			notes = [3]string{b.note, o.note, t.note}
		}
	default:
		one := o
		if one == nil {
			one = t
		}
		notes = [3]string{one.note, one.note, one.note}
		together = true
		lead.add(one.lead...)
	}
	if !(all || g.rowClash[r]) && agreed {
		out.append(lead)
		out.add(strings.Split(w.rowLine(ours, r)+notes[ours], "\n")...)
		return
	}
	var sides [3][]string
	for side := range sides {
		if !g.hasRow(side, r) || side == base && b == nil && !(all && agreed && !g.rowClash[r]) {
			continue
		}
		if !together && it[side] != nil {
			sides[side] = append(sides[side], it[side].lead...)
		}
		sides[side] = append(sides[side], lead.of(side, "")...)
		sides[side] = append(sides[side], strings.Split(w.rowLine(side, r)+notes[side], "\n")...)
	}
	out.clash(sides)
}

// headLine is the first line in the version of a side.
func (w *writer) headLine(side int) string {
	g, p := w.g, w.v[ours]
	var cells []want
	for _, c := range g.cols {
		if g.hasCol(side, c) {
			cells = append(cells, want{w.at(ours, c), g.colText(side, c), w.width(c)})
		}
	}
	if p.block.grid == nil {
		return bars(p.block.items[0], p.file, g.cornerText(side), cells)
	}
	return spaced(p.block.items[0], p.file, g.cornerText(side), p.block.grid.Cols, cells)
}

// rowLine is a row in the version of a side, written into the line of ours, or
// else of the side that has it.
func (w *writer) rowLine(side, r int) string {
	g := w.g
	from := ours
	for _, s := range []int{theirs, base} {
		if !has(g.rowAt, from, r) {
			from = s
		}
	}
	p, i := w.v[from], g.rowAt[from][r]
	it := p.block.items[i+1]
	blank := ""
	if p.block.grid != nil {
		blank = "_"
	}
	var cells []want
	for _, c := range g.cols {
		if g.hasCol(side, c) {
			cells = append(cells, want{w.at(from, c), g.text(side, r, c, blank), w.width(c)})
		}
	}
	if p.block.grid == nil {
		return bars(it, p.file, g.rowLabel(r).text, cells)
	}
	n := len(p.block.grid.Cols)
	head, _, _ := strings.Cut(it.text, "|")
	return spaced(it, p.file, head, p.block.grid.Cells[i*n:(i+1)*n], cells)
}

// at is where a column stands on a side; -1 if it isn't there.
func (w *writer) at(side, c int) int {
	if j, ok := w.g.colAt[side][c]; ok {
		return j
	}
	return -1
}

// width is the room that a column's texts take.
func (w *writer) width(c int) int {
	if n, ok := w.widths[c]; ok {
		return n
	}
	n := utf8.RuneCountInString(w.g.colLabel(c).text)
	for side := range w.g.v {
		if j, ok := w.g.colAt[side][c]; ok {
			for _, r := range w.g.v[side].rows {
				n = max(n, utf8.RuneCountInString(r.cells[j].text))
			}
		}
	}
	w.widths[c] = n
	return n
}

// want is a cell that a line shall have: which of its own cells it is (-1:
// none), what it reads, and how wide its column is.
type want struct {
	own   int
	text  string
	width int
}

// spaced writes a line of a grid: head, bar, cells. A text that is put in the
// place of another keeps the decimal point where it was, if there is room.
func spaced(it *item, f *source.File, head string, own []syntax.Num, cells []want) string {
	bar := it.from + strings.IndexByte(f.Text[it.from:], '|')
	var b strings.Builder
	b.WriteString(head + "|")
	late := 0 // how far the text is behind where it was
	for _, c := range cells {
		if c.own < 0 {
			fmt.Fprintf(&b, "  %*s", c.width, c.text)
			continue
		}
		from := bar + 1
		if c.own > 0 {
			from = own[c.own-1].To
		}
		n := own[c.own]
		gap, old := n.From-from, f.Text[n.From:n.To]
		room := max(1, gap+units(old)-units(c.text)-late)
		if c.text == old && late == 0 {
			room = gap
		}
		b.WriteString(strings.Repeat(" ", room) + c.text)
		late += room + len(c.text) - gap - len(old)
	}
	return b.String()
}

// units is the length of a number up to its decimal point.
func units(s string) int {
	if i := strings.IndexByte(s, '.'); i >= 0 {
		return i
	}
	return len(s)
}

// bars writes a line of a catalogue. A text that is put in the place of another
// keeps the bar behind it where it was, if there is room.
func bars(it *item, f *source.File, head string, cells []want) string {
	own := it.cuts(f, false)
	indent := it.text[:len(it.text)-len(strings.TrimLeft(it.text, " \t"))]
	texts := []string{fitted(own[0], head)}
	for i, c := range cells {
		switch {
		case c.own < 0:
			s := " " + c.text + strings.Repeat(" ", max(0, c.width-utf8.RuneCountInString(c.text)))
			if i < len(cells)-1 {
				s += " "
			}
			texts = append(texts, s)
		default:
			texts = append(texts, fitted(own[c.own+1], c.text))
		}
	}
	for i := range texts[:len(texts)-1] { // what stood last has no blank before a bar
		if !strings.HasSuffix(texts[i], " ") {
			texts[i] += " "
		}
	}
	return strings.TrimRight(indent+strings.Join(texts, "|"), " ")
}

// fitted puts a text in the place of what stands between two bars.
func fitted(old, s string) string {
	trimmed := strings.TrimSpace(old)
	if trimmed == s {
		return old
	}
	from := len(old) - len(strings.TrimLeft(old, " \t"))
	before, after := old[:from], old[from+len(trimmed):]
	more := utf8.RuneCountInString(s) - utf8.RuneCountInString(trimmed)
	if len(before) > 1 { // set to the right
		keep := max(1, len(before)-more)
		return strings.Repeat(" ", keep) + s + after
	}
	if len(after) > 0 {
		after = strings.Repeat(" ", max(1, len(after)-more))
	}
	return before + s + after
}
