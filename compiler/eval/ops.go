package eval

import (
	"math"
	"slices"

	"fettle/lang/elementary"
	"fettle/lang/formula"
)

// operate carries one operation out over its columns. Each cell's operations and
// their order are those of the expression, so that the plain evaluator agrees bit
// for bit. Operands that are the same for a whole row are written out into buf.
func operate(op formula.Op, node *formula.Node, d Column, args []Column, cells *Cells, sh shape, buf *[]float64) {
	nr, nc := cells.dims(sh)
	if sh == byRow { // a value a row: taken as one row
		nr, nc = 1, nr
		d = Column{d.v, 0, 1}
		for i, a := range args {
			args[i] = Column{a.v, 0, a.sr}
		}
	} else if nr > 1 && d.whole(nc) && !slices.ContainsFunc(args, func(a Column) bool { return !a.whole(nc) }) {
		nr, nc = 1, nr*nc
	}
	if nr == 0 || nc == 0 {
		return
	}
	switch op {
	case formula.Add, formula.Sub, formula.Mul, formula.Div, formula.Min, formula.Max, formula.Lt, formula.Le, formula.Gt, formula.Ge, formula.Eq, formula.Ne:
		if args[0].sc == 1 || args[1].sc == 1 {
			arith(op, &d, &args[0], &args[1], nr, nc)
			return
		}
	}
	*buf = grow(*buf, 3*nc)
	var rows [3][]float64
	for r := range nr {
		for i, a := range args {
			if a.sc == 1 || nc == 1 {
				rows[i] = a.v[r*a.sr:][:nc]
				continue
			}
			if rows[i] = (*buf)[i*nc : (i+1)*nc]; r == 0 || a.sr != 0 {
				fill(rows[i], a.v[r*a.sr])
			}
		}
		elementwise(op, node, d.v[r*d.sr:][:nc], rows[0], rows[1], rows[2])
	}
}

// whole says whether a column's rows follow each other, or are all one value.
func (o *Column) whole(nc int) bool { return o.sc == 1 && o.sr == nc || o.sc == 0 && o.sr == 0 }

func fill(row []float64, x float64) {
	for i := range row {
		row[i] = x
	}
}

// elementwise computes one row.
func elementwise(op formula.Op, node *formula.Node, dst, a, b, c []float64) {
	a = a[:len(dst)]
	switch op {
	case formula.CurveAt:
		each(dst, a, node.Curve.At)
	case formula.Neg:
		for i, x := range a {
			dst[i] = -x
		}
	case formula.Abs:
		for i, x := range a {
			dst[i] = math.Abs(x)
		}
	case formula.Sqrt:
		for i, x := range a {
			dst[i] = math.Sqrt(x)
		}
	case formula.Floor:
		for i, x := range a {
			dst[i] = math.Floor(x)
		}
	case formula.Ceil:
		for i, x := range a {
			dst[i] = math.Ceil(x)
		}
	case formula.Exp:
		each(dst, a, elementary.Exp)
	case formula.Log:
		each(dst, a, elementary.Log)
	case formula.Round:
		each(dst, a, math.RoundToEven)
	case formula.Not:
		for i, x := range a {
			dst[i] = yes(x == 0)
		}
	case formula.And:
		for i, x := range a {
			dst[i] = yes(x != 0 && b[i] != 0)
		}
	case formula.Or:
		for i, x := range a {
			dst[i] = yes(x != 0 || b[i] != 0)
		}
	case formula.If:
		b, c = b[:len(dst)], c[:len(dst)]
		for i, x := range a {
			v := c[i]
			if x != 0 {
				v = b[i]
			}
			dst[i] = v
		}
	case formula.Pow:
		power(dst, a, b)
	default:
		rowVV(op, dst, a, b)
	}
}

func each(dst, a []float64, f func(float64) float64) {
	for i, x := range a {
		dst[i] = f(x)
	}
}

// Between these, by size, a square by multiplication is elementary.Pow's, bit for bit, as a
// test holds it to, in a tenth of the time.
const leastSquare, mostSquare = 1e-150, 1e150

// power squares where a square is asked for.
func power(dst, a, b []float64) {
	for i, x := range a {
		if size := math.Abs(x); b[i] == 2 && (size > leastSquare && size < mostSquare || x == 0) {
			dst[i] = x * x
		} else {
			dst[i] = elementary.Pow(x, b[i])
		}
	}
}

// outside says whether some value of a column is out of a range; what is no
// number is in none.
func outside(a Column, nr, nc int, lo, hi float64) bool {
	if a.sr == nc || nr == 1 {
		if least, most, bad := extent(a.v[:a.stored(nr, nc)]); bad < 0 {
			return !(least >= lo && most <= hi)
		}
	}
	for r := range nr {
		for c := range nc {
			if x := a.At(r, c); !(x >= lo && x <= hi) {
				return true
			}
		}
	}
	return false
}
