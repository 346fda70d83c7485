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
	corner := cols.String()
	if t.Rows != nil {
		corner = rows.String() + ` \ ` + corner
	}
	dst = appendField(dst, corner)
	for _, x := range t.Cols {
		dst = appendBreakpoint(append(dst, ','), x)
	}
	dst = append(dst, '\n')
	for r := range t.NRows() {
		if t.Rows != nil {
			dst = appendBreakpoint(dst, t.Rows[r])
		}
		for c := range t.Cols {
			dst = res.Append(append(dst, ','), t.At(r, c))
		}
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
