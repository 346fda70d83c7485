package resample

import "fettle/compiler/grid"

// Even takes n of the places, the first and the last among them and the others
// as evenly between as there are.
func Even(places []float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = places[evenly(i, n, len(places))]
	}
	return out
}

// evenly is the i-th of n places that lie as evenly among m as there are.
func evenly(i, n, m int) int { return (2*i*(m-1) + n - 1) / (2 * (n - 1)) }

// maxRounds bounds the improvements from one start. Each makes the error less, so
// they end by themselves, and after a few.
const maxRounds = 50

// both chooses rows and columns. There is no shortcut to the best pair, so one
// axis is chosen with the other held, in turns, as long as that helps: once from
// even rows and columns, once from columns that are chosen for the rows as they
// are. What comes out is never worse than even.
func both(t *grid.Table, rows, cols Axis) (r, c []float64) {
	r, c = Even(rows.Grid, rows.Auto), Even(cols.Grid, cols.Auto)
	best := off(t, r, c)
	r, c, best = improve(t, rows, cols, r, c, best)
	c2 := across(t, t.Rows, cols)
	r2 := along(t, c2, rows)
	r2, c2, other := improve(t, rows, cols, r2, c2, off(t, r2, c2))
	if better(t, other, best) {
		return r2, c2
	}
	return r, c
}

// improve chooses one axis after the other until neither choice helps.
func improve(t *grid.Table, rows, cols Axis, r, c []float64, best Error) ([]float64, []float64, Error) {
	for range maxRounds {
		helped := false
		r2 := along(t, c, rows)
		if e := off(t, r2, c); better(t, e, best) {
			r, best, helped = r2, e, true
		}
		c2 := across(t, r, cols)
		if e := off(t, r, c2); better(t, e, best) {
			c, best, helped = c2, e, true
		}
		if !helped {
			break
		}
	}
	return r, c, best
}

// off is the error of a table resampled to these breakpoints.
func off(t *grid.Table, rows, cols []float64) Error {
	at := To(t, rows, cols)
	return Compare(t, &at)
}
