package grid

import "slices"

// Fill gives the cells that were not given a value from those that were.
//
// A blank cell takes, whichever comes first:
//
//  1. the line between the nearest given cells on either side along its row,
//  2. the line between the nearest given cells on either side along its column,
//  3. the value of the nearest given cell of its row,
//  4. the value of the nearest given cell of its column.
//
// "Nearest" needs no tie-break: where cells are given on both sides the first
// two cases hold, so in the last two they all lie on one side. Only given cells
// count, never cells filled before, so the order of filling cannot matter.
//
// rows is nil for a table over one axis. from[i] lists the indexes of the one
// or two given cells that cell i leaned on, the lower index first; it is nil for
// a given cell. Where a blank has nothing to lean on, ok is false and bad is
// the index of the first such cell (it stays as it was); otherwise bad is -1.
// The cells handed in are not changed.
func Fill(rows, cols, cells []float64, given []bool) (filled []float64, from [][]int, bad int, ok bool) {
	filled = append([]float64(nil), cells...)
	from = make([][]int, len(cells))
	bad = -1
	if !slices.Contains(given, false) {
		return filled, from, bad, true
	}
	f := filler{rows: rows, cols: cols, cells: cells}
	f.look(given)
	for i := range cells {
		if given[i] {
			continue
		}
		from[i] = f.leansOn(i)
		switch len(from[i]) {
		case 0:
			if bad < 0 {
				bad = i
			}
		case 1:
			filled[i] = cells[from[i][0]]
		case 2:
			filled[i] = f.line(i, from[i][0], from[i][1])
		}
	}
	return filled, from, bad, bad < 0
}

// filler knows, for every cell, the index of the nearest given cell in each of
// the four directions, or -1.
type filler struct {
	rows, cols, cells     []float64
	left, right, up, down []int
}

// look finds the nearest given cells in two passes over the table, so that a
// large table that is mostly blank costs no more than a full one.
func (f *filler) look(given []bool) {
	n, nc := len(f.cells), len(f.cols)
	f.left, f.right = make([]int, n), make([]int, n)
	f.up, f.down = make([]int, n), make([]int, n)
	// seen gives what the neighbour before i knows, in one of the directions.
	seen := func(list []int, inside bool, neighbour int) int {
		switch {
		case !inside:
			return -1
		case given[neighbour]:
			return neighbour
		}
		return list[neighbour]
	}
	for i := range n {
		f.left[i] = seen(f.left, i%nc > 0, i-1)
		f.up[i] = seen(f.up, i >= nc, i-nc)
	}
	for i := n - 1; i >= 0; i-- {
		f.right[i] = seen(f.right, i%nc < nc-1, i+1)
		f.down[i] = seen(f.down, i+nc < n, i+nc)
	}
}

// leansOn returns the given cells that blank cell i takes its value from.
func (f *filler) leansOn(i int) []int {
	l, r, u, d := f.left[i], f.right[i], f.up[i], f.down[i]
	switch {
	case l >= 0 && r >= 0:
		return []int{l, r}
	case u >= 0 && d >= 0:
		return []int{u, d}
	}
	for _, one := range []int{l, r, u, d} {
		if one >= 0 {
			return []int{one}
		}
	}
	return nil
}

// line returns the value at cell i of the straight line through the cells a
// and b, which lie on either side of it in its row or in its column.
func (f *filler) line(i, a, b int) float64 {
	nc := len(f.cols)
	if a/nc == b/nc {
		return between(f.cells[a], f.cells[b], fraction(f.cols[a%nc], f.cols[b%nc], f.cols[i%nc]))
	}
	return between(f.cells[a], f.cells[b], fraction(f.rows[a/nc], f.rows[b/nc], f.rows[i/nc]))
}
