package review

import "math"

// When a cell sticks out of its surroundings: it changed by at least what reads as
// 5.0 % (of its value, or of the span of the map's values where shares make no sense) and by
// at least four times as much as any neighbour; in the map's unit by at least
// twice as much, for a like amount everywhere is a large share of a small value;
// and by more than a hundredth of that span and more than rounding can make.
// Common practice, no source.
const (
	spikeChange = 0.0495
	spikeRatio  = 4
	spikeAmount = 2
	spikeFloor  = 0.01
)

// surface is what changed of a map, in each cell of its own breakpoints. Cells
// are numbered along the rows.
type surface struct {
	rows, cols int       // 1 row over one axis
	along      []float64 // the columns' breakpoints
	down       []float64 // the rows'; nil over one axis
	old        []float64 // as printed
	change     []float64 // before rounding, where that is known
	step       float64   // what rounding can change a printed value by
	shares     bool      // a share of the old value makes sense
	leans      func(cell, on int) bool
	span       float64
}

// size is a change as it is judged: a share where that makes sense of the cell
// that it is judged for.
func (s *surface) size(change, old, of float64) float64 {
	switch {
	case !s.share(of):
		return abs(change)
	case old == 0:
		return abs(change / of)
	}
	return abs(change / old)
}

func (s *surface) share(old float64) bool { return s.shares && old != 0 }

// large says whether a cell changed by a share of its value or span.
func (s *surface) large(cell int, share float64) bool {
	c, old := abs(s.change[cell]), s.old[cell]
	if c < spikeFloor*s.span || c <= s.step || c == 0 {
		return false
	}
	if s.share(old) {
		return c >= share*abs(old)
	}
	return c >= share*s.span
}

// spike says whether a cell sticks out, and what the largest change beside it
// is.
func (s *surface) spike(cell int) (neighbours float64, ok bool) {
	if !s.large(cell, spikeChange) {
		return 0, false
	}
	old := s.old[cell]
	c, size := abs(s.change[cell]), s.size(s.change[cell], old, old)
	amount, n := s.step/2, 0
	for dr := -1; dr <= 1; dr++ {
		for dc := -1; dc <= 1; dc++ {
			if i := s.beside(cell, dr, dc); i >= 0 {
				n++
				amount = max(amount, abs(s.change[i]))
				neighbours = max(neighbours, s.size(s.change[i], s.old[i], old))
			}
		}
	}
	if n == 0 || size < spikeRatio*neighbours || c < spikeAmount*amount {
		return 0, false
	}
	return neighbours, s.rows > 1 || n > 1 || s.offLine(cell)
}

// beside is the neighbour of a cell in a direction: the next one that doesn't lean
// on the cell, for a blank filled in from it moves with it. -1 where the map ends.
func (s *surface) beside(cell, dr, dc int) int {
	if dr == 0 && dc == 0 {
		return -1
	}
	r, c := cell/s.cols+dr, cell%s.cols+dc
	for ; r >= 0 && r < s.rows && c >= 0 && c < s.cols; r, c = r+dr, c+dc {
		if i := r*s.cols + c; s.leans == nil || !s.leans(i, cell) {
			return i
		}
	}
	return -1
}

// offLine says whether the end of a map over one axis left the line of the two
// cells beside it. Where a tilt turns about the last cell but one, the last has
// a neighbour that doesn't change, and is no spike.
func (s *surface) offLine(cell int) bool {
	way := 1
	if s.beside(cell, 0, 1) < 0 {
		way = -1
	}
	a := s.beside(cell, 0, way)
	b := s.beside(a, 0, way)
	if b < 0 {
		return false // of two cells neither surrounds the other
	}
	of := func(i int) float64 {
		if s.share(s.old[cell]) && s.old[i] != 0 {
			return s.change[i] / abs(s.old[i])
		}
		return s.change[i]
	}
	reach := (s.along[cell] - s.along[a]) / (s.along[a] - s.along[b])
	off := of(cell) - of(a) - float64(reach*(of(a)-of(b)))
	return abs(off) >= abs(of(cell))/2
}

// spanOf is how far apart the values of a table lie; where they are all the same,
// their size.
func spanOf(cells []float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, x := range cells {
		lo, hi = min(lo, x), max(hi, x)
	}
	if hi > lo {
		return hi - lo
	}
	return abs(hi)
}
