package prove

import (
	"math"

	"fettle/compiler/interval"
)

// The symbols that a form is linear in. Each is some number from -1 to 1: a place
// along the rows' and the columns' axis of a patch, a condition within its box, and
// one of the value's own.
const (
	rowSymbol = iota
	colSymbol
	firstCondition
	maxConditions = 4 // further ones count as intervals alone
	ownSymbol     = firstCondition + maxConditions
	symbols       = ownSymbol + 1
)

// form is what is known of a value everywhere in a box: it lies in the interval, and
// it is c + a*symbols to within e. Both hold of the number that the evaluator
// computes, rounding and all. The linear part is what keeps values together that
// come from the same conditions: their difference is small although each is wide.
//
// The own symbol stands for a choice that isn't known, as between the branches of
// an `if`; own tells whose it is. Forms with the same one move together.
type form struct {
	interval.I
	c, e float64
	a    [symbols]float64
	own  uint32
	bad  bool // somewhere in the box it may be no finite number, or outside a range of validity
}

const (
	roundoff = 0x1p-53     // the share that one rounding can make
	grown    = 1 + 0x1p-48 // makes up for the roundings within a sum of errors
	tiny     = 0x1p-1000   // and for what is lost to underflow
)

// point is a form of one number.
func point(x float64) form {
	return form{I: interval.Point(x), c: x, bad: x-x != 0}
}

// ranged is a form of an interval alone.
func ranged(x interval.I) form {
	var f form
	f.setRange(x)
	return f
}

func (f *form) setRange(x interval.I) {
	*f = form{I: x, bad: !x.Bounded() || x.IsEmpty()}
	if f.bad {
		f.I = interval.Entire
		return
	}
	f.c, f.e = x.Mid(), x.Rad()
}

var unknown = form{I: interval.Entire, bad: true}

// linear is the size of the linear part.
func (f *form) linear() float64 {
	s := 0.0
	for _, a := range f.a {
		s += math.Abs(a)
	}
	return s
}

// reach is how far the value may be from c.
func (f *form) reach() float64 {
	r := (f.linear() + f.e) * grown
	return min(r, max(interval.UpSum(f.Hi, -f.c), interval.UpSum(f.c, -f.Lo)))
}

// settle draws the interval in to what the linear part allows, and lets a linear
// part go that says nothing.
func (f *form) settle(natural interval.I) {
	if !natural.Bounded() {
		*f = unknown
		return
	}
	r := float64((f.linear() + f.e) * grown)
	lo, hi := -interval.UpSum(-f.c, r), interval.UpSum(f.c, r)
	f.I = natural
	if r-r == 0 && f.c-f.c == 0 {
		lo, hi = max(lo, f.Lo), min(hi, f.Hi)
		if lo <= hi {
			f.Lo, f.Hi = lo, hi
		}
		if f.e < float64((f.Hi-f.Lo)/2) {
			return
		}
	}
	bad := f.bad
	f.setRange(f.I)
	f.bad = f.bad || bad
}

// within is what the form's interval has in common with another that holds it too.
func (f *form) within(x interval.I) interval.I {
	if y := interval.Meet(f.I, x); !y.IsEmpty() {
		return y
	}
	return x
}

// fold gives up the own symbol.
func (f *form) fold() {
	f.e = (f.e + math.Abs(f.a[ownSymbol])) * grown
	f.a[ownSymbol], f.own = 0, 0
}

// agree sees to it that two forms have one own symbol at most, that of the wider.
func agree(x, y *form, spare *form) (*form, *form) {
	if x.own == y.own || x.own == 0 || y.own == 0 {
		return x, y
	}
	if math.Abs(x.a[ownSymbol]) < math.Abs(y.a[ownSymbol]) {
		*spare = *x
		spare.fold()
		return spare, y
	}
	*spare = *y
	spare.fold()
	return x, spare
}

// add sets f to x + by*y, where by is 1 or -1.
func (f *form) add(x, y *form, by float64) {
	if x.IsPoint() && y.IsPoint() {
		*f = pointOf(x.Lo+float64(by*y.Lo), x, y)
		return
	}
	var spare form
	x, y = agree(x, y, &spare)
	natural := y.I
	if by < 0 {
		natural = interval.Neg(natural)
	}
	natural = interval.Add(x.I, natural)
	out := form{c: x.c + float64(by*y.c), own: max(x.own, y.own), bad: x.bad || y.bad}
	sum := math.Abs(out.c)
	for i := range out.a {
		out.a[i] = x.a[i] + float64(by*y.a[i])
		sum += math.Abs(out.a[i])
	}
	out.e = float64((x.e+y.e+float64(2*roundoff*sum)+float64(roundoff*natural.Mag()))*grown) + tiny
	out.settle(natural)
	*f = out
}

// pointOf is the evaluator's own result, of operands that are one number each.
func pointOf(v float64, x, y *form) form {
	p := point(v)
	p.bad = p.bad || x.bad || y.bad
	return p
}

// mul sets f to x * y.
func (f *form) mul(x, y *form) {
	if x.IsPoint() && y.IsPoint() {
		*f = pointOf(x.Lo*y.Lo, x, y)
		return
	}
	f.product(x, y, interval.Mul(x.I, y.I))
}

// product is mul, of which the interval is known.
func (f *form) product(x, y *form, natural interval.I) {
	var spare form
	x, y = agree(x, y, &spare)
	out := form{c: x.c * y.c, own: max(x.own, y.own), bad: x.bad || y.bad}
	sum := math.Abs(out.c)
	for i := range out.a {
		p, q := float64(x.c*y.a[i]), float64(y.c*x.a[i])
		out.a[i] = p + q
		sum += math.Abs(p) + math.Abs(q)
	}
	out.e = float64(math.Abs(x.c)*y.e) + float64(math.Abs(y.c)*x.e)
	if rx, ry := x.reach(), y.reach(); rx != 0 && ry != 0 {
		out.e += float64(rx * ry)
	}
	out.e = float64((out.e+float64(4*roundoff*sum)+float64(roundoff*natural.Mag()))*grown) + tiny
	out.settle(natural)
	*f = out
}

// div sets f to x / y.
func (f *form) div(x, y *form) {
	if x.IsPoint() && y.IsPoint() {
		*f = pointOf(x.Lo/y.Lo, x, y)
		return
	}
	natural, defined := interval.Div(x.I, y.I)
	if !defined || !natural.Bounded() {
		*f = unknown
		return
	}
	var over form
	over.inverse(y)
	f.product(x, &over, natural)
}

// neg sets f to -x.
func (f *form) neg(x *form) {
	out := *x
	out.I, out.c = interval.Neg(x.I), -x.c
	for i := range out.a {
		out.a[i] = -out.a[i]
	}
	*f = out
}

// slack widens a form by a share of its size, for rounding that isn't accounted for
// step by step.
func (f *form) slack(share float64) {
	by := interval.UpProduct(share, f.Mag())
	f.Lo, f.Hi = -interval.UpSum(-f.Lo, by), interval.UpSum(f.Hi, by)
	f.e = float64((f.e+by)*grown) + tiny
}

// join sets f to one of x and y, it isn't known which; whose is a number that no
// other choice has.
func (f *form) join(x, y *form, whose uint32) {
	if x.bad || y.bad {
		*f = unknown
		return
	}
	if *x == *y {
		*f = *x
		return
	}
	one, other := *x, *y
	one.fold()
	other.fold()
	out := form{c: float64(one.c/2) + float64(other.c/2), e: max(one.e, other.e), own: whose}
	half := math.Abs(one.c-other.c) / 2
	sum := math.Abs(one.c) + math.Abs(other.c)
	for i := range out.a {
		out.a[i] = float64(one.a[i]/2) + float64(other.a[i]/2)
		half += math.Abs(one.a[i]-other.a[i]) / 2
		sum += math.Abs(one.a[i]) + math.Abs(other.a[i])
	}
	out.a[ownSymbol] = half
	out.e = float64((out.e+float64(8*roundoff*sum))*grown) + tiny
	out.settle(interval.Hull(x.I, y.I))
	*f = out
}

// patch sets f to a map's value anywhere in a rectangle between its breakpoints, of
// the values at the corners, rows first: the bilinear form through them. The linear
// part takes the slopes along the axes; how these differ from condition to
// condition, and the twist of the surface, are left to the error.
func (f *form) patch(at *[2][2]*form) {
	first := true
	natural, size := interval.Empty, 0.0
	out := form{}
	var own, e float64
	for r := range 2 {
		for c := range 2 {
			x := at[r][c]
			if first = first && x.IsPoint() && x.Lo == at[0][0].Lo; x.bad {
				*f = unknown
				return
			}
			natural = interval.Hull(natural, x.I)
			out.c += x.c / 4
			for i := range out.a {
				out.a[i] += x.a[i] / 4
				size = max(size, math.Abs(x.a[i]))
			}
			own, e = max(own, math.Abs(x.a[ownSymbol])), max(e, x.e)
			size = max(size, math.Abs(x.c), x.Mag())
		}
	}
	if first { // level
		*f = *at[0][0]
		return
	}
	turn := 0.0
	for r := range 2 {
		for c := range 2 {
			s := 0.0
			for i := range out.a[:ownSymbol] {
				s += math.Abs(at[r][c].a[i] - out.a[i])
			}
			turn = max(turn, s)
		}
	}
	twist := math.Abs(at[0][0].c-at[0][1].c-at[1][0].c+at[1][1].c) / 4
	out.a[rowSymbol] = (at[1][0].c + at[1][1].c - at[0][0].c - at[0][1].c) / 4
	out.a[colSymbol] = (at[0][1].c + at[1][1].c - at[0][0].c - at[1][0].c) / 4
	out.a[ownSymbol] = 0
	pad := float64(16 * symbols * roundoff * size)
	out.e = float64((e+own+turn+twist+pad)*grown) + tiny
	out.settle(interval.I{Lo: natural.Lo - pad, Hi: natural.Hi + pad})
	*f = out
}
