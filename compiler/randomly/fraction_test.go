package randomly_test

import (
	"math"
	"math/big"
)

// The third way to compute: exact fractions, each with a bound of how far the
// 64-bit result may be from it. The bounds are those of running error analysis. With
// u = 2^-53 an operation that is carried out on operands which are off by da and db
// is off by no more than
//
//	a + b, a - b   da + db, and u of the result
//	a * b          |a| db + |b| da + da db, and u of the result
//	a / b          (|a| db + |b| da) / (|b| (|b| - db)), and u of the result
//	min, max       the larger of da and db
//
// where "of the result" counts its own error too, and the least subnormal is added
// for what underflows. Nothing is said of a comparison whose sides are nearer than
// their bounds, of a rounding that such a bound reaches across, and of what follows
// from them: those are lost.
type fraction struct {
	x    *big.Rat
	err  float64
	is   state
	size float64 // |x|, rounded up
}

type state uint8

const (
	known    state = iota
	lost           // the bounds don't tell
	infinite       // divided by 0: in 64 bits no finite number
)

const (
	u        = 0x1p-53
	tiniest  = 0x1p-1073
	longest  = 6000 // bits of a fraction that is carried on exactly
	shortens = 1000 // bits that a longer one keeps
)

var (
	nothing = fraction{is: lost}
	endless = fraction{is: infinite}
)

// exactly is a 64-bit number as it is.
func exactly(v float64) fraction {
	if v-v != 0 {
		return nothing
	}
	return made(new(big.Rat).SetFloat64(v), 0)
}

func made(x *big.Rat, err float64) fraction {
	f := fraction{x: x, err: err}
	if x.Num().BitLen()+x.Denom().BitLen() > longest {
		short := new(big.Float).SetPrec(shortens).SetRat(x)
		f.x, _ = short.Rat(nil)
	}
	size, _ := f.x.Float64()
	f.size = math.Abs(size) * (1 + 4*u)
	if f.size+f.err > 1e300 || f.err != f.err {
		return nothing
	}
	return f
}

// rounded is the result of an operation, off by err before its own rounding.
func rounded(x *big.Rat, err float64) fraction {
	f := made(x, err)
	if v, exact := x.Float64(); err == 0 && exact && v-v == 0 {
		return f // nothing is rounded
	}
	if f.is == known {
		f.err += u*(f.size+err) + tiniest
		f.err *= 1 + 8*u
	}
	return f
}

// both says what comes of two operands of which one isn't known.
func both(a, b fraction) (fraction, bool) {
	switch {
	case a.is == lost || b.is == lost:
		return nothing, false
	case a.is == infinite || b.is == infinite:
		return endless, false
	}
	return fraction{}, true
}

func (a fraction) add(b fraction) fraction {
	if f, ok := both(a, b); !ok {
		return f
	}
	return rounded(new(big.Rat).Add(a.x, b.x), a.err+b.err)
}

func (a fraction) neg() fraction {
	if a.is != known {
		return a
	}
	return fraction{x: new(big.Rat).Neg(a.x), err: a.err, size: a.size}
}

func (a fraction) sub(b fraction) fraction { return a.add(b.neg()) }

func (a fraction) abs() fraction {
	if a.is == known && a.x.Sign() < 0 {
		return a.neg()
	}
	return a
}

func (a fraction) mul(b fraction) fraction {
	if f, ok := both(a, b); !ok {
		return f
	}
	return rounded(new(big.Rat).Mul(a.x, b.x), a.size*b.err+b.size*a.err+a.err*b.err)
}

func (a fraction) div(b fraction) fraction {
	switch {
	case a.is == lost || b.is != known:
		return nothing // a finite number by an infinite one is 0
	case b.x.Sign() == 0 && b.err == 0 || a.is == infinite:
		return endless
	case b.size*(1-8*u) <= b.err:
		return nothing
	}
	least := b.size * (1 - 8*u)
	err := (a.size*b.err + b.size*a.err) / (least * (least - b.err)) * (1 + 16*u)
	return rounded(new(big.Rat).Quo(a.x, b.x), err)
}

// least is the lesser of two, which is no nearer to the 64-bit one than the worse.
func (a fraction) least(b fraction) fraction {
	if a.is != known || b.is != known {
		return nothing // the lesser of a number and an infinity may be either
	}
	if b.x.Cmp(a.x) < 0 {
		a.x, a.size = b.x, b.size
	}
	a.err = max(a.err, b.err)
	return a
}

func (a fraction) most(b fraction) fraction { return a.neg().least(b.neg()).neg() }

// sign is that of a - b; ok is false where the bounds don't tell.
func (a fraction) sign(b fraction) (sign int, ok bool) {
	if a.is != known || b.is != known {
		return 0, false
	}
	if sign = a.x.Cmp(b.x); a.err == 0 && b.err == 0 {
		return sign, true
	}
	apart, _ := new(big.Rat).Sub(a.x, b.x).Float64()
	return sign, math.Abs(apart)*(1-4*u) > a.err+b.err
}

// to brings it to a whole number, if all numbers within its bounds go to the same.
func (a fraction) to(whole func(*big.Rat) *big.Int) fraction {
	if a.is != known {
		return nothing
	}
	err := new(big.Rat).SetFloat64(a.err)
	lo, hi := whole(new(big.Rat).Sub(a.x, err)), whole(new(big.Rat).Add(a.x, err))
	if lo.Cmp(hi) != 0 {
		return nothing
	}
	return made(new(big.Rat).SetInt(lo), 0)
}

func below(x *big.Rat) *big.Int { return new(big.Int).Div(x.Num(), x.Denom()) }

func above(x *big.Rat) *big.Int {
	n := below(new(big.Rat).Neg(x))
	return n.Neg(n)
}

// nearest is the nearest whole number, the even one of two.
func nearest(x *big.Rat) *big.Int {
	half := big.NewRat(1, 2)
	n := below(new(big.Rat).Add(x, half))
	tie := new(big.Rat).Sub(new(big.Rat).SetInt(n), x)
	if tie.Cmp(half) == 0 && n.Bit(0) == 1 {
		n.Sub(n, big.NewInt(1))
	}
	return n
}

// line is the value at x of what goes straight from point to point and holds its
// ends. What it may be off by follows from the steepest part that x may be in.
func line(points []float64, values func(i int) fraction, x fraction) fraction {
	if x.is != known {
		return nothing
	}
	n := len(points)
	at := func(x *big.Rat) (i int, exact bool) { // the last point that isn't beyond x; -1 for none
		for i = n - 1; i >= 0; i-- {
			if c := new(big.Rat).SetFloat64(points[i]).Cmp(x); c <= 0 {
				return i, c == 0
			}
		}
		return -1, false
	}
	err := new(big.Rat).SetFloat64(x.err)
	from, _ := at(new(big.Rat).Sub(x.x, err))
	to, exact := at(new(big.Rat).Add(x.x, err))
	last := min(to+1, n-1)
	if x.err == 0 && exact {
		last = to
	}
	var out fraction
	bound, slope, jump, largest := 0.0, 0.0, 0.0, 0.0
	for i := max(from, 0); i <= last; i++ {
		v := values(i)
		if v.is != known {
			return nothing
		}
		bound, largest = max(bound, v.err), max(largest, v.size+v.err)
		if i > max(from, 0) {
			w := values(i - 1)
			d := new(big.Rat).Sub(v.x, w.x)
			rise, _ := d.Float64()
			rise = (math.Abs(rise) + v.err + w.err) * (1 + 8*u)
			jump = max(jump, rise)
			slope = max(slope, rise/(points[i]-points[i-1])*(1+8*u))
		}
	}
	switch i, exact := at(x.x); {
	case i < 0:
		out = values(0)
	case exact || i == n-1:
		out = values(i)
	default:
		a, b := values(i), values(i+1)
		part := new(big.Rat).Sub(x.x, new(big.Rat).SetFloat64(points[i]))
		part.Quo(part, new(big.Rat).Sub(new(big.Rat).SetFloat64(points[i+1]), new(big.Rat).SetFloat64(points[i])))
		rise := new(big.Rat).Sub(b.x, a.x)
		out = made(rise.Add(rise.Mul(rise, part), a.x), 0)
	}
	if out.is != known {
		return nothing
	}
	// Six roundings on the way to what is added, and one of the sum.
	out.err = (bound + slope*x.err + 8*u*jump + 2*u*largest + tiniest) * (1 + 16*u)
	if x.err == 0 && len(points) > 0 && (jump == 0 && last == max(from, 0)) {
		out.err = bound // read as it is
	}
	return out
}
