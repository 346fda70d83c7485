package emit

import (
	"strconv"

	"fettle/compiler/explain"
	"fettle/compiler/grid"
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/unit"
)

// quantity prints a value to six significant digits with its unit.
func quantity(x float64, u unit.Unit) string { return unit.With(grid.Res{}.Format(x), u.Text) }

// apart prints two values that differ with as many digits, up to twelve, as it
// takes to see by about how much they do.
func apart(a, b float64, u unit.Unit) (string, string) {
	x, y := grid.Res{}.Format(a), grid.Res{}.Format(b)
	for digits := 7; x == y && digits < 12; digits++ {
		if digitsOf(a, digits) != digitsOf(b, digits) {
			x, y = digitsOf(a, digits+1), digitsOf(b, digits+1)
		}
	}
	return unit.With(x, u.Text), unit.With(y, u.Text)
}

func digitsOf(x float64, n int) string {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(x, 'e', n-1, 64), 64)
	if err != nil {
		rounded = x
	}
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}

func placeOf(s source.Span) Place {
	if s.IsZero() {
		return Place{}
	}
	return Place{s.File.Name, s.Line()}
}

// whyNot says why a condition doesn't hold in a tune.
func whyNot(in *Input, when *formula.Node) string {
	return explain.WhenReason(explain.Input{Program: in.Program, Tune: in.Tune}, when)
}
