package prove

import (
	"math"

	"fettle/compiler/interval"
	"fettle/lang/formula"
)

// curved sets f to a function of x that isn't linear: its tangent at c, and how far
// the function may lie from that, by Taylor's theorem: half of the second derivative
// anywhere in the interval times the square of the distance. The function's values
// are in natural, at is its value at c, slope its derivative there, bend the second
// derivative over the interval; share is what the evaluator's value may be off by.
func (f *form) curved(x *form, natural, at, slope, bend interval.I, share float64) {
	if !at.Bounded() || !slope.Bounded() || !bend.Bounded() {
		f.setRange(natural)
		f.bad = f.bad || x.bad
		return
	}
	r := x.reach()
	half := interval.UpProduct(interval.UpProduct(r, r), 0.5)
	at = interval.Add(at, interval.Mul(bend, interval.I{Lo: 0, Hi: half}))
	s := slope.Mid()
	out := form{c: at.Mid(), own: x.own, bad: x.bad}
	sum := 0.0
	for i := range out.a {
		out.a[i] = s * x.a[i]
		sum += math.Abs(out.a[i])
	}
	out.e = float64((float64(math.Abs(s)*x.e)+float64(slope.Rad()*r)+at.Rad()+float64(2*roundoff*sum)+float64(share*natural.Mag()))*grown) + tiny
	out.settle(natural)
	*f = out
}

// inside gives x, or its interval alone where c lies outside of that, so that no
// function is asked for a value where it may have none.
func inside(x *form) *form {
	if x.bad || x.Has(x.c) {
		return x
	}
	y := ranged(x.I)
	return &y
}

// inverse sets f to 1 / y; y isn't 0 anywhere.
func (f *form) inverse(y *form) {
	one := interval.Point(1)
	natural, _ := interval.Div(one, y.I)
	if y.IsPoint() {
		f.setRange(natural)
		return
	}
	y = inside(y)
	at, _ := interval.Div(one, interval.Point(y.c))
	slope := interval.Neg(interval.Mul(at, at))
	bend := interval.Mul(interval.Point(2), interval.Mul(natural, interval.Mul(natural, natural)))
	f.curved(y, natural, at, slope, bend, roundoff)
}

// exp sets f to e to the x.
func (f *form) exp(x *form) {
	x = inside(x)
	natural, at := interval.Exp(x.I), interval.Exp(interval.Point(x.c))
	f.curved(x, natural, at, at, natural, 8*roundoff)
}

// log sets f to the logarithm of x.
func (f *form) log(x *form) {
	x = inside(x)
	natural, defined := interval.Log(x.I)
	if !defined {
		*f = unknown
		return
	}
	one := interval.Point(1)
	at, _ := interval.Log(interval.Point(x.c))
	slope, _ := interval.Div(one, interval.Point(x.c))
	over, _ := interval.Div(one, x.I)
	f.curved(x, natural, at, slope, interval.Neg(interval.Mul(over, over)), 8*roundoff)
}

// sqrt sets f to the square root of x.
func (f *form) sqrt(x *form) {
	x = inside(x)
	natural, defined := interval.Sqrt(x.I)
	switch {
	case !defined:
		*f = unknown
		return
	case x.Lo == 0:
		f.setRange(natural)
		f.bad = f.bad || x.bad
		return
	}
	half := interval.Point(0.5)
	at, _ := interval.Sqrt(interval.Point(x.c))
	slope, _ := interval.Div(half, at)
	bend, _ := interval.Div(interval.Point(-0.25), interval.Mul(natural, x.I))
	f.curved(x, natural, at, slope, bend, roundoff)
}

// pow sets f to x to the y.
func (f *form) pow(x, y *form) {
	x = inside(x)
	natural, defined := interval.Pow(x.I, y.I)
	if !defined || !natural.Bounded() {
		*f = unknown
		return
	}
	const share = 8 * roundoff
	if !y.IsPoint() {
		f.powers(x, y, natural)
		return
	}
	n := y.Lo
	less := interval.Sub(y.I, interval.Point(1))
	at, ok := interval.Pow(interval.Point(x.c), y.I)
	slope, ok2 := interval.Pow(interval.Point(x.c), less)
	bend, ok3 := interval.Pow(x.I, interval.Sub(less, interval.Point(1)))
	if n == 0 || n == 1 { // of which the derivatives are fixed, however they are worked out
		bend, ok3 = interval.Point(0), true
		slope, ok2 = interval.Point(n), true
	} else {
		slope = interval.Mul(y.I, slope)
		bend = interval.Mul(interval.Mul(y.I, less), bend)
	}
	if !ok || !ok2 || !ok3 {
		f.setRange(natural)
		f.bad = f.bad || x.bad || y.bad
		return
	}
	f.curved(x, natural, at, slope, bend, share)
	f.bad = f.bad || y.bad
}

// powers is pow of an exponent that varies, by way of the logarithm.
func (f *form) powers(x, y *form, natural interval.I) {
	var out form
	if x.Lo > 0 {
		out.log(x)
		out.mul(&out, y)
		out.exp(&out)
	}
	if x.Lo <= 0 || out.bad {
		f.setRange(natural)
	} else {
		out.e = float64((out.e+float64(8*roundoff*natural.Mag()))*grown) + tiny
		*f = out
		f.settle(natural)
	}
	f.bad = f.bad || x.bad || y.bad
}

// positive sets f to the greater of x and 0: where x may be on either side, the line
// through the ends lies above it by no more than it does at 0.
func (f *form) positive(x *form) {
	switch {
	case x.Lo >= 0:
		*f = *x
		return
	case x.Hi <= 0:
		*f = point(0)
		f.bad = x.bad
		return
	}
	// lambda*x + mu, to within mu, whatever lambda between 0 and 1 where mu is no less
	// than needed: at Lo the line must reach 0, at Hi it must reach Hi.
	lambda := min(max(x.Hi/(x.Hi-x.Lo), 0), 1)
	most := max(-mulDown(lambda, x.Lo), mulUp(1-lambda, x.Hi)) * grown
	mu := most / 2
	out := form{c: float64(lambda*x.c) + mu, own: x.own, bad: x.bad}
	sum := math.Abs(out.c)
	for i := range out.a {
		out.a[i] = lambda * x.a[i]
		sum += math.Abs(out.a[i])
	}
	out.e = float64((float64(lambda*x.e)+mu+float64(4*roundoff*sum))*grown) + tiny
	out.settle(interval.Max(x.I, interval.Point(0)))
	*f = out
}

func mulUp(a, b float64) float64   { return interval.UpProduct(a, b) }
func mulDown(a, b float64) float64 { return -interval.UpProduct(-a, b) }

// max sets f to the greater of x and y, or to the lesser one where sign is -1.
func (f *form) max(x, y *form, sign float64) {
	natural := interval.Max(x.I, y.I)
	if sign < 0 {
		natural = interval.Min(x.I, y.I)
	}
	bad := x.bad || y.bad
	var apart form
	apart.add(x, y, -1)
	if sign < 0 {
		apart.neg(&apart)
	}
	switch {
	case apart.bad:
		f.setRange(natural)
	case apart.Lo >= 0:
		*f = *x
	case apart.Hi <= 0:
		*f = *y
	default:
		apart.positive(&apart)
		apart.add(y, &apart, sign)
		apart.settle(apart.within(natural))
		*f = apart
	}
	f.bad = f.bad || bad
}

// abs sets f to |x|, which is twice the greater of x and 0, less x.
func (f *form) abs(x *form) {
	natural := interval.Abs(x.I)
	switch {
	case x.Lo >= 0:
		*f = *x
		return
	case x.Hi <= 0:
		f.neg(x)
		return
	}
	var p form
	p.positive(x)
	p.add(&p, &p, 1)
	p.add(&p, x, -1)
	p.settle(p.within(natural))
	p.bad = p.bad || x.bad
	*f = p
}

// truth reads a yes/no value.
func (f *form) truth() interval.Truth {
	switch {
	case f.Lo == 1:
		return interval.Yes
	case f.Hi == 0:
		return interval.No
	}
	return interval.Maybe
}

func (f *form) setTruth(t interval.Truth, bad bool) {
	switch t {
	case interval.Yes:
		*f = point(1)
	case interval.No:
		*f = point(0)
	default:
		*f = ranged(interval.I{Lo: 0, Hi: 1})
	}
	f.bad = bad
}

// compare sets f to the outcome of a comparison.
func (f *form) compare(op formula.Op, x, y *form) {
	bad := x.bad || y.bad
	if bad {
		f.setTruth(interval.Maybe, true)
		return
	}
	var t interval.Truth
	less := func(x, y *form) interval.Truth {
		t := interval.Less(x.I, y.I)
		if t == interval.Maybe {
			var apart form
			apart.add(x, y, -1)
			if !apart.bad {
				t = interval.Less(apart.I, interval.Point(0))
			}
		}
		return t
	}
	switch op {
	case formula.Lt:
		t = less(x, y)
	case formula.Le:
		t = less(y, x).Not()
	case formula.Gt:
		t = less(y, x)
	case formula.Ge:
		t = less(x, y).Not()
	case formula.Eq, formula.Ne:
		if t = interval.Equal(x.I, y.I); t == interval.Maybe {
			var apart form
			if apart.add(x, y, -1); !apart.bad && !apart.Has(0) {
				t = interval.No
			}
		}
		if op == formula.Ne {
			t = t.Not()
		}
	}
	f.setTruth(t, false)
}
