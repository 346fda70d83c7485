package eval

import (
	"math"

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
	area  span
	core  span      // of the area, where the weight is 1; all of it where there is no feather
	w     []float64 // by cell of the area; nil where the core is all of it
	flat  []float64 // by cell of the map, padded; for steps that go over whole rows
	mixed bool      // cells has a weight for each cell of the map
	// For each range of `over`: whether it reaches any breakpoint.
	reach []bool

	row, col, one, cells []float64 // working memory
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

// weigh works out the weights of some ranges, into memory that is used again. Those
// that are the same in every tune are known already; nil for the others.
func (w *weights) weigh(ranges []ends, known [][]float64, rows []bool, cells *Cells) {
	nr, nc := cells.nrows(), len(cells.Cols)
	w.row, w.col, w.reach = ones(w.row, nr), ones(w.col, nc), w.reach[:0]
	// A product of three weights depends on their order, if only by its last bit: it
	// is the order written, cell by cell.
	mixed := len(ranges) > 2
	w.mixed = mixed
	if mixed {
		w.cells = ones(w.cells, nr*nc)
	}
	for i := range ranges {
		points, line := cells.Cols, w.col
		if rows[i] {
			points, line = cells.Rows, w.row
		}
		one := known[i]
		if one == nil {
			w.one = grow(w.one, len(points))
			one = w.one
			ranges[i].weights(one, points)
		}
		touched := false
		for j, k := range one {
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
	case w.core.empty():
		w.core = span{w.area.r0, w.area.r0, w.area.c0, w.area.c0}
	}
}

// flatten writes the weight of each cell of the map; at least, of the tiles that the
// area's rows are in.
func (w *weights) flatten(cells *Cells) {
	a, nc := w.area, len(cells.Cols)
	w.flat = growPadded(w.flat, cells.N())
	all := w.flat[:cap(w.flat)]
	if useWide {
		clear(all[a.r0*nc&^(tileSize-1) : a.r0*nc])
		clear(all[a.r1*nc : min(padded(a.r1*nc), len(all))])
	} else {
		clear(all)
	}
	switch {
	case a.empty():
	case w.mixed:
		copy(w.flat[a.r0*nc:a.r1*nc], w.cells[a.r0*nc:]) // 0 beside the area
	default:
		arith(formula.Mul, &Column{w.flat[a.r0*nc:], nc, 1}, &Column{w.col, 0, 1}, &Column{w.row[a.r0:], 1, 0}, a.nr(), nc)
	}
}

// fill writes the weight of each cell of the area, where they aren't all 1.
func (w *weights) fill(nc int) {
	a, mixed := w.area, w.mixed
	if w.core == w.area {
		return
	}
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
	var w [1]float64
	e.weights(w[:], []float64{x})
	return w[0]
}

// weights gives the weights of some points. A breakpoint at the feather's end has
// none, also where 1 - 0.9 comes out a little less than 0.1.
func (e *ends) weights(dst, points []float64) {
	lo, hi, feather := e.lo, e.hi, e.feather
	if !e.hasLo {
		lo = math.Inf(-1)
	}
	if !e.hasHi {
		hi = math.Inf(1)
	}
	for i, x := range points {
		w := 1.0
		if x < lo || x > hi {
			d := lo - x
			if x > hi {
				d = x - hi
			}
			if w = 1 - d/feather; !(d < feather && w > 1e-12) {
				w = 0
			}
		}
		dst[i] = w
	}
}

// RangeWeight is the weight that one range gives to a place on its axis.
func RangeWeight(w *check.Weight, env formula.Conditions, x float64) float64 {
	e, err := endsOf(w, env)
	if err != nil {
		return 0
	}
	return e.weight(x)
}
