package diff

import (
	"slices"

	"fettle/compiler/check"
	"fettle/compiler/eval"
)

// noteClamps notes for each map which clamps cap its worst cell, and on which
// side. There a clamp swallows what the rules do past its bound, so that their
// parts look smaller than the rules are: the parts stay as they are, and this
// says why.
func noteClamps(pair *Pair) {
	old, new := capped(pair, pair.Old), capped(pair, pair.New)
	for _, m := range pair.Maps {
		if len(m.Cells) == 0 {
			continue
		}
		seen := map[string]bool{}
		for i, s := range []*Side{pair.New, pair.Old} {
			for _, cm := range s.Program.Check.Maps {
				if cm.Name != m.Map {
					continue
				}
				for _, l := range cm.Clamps {
					key := [2]string{m.Map, l.Name}
					if seen[l.Name] || !old[key] && !new[key] {
						continue
					}
					seen[l.Name] = true
					in := InBoth
					switch {
					case !old[key]:
						in = InNew
					case !new[key]:
						in = InOld
					}
					if i == 1 && in != InOld {
						continue
					}
					m.Clamps = append(m.Clamps, Clamping{l.Name, l.Span, in})
				}
			}
		}
	}
}

// capped says which clamps move their map's worst cell in a tune, by the names
// of the map and the clamp. Only a tune in which one of them moves anything is
// computed again, with its chains.
func capped(pair *Pair, s *Side) map[[2]string]bool {
	p := s.Program
	cells := map[*check.Map]int{} // the worst cell of each map that differs
	any := false
	for _, m := range pair.Maps {
		if len(m.Cells) == 0 {
			continue
		}
		c := m.Cells[m.Summary.Worst]
		for _, cm := range p.Check.Maps {
			if cm.Name != m.Map || len(cm.Clamps) == 0 {
				continue
			}
			at := ownCell(m, c, tableNamed(s.Tables, m.Map))
			for _, l := range cm.Clamps {
				if at >= 0 && s.Result.Clamp(l).Cells > 0 {
					cells[cm], any = at, true
				}
			}
		}
	}
	out := map[[2]string]bool{}
	if !any {
		return out
	}
	res := p.Tune(eval.Pure(p.Check, s.Tune), eval.Options{Trace: func(m *check.Map) bool { _, ok := cells[m]; return ok }})
	for m, trace := range res.Traces {
		for _, st := range trace.Steps {
			if st.Clamp != nil && st.Applied && st.Weight(cells[m]) > 0 {
				out[[2]string{m.Name, st.Clamp.Name}] = true
			}
		}
	}
	return out
}

// ownCell is a compared cell's place in a side's own table, or -1 where it lies
// between its breakpoints.
func ownCell(m *MapDiff, c CellDiff, t *Table) int {
	col := slices.Index(t.Cols.Points, m.Cols.Points[c.Col])
	row := 0
	if m.Rows.Points != nil {
		row = slices.Index(t.Rows.Points, m.Rows.Points[c.Row])
	}
	if row < 0 || col < 0 {
		return -1
	}
	return row*len(t.Cols.Points) + col
}
