package unit

import "math/big"

// Conv converts a float64 from one unit to another: (x*p + c) / q. Where the exact conversion can be written with whole
// numbers p, c and q that a float64 holds, it is: 1 g is 1000 mg, 3 in is 76.2 mm and 77 degF is 25 degC, to the last
// digit. Otherwise p is the exact ratio, correctly rounded, c the offset, and q one. The zero value changes nothing; two
// Conv are equal when they do the same.
type Conv struct {
	p, c, q float64 // q is zero in the conversion that changes nothing
}

// DimError says that two units measure different things.
type DimError struct {
	From, To Unit
}

func (e *DimError) Error() string {
	return describe(e.From) + " can't become " + describe(e.To)
}

func describe(u Unit) string {
	switch {
	case u.IsPlain():
		return "a plain number"
	case u.Dim.IsNone():
		return "`" + u.Text + "` (a ratio)"
	}
	return "`" + u.Text + "` (" + u.Dim.String() + ")"
}

// NewConv prepares the conversion of values from one unit to another. A kelvin opposite a point is a point too; for the
// difference of two points use Unit.Difference. The error is a *DimError.
func NewConv(from, to Unit) (Conv, error) {
	if from.Dim != to.Dim {
		return Conv{}, &DimError{from, to}
	}
	if from.Same(to) {
		return Conv{}, nil
	}
	ratio := from.Factor.Div(to.Factor)
	zero := new(big.Rat)
	if from.Offset != nil {
		zero.Add(zero, from.Offset)
	}
	if to.Offset != nil {
		zero.Sub(zero, to.Offset)
	}
	offset := Factor{}
	if zero.Sign() == 0 {
		offset.r = zero
	} else {
		offset = Factor{r: zero}.Div(to.Factor)
	}
	if c, ok := wholeConv(ratio, offset); ok {
		return c, nil
	}
	return Conv{ratio.Float(), offset.Float(), 1}, nil
}

// wholeConv brings ratio and offset over one denominator.
func wholeConv(ratio, offset Factor) (Conv, bool) {
	if ratio.pi != 0 || offset.pi != 0 {
		return Conv{}, false
	}
	a, b := ratio.rat(), offset.rat()
	g := new(big.Int).GCD(nil, nil, a.Denom(), b.Denom())
	q := new(big.Int).Quo(a.Denom(), g)
	q.Mul(q, b.Denom())
	scaled := func(r *big.Rat) *big.Int {
		n := new(big.Int).Quo(q, r.Denom())
		return n.Mul(n, r.Num())
	}
	p, c := scaled(a), scaled(b)
	for _, n := range [...]*big.Int{p, c, q} {
		if n.BitLen() > 53 {
			return Conv{}, false
		}
	}
	return Conv{float64(p.Int64()), float64(c.Int64()), float64(q.Int64())}, true
}

// IsIdentity says that the conversion changes nothing.
func (c Conv) IsIdentity() bool { return c.q == 0 }

// Apply converts x.
func (c Conv) Apply(x float64) float64 {
	if c.q == 0 {
		return x
	}
	y := float64(x * c.p)
	if c.c != 0 {
		y = float64(y) + c.c
	}
	return y / c.q
}

// Terms gives the numbers of the conversion, which is (x*p + c) / q.
func (c Conv) Terms() (p, plus, q float64) {
	if c.q == 0 {
		return 1, 0, 1
	}
	return c.p, c.c, c.q
}
