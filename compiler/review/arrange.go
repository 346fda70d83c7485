package review

import "sort"

// settle puts the maps of an entry in order, and their cells, worst first.
func (e *Entry) settle() {
	for _, m := range e.Maps {
		cells := m.Diff.Cells
		sort.SliceStable(m.Shown, func(i, j int) bool { return abs(cells[m.Shown[i]].Change) > abs(cells[m.Shown[j]].Change) })
		if len(m.Shown) > 0 && e.Worst == nil {
			e.Worst = m
		}
	}
}

func abs(x float64) float64 { return max(x, -x) }

// margins tells how the limits and checks of a pair changed.
func margins(c *compared) []*Margin { return nil }

// arrange works out what is told over all pairs.
func (r *Review) arrange(all []*Margin, found []*compared) {}
