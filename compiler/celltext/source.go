package celltext

import (
	"strings"
	"unicode/utf8"

	"fettle/compiler/grid"
	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// writeSource writes the tables of a source out. What the parser gave up on has
// no table.
func writeSource(l *lines) {
	f := source.New("", l.text)
	tree := syntax.ParseAsItStands(f, &diag.List{})
	units := map[string]string{} // of the axes that are declared here
	for _, d := range tree.Decls {
		if a, ok := d.(*syntax.Axis); ok {
			units[a.Name.Text] = text(a.Unit)
		}
	}
	for _, d := range tree.Decls {
		switch d := d.(type) {
		case *syntax.Map:
			writeGrid(l, f, d.Body, d.Name.Text, text(d.Unit), units)
		case *syntax.Curve:
			writeGrid(l, f, d.Body, d.Name.Text, text(d.Unit), units)
		case *syntax.Catalog:
			writeCatalog(l, f, d.Body, d.Name.Text)
		}
	}
}

func text(u *syntax.UnitRef) string {
	if u == nil {
		return ""
	}
	return source.OneLine(u.Text)
}

// writeGrid writes the rows of a grid that have as many cells as its head.
func writeGrid(l *lines, f *source.File, body *syntax.Token, name, unit string, units map[string]string) {
	if body == nil {
		return
	}
	rows := syntax.BodyLines(f, *body)
	if len(rows) == 0 {
		return
	}
	t := &table{name: name + " at ", unit: unit}
	axes, points, ok := halves(rows[0])
	rowHead, colHead, two := strings.Cut(axes, `\`)
	if !two {
		rowHead, colHead = "", axes
	}
	col, ok2 := grid.ParseHead(colHead)
	if !ok || !ok2 {
		return
	}
	known := func(h grid.AxisHead) string {
		if h.Unit != "" {
			return h.Unit
		}
		return units[h.Name]
	}
	if t.cols = strings.Fields(points); len(t.cols) == 0 {
		return // its rows would have no line at all
	}
	t.col = newAxis(col.Name, known(col), t.cols)
	if two {
		row, ok := grid.ParseHead(rowHead)
		if !ok {
			return
		}
		var at []string
		for _, r := range rows[1:] {
			point, _, _ := halves(r)
			at = append(at, point)
		}
		t.row = newAxis(row.Name, known(row), at)
	}
	for _, r := range rows[1:] {
		point, behind, ok := halves(r)
		cells := strings.Fields(behind)
		if ok && len(cells) == len(t.cols) && (point != "") == two {
			l.instead(r.From, r.To, func() { t.cells(l, point, cells) })
		}
	}
}

// halves parts a line of a grid at its bar.
func halves(s source.Span) (before, behind string, ok bool) {
	parts := syntax.SplitBars(s)
	if len(parts) != 2 {
		return "", "", false
	}
	return parts[0].Text(), parts[1].Text(), true
}

// heads are the columns of a catalogue.
type heads []grid.AxisHead

// row writes a row of a catalogue; its first cell is its name.
func (h heads) row(l *lines, catalog string, cells []string) {
	if len(h) == 1 {
		l.line(indent, catalog, cells[0])
		return
	}
	width := 0
	for _, c := range h[1:] {
		width = max(width, utf8.RuneCountInString(c.Name))
	}
	for i, c := range h[1:] {
		value := cells[i+1]
		if _, isNumber := syntax.Float(value); isNumber && c.Unit != "" {
			value += " " + c.Unit
		}
		l.line(indent, catalog, left(cells[0]+"."+c.Name, nameWidth+1+width), "   ", value)
	}
}

// writeCatalog writes the rows of a catalogue that have a cell for each column.
func writeCatalog(l *lines, f *source.File, body *syntax.Token, name string) {
	if body == nil {
		return
	}
	var columns heads
	for i, r := range syntax.BodyLines(f, *body) {
		var cells []string
		for _, c := range syntax.SplitBars(r) {
			cells = append(cells, c.Text())
		}
		if i > 0 && len(cells) == len(columns) {
			l.instead(r.From, r.To, func() { columns.row(l, name+".", cells) })
		}
		for _, c := range cells {
			h, ok := grid.ParseHead(c)
			if i == 0 && !ok {
				return
			}
			if i == 0 {
				columns = append(columns, h)
			}
		}
	}
}
