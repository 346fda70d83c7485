//go:build amd64 && !purego

package eval

import (
	"golang.org/x/sys/cpu"

	"fettle/lang/formula"
)

// useWide says that the processor has 256-bit registers. Tests turn it off.
var useWide = cpu.X86.HasAVX && cpu.X86.HasPOPCNT

// arithWide does what arith does, four columns at a time; false where it can't.
func arithWide(op formula.Op, form int, d, a, b *Column, nr, nc int) bool {
	if !useWide {
		return false
	}
	// The loops below have no bounds checks: these are theirs.
	_ = d.v[(nr-1)*d.sr+nc-1]
	_ = a.v[a.stored(nr, nc)-1]
	_ = b.v[b.stored(nr, nc)-1]
	k := kernels[form][op]
	if k == nil {
		return false
	}
	k(&d.v[0], &a.v[0], &b.v[0], nr, nc, 8*d.sr, 8*a.sr, 8*b.sr)
	return true
}

// kernels are the loops of columns_amd64.s, by form and operation.
var kernels = [...][formula.Alias]func(d, a, b *float64, nr, nc, dr, ar, br int){
	vv: {formula.Add: addVV, formula.Sub: subVV, formula.Mul: mulVV, formula.Div: divVV, formula.Min: minVV, formula.Max: maxVV,
		formula.Lt: ltVV, formula.Le: leVV, formula.Gt: gtVV, formula.Ge: geVV, formula.Eq: eqVV, formula.Ne: neVV},
	vs: {formula.Add: addVS, formula.Sub: subVS, formula.Mul: mulVS, formula.Div: divVS, formula.Min: minVS, formula.Max: maxVS,
		formula.Lt: ltVS, formula.Le: leVS, formula.Gt: gtVS, formula.Ge: geVS, formula.Eq: eqVS, formula.Ne: neVS},
	sv: {formula.Sub: subSV, formula.Div: divSV},
}

// between does what rowsBetween does, four columns at a time.
func betweenWide(d, a, f *Column, nr, nc int) bool {
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
func minVV(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func maxVV(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func ltVV(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func leVV(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func gtVV(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func geVV(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func eqVV(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func neVV(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func addVS(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func subVS(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func mulVS(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func divVS(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func minVS(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func maxVS(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func ltVS(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func leVS(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func gtVS(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func geVS(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func eqVS(d, a, b *float64, nr, nc, dr, ar, br int)

//go:noescape
func neVS(d, a, b *float64, nr, nc, dr, ar, br int)

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

// lerpBetween computes n values d = a + f*(b-a), n at least 4; d is neither a nor b.
//
//go:noescape
func lerpBetween(d, a, b *float64, f float64, n int)

// allFinite says whether none of n values is infinite or no number.
//
//go:noescape
func allFinite(v *float64, n int) bool

// extentWide gives the least and the greatest of n values, eight or more, and
// whether all are finite; if not, the two mean nothing.
//
//go:noescape
func extentWide(v *float64, n int) (lo, hi float64, finite bool)

// differWide is how many of n pairs of values differ.
//
//go:noescape
func differWide(a, b *float64, n int) int
