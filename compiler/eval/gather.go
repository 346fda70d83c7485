package eval

import (
	"slices"

	"fettle/compiler/grid"
)

// line is where a line of coordinates stands among a table's breakpoints: a knot
// for each, and the runs of them that are read together.
type line struct {
	knots []grid.Knot
	frac  []float64 // of each, from its breakpoint to the next
	runs  []run
	never bool // one of them is no number
	short bool // the runs aren't worth it
	// As rows: the first and the last that are read, and whether that is few for how
	// many there are to be.
	first, last int
	dense       bool
	// What it was made of.
	points, at []float64
}

// run is coordinates i to j, of which the first stands at or after breakpoint at,
// the next at or after the next one, and so on: all of them at their breakpoints
// (exact), or none.
type run struct {
	i, j, at int
	exact    bool
}

// set finds where coordinates stand, into memory that is used again. Several maps
// are often read at the same ones, one after the other.
func (l *line) set(points, coordinates []float64) *line {
	if len(coordinates) > 0 && slices.Equal(l.at, coordinates) && slices.Equal(l.points, points) {
		return l
	}
	l.points, l.at = points, append(l.at[:0], coordinates...)
	l.knots, l.frac, l.runs, l.never = l.knots[:0], l.frac[:0], l.runs[:0], false
	near := 0
	for i, x := range coordinates {
		k := grid.FindFrom(points, x, near)
		near = min(k.I, max(len(points)-2, 0))
		l.never = l.never || k.F != k.F
		l.knots, l.frac = append(l.knots, k), append(l.frac, k.F)
		exact := k.F == 0
		if n := len(l.runs); n > 0 && l.runs[n-1].exact == exact && l.runs[n-1].at+i-l.runs[n-1].i == k.I {
			l.runs[n-1].j = i + 1
		} else {
			l.runs = append(l.runs, run{i, i + 1, k.I, exact})
		}
	}
	l.short = wide*len(l.runs) > len(l.knots)
	l.spanned()
	return l
}

func (l *line) spanned() {
	exact := true
	l.first, l.last = len(l.points), 0
	for _, k := range l.knots {
		l.first, l.last = min(l.first, k.I), max(l.last, k.I)
		if k.F != 0 {
			l.last, exact = max(l.last, k.I+1), false
		}
	}
	l.dense = !exact && l.last-l.first <= len(l.knots)
}

func lineOf(points, coordinates []float64) *line { return new(line).set(points, coordinates) }

// oneRow is the row line of a table over one axis.
var oneRow = lineOf(nil, []float64{0})

// gather looks a table up at every crossing of a row and a column line: for each
// grid.Table.LookupKnots, a run of columns and, where rows are read as they are, a
// run of rows at once.
func (w *worker) gather(dst []float64, t *grid.Table, rows, cols *line) {
	n, nc := len(t.Cols), len(cols.knots)
	if rows.never || cols.never {
		for i := range dst {
			dst[i] = t.LookupKnots(rows.knots[i/nc], cols.knots[i%nc])
		}
		return
	}
	if rows.dense {
		w.gatherDense(dst, t, rows, cols)
		return
	}
	for _, r := range rows.runs {
		if r.exact {
			alongRows(&Column{dst[r.i*nc:], nc, 1}, &Column{t.Cells[r.at*n:], n, 1}, cols, r.j-r.i)
			continue
		}
		// The rows that these stand between, first to last.
		k := r.j - r.i + 1
		w.lines = grow(w.lines, k*nc)
		alongRows(&Column{w.lines, nc, 1}, &Column{t.Cells[r.at*n:], n, 1}, cols, k)
		for i := range k - 1 {
			between(dst[(r.i+i)*nc:][:nc], w.lines[i*nc:][:nc], w.lines[(i+1)*nc:][:nc], rows.frac[r.i+i])
		}
	}
}

// gatherDense reads each of the table's rows once and then between them.
func (w *worker) gatherDense(dst []float64, t *grid.Table, rows, cols *line) {
	n, nc := len(t.Cols), len(cols.knots)
	k := rows.last - rows.first + 1
	w.lines = grow(w.lines, k*nc)
	alongRows(&Column{w.lines, nc, 1}, &Column{t.Cells[rows.first*n:], n, 1}, cols, k)
	for i, knot := range rows.knots {
		to, from := dst[i*nc:][:nc], w.lines[(knot.I-rows.first)*nc:]
		if knot.F == 0 {
			copy(to, from)
			continue
		}
		between(to, from[:nc], from[nc:][:nc], knot.F)
	}
}

// alongRows reads nr rows of a table, each at the same columns.
func alongRows(d, cells *Column, cols *line, nr int) {
	if cols.short {
		for r := range nr {
			to, from := d.v[r*d.sr:][:len(cols.knots)], cells.v[r*cells.sr:]
			for c, k := range cols.knots {
				x := from[k.I]
				if k.F != 0 {
					x += float64(k.F * (from[k.I+1] - x))
				}
				to[c] = x
			}
		}
		return
	}
	for _, run := range cols.runs {
		to, from := d.from(0, run.i), cells.from(0, run.at)
		if !run.exact {
			rowsBetween(&to, &from, &Column{cols.frac[run.i:], 0, 1}, nr, run.j-run.i)
			continue
		}
		if run.j-run.i == 1 {
			for r := range nr {
				to.v[r*to.sr] = from.v[r*from.sr]
			}
			continue
		}
		for r := range nr {
			copy(to.v[r*to.sr:][:run.j-run.i], from.v[r*from.sr:])
		}
	}
}
