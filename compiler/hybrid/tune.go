package hybrid

import (
	"fettle/compiler/check"
	"fettle/compiler/plan"
	"fettle/lang/unit"
)

// Side tells the old side from the new one.
type Side int

// The sides.
const (
	OldSide Side = iota
	NewSide
)

// Value carries the value of a given over from a side into a program: by the
// row's name, or in the program's unit; of one that was renamed by its name
// there. False where the side doesn't have the given, or its value has no
// counterpart; the program's default stands then.
func (s *Steps) Value(g *check.Given, of Side, values []float64) (float64, bool) {
	from := [2]*check.Program{s.Old, s.New}[of]
	i := indexOf(from, g.Name)
	if i < 0 {
		i = indexOf(from, s.renamed[g.Name])
	}
	if i < 0 || from.Givens[i].Kind != g.Kind {
		return g.Default, false
	}
	f := from.Givens[i]
	switch {
	case g.Kind == check.Choice:
		if row := g.Catalog.Row(f.Catalog.Rows[int(values[i])]); row >= 0 {
			return float64(row), true
		}
		return g.Default, false
	case g.Kind == check.Switch, f.Unit.Text == g.Unit.Text:
		return values[i], true
	}
	c, err := unit.NewConv(f.Unit, g.Unit)
	if err != nil {
		return g.Default, false
	}
	return c.Apply(values[i]), true
}

// Given finds a side's given of a name, or of the name that it has there.
func (s *Steps) Given(of Side, name string) (*check.Given, int) {
	p := [2]*check.Program{s.Old, s.New}[of]
	for _, n := range []string{name, s.renamed[name]} {
		if i := indexOf(p, n); i >= 0 {
			return p.Givens[i], i
		}
	}
	return nil, -1
}

func indexOf(p *check.Program, name string) int {
	for i, g := range p.Givens {
		if g.Name == name {
			return i
		}
	}
	return -1
}

// Tune carries a tune over into a hybrid: its conditions and trims, under its
// name.
func (s *Steps) Tune(h *Hybrid, of Side, t *plan.Tune) (*plan.Tune, error) {
	trims, err := s.Trims(h, of, t.Trims)
	if err != nil {
		return nil, err
	}
	out := &plan.Tune{Name: t.Name, Values: make([]float64, len(h.Check.Givens)), Trims: trims}
	for i, g := range h.Check.Givens {
		out.Values[i], _ = s.Value(g, of, t.Values)
	}
	return out, nil
}
