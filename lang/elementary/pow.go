package elementary

import "math"

// Pow is x to the power of y, with the special cases of C99 and IEEE 754. Squares,
// reciprocals and square roots are rounded right, so they are what x*x, 1/x and
// math.Sqrt give.
func Pow(x, y float64) float64 {
	switch {
	case y == 0 || x == 1:
		return 1
	case x != x || y != y:
		return math.NaN()
	case y == 1:
		return x
	case y == 2:
		return float64(x * x)
	case y == -1:
		return 1 / x
	case y == 0.5 && x >= 0:
		return math.Sqrt(x) + 0 // of -0 it is 0
	}
	ax := math.Abs(x)
	if z, ok := atEnds(ax, y); ok {
		if x < 0 || x == 0 && math.Signbit(x) {
			switch {
			case isOdd(y):
				z = -z
			case ax == 1 && !isWhole(y):
				z = math.NaN()
			}
		}
		return z
	}
	sign := 1.0
	if x < 0 {
		switch {
		case !isWhole(y):
			return math.NaN()
		case isOdd(y):
			sign = -1
		}
	}
	return float64(sign * positive(ax, y))
}

// atEnds is the power of an x that is 0, 1 or infinite, or by an infinite y.
func atEnds(x, y float64) (z float64, ok bool) {
	switch {
	case math.IsInf(y, 0) && x != 1:
		if (x > 1) == (y > 0) {
			return math.Inf(1), true
		}
		return 0, true
	case x == 1:
		return 1, true
	case x == 0 || math.IsInf(x, 0):
		if (x == 0) == (y > 0) {
			return 0, true
		}
		return math.Inf(1), true
	}
	return 0, false
}

func isWhole(y float64) bool { return math.Trunc(y) == y }

// isOdd says whether a number is odd; from 2^53 on all are even.
func isOdd(y float64) bool {
	return math.Abs(y) < 1<<53 && isWhole(y) && int64(y)&1 == 1
}

// positive is the power of a finite x above 0 that isn't 1 by a finite y that
// isn't 0. The logarithm to base 2 comes in two parts, high and low, of which the
// high one has half its bits, so that its product with the high half of y is exact.
func positive(x, y float64) float64 {
	var high, low float64
	if math.Abs(y) > 1<<31 {
		// Only a base next to one doesn't go over or under. Its distance to one has
		// so few bits that its product with half as many is exact.
		switch t := x - 1; {
		case t < -0x1p-21 || t > 0x1p-20 || math.Abs(y) > 1<<64:
			if (t > 0) == (y > 0) {
				return math.Inf(1)
			}
			return 0
		default:
			high, low = nearOne(t)
		}
	} else {
		high, low = log2(x)
	}
	y1 := upper(y)
	rest := float64((y-y1)*high) + float64(y*low)
	main := float64(y1 * high)
	switch z := rest + main; {
	case z > 1024 || z == 1024 && rest+over > z-main:
		return math.Inf(1)
	case z < -1075 || z == -1075 && rest <= z-main:
		return 0
	}
	return exp2(main, rest)
}

// over is 1024 less the logarithm of the largest number and half its last place.
const over = 8.0085662595372944372e-17

// upper is a number with the lower half of its bits cleared.
func upper(x float64) float64 { return math.Float64frombits(math.Float64bits(x) &^ (1<<32 - 1)) }

// nearOne is the logarithm to base 2 of 1 + t, for a t so small that four terms of
// the series do.
func nearOne(t float64) (high, low float64) {
	const (
		perLn2   = 1.44269504088896340735992468100189214 // 1/ln 2
		perLn2Hi = 0x1.71547p0                           // its first 21 bits: msun has 24, and is off by up to 600 units here
		perLn2Lo = perLn2 - perLn2Hi
	)
	w := float64(float64(t*t) * (0.5 - float64(t*(0.3333333333333333333333-float64(t*0.25)))))
	u := float64(perLn2Hi * t)
	v := float64(t*perLn2Lo) - float64(w*perLn2)
	high = upper(u + v)
	return high, v - (high - u)
}

// log2 is the logarithm to base 2 of a positive number. With x = 2^n * f and b the
// nearer of 1 and 1.5 to f it is n + log2 b + 2/(3 ln 2) * (3s + s³ + …), where s is
// (f-b)/(f+b); s, the sum and its product are carried in two parts.
func log2(x float64) (high, low float64) {
	const (
		l1 = 5.99999999999994648725e-01
		l2 = 4.28571428578550184252e-01
		l3 = 3.33333329818377432918e-01
		l4 = 2.72728123808534006489e-01
		l5 = 2.30660745775561754067e-01
		l6 = 2.06975017800338417784e-01

		factor   = 9.61796693925975554329e-01 // 2/(3 ln 2)
		factorHi = 9.61796700954437255859e-01
		factorLo = -7.02846165095275826516e-09
		log2bHi  = 5.84962487220764160156e-01 // log2 1.5
		log2bLo  = 1.35003920212974897128e-08
	)
	n := -1023
	bits := math.Float64bits(x)
	if bits>>52 == 0 { // less than the normal numbers
		bits = math.Float64bits(x * (1 << 53))
		n -= 53
	}
	n += int(bits >> 52)
	const one = 0x3ff << 52
	f := bits&(1<<52-1) | one
	b, bHi, bLo := 1.0, 0.0, 0.0
	switch lead := uint32(f>>32) & 0xfffff; {
	case lead <= 0x3988e: // below the root of 3/2
	case lead < 0xbb67a: // below the root of 3
		b, bHi, bLo = 1.5, log2bHi, log2bLo
	default:
		n++
		f -= 1 << 52
	}
	ax := math.Float64frombits(f)

	u := ax - b
	v := 1 / (ax + b)
	s := float64(u * v)
	sHi := upper(s)
	tHi := upper(ax + b)
	tLo := ax - (tHi - b)
	sLo := float64(v * ((u - float64(sHi*tHi)) - float64(sHi*tLo)))

	s2 := float64(s * s)
	r := float64(float64(s2*s2) * (l1 + float64(s2*(l2+float64(s2*(l3+float64(s2*(l4+float64(s2*(l5+float64(s2*l6)))))))))))
	r += float64(sLo * (sHi + s))
	s2 = float64(sHi * sHi)
	tHi = upper(3 + s2 + r)
	tLo = r - ((tHi - 3) - s2)

	u = float64(sHi * tHi)
	v = float64(sLo*tHi) + float64(tLo*s)
	pHi := upper(u + v)
	pLo := v - (pHi - u)
	zHi := float64(factorHi * pHi)
	zLo := float64(factorLo*pHi) + float64(pLo*factor) + bLo
	t := float64(n)
	high = upper(((zHi + zLo) + bHi) + t)
	return high, zLo - (((high - t) - bHi) - zHi)
}

// exp2 is two to the power of main + rest, of which main is the larger.
func exp2(main, rest float64) float64 {
	const (
		ln2    = 6.93147180559945286227e-01
		ln2Top = 6.93147182464599609375e-01
		ln2End = -1.90465429995776804525e-09
	)
	n := 0
	if z := rest + main; z > 0.5 || z < -0.5 {
		n = int(math.Floor(z + 0.5))
		main -= float64(n)
	}
	t := upper(rest + main)
	u := float64(t * ln2Top)
	v := float64((rest-(t-main))*ln2) + float64(t*ln2End)
	z := u + v
	w := v - (z - u)
	c := z - even(float64(z*z))
	r := float64(z*c)/(c-2) - (w + float64(z*w))
	return scale(onePlus(z, -r), n)
}
