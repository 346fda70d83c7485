package randomly

import (
	"fmt"
	"strconv"
	"strings"
)

// kind is a kind of quantity: its units, and the sizes that are usual for it.
type kind struct {
	name   string
	units  []measure
	lo, hi int // of usual values, in steps of the first unit
	step   float64
}

// measure is a unit with how many of the first unit of its kind it is.
type measure struct {
	text string // without brackets
	is   float64
	zero float64 // what 0 of it is in the first unit
}

// The kinds, the plainest first. No two units of one kind are a hundred of each other:
// the checker takes one by the other for per cent, beside which a bare number says
// too little.
const (
	plain = iota
	ratio
	mass
	angle
	speed
	length
	lapse
	pressure
	volts
	temp
	nkinds
)

var kinds = [nkinds]kind{
	plain:    {"plain", []measure{{"", 1, 0}}, -4, 24, 0.25},
	ratio:    {"ratio", []measure{{"%", 1, 0}}, 0, 40, 2.5},
	mass:     {"mass", []measure{{"mg", 1, 0}, {"g", 1000, 0}, {"ug", 0.001, 0}}, -4, 60, 0.5},
	angle:    {"angle", []measure{{"deg", 1, 0}, {"rev", 360, 0}, {"rad", 57.29577951308232, 0}}, -20, 80, 0.5},
	speed:    {"speed", []measure{{"rpm", 1, 0}, {"rev/s", 60, 0}, {"rev/min", 1, 0}}, 0, 28, 500},
	length:   {"length", []measure{{"m", 1, 0}, {"km", 1000, 0}, {"ft", 0.3048, 0}, {"in", 0.0254, 0}}, -8, 90, 25},
	lapse:    {"lapse", []measure{{"ms", 1, 0}, {"s", 1000, 0}, {"us", 0.001, 0}}, 0, 40, 0.25},
	pressure: {"pressure", []measure{{"kPa", 1, 0}, {"hPa", 0.1, 0}, {"psi", 6.894757293168361, 0}}, 0, 60, 2.5},
	volts:    {"volts", []measure{{"V", 1, 0}, {"mV", 0.001, 0}}, 0, 32, 0.5},
	temp:     {"temp", []measure{{"degC", 1, 0}, {"degF", 5.0 / 9, -160.0 / 9}}, -10, 30, 2.5},
}

// in writes a size of a kind, given in its first unit, as a number of a unit.
func (u measure) in(x float64) string {
	text := strconv.FormatFloat((x-u.zero)/u.is, 'g', 5, 64)
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || v == 0 {
		return "0"
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// behind is the unit as it stands behind a number.
func (u measure) behind() string {
	switch {
	case u.text == "":
		return ""
	case u.text == "in" || strings.ContainsAny(u.text, "/^ "):
		return " [" + u.text + "]"
	}
	return " " + u.text
}

// head is the unit as it stands behind the name that is declared.
func (u measure) head() string {
	if u.text == "" {
		return ""
	}
	return " [" + u.text + "]"
}

// size draws a usual value of a kind, in its first unit.
func (g *gen) size(k int) float64 {
	kd := &kinds[k]
	return float64(float64(g.n(0, kd.hi-kd.lo)+kd.lo) * kd.step)
}

func (g *gen) unit(k int) measure {
	if g.once(3) {
		return pick(g, kinds[k].units)
	}
	return kinds[k].units[0]
}

// anyKind draws a kind; points on a scale are rarer, since less can be done with
// them.
func (g *gen) anyKind() int {
	if g.once(8) {
		return temp
	}
	return g.n(plain, temp-1)
}

// literal is a written quantity. In parentheses where it is negative, so that it
// may stand anywhere.
func (g *gen) literal(k int) string {
	u := g.unit(k)
	return sheltered(u.in(g.size(k)) + u.behind())
}

// large is a written quantity above 0, to divide by.
func (g *gen) large(k int) string {
	u := g.unit(k)
	kd := &kinds[k]
	return u.in(float64(g.n(max(kd.lo, 1), kd.hi))*kd.step) + u.behind()
}

func sheltered(text string) string {
	if strings.HasPrefix(text, "-") {
		return "(" + text + ")"
	}
	return text
}

// kelvins is a written difference of temperatures.
func (g *gen) kelvins() string { return fmt.Sprintf("%d K", g.n(1, 40)) }
