// Package resample brings a table to other breakpoints and to a way of storing
// its values, and tells what each costs. It is plain arithmetic.
//
// How it goes. A table is looked up, linearly, at the new breakpoints (To). What
// that costs is told at the old ones: there the new table is looked up and set
// against the old cells (Compare). Storing divides what a value is over the
// offset by the step and rounds half to even, on the decimals as they are
// written (store.go, decimal.go). Where breakpoints are to be chosen, those with
// the least error are: along one axis by dynamic programming over the places
// between which a line may be drawn (choose.go), along two by improving one
// after the other from an even start until neither does (both.go).
//
// In: grid.Table. Out: grid.Table, raw numbers, breakpoints, errors. It imports
// grid and table; check, target and cmd import it.
package resample

import (
	"math"
	"slices"

	"fettle/compiler/grid"
)

// To looks a table up at other breakpoints; rows are nil for a table over one
// axis.
func To(t *grid.Table, rows, cols []float64) grid.Table {
	out := grid.Table{Rows: rows, Cols: cols}
	if slices.Equal(t.Rows, rows) && slices.Equal(t.Cols, cols) {
		out.Cells = slices.Clone(t.Cells)
		return out
	}
	knots := []grid.Knot{{}}
	if rows != nil {
		knots = grid.KnotsOf(t.Rows, rows)
	}
	out.Cells = t.Gather(make([]float64, 0, len(knots)*len(cols)), knots, grid.KnotsOf(t.Cols, cols))
	return out
}

// Error is how far a table is off from another, over its cells.
type Error struct {
	Largest float64
	Mean    float64
	At      []float64 // the cell of the largest, by the axes; the first of several
}

// Less compares by the largest error, then by the mean.
func (e Error) Less(o Error) bool {
	return e.Largest < o.Largest || e.Largest == o.Largest && e.Mean < o.Mean
}

// noise is the share of a value that looking it up may leave behind.
const noise = 1e-12

// Compare looks a table up at the breakpoints of another, and tells how far it
// is off from those cells.
func Compare(own, other *grid.Table) Error {
	at := other.Cells
	if !slices.Equal(own.Rows, other.Rows) || !slices.Equal(own.Cols, other.Cols) {
		rows := []grid.Knot{{}}
		if own.Rows != nil {
			rows = grid.KnotsOf(other.Rows, own.Rows)
		}
		at = other.Gather(make([]float64, 0, len(own.Cells)), rows, grid.KnotsOf(other.Cols, own.Cols))
	}
	e := Error{Largest: -1}
	largest := -1
	sum := 0.0
	for i, y := range own.Cells {
		x := at[i]
		d := math.Abs(x - y)
		if d <= noise*max(math.Abs(x), math.Abs(y)) {
			d = 0
		}
		sum += d
		if d > e.Largest {
			e.Largest, largest = d, i
		}
	}
	if largest >= 0 {
		e.At = cell(own, largest/len(own.Cols), largest%len(own.Cols))
	}
	e.Mean = sum / float64(len(own.Cells))
	return e
}

// cell gives the coordinates of a cell, by the axes.
func cell(t *grid.Table, r, c int) []float64 {
	if t.Rows == nil {
		return []float64{t.Cols[c]}
	}
	return []float64{t.Rows[r], t.Cols[c]}
}

// Axis is the breakpoints of one axis: fixed, or Auto of them to be chosen among
// Grid, its first and last kept.
type Axis struct {
	Points []float64 // nil with Auto
	Auto   int
	Grid   []float64
}

// Choose settles the breakpoints of a table; rows are of no account for one over
// one axis.
func Choose(t *grid.Table, rows, cols Axis) (r, c []float64) {
	r, c = rows.Points, cols.Points
	if t.Rows == nil {
		r = nil
	}
	switch {
	case rows.Auto > 0 && t.Rows != nil && cols.Auto > 0:
		return both(t, rows, cols)
	case rows.Auto > 0 && t.Rows != nil:
		r = along(t, c, rows)
		if even := Even(rows.Grid, rows.Auto); !better(t, off(t, r, c), off(t, even, c)) {
			r = even
		}
	case cols.Auto > 0:
		c = across(t, r, cols)
		if even := Even(cols.Grid, cols.Auto); !better(t, off(t, r, c), off(t, r, even)) {
			c = even
		}
	}
	return r, c
}

// better says whether one error is less than another by more than float noise:
// of breakpoints that are as good as even ones, the even ones read better.
func better(t *grid.Table, a, b Error) bool {
	size := 0.0
	for _, x := range t.Cells {
		size = max(size, math.Abs(x))
	}
	noise := float64(1e-12 * size)
	return a.Largest < b.Largest-noise || a.Largest <= b.Largest+noise && a.Mean < b.Mean-noise
}
