package celltext

import (
	"strings"

	"fettle/compiler/grid"
)

// writeCSV writes a CSV file's rows out, if the text is a map's or a catalogue's.
func writeCSV(l *lines) bool {
	head, _, _ := strings.Cut(l.text, "\n")
	if !strings.Contains(head, ",") {
		return false
	}
	first, _ := grid.Records([]byte(head))
	if len(first) != 1 || len(first[0]) < 2 {
		return false
	}
	t, columns := csvTable(first[0]), csvHeads(first[0])
	if t == nil && columns == nil {
		return false
	}
	records, _ := grid.Records([]byte(l.text))
	var rows [][]string // as written; nil for one that isn't as wide as the head
	var points []string
	for i, r := range records {
		var cells []string
		if i > 0 && len(r) == len(first[0]) {
			for _, f := range r {
				cells = append(cells, strings.Trim(l.text[f.From:f.To], " \t"))
			}
			points = append(points, cells[0])
		}
		rows = append(rows, cells)
	}
	if t != nil && t.row.name != "" {
		t.row = newAxis(t.row.name, t.row.unit, points)
	}
	for i, cells := range rows {
		if cells == nil || t != nil && (cells[0] != "") != (t.row.name != "") {
			continue
		}
		l.instead(records[i][0].From, records[i][len(cells)-1].To, func() {
			if t != nil {
				t.cells(l, cells[0], cells[1:])
			} else {
				columns.row(l, "", cells)
			}
		})
	}
	return true
}

// csvTable reads the head of a table: the axes in its corner, and breakpoints.
func csvTable(head []grid.Field) *table {
	t := &table{}
	var points []string
	for _, f := range head[1:] {
		p := strings.Trim(f.Text, " \t")
		if _, ok := grid.ParseNumber(p); !ok {
			return nil
		}
		points = append(points, p)
	}
	row, col, two := strings.Cut(head[0].Text, `\`)
	if !two {
		row, col = "", row
	}
	c, ok := grid.ParseHead(col)
	if !ok {
		return nil
	}
	t.col, t.cols = newAxis(c.Name, c.Unit, points), points
	if two {
		r, ok := grid.ParseHead(row)
		if !ok {
			return nil
		}
		t.row = newAxis(r.Name, r.Unit, nil)
	}
	return t
}

// csvHeads reads the head of a catalogue, whose first column is `name`.
func csvHeads(head []grid.Field) heads {
	var out heads
	for i, f := range head {
		h, ok := grid.ParseHead(f.Text)
		if !ok || i == 0 && (h.Name != "name" || h.Unit != "") {
			return nil
		}
		out = append(out, h)
	}
	return out
}
