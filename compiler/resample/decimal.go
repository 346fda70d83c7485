package resample

import (
	"math"
	"math/big"
	"strconv"
)

// decimal is a finite float as it is written: the shortest decimal that is this
// float.
func decimal(x float64) *big.Rat {
	r, _ := new(big.Rat).SetString(strconv.FormatFloat(x, 'e', -1, 64))
	return r
}

// Ladder gives lo, lo + by and so on, up to hi, each as decimals add up, so that
// the third of 0.1 is 0.3; and whether the last of them is hi. It is nil if there
// are more than most.
func Ladder(lo, hi, by float64, most int) (points []float64, meets bool) {
	at, end, step := decimal(lo), decimal(hi), decimal(by)
	if by <= 0 || hi < lo || (hi-lo)/by > float64(most) {
		return nil, false
	}
	for ; at.Cmp(end) <= 0; at.Add(at, step) {
		if len(points) == most {
			return nil, false
		}
		x, _ := at.Float64()
		points = append(points, x)
	}
	return points, points[len(points)-1] == hi
}

// Multiple says whether a value is a whole multiple of a step, as both are
// written.
func Multiple(x, step float64) bool {
	return new(big.Rat).Quo(decimal(x), decimal(step)).IsInt()
}

// steps is how many steps a value is over an offset, half to even.
func steps(x, step, offset float64) float64 {
	// The quotient carries a few relative errors of 2^-53 of the greater of the
	// two; so where it stands farther than 1e-6 from a half it rounds as the
	// written one does.
	if math.Abs(x) < 1e8*step && math.Abs(offset) < 1e8*step {
		q := (x - offset) / step
		if math.Abs(math.Abs(q-math.Trunc(q))-0.5) > 1e-6 {
			return math.RoundToEven(q) + 0 // zero has no sign
		}
	}
	q := new(big.Rat).Sub(decimal(x), decimal(offset))
	q.Quo(q, decimal(step))
	n, rest := new(big.Int).QuoRem(q.Num(), q.Denom(), new(big.Int)) // towards zero
	switch c := rest.Lsh(rest.Abs(rest), 1).Cmp(q.Denom()); {
	case c > 0, c == 0 && n.Bit(0) == 1:
		n.Add(n, big.NewInt(int64(q.Sign())))
	}
	f, _ := new(big.Float).SetInt(n).Float64()
	return f
}

// worth is the value of a raw number: offset + raw * step, as decimals add up.
func worth(raw, step, offset float64) float64 {
	if offset == 0 && step == 1 {
		return raw
	}
	v := new(big.Rat).Mul(decimal(raw), decimal(step))
	f, _ := v.Add(v, decimal(offset)).Float64()
	return f
}
