package formula

import (
	"math"

	"fettle/lang/elementary"
)

// Apply is the arithmetic of every operation on numbers. Constant folding, the
// column evaluator's scalar path and the functions offered to the VM all come
// here, so that they can't disagree. Yes is 1, no is 0.
func Apply(op Op, v []float64) float64 {
	switch op {
	case Alias:
		return v[0]
	case Neg:
		return -v[0]
	case Add:
		return v[0] + v[1]
	case Sub:
		return v[0] - v[1]
	case Mul:
		return v[0] * v[1]
	case Div:
		return v[0] / v[1]
	case Pow:
		return elementary.Pow(v[0], v[1])
	case Lt:
		return yes(v[0] < v[1])
	case Le:
		return yes(v[0] <= v[1])
	case Gt:
		return yes(v[0] > v[1])
	case Ge:
		return yes(v[0] >= v[1])
	case Eq:
		return yes(v[0] == v[1])
	case Ne:
		return yes(v[0] != v[1])
	case And:
		return yes(v[0] != 0 && v[1] != 0)
	case Or:
		return yes(v[0] != 0 || v[1] != 0)
	case Not:
		return yes(v[0] == 0)
	case If:
		if v[0] != 0 {
			return v[1]
		}
		return v[2]
	case Min:
		m := v[0]
		for _, x := range v[1:] {
			m = min(m, x) // what is no number stays so, also beside an infinity
		}
		return m
	case Max:
		m := v[0]
		for _, x := range v[1:] {
			m = max(m, x)
		}
		return m
	case Clamp:
		return min(max(v[0], v[1]), v[2])
	case Abs:
		return math.Abs(v[0])
	case Sqrt:
		return math.Sqrt(v[0])
	case Exp:
		return elementary.Exp(v[0])
	case Log:
		return elementary.Log(v[0])
	case Round:
		return math.RoundToEven(v[0])
	case Floor:
		return math.Floor(v[0])
	case Ceil:
		return math.Ceil(v[0])
	}
	return math.NaN()
}

func yes(b bool) float64 {
	if b {
		return 1
	}
	return 0
}
