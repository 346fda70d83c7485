package formula

import (
	"sort"

	"fettle/lang/source"
	"fettle/lang/unit"
)

// Curve is a function of one quantity by points: straight between them, held
// beyond the ends.
type Curve struct {
	Name string
	X, Y []float64 // ascending X
}

// At gives the curve's value; at a point it is exactly the one written there.
func (c *Curve) At(x float64) float64 {
	n := len(c.X)
	if x != x {
		return x
	}
	i := sort.SearchFloat64s(c.X, x)
	switch {
	case i == 0:
		return c.Y[0]
	case i == n:
		return c.Y[n-1]
	case c.X[i] == x:
		return c.Y[i]
	}
	a, b := c.X[i-1], c.X[i]
	f := (x - a) / (b - a)
	return c.Y[i-1] + float64(f*(c.Y[i]-c.Y[i-1]))
}

// OfCurve is the body of the function that a curve is.
func OfCurve(c *Curve, x, y unit.Unit, span source.Span) *Node {
	p := mk(Param, Type{Unit: x}, span)
	n := mk(CurveAt, Type{Unit: y}, span, p)
	n.Curve = c
	return n
}
