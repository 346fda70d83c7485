package diff

import (
	"fettle/compiler/check"
	"fettle/compiler/eval"
)

// noteClamps notes for each map which clamps cap its worst cell, and on which
// side. There a clamp swallows what the rules do past its bound, so that their
// parts look smaller than the rules are: the parts stay as they are, and this
// says why.
func noteClamps(p *eval.Program, pair *Pair) {
	cells := map[*check.Map]int{} // the worst cell of each map that differs
	for i, m := range pair.Maps {
		if cm := p.Check.Maps[i]; len(m.Cells) > 0 && len(cm.Clamps) > 0 {
			c := m.Cells[m.Summary.Worst]
			cells[cm] = c.Row*len(m.Cols.Points) + c.Col
		}
	}
	old, new := capped(p, pair.Old, cells), capped(p, pair.New, cells)
	for i, m := range pair.Maps {
		cm := p.Check.Maps[i]
		if _, ok := cells[cm]; !ok {
			continue
		}
		for _, l := range cm.Clamps {
			in := ""
			switch {
			case old[l] && new[l]:
				in = InBoth
			case old[l]:
				in = InOld
			case new[l]:
				in = InNew
			default:
				continue
			}
			m.Clamps = append(m.Clamps, Clamping{l.Name, l.Span, in})
		}
	}
}

// capped says which clamps move their map's cell in a tune. Only a tune in which
// one of them moves anything is computed again, with its chains.
func capped(p *eval.Program, s *Side, cells map[*check.Map]int) map[*check.Limit]bool {
	moves := func(m *check.Map) bool {
		if _, ok := cells[m]; !ok {
			return false
		}
		for _, l := range m.Clamps {
			if s.Result.Clamps[l].Cells > 0 {
				return true
			}
		}
		return false
	}
	out := map[*check.Limit]bool{}
	any := false
	for _, m := range p.Check.Maps {
		any = any || moves(m)
	}
	if !any {
		return out
	}
	res := p.Tune(eval.Pure(p.Check, s.Tune), eval.Options{Trace: moves})
	for m, trace := range res.Traces {
		for _, st := range trace.Steps {
			if st.Clamp != nil && st.Applied && st.Weight[cells[m]] > 0 {
				out[st.Clamp] = true
			}
		}
	}
	return out
}
