// Package interval is arithmetic on intervals of float64, rounded outward: what
// an operation gives for any numbers of its operands lies in the interval that it
// gives for the intervals.
//
// How it goes. The ends of a sum, product, quotient and square root are rounded
// outward only where they aren't exact, which the error of the rounding tells
// (round.go); so they are the tightest that there are. The exponential, the
// logarithm and powers are the language's own, whose results aren't correctly
// rounded: their ends are moved outward by more than their error (elementary.go).
// An interval holds the exact result and every result of float64 arithmetic as
// well, since rounding to nearest never passes a float64 that the exact result
// doesn't pass. Operations that aren't defined everywhere say whether they are
// on all of their operands. The sets are those of IEEE 1788: an interval may be
// empty, and unbounded, and an infinity is never one of its members.
//
// In and out: I, a pair of numbers. Of ours the package imports lang/elementary
// alone. Imported by prove.
package interval

import (
	"fmt"
	"math"
)

// I is the numbers from Lo to Hi, both included; none if Lo > Hi.
type I struct{ Lo, Hi float64 }

// Entire is all numbers.
var Entire = I{math.Inf(-1), math.Inf(1)}

// Empty is no number.
var Empty = I{math.Inf(1), math.Inf(-1)}

// Point is one number.
func Point(x float64) I { return I{x, x} }

// String writes an interval: "[1, 2]".
func (x I) String() string { return fmt.Sprintf("[%v, %v]", x.Lo, x.Hi) }

// IsEmpty says whether an interval holds no number.
func (x I) IsEmpty() bool { return !(x.Lo <= x.Hi) }

// IsPoint says whether an interval is one number.
func (x I) IsPoint() bool { return x.Lo == x.Hi }

// Bounded says whether both ends are numbers.
func (x I) Bounded() bool { return x.Lo-x.Lo == 0 && x.Hi-x.Hi == 0 }

// Has says whether a number is a member.
func (x I) Has(v float64) bool { return x.Lo <= v && v <= x.Hi && v-v == 0 }

// In says whether all members are members of another interval.
func (x I) In(y I) bool { return x.IsEmpty() || y.Lo <= x.Lo && x.Hi <= y.Hi }

// Mag is the largest absolute value of a member.
func (x I) Mag() float64 { return max(math.Abs(x.Lo), math.Abs(x.Hi)) }

// Mig is the least absolute value of a member.
func (x I) Mig() float64 {
	if x.Lo <= 0 && x.Hi >= 0 {
		return 0
	}
	return min(math.Abs(x.Lo), math.Abs(x.Hi))
}

// Mid is a number in the middle of a bounded interval.
func (x I) Mid() float64 {
	m := float64(x.Lo/2) + float64(x.Hi/2)
	return min(max(m, x.Lo), x.Hi)
}

// Rad is at least how far the members are from Mid.
func (x I) Rad() float64 {
	m := x.Mid()
	return max(subUp(m, x.Lo), subUp(x.Hi, m))
}

// Hull is the least interval that holds two.
func Hull(x, y I) I {
	switch {
	case x.IsEmpty():
		return y
	case y.IsEmpty():
		return x
	}
	return I{min(x.Lo, y.Lo), max(x.Hi, y.Hi)}
}

// Meet is what two intervals have in common.
func Meet(x, y I) I {
	if z := (I{max(x.Lo, y.Lo), min(x.Hi, y.Hi)}); !z.IsEmpty() {
		return z
	}
	return Empty
}

// Neg is -x.
func Neg(x I) I { return I{-x.Hi, -x.Lo} }

// Abs is |x|.
func Abs(x I) I {
	if x.IsEmpty() {
		return Empty
	}
	return I{x.Mig(), x.Mag()}
}

// Min is the lesser of two.
func Min(x, y I) I {
	if x.IsEmpty() || y.IsEmpty() {
		return Empty
	}
	return I{min(x.Lo, y.Lo), min(x.Hi, y.Hi)}
}

// Max is the greater of two.
func Max(x, y I) I {
	if x.IsEmpty() || y.IsEmpty() {
		return Empty
	}
	return I{max(x.Lo, y.Lo), max(x.Hi, y.Hi)}
}

// Floor rounds down to a whole number, Ceil up, and Round to the nearest, of two
// to the even one. All three never fall as x grows.
func Floor(x I) I { return each(x, math.Floor) }

// Ceil is described with Floor.
func Ceil(x I) I { return each(x, math.Ceil) }

// Round is described with Floor.
func Round(x I) I { return each(x, math.RoundToEven) }

func each(x I, f func(float64) float64) I {
	if x.IsEmpty() {
		return Empty
	}
	return I{f(x.Lo), f(x.Hi)}
}

// Truth is what a condition may be for the members of intervals.
type Truth uint8

// The truths. Never is of empty intervals alone.
const (
	Never Truth = iota
	No
	Yes
	Maybe
)

// Of is the truth that is known.
func Of(yes bool) Truth {
	if yes {
		return Yes
	}
	return No
}

// Not is the opposite.
func (t Truth) Not() Truth { return t>>1 | t<<1&Maybe }

// And holds where both hold.
func (t Truth) And(u Truth) Truth { return t&u&Yes | (t|u)&No }

// Or holds where one holds.
func (t Truth) Or(u Truth) Truth { return (t|u)&Yes | t&u&No }

// Less compares x < y.
func Less(x, y I) Truth {
	switch {
	case x.IsEmpty() || y.IsEmpty():
		return Never
	case x.Hi < y.Lo:
		return Yes
	case x.Lo >= y.Hi:
		return No
	}
	return Maybe
}

// LessEqual compares x <= y.
func LessEqual(x, y I) Truth { return Less(y, x).Not() }

// Equal compares x == y.
func Equal(x, y I) Truth {
	switch {
	case x.IsEmpty() || y.IsEmpty():
		return Never
	case x.Hi < y.Lo || y.Hi < x.Lo:
		return No
	case x.IsPoint() && x == y:
		return Yes
	}
	return Maybe
}
