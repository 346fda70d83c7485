package eval

import (
	"math"

	"fettle/lang/formula"
)

// The operations that nearly all of a tune's time goes to, over rectangles of
// rows. On amd64 they take four cells at a time (columns_amd64.s); the loops here do
// the same elsewhere, and where a row is too short. Each cell gets the same
// correctly rounded operations either way, so the bits are the same.

// forms of an operation, by what stands on each side: a value for each column
// (v) or one for the whole row (s).
const (
	vv = iota
	vs
	sv
)

// wide is the least number of columns that is worth taking four at a time.
const wide = 4

// turned gives the operation that is the same with its sides exchanged; itself
// where there is none.
func turned(op formula.Op) (formula.Op, bool) {
	switch op {
	case formula.Add, formula.Mul, formula.Min, formula.Max, formula.Eq, formula.Ne:
		return op, true
	case formula.Lt:
		return formula.Gt, true
	case formula.Le:
		return formula.Ge, true
	case formula.Gt:
		return formula.Lt, true
	case formula.Ge:
		return formula.Le, true
	}
	return op, false
}

// arith computes d = a op b over nr rows of nc. d has a value for each cell, and
// may be a or b; a or b has one for each column.
//
// Columns are handed on where they stand: a copy of one costs as much as a row.
func arith(op formula.Op, d, a, b *Column, nr, nc int) {
	if nr == 0 || nc == 0 {
		return
	}
	if nr > 1 && d.sr == nc && a.whole(nc) && b.whole(nc) {
		nr, nc = 1, nr*nc // whole rows, one after the other
	}
	form := vv
	switch {
	case a.sc == 0:
		form = sv
		if other, ok := turned(op); ok {
			op, a, b, form = other, b, a, vs
		}
	case b.sc == 0:
		form = vs
	}
	if nc >= wide && arithWide(op, form, d, a, b, nr, nc) {
		return
	}
	var buf [16]float64
	for r := range nr {
		dst, x, y := d.v[r*d.sr:][:nc], a.v[r*a.sr:], b.v[r*b.sr:]
		for len(dst) > 0 {
			n := len(dst)
			switch {
			case form == vv:
			case form == vs:
				n = min(n, len(buf))
				fill(buf[:n], b.v[r*b.sr])
				y = buf[:n]
			default:
				n = min(n, len(buf))
				fill(buf[:n], a.v[r*a.sr])
				x = buf[:n]
			}
			rowVV(op, dst[:n], x[:n], y[:n])
			dst = dst[n:]
			if form != sv {
				x = x[n:]
			}
			if form != vs {
				y = y[n:]
			}
		}
	}
}

func rowVV(op formula.Op, dst, x, y []float64) {
	x, y = x[:len(dst)], y[:len(dst)]
	switch op {
	case formula.Add:
		for c := range dst {
			dst[c] = x[c] + y[c]
		}
	case formula.Sub:
		for c := range dst {
			dst[c] = x[c] - y[c]
		}
	case formula.Mul:
		for c := range dst {
			dst[c] = x[c] * y[c]
		}
	case formula.Div:
		for c := range dst {
			dst[c] = x[c] / y[c]
		}
	case formula.Min:
		for c := range dst {
			dst[c] = min(x[c], y[c])
		}
	case formula.Max:
		for c := range dst {
			dst[c] = max(x[c], y[c])
		}
	case formula.Lt:
		for c := range dst {
			dst[c] = yes(x[c] < y[c])
		}
	case formula.Le:
		for c := range dst {
			dst[c] = yes(x[c] <= y[c])
		}
	case formula.Gt:
		for c := range dst {
			dst[c] = yes(x[c] > y[c])
		}
	case formula.Ge:
		for c := range dst {
			dst[c] = yes(x[c] >= y[c])
		}
	case formula.Eq:
		for c := range dst {
			dst[c] = yes(x[c] == y[c])
		}
	case formula.Ne:
		for c := range dst {
			dst[c] = yes(x[c] != y[c])
		}
	}
}

// scaled computes d = a * k[0] * k[1] and so on, in that order; up to four.
func scaled(d, a []float64, k []float64) {
	a = a[:len(d)]
	all := [4]float64{1, 1, 1, 1} // times one is what it was
	copy(all[:], k)
	if useWide && len(d) >= wide {
		scaleWide(&d[0], &a[0], &all, len(d))
		return
	}
	for i, x := range a {
		d[i] = float64(float64(float64(x*all[0])*all[1])*all[2]) * all[3]
	}
}

// rowsBetween computes d = a + f*(next a - a) over nr rows of nc: the values of a
// table's rows between its columns. f stands for the same columns of every row.
func rowsBetween(d, a, f *Column, nr, nc int) {
	if nr == 0 || nc == 0 || nc >= wide && betweenWide(d, a, f, nr, nc) {
		return
	}
	for r := range nr {
		dst, x, by := d.v[r*d.sr:][:nc], a.v[r*a.sr:][:nc+1], f.v[:nc]
		for c := range dst {
			dst[c] = x[c] + float64(by[c]*(x[c+1]-x[c]))
		}
	}
}

// between computes d = a + f*(b-a): a row of a table between two others.
func between(d, a, b []float64, f float64) {
	a, b = a[:len(d)], b[:len(d)]
	if useWide && len(d) >= wide {
		lerpBetween(&d[0], &a[0], &b[0], f, len(d))
		return
	}
	for c, x := range a {
		d[c] = x + float64(f*(b[c]-x))
	}
}

// extent gives the least and the greatest of some cells, and the first that is no
// number or infinite, or -1; if there is one, the others mean nothing.
func extent(cells []float64) (lo, hi float64, bad int) {
	if useWide && len(cells) >= 2*wide {
		if lo, hi, finite := extentWide(&cells[0], len(cells)); finite {
			return lo, hi, -1
		}
	}
	lo, hi = math.Inf(1), math.Inf(-1)
	for i, x := range cells {
		if x-x != 0 {
			return lo, hi, i
		}
		if x < lo {
			lo = x
		}
		if x > hi {
			hi = x
		}
	}
	return lo, hi, -1
}

// firstNotFinite is the first cell that is no number or infinite, or -1.
func firstNotFinite(cells []float64) int {
	if useWide && len(cells) >= wide && allFinite(&cells[0], len(cells)) {
		return -1
	}
	for i, x := range cells {
		if x-x != 0 {
			return i
		}
	}
	return -1
}

// differing is how many cells of a differ from those of b.
func differing(a, b []float64) (n int) {
	b = b[:len(a)]
	if useWide && len(a) >= wide {
		return differWide(&a[0], &b[0], len(a))
	}
	for i, x := range a {
		if x != b[i] {
			n++
		}
	}
	return n
}
