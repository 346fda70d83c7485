package unit

import "math/big"

// Factor is a unit's exact size in coherent units (kg, m, s, K, rev, A, mol): a rational times a whole power of pi, which
// the radian needs because the base unit of angle is the revolution. It is immutable; the zero value is one.
type Factor struct {
	r  *big.Rat // nil stands for one; never changed once it is in a Factor
	pi int
}

// piDigits is pi cut off after 100 decimals, more than three hundred bits: enough to round any product with it correctly.
const piDigits = "3.1415926535897932384626433832795028841971693993751058209749445923078164062862089986280348253421170679"

const piBits = 320

// one is read only.
var one = big.NewRat(1, 1)

func (f Factor) rat() *big.Rat {
	if f.r == nil {
		return one
	}
	return f.r
}

// Mul is the product of two factors.
func (f Factor) Mul(o Factor) Factor {
	return Factor{new(big.Rat).Mul(f.rat(), o.rat()), f.pi + o.pi}
}

// Div is the quotient of two factors; no unit has size zero, so it always exists.
func (f Factor) Div(o Factor) Factor {
	return Factor{new(big.Rat).Quo(f.rat(), o.rat()), f.pi - o.pi}
}

// PowInt is f to the power n. Its digits grow with n: ask Unit.CanPow first where n comes from a source.
func (f Factor) PowInt(n int) Factor {
	base := f.rat()
	exp := n
	if n < 0 {
		base, exp = new(big.Rat).Inv(base), -n
	}
	e := big.NewInt(int64(exp))
	num := new(big.Int).Exp(base.Num(), e, nil)
	den := new(big.Int).Exp(base.Denom(), e, nil)
	return Factor{new(big.Rat).SetFrac(num, den), f.pi * n}
}

// Float is the factor correctly rounded to a float64.
func (f Factor) Float() float64 {
	if f.pi == 0 {
		x, _ := f.rat().Float64()
		return x
	}
	x := new(big.Float).SetPrec(piBits).SetRat(f.rat())
	pi, _, err := big.ParseFloat(piDigits, 10, piBits, big.ToNearestEven)
	if err != nil {
		return 0 // unreachable: the digits are a constant
	}
	for i := 0; i < f.pi; i++ {
		x.Mul(x, pi)
	}
	for i := 0; i > f.pi; i-- {
		x.Quo(x, pi)
	}
	y, _ := x.Float64()
	return y
}

// Equal says that two factors are exactly the same.
func (f Factor) Equal(o Factor) bool {
	if f.r == o.r || f.pi != o.pi {
		return f.pi == o.pi
	}
	a, b := f.rat(), o.rat() // in lowest terms
	return a.IsInt() == b.IsInt() && a.Num().Cmp(b.Num()) == 0 && (a.IsInt() || a.Denom().Cmp(b.Denom()) == 0)
}

// IsOne says that the factor is exactly one.
func (f Factor) IsOne() bool { return f.Equal(Factor{}) }

// bits is the size of the rational, to keep powers of powers small.
func (f Factor) bits() int {
	return max(f.rat().Num().BitLen(), f.rat().Denom().BitLen())
}
