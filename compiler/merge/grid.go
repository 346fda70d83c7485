package merge

import (
	"strings"

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
