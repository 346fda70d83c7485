package diff

import (
	"math"

	"fettle/compiler/grid"
)

// AtArgs names a cell's place as `why` takes it: "throttle=100", "rpm=9000".
func (m *MapDiff) AtArgs(c CellDiff) []string {
	var out []string
	if m.Rows.Points != nil {
		out = append(out, m.Rows.Name+"="+grid.Exact(m.Rows.Points[c.Row]))
	}
	return append(out, m.Cols.Name+"="+grid.Exact(m.Cols.Points[c.Col]))
}

// Weight is how much a cell's change is of the map's largest value, to put maps
// of different units in an order.
func (m *MapDiff) Weight(c CellDiff) float64 {
	if m.largest == 0 {
		return 0
	}
	return math.Abs(c.Change) / m.largest
}

// Step is what rounding alone can change a printed value by; 0 where values have
// as many decimals as each needs.
func (m *MapDiff) Step() float64 {
	switch {
	case m.res.Set():
		return m.res.Step()
	case m.decimals >= 0:
		return math.Pow10(-m.decimals)
	}
	return 0
}

// SharesOf says whether a share of a value in a unit makes sense.
func SharesOf(text string) bool { return kindOf(text, true).shares }
