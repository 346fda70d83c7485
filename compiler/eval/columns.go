package eval

import "fettle/lang/formula"

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

// firstNotFinite is the first cell that is no number or infinite, or -1.
func firstNotFinite(cells []float64) int {
	if len(cells) >= wide && finiteWide(cells) {
		return -1
	}
	for i, x := range cells {
		if x-x != 0 {
			return i
		}
	}
	return -1
}
