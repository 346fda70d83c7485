package merge

import (
	"path"
	"strings"

	"fettle/compiler/grid"
)

// csvFile is a CSV table with its records as written.
type csvFile struct {
	*table
	above   [][]string // blank lines above each row
	tail    []string
	isGrid  bool
	rowAxis grid.AxisHead
	colAxis grid.AxisHead
}

// csv merges three CSV tables by their cells. Fields are kept as written, in
// quotes or not, with the blanks around them.
func (m *merger) csv() (doc, string) {
	var files [3]*csvFile
	var tables [3]*table
	for side := range files {
		f, why := readCSV(m.lines[side])
		if why != "" {
			return nil, sideNames[side] + " can't be read as a table (" + why + ")"
		}
		files[side], tables[side] = f, f.table
	}
	o := files[ours]
	g := mergeTables(tables, o.isGrid)
	if g == nil {
		return nil, "the three are tables of different kinds, or a name stands twice, or both sides moved rows or columns"
	}
	conflicts, notes := g.messages(path.Base(m.opt.Path), o.placer(g), "blank")
	m.res.Conflicts, m.res.Notes = append(m.res.Conflicts, conflicts...), append(m.res.Notes, notes...)
	return csvLines(g, files), ""
}

// placer names a cell by its row and column.
func (f *csvFile) placer(g *merged) func(r, c int) string {
	return func(r, c int) string {
		if !f.isGrid {
			return g.rowLabel(r).key + ", " + g.colLabel(c).key
		}
		at := onAxis(f.colAxis.Name, f.colAxis.Unit, g.colLabel(c).text)
		if f.rowAxis.Name != "" {
			at = onAxis(f.rowAxis.Name, f.rowAxis.Unit, g.rowLabel(r).text) + ", " + at
		}
		return at
	}
}

// csvLines writes the merged table.
func csvLines(g *merged, files [3]*csvFile) (out doc) {
	record := func(side int, first string, text func(c int) string) []string {
		fields := []string{first}
		for _, c := range g.cols {
			if g.hasCol(side, c) {
				fields = append(fields, text(c))
			}
		}
		return strings.Split(strings.Join(fields, ","), "\n")
	}
	put := func(clash bool, at func(side int) []string) {
		if !clash {
			out.add(at(ours)...)
			return
		}
		out.clash([3][]string{at(base), at(ours), at(theirs)})
	}
	all := len(g.colGone) > 0
	put(all || g.headClash, func(side int) []string {
		return record(side, g.cornerText(side), func(c int) string { return g.colText(side, c) })
	})
	for _, r := range g.rows {
		for _, side := range []int{ours, theirs, base} {
			if i, ok := g.rowAt[side][r]; ok {
				out.add(files[side].above[i]...)
				break
			}
		}
		put(all || g.rowClash[r], func(side int) []string {
			if !g.hasRow(side, r) || side == base && !has(g.rowAt, base, r) && g.rowClash[r] {
				return nil
			}
			return record(side, g.rowLabel(r).text, func(c int) string { return g.text(side, r, c, "") })
		})
	}
	out.add(files[ours].tail...)
	return out
}

// readCSV reads a grid or a catalogue; why says what keeps it from that.
func readCSV(lines []string) (f *csvFile, why string) {
	all := text(lines)
	records, faults := grid.Records([]byte(all))
	switch {
	case len(faults) > 0:
		return nil, faults[0].Error()
	case len(records) == 0:
		return nil, "it is empty"
	}
	f = &csvFile{table: &table{}}
	head := records[0]
	if t, faults := grid.ReadCSV([]byte(all)); len(faults) == 0 {
		f.isGrid, f.numeric, f.rowAxis, f.colAxis = true, true, t.RowHead, t.ColHead
		f.axes = [2]string{t.RowHead.Name, t.ColHead.Name}
	} else if strings.TrimSpace(head[0].Text) != "name" {
		return nil, faults[0].Error()
	}
	for i, field := range head {
		l := f.labelOf(all, field)
		if i == 0 {
			f.corner = l
		} else {
			f.cols = append(f.cols, l)
		}
	}
	var above []string
	end := 0
	for _, rec := range records[1:] {
		end = rec[len(rec)-1].To
		if len(rec) == 1 && !rec[0].Quoted && strings.TrimSpace(rec[0].Text) == "" {
			above = append(above, all[rec[0].From:rec[0].To])
			continue
		}
		if len(rec) != len(head) {
			return nil, "a row has more or fewer cells than the first line"
		}
		r := row{label: f.labelOf(all, rec[0])}
		for _, field := range rec[1:] {
			l := f.labelOf(all, field)
			if f.isGrid && l.norm == "_" {
				l.norm = ""
			}
			r.cells = append(r.cells, cell{l.norm, l.text})
		}
		f.rows, f.above, above = append(f.rows, r), append(f.above, above), nil
	}
	if end == 0 {
		end = head[len(head)-1].To
	}
	if n := strings.Count(all[:end], "\n") + 1; n < len(lines) {
		f.tail = lines[n:]
	}
	return f, ""
}

// labelOf reads a field.
func (f *csvFile) labelOf(all string, field grid.Field) label {
	said := strings.TrimSpace(field.Text)
	l := label{norm: normNumber(said), text: all[field.From:field.To]}
	if l.key = l.norm; !f.isGrid {
		name, _, _ := strings.Cut(said, "[")
		l.key = strings.TrimSpace(name)
	} else if v, ok := grid.ParseNumber(said); ok {
		l.value = v
	}
	return l
}
