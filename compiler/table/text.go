package table

import (
	"strings"

	"fettle/compiler/grid"
)

// Text is a cell's value as it is printed: to the resolution of a map's own
// table, and to the last digit of a stored one, whose values aren't round.
func (t *Table) Text(x float64) string {
	if t.Storage != nil {
		return grid.Exact(x)
	}
	return t.Res.Format(x)
}

// Corner names the axes: "throttle [%] \ rpm [rpm]".
func (t *Table) Corner() string {
	head := func(a Axis) string { return grid.AxisHead{Name: a.Name, Unit: a.Unit}.String() }
	if t.Rows.Points == nil {
		return head(t.Cols)
	}
	return head(t.Rows) + ` \ ` + head(t.Cols)
}

// NRows is the number of rows of cells: 1 over one axis.
func (t *Table) NRows() int { return max(1, len(t.Rows.Points)) }

// Row gives a row of cells.
func (t *Table) Row(r int) []float64 {
	n := len(t.Cols.Points)
	return t.Cells[r*n : (r+1)*n]
}

// Axes gives the axes there are, that of the rows first.
func (t *Table) Axes() []Axis {
	if t.Rows.Points == nil {
		return []Axis{t.Cols}
	}
	return []Axis{t.Rows, t.Cols}
}

// CSV is the table as grid.AppendCSV writes it.
func (t *Table) CSV() []byte { return t.delimited(',') }

// TSV has the same shape with tabs, for the clipboard.
func (t *Table) TSV() []byte { return t.delimited('\t') }

func (t *Table) delimited(sep byte) []byte {
	var b strings.Builder
	b.WriteString(field(t.Corner(), sep))
	for _, x := range t.Cols.Points {
		b.WriteByte(sep)
		b.WriteString(grid.Exact(x))
	}
	b.WriteByte('\n')
	for r := range t.NRows() {
		if t.Rows.Points != nil {
			b.WriteString(grid.Exact(t.Rows.Points[r]))
		}
		for _, x := range t.Row(r) {
			b.WriteByte(sep)
			b.WriteString(t.Text(x))
		}
		b.WriteByte('\n')
	}
	return []byte(b.String())
}

// field writes a text so that it stays in its field and no spreadsheet runs it.
func field(text string, sep byte) string {
	text = strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return ' '
		}
		return r
	}, text)
	if start := strings.TrimLeft(text, " "); start != "" && strings.ContainsRune("=+-@", rune(start[0])) {
		text = "'" + text
	}
	if strings.ContainsAny(text, "\""+string(rune(sep))) {
		text = `"` + strings.ReplaceAll(text, `"`, `""`) + `"`
	}
	return text
}
