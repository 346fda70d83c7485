package resample

import (
	"math"

	"fettle/compiler/grid"
)

// One axis. Between two neighbouring breakpoints a and b the new table is a
// straight line, so what it is off there depends on a and b alone. That is the
// cost of the pair: the largest error, and the sum of errors, at the old
// breakpoints from a up to b. Of all ways from the first place to the last with
// the wanted number of breakpoints the one with the least largest error is
// found, place by place; then, of those that have no greater one, the one with
// the least sum.
//
// Most pairs are far apart and far off. Even places are a way too, and the best is
// no worse; so a pair is given up at the first error that is worse than theirs.

// lines are the old cells along the axis, one line for each breakpoint of the
// other axis: as they are, and at each place once the other axis is resampled.
type lines struct {
	at     []float64 // breakpoints
	places []float64
	n      int       // lines
	own    []float64 // by breakpoint and line
	values []float64 // by place and line
	first  []int     // by place: the first breakpoint that isn't before it
}

// across chooses the columns, the rows being settled.
func across(t *grid.Table, rows []float64, axis Axis) []float64 {
	return linesOf(t, rows, axis.Grid).choose(axis.Auto)
}

// along chooses the rows, the columns being settled.
func along(t *grid.Table, cols []float64, axis Axis) []float64 {
	turned := turn(t)
	return across(&turned, cols, axis)
}

// turn makes rows of columns.
func turn(t *grid.Table) grid.Table {
	out := grid.Table{Rows: t.Cols, Cols: t.Rows, Cells: make([]float64, 0, len(t.Cells))}
	for c := range t.Cols {
		for r := range t.Rows {
			out.Cells = append(out.Cells, t.Cells[r*len(t.Cols)+c])
		}
	}
	return out
}

func linesOf(t *grid.Table, rows, places []float64) *lines {
	l := &lines{at: t.Cols, places: places, n: t.NRows(), own: make([]float64, len(t.Cells)), first: make([]int, len(places))}
	knots := []grid.Knot{{}}
	if t.Rows != nil {
		knots = grid.KnotsOf(rows, t.Rows)
	}
	other := To(t, rows, t.Cols)
	nc := len(t.Cols)
	base := grid.Table{Rows: t.Rows, Cols: t.Cols, Cells: make([]float64, 0, len(t.Cells))}
	for r, knot := range knots {
		for c := range nc {
			base.Cells = append(base.Cells, other.LookupKnots(knot, grid.Knot{I: c}))
			l.own[c*l.n+r] = t.Cells[r*nc+c]
		}
	}
	l.values = make([]float64, 0, l.n*len(places))
	k := 0
	for p, x := range places {
		for k < nc && t.Cols[k] < x {
			k++
		}
		l.first[p] = k
		knot := grid.Find(t.Cols, x)
		for r := range l.n {
			l.values = append(l.values, base.LookupKnots(grid.Knot{I: r}, knot))
		}
	}
	return l
}

// edge is a pair that may be used, from a place, with its cost.
type edge struct {
	from         int
	largest, sum float64
}

// pair measures two places as neighbours at the old breakpoints from the first up
// to the second; one at its end belongs to the next pair. It is false if an error
// isn't within a finite bound.
func (l *lines) pair(a, b int, bound float64) (e edge, ok bool) {
	e.from = a
	from, to := l.places[a], l.places[b]
	first, after := l.first[a], l.first[b]
	for b == len(l.places)-1 && after < len(l.at) && l.at[after] <= to {
		after++
	}
	va, vb := l.values[a*l.n:(a+1)*l.n], l.values[b*l.n:(b+1)*l.n]
	vb = vb[:len(va)]
	measure := func(k int) bool {
		f := (l.at[k] - from) / (to - from)
		own := l.own[k*l.n : (k+1)*l.n][:len(va)]
		for i, v := range va {
			d := math.Abs(v + float64(f*(vb[i]-v)) - own[i])
			e.sum += d
			if d > e.largest {
				e.largest = d
			}
		}
		return e.largest <= bound && !math.IsNaN(e.sum)
	}
	// In the middle a line is most likely off.
	if after-first > 2 && !measure((first+after)/2) {
		return e, false
	}
	e.largest, e.sum = 0, 0
	for k := first; k < after; k++ {
		if !measure(k) {
			return e, false
		}
	}
	return e, true
}

// choose finds the n places with the least error, the first and the last among
// them; of equal ways the one whose last step begins first.
func (l *lines) choose(n int) []float64 {
	m := len(l.places)
	into := l.edges(l.even(n))
	worst := least(into, n)
	from := make([]int, n*m)
	now, next := start(m), make([]float64, m)
	for step := 1; step < n; step++ {
		for b, edges := range into {
			best, by := math.Inf(1), -1
			for i := range edges {
				e := &edges[i]
				if x := now[e.from] + e.sum; x < best && e.largest <= worst {
					best, by = x, e.from
				}
			}
			next[b], from[step*m+b] = best, by
		}
		now, next = next, now
	}
	if math.IsInf(now[m-1], 1) { // errors past what a float holds
		return Even(l.places, n)
	}
	out := make([]float64, n)
	for step, k := n-1, m-1; step >= 0; step-- {
		out[step] = l.places[k]
		k = from[step*m+k]
	}
	return out
}

// even is the largest error of even places, or the largest number.
func (l *lines) even(n int) float64 {
	worst := 0.0
	for i := range n - 1 {
		e, ok := l.pair(evenly(i, n, len(l.places)), evenly(i+1, n, len(l.places)), math.MaxFloat64)
		if !ok {
			return math.MaxFloat64
		}
		worst = max(worst, e.largest)
	}
	return worst
}

// edges lists the pairs with no error over a finite bound, by where they lead.
func (l *lines) edges(bound float64) [][]edge {
	m := len(l.places)
	all := make([]edge, 0, m*(m-1)/2)
	into := make([][]edge, m)
	for b := range into {
		n := len(all)
		for a := range b {
			if e, ok := l.pair(a, b, bound); ok {
				all = append(all, e)
			}
		}
		into[b] = all[n:]
	}
	return into
}

// least is the least largest error of all ways with n places.
func least(into [][]edge, n int) float64 {
	m := len(into)
	now, next := start(m), make([]float64, m)
	for range n - 1 {
		for b, edges := range into {
			best := math.Inf(1)
			for i := range edges {
				if x := max(now[edges[i].from], edges[i].largest); x < best {
					best = x
				}
			}
			next[b] = best
		}
		now, next = next, now
	}
	return now[m-1]
}

// start is the cost of the ways with no step yet: none but to the first place.
func start(m int) []float64 {
	out := make([]float64, m)
	for i := range out {
		out[i] = math.Inf(1)
	}
	out[0] = 0
	return out
}
