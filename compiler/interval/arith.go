package interval

import "math"

// Add is x + y.
func Add(x, y I) I {
	if x.IsEmpty() || y.IsEmpty() {
		return Empty
	}
	return I{addDown(x.Lo, y.Lo), addUp(x.Hi, y.Hi)}
}

// Sub is x - y.
func Sub(x, y I) I { return Add(x, Neg(y)) }

// Mul is x * y.
func Mul(x, y I) I {
	switch {
	case x.IsEmpty() || y.IsEmpty():
		return Empty
	case y.Lo >= 0:
		return mulPositive(x, y)
	case y.Hi <= 0:
		return Neg(mulPositive(x, Neg(y)))
	case x.Lo >= 0:
		return mulPositive(y, x)
	case x.Hi <= 0:
		return Neg(mulPositive(y, Neg(x)))
	}
	return I{min(mulDown(x.Lo, y.Hi), mulDown(x.Hi, y.Lo)), max(mulUp(x.Lo, y.Lo), mulUp(x.Hi, y.Hi))}
}

// mulPositive is x * y for y from 0 up.
func mulPositive(x, y I) I {
	lo, hi := y.Lo, y.Hi
	if x.Lo < 0 {
		lo = y.Hi
	}
	if x.Hi < 0 {
		hi = y.Lo
	}
	return I{mulDown(x.Lo, lo), mulUp(x.Hi, hi)}
}

// Div is x / y, where y isn't 0. It isn't defined everywhere if y may be.
func Div(x, y I) (I, bool) {
	switch {
	case x.IsEmpty() || y.IsEmpty():
		return Empty, true
	case y.Lo > 0:
		return divPositive(x, y), true
	case y.Hi < 0:
		return Neg(divPositive(x, Neg(y))), true
	case y.Lo == 0 && y.Hi == 0:
		return Empty, false
	case x.Lo == 0 && x.Hi == 0:
		return x, false
	case y.Lo == 0:
		return divHalf(x, y.Hi), false
	case y.Hi == 0:
		return Neg(divHalf(x, -y.Lo)), false
	}
	return Entire, false
}

// divPositive is x / y for y above 0.
func divPositive(x, y I) I {
	lo, hi := y.Hi, y.Lo
	if x.Lo < 0 {
		lo = y.Lo
	}
	if x.Hi < 0 {
		hi = y.Hi
	}
	return I{divDown(x.Lo, lo), divUp(x.Hi, hi)}
}

// divHalf is x / y for y from just above 0 to hi.
func divHalf(x I, hi float64) I {
	switch {
	case x.Lo >= 0:
		return I{divDown(x.Lo, hi), math.Inf(1)}
	case x.Hi <= 0:
		return I{math.Inf(-1), divUp(x.Hi, hi)}
	}
	return Entire
}

// Sqrt is the square root, of what isn't negative.
func Sqrt(x I) (I, bool) {
	defined := x.IsEmpty() || x.Lo >= 0
	if x = Meet(x, I{0, math.Inf(1)}); x.IsEmpty() {
		return Empty, defined
	}
	return I{sqrtDown(x.Lo), sqrtUp(x.Hi)}, defined
}
