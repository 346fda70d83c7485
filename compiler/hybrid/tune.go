package hybrid

import (
	"fettle/compiler/check"
	"fettle/compiler/plan"
	"fettle/lang/source"
	"fettle/lang/syntax"
	"fettle/lang/unit"
)

// trimAt is where a trim stands in every hybrid: the how manieth of which
// stand-in for a variant.
type trimAt struct {
	variant string
	n       int
}

// trims puts stand-ins for the variants with trims into a state, of both sides;
// one for both where their trims read alike.
func (d *differ) trims(s *state) {
	made := map[string]string{} // by the trims' text
	for i, side := range []*side{d.old, d.new} {
		at := map[*check.Step]trimAt{}
		d.steps.trims[i] = at
		for _, x := range side.p.Resolved.Decls {
			v, ok := x.(*syntax.Variant)
			if !ok || len(v.Trims) == 0 || side.p.Resolved.Root.Table[v.Name.Text] != x {
				continue
			}
			text := v.Name.Text
			for _, t := range v.Trims {
				text += "\n" + source.OneLine(t.Span.Text())
			}
			name := made[text]
			if name == "" {
				// No source can declare such a name.
				name = v.Name.Text + [2]string{" (old)", " (new)"}[i]
				made[text] = name
				one := &syntax.Variant{Head: v.Head, Trims: v.Trims}
				one.Head.Name.Text = name
				s.trims = append(s.trims, one)
			}
			for _, cv := range side.p.Variants {
				if cv.Name != v.Name.Text {
					continue
				}
				for k, step := range cv.Trims {
					at[step] = trimAt{name, k}
				}
			}
		}
	}
}

// Side tells the old side from the new one.
type Side int

// The sides.
const (
	OldSide Side = iota
	NewSide
)

// Trims carries a side's trims over into a hybrid.
func (s *Steps) Trims(p *check.Program, of Side, trims []*check.Step) []*check.Step {
	var out []*check.Step
	for _, t := range trims {
		at := s.trims[of][t]
		for _, v := range p.Variants {
			if v.Name == at.variant && at.n < len(v.Trims) {
				out = append(out, v.Trims[at.n])
			}
		}
	}
	return out
}

// SameTrim says whether a trim of the old side and one of the new are one.
func (s *Steps) SameTrim(old, new *check.Step) bool {
	return s.trims[OldSide][old] == s.trims[NewSide][new]
}

// GivenValue carries the value of a given over into a hybrid: by the row's name, or
// in the hybrid's unit. False where the tune's program doesn't have the given,
// or its value has no counterpart; the hybrid's default stands then.
func GivenValue(p *check.Program, g *check.Given, from *check.Program, values []float64) (float64, bool) {
	for i, f := range from.Givens {
		if f.Name != g.Name {
			continue
		}
		switch {
		case f.Kind != g.Kind:
			return g.Default, false
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
	return g.Default, false
}

// Tune carries a tune over into a hybrid: its conditions and trims, under its
// name.
func (s *Steps) Tune(p *check.Program, of Side, t *plan.Tune) *plan.Tune {
	out := &plan.Tune{Name: t.Name, Values: make([]float64, len(p.Givens)), Trims: s.Trims(p, of, t.Trims)}
	from := s.Old
	if of == NewSide {
		from = s.New
	}
	for i, g := range p.Givens {
		out.Values[i], _ = GivenValue(p, g, from, t.Values)
	}
	return out
}
