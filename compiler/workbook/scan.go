package workbook

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"iter"
	"strconv"

	"github.com/xuri/excelize/v2"
)

// marks is what a sheet's part says of its cells beside their values.
type marks struct {
	cells  map[[2]int]mark // by row and column, from 1
	merged []string
}

type mark struct {
	kind    string // the type, as the part has it
	style   int
	formula bool
	saved   bool // it has a value
}

// scan goes over a sheet's part once. It bounds what the sheet holds before
// anything is made of it.
func scan(part []byte, most int) (*marks, error) {
	out := &marks{cells: map[[2]int]mark{}}
	row, col, lastRow, lastCol := 0, 0, 0, 0
	at := [2]int{}
	filled := func(change func(m *mark)) {
		m := out.cells[at]
		change(&m)
		out.cells[at] = m
		lastRow, lastCol = max(lastRow, row), max(lastCol, col)
	}
	var failed error
	cell := mark{}
	for e := range elements(part, &failed) {
		switch e.Name.Local {
		case "row":
			row++
			if n, err := strconv.Atoi(attr(e, "r")); err == nil {
				row = n
			}
			col = 0
		case "c":
			col++
			if ref := attr(e, "r"); ref != "" {
				c, r, err := excelize.CellNameToCoordinates(ref)
				if err != nil {
					return nil, fmt.Errorf("its cell %q has no place", ref)
				}
				col, row = c, r
			}
			at = [2]int{row, col}
			style, _ := strconv.Atoi(attr(e, "s"))
			cell = mark{kind: attr(e, "t"), style: style}
		case "v", "is":
			filled(func(m *mark) { cell.formula, cell.saved = m.formula, true; *m = cell })
		case "f":
			filled(func(m *mark) { *m = cell; m.formula = true })
		case "mergeCell":
			out.merged = append(out.merged, attr(e, "ref"))
		}
		if row < 0 || row > excelize.TotalRows || lastRow*lastCol > most || len(out.merged) > most {
			return nil, ErrTooLarge
		}
	}
	return out, failed
}

// elements walks over the elements of a part by their beginnings.
func elements(part []byte, failed *error) iter.Seq[xml.StartElement] {
	return func(yield func(xml.StartElement) bool) {
		d := xml.NewDecoder(bytes.NewReader(part))
		for {
			t, err := d.RawToken()
			if err != nil {
				if err != io.EOF && failed != nil {
					*failed = err
				}
				return
			}
			if e, ok := t.(xml.StartElement); ok && !yield(e) {
				return
			}
		}
	}
}

// attr is an attribute of an element, whatever its name space.
func attr(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}
