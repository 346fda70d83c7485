package unit

import (
	"math"
	"strconv"
	"strings"
)

// The base dimensions, in the order of a Dim's exponents.
const (
	Mass = iota
	Length
	Time
	Temperature
	Angle
	Current
	Amount // amount of substance
	baseCount
)

// whole is the exponent that stands for one: exponents are kept in twelfths, so that square and cube roots exist.
const whole = 12

// Dim holds the exponents of the base dimensions mass, length, time, temperature, angle, current and amount of
// substance, in twelfths. The zero value is the dimension of a plain number.
type Dim [baseCount]int16

var (
	baseNames   = [baseCount]string{"mass", "length", "time", "temperature", "angle", "current", "amount"}
	baseSymbols = [baseCount]string{"kg", "m", "s", "K", "rev", "A", "mol"}
)

// namedDims are the dimensions that a tuner knows by a name of their own. Torque and energy are one dimension, since an
// angle between them would have to be written in every torque.
var namedDims = []struct {
	exp  [baseCount]int8
	name string
}{
	{[baseCount]int8{Length: 2}, "area"},
	{[baseCount]int8{Length: 3}, "volume"},
	{[baseCount]int8{Length: 1, Time: -1}, "speed"},
	{[baseCount]int8{Length: 1, Time: -2}, "acceleration"},
	{[baseCount]int8{Mass: 1, Length: -3}, "density"},
	{[baseCount]int8{Mass: 1, Time: -1}, "flow (mass/time)"},
	{[baseCount]int8{Length: 3, Time: -1}, "flow (volume/time)"},
	{[baseCount]int8{Angle: 1, Time: -1}, "engine speed (angle/time)"},
	{[baseCount]int8{Time: -1}, "frequency (1/time)"},
	{[baseCount]int8{Mass: 1, Length: 1, Time: -2}, "force"},
	{[baseCount]int8{Mass: 1, Length: -1, Time: -2}, "pressure"},
	{[baseCount]int8{Mass: 1, Length: 2, Time: -2}, "torque/energy"},
	{[baseCount]int8{Mass: 1, Length: 2, Time: -3}, "power"},
	{[baseCount]int8{Mass: 1, Length: 2, Time: -3, Angle: 1}, "torque times engine speed"},
	{[baseCount]int8{Length: 2, Time: -2}, "energy/mass"},
	{[baseCount]int8{Length: -2, Time: 2}, "consumption (mass/energy)"},
	{[baseCount]int8{Length: 2, Time: -2, Temperature: -1}, "heat capacity (energy/mass/temperature)"},
	{[baseCount]int8{Mass: 1, Amount: -1}, "molar mass"},
	{[baseCount]int8{Mass: 1, Length: 2, Time: -3, Current: -1}, "voltage"},
	{[baseCount]int8{Mass: 1, Length: 2, Time: -3, Current: -2}, "resistance"},
}

// IsNone says that d is the dimension of a plain number.
func (d Dim) IsNone() bool { return d == Dim{} }

// Mul is the dimension of a product. Exponents saturate, far beyond anything that Parse or CanPow let through.
func (d Dim) Mul(o Dim) Dim {
	for i := range d {
		d[i] = saturate(int(d[i]) + int(o[i]))
	}
	return d
}

// Div is the dimension of a quotient.
func (d Dim) Div(o Dim) Dim {
	for i := range d {
		d[i] = saturate(int(d[i]) - int(o[i]))
	}
	return d
}

// Pow is d to the power num/den; false when an exponent isn't a whole number of twelfths or grows out of range.
func (d Dim) Pow(num, den int) (Dim, bool) {
	if den == 0 {
		return Dim{}, false
	}
	if num < -math.MaxInt32 || num > math.MaxInt32 {
		return Dim{}, d.IsNone()
	}
	for i, e := range d {
		p := int64(e) * int64(num)
		if p%int64(den) != 0 {
			return Dim{}, false
		}
		p /= int64(den)
		if p < -math.MaxInt16 || p > math.MaxInt16 {
			return Dim{}, false
		}
		d[i] = int16(p)
	}
	return d, true
}

// String is a tuner's reading of the dimension: "temperature", "pressure", "mass/length", "none".
func (d Dim) String() string {
	if d.IsNone() {
		return "none"
	}
	for _, n := range namedDims {
		same := true
		for i, e := range n.exp {
			same = same && int(d[i]) == int(e)*whole
		}
		if same {
			return n.name
		}
	}
	return formatTerms(d.terms(baseNames))
}

// terms writes the dimension as a product of the given names, one for each base dimension.
func (d Dim) terms(names [baseCount]string) []term {
	var ts []term
	for i, e := range d {
		if e != 0 {
			ts = append(ts, term{name: names[i], exp: int(e)})
		}
	}
	return ts
}

// term is one name of a product with its exponent in twelfths, and where it stands in the text it was read from.
type term struct {
	name string
	exp  int
	at   int
}

// mergeTerms adds up the exponents of equal names, keeping the order in which names first came.
func mergeTerms(ts []term) []term {
	var out []term
next:
	for _, t := range ts {
		for i := range out {
			if out[i].name == t.name {
				out[i].exp += t.exp
				continue next
			}
		}
		out = append(out, t)
	}
	return out
}

// formatTerms writes a product as it is read: what multiplies first, then a slash before each name that divides.
func formatTerms(ts []term) string {
	var top, bottom strings.Builder
	for _, t := range ts {
		switch {
		case t.exp > 0:
			if top.Len() > 0 {
				top.WriteByte(' ')
			}
			top.WriteString(t.name + formatExp(t.exp))
		case t.exp < 0:
			bottom.WriteString("/" + t.name + formatExp(-t.exp))
		}
	}
	if top.Len() == 0 && bottom.Len() > 0 {
		top.WriteByte('1')
	}
	return top.String() + bottom.String()
}

// formatExp writes a positive exponent: nothing for one, "^2", "^(1/2)".
func formatExp(e int) string {
	if e == whole {
		return ""
	}
	if e%whole == 0 {
		return "^" + strconv.Itoa(e/whole)
	}
	g := gcd(e, whole)
	return "^(" + strconv.Itoa(e/g) + "/" + strconv.Itoa(whole/g) + ")"
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

func saturate(e int) int16 {
	return int16(max(-math.MaxInt16, min(math.MaxInt16, e)))
}
