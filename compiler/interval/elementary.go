package interval

import (
	"math"

	"fettle/lang/elementary"
)

// The exponential, the logarithm and powers of the language err by less than one
// unit in the last place. Their ends are moved by some units more: one for the end
// itself, one for a value that is computed within the interval, which is to lie
// inside too although what is computed needn't rise as steadily as what is exact,
// and one for a unit that halves on the way.
const ulps = 3

// Exp is e to the x.
func Exp(x I) I {
	if x.IsEmpty() {
		return Empty
	}
	return I{expEnd(x.Lo, -ulps), expEnd(x.Hi, ulps)}
}

func expEnd(x float64, by int64) float64 {
	if x == 0 {
		return 1
	}
	e := elementary.Exp(x)
	if math.IsInf(e, 1) && by < 0 && x-x == 0 {
		return math.MaxFloat64
	}
	if e == 0 && math.IsInf(x, -1) {
		return 0
	}
	return max(moved(e, by), 0)
}

// Log is the natural logarithm, of what is above 0.
func Log(x I) (I, bool) {
	defined := x.IsEmpty() || x.Lo > 0
	if x = Meet(x, I{0, math.Inf(1)}); x.IsEmpty() || x.Hi == 0 {
		return Empty, defined
	}
	return I{logEnd(x.Lo, -ulps), logEnd(x.Hi, ulps)}, defined
}

func logEnd(x float64, by int64) float64 {
	if x == 1 {
		return 0
	}
	return moved(elementary.Log(x), by)
}

// Pow is x to the y as the language has it: for y a whole number of any x but a
// 0 under a negative one, and else of what is above 0, or 0 if y is above 0.
func Pow(x, y I) (I, bool) {
	switch {
	case x.IsEmpty() || y.IsEmpty():
		return Empty, true
	case y.IsPoint() && y.Lo == math.Trunc(y.Lo):
		return wholePower(x, y.Lo)
	}
	defined := x.Lo > 0 || x.Lo == 0 && y.Lo > 0
	if x = Meet(x, I{0, math.Inf(1)}); x.IsEmpty() || x.Hi == 0 && y.Hi <= 0 {
		return Empty, defined
	}
	if x.Lo == 0 && y.Lo <= 0 && y.Hi >= 0 { // near 0 both ways lead anywhere
		if y.Lo < 0 {
			return I{0, math.Inf(1)}, false
		}
	}
	// Along each of the two the power rises, or falls, all the way.
	out := Empty
	for _, a := range [...]float64{x.Lo, x.Hi} {
		for _, b := range [...]float64{y.Lo, y.Hi} {
			p := powerOf(a, b)
			if a == 0 && b < 0 {
				p = I{math.MaxFloat64, math.Inf(1)}
			}
			out = Hull(out, p)
		}
	}
	if x.Lo == 0 && y.Hi > 0 {
		out.Lo = 0
	}
	if x.Lo < 1 && x.Hi > 1 || y.Lo < 0 && y.Hi > 0 {
		out = Hull(out, Point(1))
	}
	return out, defined
}

// powerOf holds the exact power of two numbers and the computed one.
func powerOf(a, b float64) I {
	p := elementary.Pow(a, b)
	switch {
	case a == 1 || b == 0:
		return Point(1)
	case math.IsInf(p, 1):
		return I{math.MaxFloat64, p}
	case math.IsInf(p, -1):
		return I{p, -math.MaxFloat64}
	case p > 0 || p == 0 && !math.Signbit(p):
		return I{max(moved(p, -ulps), 0), moved(p, ulps)}
	}
	return I{moved(p, -ulps), min(moved(p, ulps), 0)}
}

func wholePower(x I, n float64) (I, bool) {
	switch {
	case n == 0:
		return Point(1), true
	case n == 1:
		return x, true
	case n < 0 && x.Lo <= 0 && x.Hi >= 0:
		if x.Lo == 0 && x.Hi == 0 {
			return Empty, false
		}
		out := Empty
		if x.Hi > 0 {
			out = I{max(wholeEnds(x.Hi, x.Hi, n).Lo, 0), math.Inf(1)}
		}
		if x.Lo < 0 {
			far := wholeEnds(x.Lo, x.Lo, n)
			if even(n) {
				far.Hi = math.Inf(1)
				far.Lo = max(far.Lo, 0)
			} else {
				far.Lo = math.Inf(-1)
				far.Hi = min(far.Hi, 0)
			}
			out = Hull(out, far)
		}
		return out, false
	}
	out := wholeEnds(x.Lo, x.Hi, n)
	if even(n) {
		if x.Lo < 0 && x.Hi > 0 {
			out.Lo = 0
		}
		out.Lo = max(out.Lo, 0)
	}
	return out, true
}

// wholeEnds is the hull of two powers.
func wholeEnds(a, b, n float64) I {
	return Hull(wholeEnd(a, n), wholeEnd(b, n))
}

func wholeEnd(a, n float64) I {
	switch {
	case a == 0 && n > 0:
		return Point(0)
	case math.IsInf(a, 0):
		if n > 0 {
			return Point(elementary.Pow(a, n))
		}
		return Point(0)
	case n == 2:
		return I{mulDown(a, a), mulUp(a, a)}
	}
	return powerOf(a, n)
}

func even(n float64) bool { return math.Mod(n, 2) == 0 }
