package elementary

import (
	"math"
	"math/big"
	"sync"
)

// The functions by sums in many digits, to measure against.

const prec = 320

func newFloat() *big.Float { return new(big.Float).SetPrec(prec) }

func bigOf(x float64) *big.Float { return newFloat().SetFloat64(x) }

// bigLn2 is 2 artanh(1/3).
var bigLn2 = sync.OnceValue(func() *big.Float {
	return twiceArtanh(newFloat().Quo(bigOf(1), bigOf(3)))
})

// twiceArtanh is ln((1+s)/(1-s)), by its series.
func twiceArtanh(s *big.Float) *big.Float {
	square := newFloat().Mul(s, s)
	sum, power := newFloat(), newFloat().Set(s)
	for n := 1.0; power.Sign() != 0 && power.MantExp(nil) > s.MantExp(nil)-prec; n += 2 {
		sum.Add(sum, newFloat().Quo(power, bigOf(n)))
		power.Mul(power, square)
	}
	return sum.Add(sum, sum)
}

// bigLog is the logarithm of a number above 0.
func bigLog(x float64) *big.Float {
	part, exp := math.Frexp(x)
	if part < math.Sqrt2/2 {
		part *= 2
		exp--
	}
	f := bigOf(part)
	s := newFloat().Quo(newFloat().Sub(f, bigOf(1)), newFloat().Add(f, bigOf(1)))
	return newFloat().Add(twiceArtanh(s), newFloat().Mul(bigOf(float64(exp)), bigLn2()))
}

// bigExp is e to the power of x, for an x that gives something like a float.
func bigExp(x *big.Float) *big.Float {
	k, _ := newFloat().Quo(x, bigLn2()).Int64()
	r := newFloat().Sub(x, newFloat().Mul(bigOf(float64(k)), bigLn2()))
	r.SetMantExp(r, -16)
	sum, term := bigOf(1), bigOf(1)
	for n := 1.0; term.Sign() != 0 && term.MantExp(nil) > -prec; n++ {
		term.Mul(term, newFloat().Quo(r, bigOf(n)))
		sum.Add(sum, term)
	}
	for range 16 {
		sum.Mul(sum, sum)
	}
	return sum.SetMantExp(sum, int(k))
}

// bigPow is a positive x to the power of y.
func bigPow(x, y float64) *big.Float { return bigExp(newFloat().Mul(bigLog(x), bigOf(y))) }

// ulps is how many units in the last place of what is wanted a number is off. A
// unit of what is less than the normal numbers is the least number that there is.
func ulps(got float64, want *big.Float) float64 {
	exp := max(want.MantExp(nil)-53, -1074)
	off := newFloat().Sub(bigOf(got), want)
	out, _ := off.SetMantExp(off, -exp).Float64()
	return math.Abs(out)
}
