package grid

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// CSVTable is a table read from CSV text.
type CSVTable struct {
	RowHead, ColHead AxisHead // RowHead is zero for a table over one axis
	Table            Table    // a blank cell is 0 here: see Given
	Given            []bool   // for each cell: not blank
	CellLine         []int    // the line that each row of cells starts on
}

// ReadCSV reads a table in the shape that [AppendCSV] writes: the corner cell
// names one axis or two, the columns' breakpoints follow it, and each line under
// it is a row's breakpoint and its cells (for one axis: an empty cell and the
// cells, on one line). An empty cell is a blank. Spaces and tabs around a cell
// don't count.
//
// What could be read in two ways is refused, never guessed: a decimal comma,
// thousands marks, lines of different length, breakpoints that don't ascend.
// All errors come at once, in order of place and at most 100; a table comes
// back only where there are none.
func ReadCSV(text []byte) (*CSVTable, []CSVError) {
	records, errs := Records(text)
	r := tableReader{errs: errs}
	switch {
	case len(records) > 0:
		r.table(records)
	case len(errs) == 0:
		r.errs = []CSVError{{Line: 1, Col: 1, Msg: "the file is empty"}}
	}
	if len(r.errs) == 0 {
		return &r.out, nil
	}
	// The splitter's errors come first in the list, so of two at one place
	// its own, the deeper one, stays.
	slices.SortStableFunc(r.errs, func(a, b CSVError) int { return cmp.Compare(a.From, b.From) })
	r.errs = slices.CompactFunc(r.errs, func(a, b CSVError) bool { return a.From == b.From })
	return nil, r.errs[:min(len(r.errs), maxCSVErrors)]
}

type tableReader struct {
	out  CSVTable
	errs []CSVError
}

func (r *tableReader) fault(f Field, msg, fix string) {
	// The fields are read in order of place, after the splitter has put in its
	// own errors, so the first of both lists are the first of all.
	if len(r.errs) < 2*maxCSVErrors {
		r.errs = append(r.errs, f.fault(msg, fix))
	}
}

// table reads all records; the first is the head.
func (r *tableReader) table(records [][]Field) {
	head := records[0]
	for _, f := range head {
		// With decimal commas in the head the line has commas as well.
		if strings.Contains(f.Text, ";") {
			r.errs = []CSVError{separatorError(f, "semicolon")}
			return
		}
	}
	two := r.corner(head[0])
	if len(head) == 1 {
		r.fault(head[0], "no breakpoints follow the corner cell", "")
	}
	body := records[1:]
	switch {
	case len(body) == 0:
		r.fault(head[0], "no cells follow the first line", "")
	case !two && (len(body) > 1 || trim(body[0][0].Text) != ""):
		r.fault(head[0], "the corner names one axis, but the cells have rows", "name both axes, as in `throttle [%] \\ rpm [rpm]`")
	}
	for _, f := range head[1:] {
		r.out.Table.Cols = r.breakpoint(r.out.Table.Cols, f, "column")
	}
	fields := 0
	for _, record := range body {
		fields += len(record) - 1
	}
	r.out.Table.Cells, r.out.Given = make([]float64, 0, fields), make([]bool, 0, fields)
	for _, record := range body {
		r.row(record, len(head), two)
	}
}

// corner reads the names of the axes and says whether there are two.
func (r *tableReader) corner(f Field) (two bool) {
	text := trim(f.Text)
	if i := strings.IndexFunc(text, func(c rune) bool { return !unicode.IsPrint(c) }); i >= 0 {
		r.fault(f, "the corner cell has a character that can't be seen", "")
		return strings.Contains(text, `\`)
	}
	row, col, two := strings.Cut(text, `\`)
	if strings.Contains(col, `\`) {
		r.fault(f, "the corner cell names more than two axes", "")
		return two
	}
	heads := []*AxisHead{&r.out.RowHead, &r.out.ColHead}
	texts := []string{row, col}
	if !two {
		heads, texts = heads[1:], []string{row}
	}
	for i, h := range heads {
		var ok bool
		if *h, ok = ParseHead(texts[i]); !ok {
			r.fault(f, "the corner cell doesn't name the axes", "write it as in `throttle [%] \\ rpm [rpm]`, or `rpm [rpm]` for one axis")
		}
	}
	return two
}

// ParseHead reads a head, "name [unit]" or "name", as the corner of a table or
// the heads of a catalogue have it. The name isn't empty, nor is a unit in
// brackets; what they mean is for others to say.
func ParseHead(text string) (AxisHead, bool) {
	name, rest, bracket := strings.Cut(trim(text), "[")
	h := AxisHead{Name: trim(name)}
	if bracket {
		unit, ok := strings.CutSuffix(rest, "]")
		h.Unit = trim(unit)
		if !ok || h.Unit == "" {
			return h, false
		}
	}
	return h, h.Name != "" && !strings.ContainsAny(h.Name+h.Unit, "[]")
}

// breakpoint appends a breakpoint to those read so far, which it must follow.
// which is "row" or "column".
func (r *tableReader) breakpoint(points []float64, f Field, which string) []float64 {
	if trim(f.Text) == "" {
		r.fault(f, "a "+which+" without its breakpoint", "")
		return points
	}
	x, ok := r.number(f)
	if !ok {
		return points
	}
	if n := len(points); n > 0 && x <= points[n-1] {
		r.fault(f, fmt.Sprintf("the %s breakpoints don't ascend: this follows %s", which, appendBreakpoint(nil, points[n-1])), "")
	}
	return append(points, x)
}

// row reads a line of cells under a first line of the given width.
func (r *tableReader) row(record []Field, width int, two bool) {
	if blankLine(record) && width > 1 {
		r.fault(record[0], "a blank line among the rows", "take the line out")
		return
	}
	if two {
		r.out.Table.Rows = r.breakpoint(r.out.Table.Rows, record[0], "row")
	}
	r.out.CellLine = append(r.out.CellLine, record[0].Line)
	for _, f := range record[1:min(len(record), width)] {
		text := trim(f.Text)
		given := text != "" && text != "_"
		v := 0.0
		if given {
			v, _ = r.number(f)
		}
		r.out.Table.Cells = append(r.out.Table.Cells, v)
		r.out.Given = append(r.out.Given, given)
	}
	if n := len(record); n != width {
		fix := ""
		if n > width {
			fix = "if there is a decimal comma, write a dot"
		}
		r.fault(record[min(n-1, width)], fmt.Sprintf("this line has %s, the first line has %d", count(n), width), fix)
	}
}

func (r *tableReader) number(f Field) (float64, bool) {
	text := trim(f.Text)
	v, ok := ParseNumber(text)
	if !ok {
		msg, fix := WhyNotNumber(text)
		r.fault(f, msg, fix)
	}
	return v, ok
}

func count(n int) string {
	if n == 1 {
		return "1 cell"
	}
	return fmt.Sprintf("%d cells", n)
}
