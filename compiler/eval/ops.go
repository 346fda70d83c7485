package eval

import (
	"math"

	"fettle/lang/formula"
)

// operate runs one arithmetic instruction over its column. The order of
// operations is that of the expression, so that the plain evaluator agrees bit
// for bit. It reports whether a range of validity was left.
func (w *worker) operate(k *kernel, in *instr, f *frame) (violated bool) {
	sh := k.slots[in.dst]
	d := k.operand(f.vals[in.dst], sh)
	nr, nc := 1, 1
	if sh&byRow != 0 {
		nr = k.cells.nrows()
	}
	if sh&byCol != 0 {
		nc = len(k.cells.Cols)
	}
	arg := func(i int) operand { return k.operand(f.vals[in.args[i]], k.slots[in.args[i]]) }
	switch in.op {
	case formula.MapAt:
		w.lookups(in, d, nr, nc, arg)
		return false
	case formula.Convert:
		each(d, arg(0), nr, nc, in.node.Conv.Apply)
		return false
	case formula.CurveAt:
		each(d, arg(0), nr, nc, in.node.Curve.At)
		return false
	case formula.Within:
		a := arg(0)
		for r := range nr {
			for c := range nc {
				x := a.at(r, c)
				if !(x >= in.node.Range.Lo && x <= in.node.Range.Hi) {
					violated = true
				}
				d.v[r*d.sr+c*d.sc] = x
			}
		}
		return violated
	case formula.If:
		cond, a, b := arg(0), arg(1), arg(2)
		for r := range nr {
			for c := range nc {
				if cond.at(r, c) != 0 {
					d.v[r*d.sr+c*d.sc] = a.at(r, c)
				} else {
					d.v[r*d.sr+c*d.sc] = b.at(r, c)
				}
			}
		}
		return false
	}
	switch len(in.args) {
	case 1:
		unary(in.op, d, arg(0), nr, nc)
	case 2:
		binary(in.op, d, arg(0), arg(1), nr, nc)
	default:
		vals := make([]float64, len(in.args))
		for r := range nr {
			for c := range nc {
				for i := range in.args {
					vals[i] = arg(i).at(r, c)
				}
				d.v[r*d.sr+c*d.sc] = formula.Apply(in.op, vals)
			}
		}
	}
	return false
}

func (w *worker) lookups(in *instr, d operand, nr, nc int, arg func(int) operand) {
	t := &w.cur[in.node.A]
	a := arg(0)
	if len(in.args) == 1 {
		for r := range nr {
			for c := range nc {
				d.v[r*d.sr+c*d.sc] = t.Lookup(a.at(r, c))
			}
		}
		return
	}
	b := arg(1)
	for r := range nr {
		for c := range nc {
			d.v[r*d.sr+c*d.sc] = t.Lookup2(a.at(r, c), b.at(r, c))
		}
	}
}

// each computes a function of one operand over a column.
func each(d, a operand, nr, nc int, f func(float64) float64) {
	for r := range nr {
		dst, src := d.v[r*d.sr:], a.v[r*a.sr:]
		for c := range nc {
			dst[c*d.sc] = f(src[c*a.sc])
		}
	}
}

func unary(op formula.Op, d, a operand, nr, nc int) {
	switch op {
	case formula.Neg:
		each(d, a, nr, nc, func(x float64) float64 { return -x })
	case formula.Abs:
		each(d, a, nr, nc, math.Abs)
	case formula.Sqrt:
		each(d, a, nr, nc, math.Sqrt)
	default:
		var one [1]float64
		each(d, a, nr, nc, func(x float64) float64 {
			one[0] = x
			return formula.Apply(op, one[:])
		})
	}
}

func binary(op formula.Op, d, a, b operand, nr, nc int) {
	for r := range nr {
		dst, x, y := d.v[r*d.sr:], a.v[r*a.sr:], b.v[r*b.sr:]
		switch op {
		case formula.Add:
			for c := range nc {
				dst[c*d.sc] = x[c*a.sc] + y[c*b.sc]
			}
		case formula.Sub:
			for c := range nc {
				dst[c*d.sc] = x[c*a.sc] - y[c*b.sc]
			}
		case formula.Mul:
			for c := range nc {
				dst[c*d.sc] = x[c*a.sc] * y[c*b.sc]
			}
		case formula.Div:
			for c := range nc {
				dst[c*d.sc] = x[c*a.sc] / y[c*b.sc]
			}
		default:
			var two [2]float64
			for c := range nc {
				two[0], two[1] = x[c*a.sc], y[c*b.sc]
				dst[c*d.sc] = formula.Apply(op, two[:])
			}
		}
	}
}
