package grid

import "math"

// Knot says where a coordinate stands among ascending breakpoints: at
// breakpoint I, or the fraction F of the way from it to the next one.
//
// F is in [0, 1) and is 0 exactly at a breakpoint, and at or beyond the ends.
// F is NaN for a coordinate that is NaN.
type Knot struct {
	I int
	F float64
}

// Find returns the knot of x among ascending points. Without points, as on the
// missing axis of a table over one axis, it is knot 0.
func Find(points []float64, x float64) Knot {
	if math.IsNaN(x) {
		return Knot{F: x}
	}
	last := len(points) - 1
	if last <= 0 || x <= points[0] {
		return Knot{}
	}
	if x >= points[last] {
		return Knot{I: last}
	}
	// Invariant: points[lo] <= x < points[hi].
	lo, hi := 0, last
	for hi-lo > 1 {
		mid := int(uint(lo+hi) >> 1)
		if points[mid] <= x {
			lo = mid
		} else {
			hi = mid
		}
	}
	return Knot{I: lo, F: fraction(points[lo], points[hi], x)}
}

// FindFrom is Find where the coordinate is thought to stand near breakpoint i, as
// the next of ascending ones does.
func FindFrom(points []float64, x float64, i int) Knot {
	last := len(points) - 1
	if last <= 0 || x <= points[0] || x >= points[last] || math.IsNaN(x) {
		return Find(points, x)
	}
	for points[i+1] <= x {
		i++
	}
	for points[i] > x {
		i--
	}
	return Knot{I: i, F: fraction(points[i], points[i+1], x)}
}

// fraction returns how far x is from a towards b, for a <= x < b: in [0, 1),
// and 0 only where x equals a, whatever the rounding of the quotient.
func fraction(a, b, x float64) float64 {
	if x == a {
		return 0
	}
	f := (x - a) / (b - a)
	if math.IsInf(b-a, 0) {
		f = (float64(x/2) - float64(a/2)) / (float64(b/2) - float64(a/2))
	}
	return min(max(f, math.SmallestNonzeroFloat64), 1-0x1p-53)
}

// KnotsOf returns the knot of every value of at among ascending points.
func KnotsOf(points, at []float64) []Knot {
	knots := make([]Knot, len(at))
	for i, x := range at {
		knots[i] = Find(points, x)
	}
	return knots
}

// Lookup returns the value of a table over one axis at x: linear between
// breakpoints, the edge's value beyond them, NaN for NaN.
func (t *Table) Lookup(x float64) float64 {
	return t.LookupKnots(Knot{}, Find(t.Cols, x))
}

// Lookup2 returns the value of a table over two axes at a row and a column
// coordinate: bilinear between breakpoints, exact at them, the edge's value
// beyond them, NaN where either coordinate is NaN. On a table over one axis the
// row coordinate makes no difference unless it is NaN.
func (t *Table) Lookup2(row, col float64) float64 {
	return t.LookupKnots(Find(t.Rows, row), Find(t.Cols, col))
}

// LookupKnots is the look-up at coordinates found before: along the columns
// first, in both rows, then between the rows. A neighbour that has no weight is
// not read, so its value cannot matter.
func (t *Table) LookupKnots(r, c Knot) float64 {
	if math.IsNaN(r.F) || math.IsNaN(c.F) {
		return math.NaN()
	}
	v := t.alongRow(r.I, c)
	if r.F == 0 {
		return v
	}
	return between(v, t.alongRow(r.I+1, c), r.F)
}

func (t *Table) alongRow(r int, c Knot) float64 {
	i := r*len(t.Cols) + c.I
	if c.F == 0 {
		return t.Cells[i]
	}
	return between(t.Cells[i], t.Cells[i+1], c.F)
}

// between goes the fraction f of the way from a to b. The conversion forbids
// a fused multiply-add, which would give other bits on other machines.
func between(a, b, f float64) float64 {
	return a + float64(f*(b-a))
}

// Gather appends to dst the value of the table at every crossing of the row and
// column knots, row by row. The knots of a table over one axis are one zero
// row knot and those of its columns.
func (t *Table) Gather(dst []float64, rows, cols []Knot) []float64 {
	for _, r := range rows {
		for _, c := range cols {
			dst = append(dst, t.LookupKnots(r, c))
		}
	}
	return dst
}
