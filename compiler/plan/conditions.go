package plan

import (
	"sort"

	"fettle/compiler/check"
	"fettle/compiler/grid"
)

// Conditions is a tune's point in the space of conditions, as expressions ask
// for it. It implements formula.Conditions.
type Conditions struct {
	Program *check.Program
	Values  []float64
}

// Given gives a quantity in its unit, or a yes/no as 1 or 0.
func (c *Conditions) Given(g int) float64 { return c.Values[g] }

// Row gives which row of its catalogue a given is.
func (c *Conditions) Row(g int) int { return int(c.Values[g]) }

// Column gives a column's value of the row that a given is.
func (c *Conditions) Column(g, col int) float64 {
	return c.Program.Givens[g].Catalog.Values[c.Row(g)][col]
}

// Conditions gives a tune's point.
func (t *Tune) Conditions(p *check.Program) *Conditions {
	if o := &t.own; o.Program == p && len(o.Values) > 0 && &o.Values[0] == &t.Values[0] {
		return o
	}
	return &Conditions{p, t.Values}
}

// Text prints the value of a given: "820 m", "pump98", "yes".
func Text(g *check.Given, v float64) string {
	switch g.Kind {
	case check.Choice:
		return g.Catalog.Rows[int(v)]
	case check.Switch:
		if v != 0 {
			return "yes"
		}
		return "no"
	}
	s := grid.Res{}.Format(v)
	if g.Unit.Text != "" {
		s += " " + g.Unit.Text
	}
	return s
}

func sortStrings(s []string) { sort.Strings(s) }
