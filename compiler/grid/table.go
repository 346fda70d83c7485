// Package grid is plain arithmetic on tables of numbers: looking a value up
// between breakpoints, filling blank cells, rounding to a resolution, and
// reading and writing tables as CSV. It knows nothing of the language: no
// units, no names of maps, no rules.
//
// A [Table] holds its cells in row-major order under one or two ascending
// axes. A look-up first finds, by binary search, where each coordinate stands
// among the breakpoints (a [Knot]: an index and a fraction towards the next
// breakpoint), then goes linearly along the columns in the one or two rows it
// needs, then between those rows. Beyond its outermost breakpoints a table
// holds its edge. The order of operations is fixed and no product is fused with
// a sum, so the same table gives the same bits on every machine.
//
// [Fill] gives each blank cell a value from the cells given, and only from
// those, so the order of filling cannot matter. [Res] rounds half to even on
// the exact binary value of a number, to a decimal step or to six significant
// digits. [AppendCSV] writes a table as CSV text; [ReadCSV] reads the same
// shape back and refuses whatever could be read in two ways; [Records] is the
// strict splitter underneath, which keeps the place of every field.
//
// In go slices of float64 and bytes, out come slices of float64, bytes and
// lists of errors with their places. The package imports the standard library
// alone; any stage of the compiler may import it.
package grid

import "slices"

// Table is a table of numbers over one or two axes.
//
// Cells are in row-major order. A table over one axis has Rows == nil and
// len(Cells) == len(Cols). Breakpoints ascend strictly and are finite, and
// there is at least one on each axis; nothing here checks that again.
type Table struct {
	Rows, Cols []float64
	Cells      []float64
}

// NRows returns the number of rows of cells: 1 for a table over one axis.
func (t *Table) NRows() int {
	if t.Rows == nil {
		return 1
	}
	return len(t.Rows)
}

// At returns the cell at row r and column c, both counted from 0.
func (t *Table) At(r, c int) float64 {
	return t.Cells[r*len(t.Cols)+c]
}

// Union returns the values of all lists in ascending order, equal ones once.
func Union(lists ...[]float64) []float64 {
	n := 0
	for _, l := range lists {
		n += len(l)
	}
	all := make([]float64, 0, n)
	for _, l := range lists {
		all = append(all, l...)
	}
	// Stable, so that of 0 and -0 the one named first stays.
	slices.SortStableFunc(all, func(a, b float64) int {
		switch {
		case a < b:
			return -1
		case a > b:
			return 1
		}
		return 0
	})
	return slices.Compact(all)
}
