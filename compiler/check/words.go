package check

import (
	"strings"

	"fettle/compiler/grid"
	"fettle/lang/unit"
)

// OnAxis names a place on an axis: "throttle 100 %". An axis that is called like
// its unit says it once: "rpm 9000".
func OnAxis(name, unitText string, x float64) string {
	if name == unitText {
		unitText = ""
	}
	return name + " " + unit.With(grid.Res{}.Format(x), unitText)
}

// PlaceText names a cell by a value for each of some axes: "throttle 100 %,
// rpm 9000".
func (p *Program) PlaceText(axes []int, at []float64) string {
	out := make([]string, len(at))
	for i, x := range at {
		a := p.Axes[axes[i]]
		out[i] = OnAxis(a.Name, a.Unit.Text, x)
	}
	return strings.Join(out, ", ")
}
