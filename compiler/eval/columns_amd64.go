//go:build amd64 && !purego

package eval

import (
	"golang.org/x/sys/cpu"

	"fettle/lang/formula"
)

// useWide says that the processor has 256-bit registers. Tests turn it off.
var useWide = cpu.X86.HasAVX

// arithWide does what arith does, four columns at a time; false where it can't.
func arithWide(op formula.Op, form int, d, a, b Column, nr, nc int) bool {
	if !useWide {
		return false
	}
	// The loops below have no bounds checks: these are theirs.
	_ = d.v[(nr-1)*d.sr+nc-1]
	_ = a.v[a.stored(nr, nc)-1]
	_ = b.v[b.stored(nr, nc)-1]
	var f func(d, a, b *float64, nr, nc, dr, ar, br int)
	switch form {
	case vv:
		switch op {
		case formula.Add:
			f = addVV
		case formula.Sub:
			f = subVV
		case formula.Mul:
			f = mulVV
		case formula.Div:
			f = divVV
		}
	case vs:
		switch op {
		case formula.Add:
			f = addVS
		case formula.Sub:
			f = subVS
		case formula.Mul:
			f = mulVS
		case formula.Div:
			f = divVS
		}
	case sv:
		switch op {
		case formula.Sub:
			f = subSV
		case formula.Div:
			f = divSV
		}
	}
	f(&d.v[0], &a.v[0], &b.v[0], nr, nc, 8*d.sr, 8*a.sr, 8*b.sr)
	return true
}

// between does what rowsBetween does, four columns at a time.
func betweenWide(d, a, f Column, nr, nc int) bool {
	if !useWide {
		return false
	}
	_ = d.v[(nr-1)*d.sr+nc-1]
	_ = a.v[(nr-1)*a.sr+nc] // the last column's neighbour
	_ = f.v[nc-1]
	lerpRows(&d.v[0], &a.v[0], &f.v[0], nr, nc, 8*d.sr, 8*a.sr, 0)
	return true
}

// Each computes nr rows of nc columns; dr, ar and br are the bytes from a row to
// the next.

//go:noescape
func addVV(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func subVV(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func mulVV(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func divVV(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func addVS(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func subVS(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func mulVS(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func divVS(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func subSV(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func divSV(d, a, b *float64, nr, nc, dr, ar, br int)

// scaleWide computes n values d = a * k[0] * k[1] * k[2] * k[3].
//
//go:noescape
func scaleWide(d, a *float64, k *[4]float64, n int)

//go:noescape
func lerpRows(d, a, b *float64, nr, nc, dr, ar, br int)

// allFinite says whether none of n values is infinite or no number.
//
//go:noescape
func allFinite(v *float64, n int) bool

// extentWide gives the least and the greatest of n values, eight or more, and
// whether all are finite; if not, the two mean nothing.
//
//go:noescape
func extentWide(v *float64, n int) (lo, hi float64, finite bool)
