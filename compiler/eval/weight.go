package eval

import (
	"fettle/compiler/check"
	"fettle/lang/formula"
)

// span is a part of a map: rows r0 to r1 and columns c0 to c1, the ends left out.
type span struct{ r0, r1, c0, c1 int }

func (s span) nr() int     { return s.r1 - s.r0 }
func (s span) nc() int     { return s.c1 - s.c0 }
func (s span) empty() bool { return s.r0 >= s.r1 || s.c0 >= s.c1 }

// weights is where a step has a weight above 0, and how much. Weights differ by
// row and by column alone, so these are rectangles.
type weights struct {
	area span
	core span      // of the area, where the weight is 1; all of it where there is no feather
	w    []float64 // by cell of the area; nil where the core is all of it
	// For each range of `over`: whether it reaches any breakpoint.
	reach []bool

	row, col, cells []float64 // working memory
}

// at is the weight of a cell of the map.
func (w *weights) at(r, c int) float64 {
	a := w.area
	switch {
	case r < a.r0 || r >= a.r1 || c < a.c0 || c >= a.c1:
		return 0
	case w.w == nil:
		return 1
	}
	return w.w[(r-a.r0)*a.nc()+c-a.c0]
}

// everywhere is a step's weight without an `over`.
func everywhere(c *Cells) *weights {
	all := span{0, c.nrows(), 0, len(c.Cols)}
	return &weights{area: all, core: all}
}

// weigh works out the weights of some ranges, into memory that is used again.
func (w *weights) weigh(ranges []ends, rows []bool, cells *Cells) {
	nr, nc := cells.nrows(), len(cells.Cols)
	w.row, w.col, w.reach = ones(w.row, nr), ones(w.col, nc), w.reach[:0]
	// A product of three weights depends on their order, if only by its last bit: it
	// is the order written, cell by cell.
	mixed := len(ranges) > 2
	if mixed {
		w.cells = ones(w.cells, nr*nc)
	}
	for i, e := range ranges {
		points, line := cells.Cols, w.col
		if rows[i] {
			points, line = cells.Rows, w.row
		}
		touched := false
		for j, x := range points {
			k := e.weight(x)
			touched = touched || k > 0
			line[j] *= k
			if mixed && k != 1 {
				w.scale(j, k, rows[i], nr, nc)
			}
		}
		w.reach = append(w.reach, touched)
	}
	w.area.r0, w.area.r1 = inside(w.row, 0)
	w.area.c0, w.area.c1 = inside(w.col, 0)
	w.core.r0, w.core.r1 = inside(w.row, 1)
	w.core.c0, w.core.c1 = inside(w.col, 1)
	w.w = nil
	switch {
	case w.area.empty():
		w.area, w.core = span{}, span{}
	case w.core != w.area:
		if w.core.empty() {
			w.core = span{w.area.r0, w.area.r0, w.area.c0, w.area.c0}
		}
		w.fill(nc, mixed)
	}
}

// fill writes the weight of each cell of the area.
func (w *weights) fill(nc int, mixed bool) {
	a := w.area
	if !mixed {
		w.cells = grow(w.cells, a.nr()*a.nc())
	}
	i := 0
	for r := a.r0; r < a.r1; r++ {
		for c := a.c0; c < a.c1; c++ {
			if mixed {
				w.cells[i] = w.cells[r*nc+c]
			} else {
				w.cells[i] = w.row[r] * w.col[c]
			}
			i++
		}
	}
	w.w = w.cells[:i]
}

// scale multiplies the weights of a whole row or column.
func (w *weights) scale(j int, k float64, row bool, nr, nc int) {
	if row {
		for c := range nc {
			w.cells[j*nc+c] *= k
		}
		return
	}
	for r := range nr {
		w.cells[r*nc+j] *= k
	}
}

// inside finds the run of weights that are above 0, or those that are 1.
func inside(line []float64, least float64) (from, to int) {
	in := func(k float64) bool { return k >= least && k > 0 }
	for from < len(line) && !in(line[from]) {
		from++
	}
	to = len(line)
	for to > from && !in(line[to-1]) {
		to--
	}
	return from, to
}

func ones(v []float64, n int) []float64 {
	v = grow(v, n)
	for i := range v {
		v[i] = 1
	}
	return v
}

// ends is a range with its feather, in the axis's unit.
type ends struct {
	lo, hi, feather float64
	hasLo, hasHi    bool
}

func endsOf(w *check.Weight, env formula.Conditions) (ends, error) {
	out := ends{hasLo: w.Lo != nil, hasHi: w.Hi != nil}
	var err error
	for _, part := range [...]struct {
		n   *formula.Node
		dst *float64
	}{{w.Lo, &out.lo}, {w.Hi, &out.hi}, {w.Feather, &out.feather}} {
		if part.n != nil && err == nil {
			*part.dst, err = formula.Scalar(part.n, env)
		}
	}
	return out, err
}

// wrong says what makes a range unusable in this tune.
func (e ends) wrong() string {
	switch {
	case e.lo != e.lo || e.hi != e.hi || e.feather != e.feather:
		return "the range has an end that isn't a number"
	case e.hasLo && e.hasHi && e.lo > e.hi:
		return "the range ends before it begins"
	case e.feather < 0:
		return "the feather is negative"
	}
	return ""
}

// weight is 1 inside the range and falls to 0 over the feather outside it.
func (e ends) weight(x float64) float64 {
	switch {
	case e.hasLo && x < e.lo:
		return e.outside(e.lo - x)
	case e.hasHi && x > e.hi:
		return e.outside(x - e.hi)
	}
	return 1
}

// outside is the weight at a distance from the range. A breakpoint at the
// feather's end has none, also where 1 - 0.9 comes out a little less than 0.1.
func (e ends) outside(d float64) float64 {
	if w := 1 - d/e.feather; d < e.feather && w > 1e-12 {
		return w
	}
	return 0
}

// RangeWeight is the weight that one range gives to a place on its axis.
func RangeWeight(w *check.Weight, env formula.Conditions, x float64) float64 {
	e, err := endsOf(w, env)
	if err != nil {
		return 0
	}
	return e.weight(x)
}
