package diff

import (
	"math"
	"strconv"
	"strings"

	"fettle/lang/unit"
)

// changeOf is the difference of two printed values, exact as decimals: 15.10 to
// 15.55 is 0.45, and not the nearest that binary subtraction comes to.
func changeOf(old, new float64) float64 {
	for _, scale := range [...]float64{1e3, 1e6} {
		a, okA := wholeAt(old, scale)
		b, okB := wholeAt(new, scale)
		if okA && okB {
			return (b-a)/scale + 0
		}
	}
	d := max(decimalsOf(old), decimalsOf(new))
	v, err := strconv.ParseFloat(strconv.FormatFloat(bounded(new-old), 'f', d, 64), 64)
	if err != nil {
		return new - old
	}
	return v + 0 // no -0
}

// wholeAt gives a number times a power of ten, if nothing is left of its decimals
// then. A float holds so few digits exactly, and so it does their difference:
// dividing by the scale again rounds once, as reading the text of it does.
func wholeAt(x, scale float64) (float64, bool) {
	n := math.RoundToEven(x * scale)
	return n, math.Abs(n) < 1<<40 && n/scale == x
}

// decimalsOf is how many decimals the shortest text of a number has.
func decimalsOf(x float64) int {
	_, frac, _ := strings.Cut(strconv.FormatFloat(x, 'f', -1, 64), ".")
	return len(frac)
}

// bounded keeps a difference of enormous numbers finite.
func bounded(x float64) float64 {
	return max(-math.MaxFloat64, min(x, math.MaxFloat64))
}

// unitKind says how changes of a map in a unit are told.
type unitKind struct {
	change string // the unit of a difference
	shares bool   // a share of the old value makes sense
}

// kindOf decides on a unit's text. A share makes sense on a scale with a true
// zero: not of a point of temperature, not of an angle (the zero of a spark's
// is where someone put it), and for a map in % it would be read as points.
func kindOf(text string, known bool) unitKind {
	u, err := readUnit(text)
	if !known || err != nil {
		return unitKind{change: text}
	}
	var angle unit.Dim
	if deg, ok := unit.Lookup("deg"); ok {
		angle = deg.Dim
	}
	switch {
	case u.IsPoint():
		return unitKind{change: u.Difference().Text}
	case text == "%":
		return unitKind{change: "points"}
	case u.Dim == angle, u.Dim.IsNone() && !u.IsPlain():
		return unitKind{change: text}
	}
	return unitKind{change: text, shares: true}
}

// readUnit reads a unit's text; none is the plain number's.
func readUnit(text string) (unit.Unit, error) {
	if text == "" {
		return unit.None, nil
	}
	return unit.Parse(text)
}

// ValueText writes a value of the map as printed.
func (m *MapDiff) ValueText(x float64) string { return plain(x, m.decimals) }

// ChangeText writes a change with its sign and unit.
func (m *MapDiff) ChangeText(x float64) string { return unit.With(m.AmountText(x), m.ChangeUnit) }

// AmountText writes a change with its sign.
func (m *MapDiff) AmountText(x float64) string { return signed(x, m.decimals) }

// ChangeUnit is the unit of differences of what is in a unit: K for degC, points
// for %.
func ChangeUnit(text string) string { return kindOf(text, true).change }

func plain(x float64, decimals int) string {
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.HasPrefix(s, "-") && strings.Trim(s, "-0.") == "" {
		return s[1:]
	}
	return s
}

func signed(x float64, decimals int) string {
	s := plain(x, decimals)
	if x > 0 && strings.Trim(s, "0.") != "" {
		return "+" + s
	}
	return s
}

// Percent writes a share: one decimal, fewer for large ones, more where there
// would be nothing to see.
func Percent(share float64) string {
	p := share * 100
	decimals := 1
	if math.Abs(p) >= 100 {
		decimals = 0
	}
	for p != 0 && decimals < 9 && strings.Trim(plain(p, decimals), "-0.") == "" {
		decimals++
	}
	return signed(p, decimals) + " %"
}

// mean writes a mean of changes, to one digit more than it can be trusted to.
func (m *MapDiff) mean(x float64) string {
	if m.decimals >= 0 {
		return unit.With(signed(x, max(m.decimals, 1)), m.ChangeUnit)
	}
	s := strconv.FormatFloat(x, 'g', 3, 64)
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		v = x
	}
	return unit.With(signed(v, -1), m.ChangeUnit)
}
