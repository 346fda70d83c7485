// Package unit knows the units of measurement: their dimensions, their exact sizes, how they are written and how numbers
// go from one to another.
//
// A unit is a dimension (exponents of mass, length, time, temperature, angle, current and amount of substance) and an
// exact factor, a rational times a power of pi, that says how many coherent units (kg, m, s, K, rev, A, mol) it is. degC
// and degF are points on a scale and have, besides, the place of their zero in kelvin. One table holds every unit by its
// definition in terms of earlier rows; it is worked out once, at its first use. A unit's text is read by a small parser
// into a list of names with exponents, and multiplying units merges such lists, so that a composed unit reads well.
// A conversion is prepared once from the exact factors, then costs a product, a sum and a quotient of float64.
//
// In goes the text between a unit's brackets, or one unit word; out come Unit and Conv values, or an error that knows its
// place in the text. The package imports nothing of ours and may be imported by all packages above it.
package unit

import "math/big"

// Unit is a value: text as written, dimension, factor, and for degC and degF the place of their zero in kelvin.
// The zero value is the plain number. Units aren't comparable with ==: use Same.
type Unit struct {
	Text   string
	Dim    Dim
	Factor Factor
	Offset *big.Rat // in K; nil for every unit but a point on a scale; read only
}

// MaxPower is the largest exponent, of either sign, that a unit may be raised to.
const MaxPower = 12

// maxBits bounds the digits of a unit's factor when it is raised to a power.
const maxBits = 1 << 14

// None is the unit of a plain number.
var None Unit

// Percent is the ratio of one in a hundred.
var Percent = Unit{Text: "%", Factor: Factor{r: big.NewRat(1, 100)}}

// Kelvin is the unit of temperatures and of their differences.
func Kelvin() Unit { return Coherent(Dim{Temperature: whole}) }

// Coherent is the unit of factor one of a dimension, written in base units: "kg/m^3", "1/s", "m^(1/2)".
func Coherent(d Dim) Unit {
	return Unit{Text: formatTerms(d.terms(baseSymbols)), Dim: d}
}

// IsPoint says that u is a point on a scale (degC, degF), which can't be scaled or added.
func (u Unit) IsPoint() bool { return u.Offset != nil }

// IsPlain says that u is a plain number's unit: without dimension, and of size one.
func (u Unit) IsPlain() bool { return u.Dim.IsNone() && u.Factor.IsOne() && !u.IsPoint() }

// Same says that numbers in u are numbers in o as they stand.
func (u Unit) Same(o Unit) bool {
	return u.Dim == o.Dim && u.IsPoint() == o.IsPoint() && u.Factor.Equal(o.Factor) &&
		(!u.IsPoint() || u.Offset.Cmp(o.Offset) == 0)
}

// Difference is the unit of the difference of two values in u, in steps of u's own size: K for degC, 5/9 K for degF,
// and u itself for every other unit.
func (u Unit) Difference() Unit {
	if u.IsPoint() && u.Factor.IsOne() {
		return Kelvin()
	}
	u.Offset = nil
	return u
}

// Mul is the unit of a product of values in u and o, neither of them a point. Equal names are joined or cancel.
func (u Unit) Mul(o Unit) Unit {
	return Unit{
		Text:   composeText(u.Text, whole, o.Text, whole),
		Dim:    u.Dim.Mul(o.Dim),
		Factor: u.Factor.Mul(o.Factor),
	}
}

// Div is the unit of a quotient of values in u and o, neither of them a point.
func (u Unit) Div(o Unit) Unit {
	return Unit{
		Text:   composeText(u.Text, whole, o.Text, -whole),
		Dim:    u.Dim.Div(o.Dim),
		Factor: u.Factor.Div(o.Factor),
	}
}

// CanPow says that PowInt(n) stays within reason: n is within MaxPower, the exponents are in range, the factor is short.
func (u Unit) CanPow(n int) bool {
	if u.IsPoint() || n < -MaxPower || n > MaxPower {
		return false
	}
	_, ok := u.Dim.Pow(n, 1)
	return ok && u.Factor.bits()*max(n, -n) <= maxBits
}

// PowInt is the unit of a power of a value in u, which isn't a point. Where n comes from a source, ask CanPow first.
func (u Unit) PowInt(n int) Unit {
	d, ok := u.Dim.Pow(n, 1)
	if !ok {
		for i := range d {
			d[i] = saturate(int(u.Dim[i]) * n)
		}
	}
	return Unit{Text: composeText(u.Text, n*whole, "", whole), Dim: d, Factor: u.Factor.PowInt(n)}
}

// Root is the coherent unit of u's dimension to the power num/den; the value has to be converted to u's own coherent unit
// before its root is taken. False when the dimension has no such root.
func (u Unit) Root(num, den int) (Unit, bool) {
	d, ok := u.Dim.Pow(num, den)
	if !ok || u.IsPoint() {
		return Unit{}, false
	}
	return Coherent(d), true
}

// composeText writes a^(x/12) b^(y/12) as one product.
func composeText(a string, x int, b string, y int) string {
	var ts []term
	for _, part := range [...]struct {
		text string
		exp  int
	}{{a, x}, {b, y}} {
		for _, t := range readTerms(part.text) {
			t.exp = t.exp * part.exp / whole
			ts = append(ts, t)
		}
	}
	return formatTerms(mergeTerms(ts))
}

// readTerms splits a unit's text into its names. A text that Parse would not read stands as one name of its own.
func readTerms(text string) []term {
	if text == "" {
		return nil
	}
	p := parser{text: text, fractions: true}
	ts, err := p.parse()
	if err != nil {
		return []term{{name: "(" + text + ")", exp: whole}}
	}
	return ts
}
