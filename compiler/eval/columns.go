package eval

import (
	"math"

	"fettle/lang/formula"
)

// The four operations that nearly all of a tune's time goes to, over rectangles
// of rows. On amd64 they take four cells at a time (columns_amd64.s); the loops
// here do the same elsewhere, and where a row is too short. Each cell gets one
// correctly rounded operation either way, so the bits are the same.

// forms of an operation, by what stands on each side: a value for each column
// (v) or one for the whole row (s).
const (
	vv = iota
	vs
	sv
)

// wide is the least number of columns that is worth taking four at a time.
const wide = 4

// arith computes d = a op b over nr rows of nc. d has a value for each cell, and
// may be a or b; a or b has one for each column.
func arith(op formula.Op, d, a, b Column, nr, nc int) {
	if nr == 0 || nc == 0 {
		return
	}
	if nr > 1 && d.sr == nc && (a.sr == nc && a.sc == 1 || a.sr+a.sc == 0) && (b.sr == nc && b.sc == 1 || b.sr+b.sc == 0) {
		nr, nc = 1, nr*nc // whole rows, one after the other
	}
	form := vv
	switch {
	case a.sc == 0:
		form = sv
		if op == formula.Add || op == formula.Mul {
			a, b, form = b, a, vs
		}
	case b.sc == 0:
		form = vs
	}
	if nc >= wide && arithWide(op, form, d, a, b, nr, nc) {
		return
	}
	for r := range nr {
		dst, x, y := d.v[r*d.sr:][:nc], a.v[r*a.sr:], b.v[r*b.sr:]
		switch form {
		case vv:
			rowVV(op, dst, x[:nc], y[:nc])
		case vs:
			rowVS(op, dst, x[:nc], y[0])
		default:
			rowSV(op, dst, x[0], y[:nc])
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
	}
}

func rowVS(op formula.Op, dst, x []float64, y float64) {
	x = x[:len(dst)]
	switch op {
	case formula.Add:
		for c := range dst {
			dst[c] = x[c] + y
		}
	case formula.Sub:
		for c := range dst {
			dst[c] = x[c] - y
		}
	case formula.Mul:
		for c := range dst {
			dst[c] = x[c] * y
		}
	case formula.Div:
		for c := range dst {
			dst[c] = x[c] / y
		}
	}
}

func rowSV(op formula.Op, dst []float64, x float64, y []float64) {
	y = y[:len(dst)]
	switch op {
	case formula.Sub:
		for c := range dst {
			dst[c] = x - y[c]
		}
	case formula.Div:
		for c := range dst {
			dst[c] = x / y[c]
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
func rowsBetween(d, a, f Column, nr, nc int) {
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
