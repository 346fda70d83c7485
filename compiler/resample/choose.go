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

// lines are the old cells along the axis, one line for each breakpoint of the
// other axis: as they are, and as they are once the other axis is resampled.
type lines struct {
	at   []float64 // breakpoints
	own  [][]float64
	base [][]float64
}

// across chooses the columns, the rows being settled.
func across(t *grid.Table, rows []float64, axis Axis) []float64 {
	l := lines{at: t.Cols}
	other := To(t, rows, t.Cols)
	for r := range max(1, len(t.Rows)) {
		y := 0.0
		if t.Rows != nil {
			y = t.Rows[r]
		}
		own, base := make([]float64, len(t.Cols)), make([]float64, len(t.Cols))
		for c, x := range t.Cols {
			own[c], base[c] = t.Cells[r*len(t.Cols)+c], other.Lookup2(y, x)
		}
		l.own, l.base = append(l.own, own), append(l.base, base)
	}
	return l.choose(axis.Grid, axis.Auto)
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

// cost is what one pair of neighbouring breakpoints is off.
type cost struct{ largest, sum float64 }

// costs gives the cost of every pair of places; by [from][to].
func (l *lines) costs(places []float64) [][]cost {
	last := len(places) - 1
	values := make([][]float64, len(l.base)) // of each line at each place
	for i, base := range l.base {
		t := grid.Table{Cols: l.at, Cells: base}
		values[i] = make([]float64, len(places))
		for k, x := range places {
			values[i][k] = t.Lookup(x)
		}
	}
	out := make([][]cost, len(places))
	for a := range places {
		out[a] = make([]cost, len(places))
		for b := a + 1; b <= last; b++ {
			out[a][b] = l.cost(places, values, a, b, b == last)
		}
	}
	return out
}

// cost measures one pair; the old breakpoint at its end belongs to the next.
func (l *lines) cost(places []float64, values [][]float64, a, b int, last bool) (c cost) {
	for k, x := range l.at {
		if x < places[a] || x > places[b] || x == places[b] && !last {
			continue
		}
		f := (x - places[a]) / (places[b] - places[a])
		for i, v := range values {
			d := math.Abs(v[a] + float64(f*(v[b]-v[a])) - l.own[i][k])
			c.largest = max(c.largest, d)
			c.sum += d
		}
	}
	return c
}

// choose finds the n places with the least error, the first and the last among
// them; of equal ways the one whose last step begins first.
func (l *lines) choose(places []float64, n int) []float64 {
	c := l.costs(places)
	bound := l.way(c, n, math.Inf(1), func(sofar float64, pair cost) float64 { return max(sofar, pair.largest) })
	worst := 0.0
	for i := 1; i < n; i++ {
		worst = max(worst, c[bound[i-1]][bound[i]].largest)
	}
	best := l.way(c, n, worst, func(sofar float64, pair cost) float64 { return sofar + pair.sum })
	out := make([]float64, n)
	for i, k := range best {
		out[i] = places[k]
	}
	return out
}

// way finds the n places whose pairs add up to the least, no pair worse than a
// bound.
func (l *lines) way(c [][]cost, n int, bound float64, add func(float64, cost) float64) []int {
	m := len(c)
	from := make([][]int, n)
	now := make([]float64, m)
	for k := range now {
		now[k] = math.Inf(1)
	}
	now[0] = 0
	for step := 1; step < n; step++ {
		next := make([]float64, m)
		from[step] = make([]int, m)
		for b := range m {
			next[b], from[step][b] = math.Inf(1), -1
			for a := range b {
				if math.IsInf(now[a], 1) || c[a][b].largest > bound {
					continue
				}
				if x := add(now[a], c[a][b]); x < next[b] {
					next[b], from[step][b] = x, a
				}
			}
		}
		now = next
	}
	out := make([]int, n)
	out[n-1] = m - 1
	for step := n - 1; step > 0; step-- {
		out[step-1] = from[step][out[step]]
	}
	return out
}
