package merge

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"fettle/lang/source"
	"fettle/lang/syntax"
)

// table merges the grids or catalogues of three declarations by their cells.
// Each line of ours is kept, with the cells that theirs changed put in.
func (m *merger) table(b, o, t *piece) (out doc, ok bool) {
	v := [3]*piece{b, o, t}
	g := tablesOf(v)
	if g == nil {
		return nil, false
	}
	_, name, _ := strings.Cut(o.name, " ")
	conflicts, notes := g.messages(name, placer(g, o, m.units), "_")
	m.res.Conflicts, m.res.Notes = append(m.res.Conflicts, conflicts...), append(m.res.Notes, notes...)
	w := &writer{g: g, v: v, widths: map[int]int{}}
	return m.tableLines(w, o.name), true
}

// tablesOf merges the tables of declarations; nil if that can't be done.
func tablesOf(v [3]*piece) *merged {
	var tables [3]*table
	for side, p := range v {
		switch {
		case p.block == nil:
		case p.block.grid != nil:
			tables[side] = gridTable(p)
		case p.block.table != nil:
			tables[side] = catalogueTable(p)
		}
		if tables[side] == nil {
			return nil
		}
	}
	return mergeTables(tables, tables[base].numeric)
}

// gridTable reads a grid as cells.
func gridTable(p *piece) *table {
	g, items := p.block.grid, p.block.items
	if g == nil || len(items) == 0 {
		return nil
	}
	f := p.file
	number := func(n syntax.Num) label {
		s := n.Span(f).Text()
		return label{key: normNumber(s), norm: normNumber(s), text: s, value: n.Value}
	}
	corner, _, _ := strings.Cut(items[0].text, "|")
	t := &table{numeric: true, axes: [2]string{g.RowAxis.Name.Text, g.ColAxis.Name.Text}, corner: label{text: corner, norm: strings.Join(strings.Fields(corner), "")}}
	for _, c := range g.Cols {
		t.cols = append(t.cols, number(c))
	}
	if len(g.Cells) != len(g.Cols)*(len(items)-1) {
		return nil
	}
	for i, it := range items[1:] {
		r := row{said: it.comments()}
		if len(g.Rows) > 0 {
			r.label = number(g.Rows[i])
		}
		for _, c := range g.Cells[i*len(g.Cols) : (i+1)*len(g.Cols)] {
			s := c.Span(f).Text()
			r.cells = append(r.cells, cell{normNumber(s), s})
		}
		t.rows = append(t.rows, r)
	}
	return t
}

// comments are what stands above and behind an item.
func (it *item) comments() string {
	return strings.Join(append(inked(it.lead), strings.TrimSpace(it.note)), "\n")
}

// catalogueTable reads a catalogue as cells.
func catalogueTable(p *piece) *table {
	items := p.block.items
	if p.block.table == nil || p.block.table.Partial || len(items) == 0 || len(items) != len(p.block.table.Rows)+1 {
		return nil
	}
	t := &table{}
	for i, it := range items {
		cells := it.cuts(p.file, true)
		if i == 0 {
			for j, c := range cells {
				name, _, _ := strings.Cut(c, "[")
				l := label{key: strings.TrimSpace(name), norm: strings.Join(strings.Fields(c), " "), text: c}
				if j == 0 {
					t.corner = l
				} else {
					t.cols = append(t.cols, l)
				}
			}
			continue
		}
		if len(cells) != len(t.cols)+1 {
			return nil
		}
		r := row{label: label{key: cells[0], norm: cells[0], text: cells[0]}, said: it.comments()}
		for _, c := range cells[1:] {
			r.cells = append(r.cells, cell{normNumber(c), c})
		}
		t.rows = append(t.rows, r)
	}
	return t
}

// cuts are the texts between the bars of a catalogue's line.
func (it *item) cuts(f *source.File, trimmed bool) []string {
	span := source.Span{File: f, From: it.from, To: it.from + len(strings.TrimLeft(it.text, " \t"))}
	cells := syntax.SplitBars(span)
	out := make([]string, len(cells))
	at := span.From
	for i, c := range cells {
		if trimmed {
			out[i] = c.Text()
			continue
		}
		end := span.To
		if i < len(cells)-1 {
			end = c.To + strings.IndexByte(f.Text[c.To:span.To], '|')
		}
		out[i] = f.Text[at:end]
		at = end + 1
	}
	return out
}

// placer names a cell by its row and column.
func placer(g *merged, o *piece, units map[string]string) func(r, c int) string {
	if o.block.grid == nil {
		return func(r, c int) string { return g.rowLabel(r).key + ", " + g.colLabel(c).key }
	}
	axis := func(h syntax.HeadCell) (string, string) {
		if h.Unit != nil {
			return h.Name.Text, strings.TrimSpace(h.Unit.Text)
		}
		return h.Name.Text, units[h.Name.Text]
	}
	rowName, rowUnit := axis(o.block.grid.RowAxis)
	colName, colUnit := axis(o.block.grid.ColAxis)
	return func(r, c int) string {
		at := onAxis(colName, colUnit, g.colLabel(c).text)
		if rowName != "" {
			at = onAxis(rowName, rowUnit, g.rowLabel(r).text) + ", " + at
		}
		return at
	}
}

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
		if !g.hasRow(side, r) {
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
