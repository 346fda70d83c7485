package grid

import (
	"strconv"
	"strings"
)

// AxisHead names an axis in the corner of a table: "rpm [rpm]", or the bare
// name of an axis of plain numbers.
type AxisHead struct{ Name, Unit string }

// String returns the head's text.
func (h AxisHead) String() string {
	if h.Unit == "" {
		return h.Name
	}
	return h.Name + " [" + h.Unit + "]"
}

// AppendCSV appends a table as CSV text: RFC 4180, with LF line ends.
//
// The corner names both axes, as "throttle [%] \ rpm [rpm]"; the column axis
// runs along the first line, the row axis down the first column. A table over
// one axis has its axis in the corner and one line of cells under an empty first
// cell; rows is not looked at. Breakpoints are written in their shortest exact
// form and cells to the resolution, all without an exponent.
func AppendCSV(dst []byte, t *Table, rows, cols AxisHead, res Res) []byte {
	return NewCSVFrame(t.Rows, t.Cols, rows, cols, res).Append(dst, t.Cells)
}

// CSVFrame is the text of a table but for its cells, to write many tables that
// have the same axes.
type CSVFrame struct {
	first  string   // the line of the column axis
	starts []string // of each line of cells
	cols   int
	res    Res
}

// NewCSVFrame makes the frame of tables with these breakpoints; rows is nil for
// those over one axis.
func NewCSVFrame(rows, cols []float64, rowHead, colHead AxisHead, res Res) *CSVFrame {
	f := &CSVFrame{starts: []string{""}, cols: len(cols), res: res}
	corner := colHead.String()
	if rows != nil {
		corner = rowHead.String() + ` \ ` + corner
		f.starts = make([]string, len(rows))
		for i, x := range rows {
			f.starts[i] = Exact(x)
		}
	}
	first := appendField(nil, corner)
	for _, x := range cols {
		first = appendBreakpoint(append(first, ','), x)
	}
	f.first = string(append(first, '\n'))
	return f
}

// Append appends the table of these cells, as [AppendCSV] does.
func (f *CSVFrame) Append(dst []byte, cells []float64) []byte {
	dst = append(dst, f.first...)
	for r, start := range f.starts {
		dst = append(dst, start...)
		dst = f.res.appendCells(dst, cells[r*f.cols:(r+1)*f.cols])
		dst = append(dst, '\n')
	}
	return dst
}

// appendBreakpoint appends the shortest text that reads back as x.
func appendBreakpoint(dst []byte, x float64) []byte {
	if x == 0 {
		return append(dst, '0') // not -0
	}
	return strconv.AppendFloat(dst, x, 'f', -1, 64)
}

// Exact writes the shortest text that reads back as x.
func Exact(x float64) string { return string(appendBreakpoint(nil, x)) }

// appendField appends a field's text, in quotes where RFC 4180 wants them.
func appendField(dst []byte, text string) []byte {
	if !strings.ContainsAny(text, "\",\r\n") {
		return append(dst, text...)
	}
	dst = append(dst, '"')
	dst = append(dst, strings.ReplaceAll(text, `"`, `""`)...)
	return append(dst, '"')
}
