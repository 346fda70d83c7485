package review

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"fettle/compiler/diff"
)

// settle puts the maps of an entry in order, and their cells, worst first. A map
// counts by its worst shown change as a part of its largest value.
func (e *Entry) settle() {
	for _, m := range e.Maps {
		m.By = nil
		cells := m.Diff.Cells
		slices.SortFunc(m.Shown, func(i, j int) int {
			if c := cmp.Compare(abs(cells[j].Change), abs(cells[i].Change)); c != 0 {
				return c
			}
			return i - j
		})
		m.attribute()
	}
	sort.SliceStable(e.Maps, func(i, j int) bool { return e.Maps[i].weight() > e.Maps[j].weight() })
	for _, m := range e.Maps {
		if len(m.Shown) > 0 {
			e.Worst = m
			break
		}
	}
}

// weight is how far up a map stands: one that can't be compared before all, one
// with nothing shown at the end.
func (m *EntryMap) weight() float64 {
	switch {
	case m.Diff.Problem != "":
		return math.Inf(1)
	case len(m.Shown) == 0:
		return -1
	}
	return m.Diff.Weight(m.Diff.Cells[m.Shown[0]])
}

// weight is that of an entry's worst map.
func (e *Entry) weight() float64 {
	if len(e.Maps) == 0 {
		return -1
	}
	return e.Maps[0].weight()
}

// size is how large an entry's worst change is as it is shown: of its first map
// with cells of its own, if it has one.
func (e *Entry) size(fl *flow) float64 {
	if w := e.weight(); math.IsInf(w, 1) || w < 0 {
		return w
	}
	for _, roots := range []bool{true, false} {
		for _, m := range e.Maps {
			if len(m.Shown) > 0 && (!roots || fl.root(m.Diff.Map)) {
				return m.told(m.Shown[0])
			}
		}
	}
	return -1
}

// attribute lists the elements that moved a shown cell as printed, the one with
// the largest part in the worst of them first.
func (m *EntryMap) attribute() {
	if len(m.Shown) == 0 {
		return
	}
	type size struct{ worst, any float64 }
	sizes := map[*diff.Element]size{}
	for _, p := range m.Diff.Parts {
		var s size
		moves := false
		for _, i := range m.Shown {
			moves = moves || p.Printed[i] != 0
			s.any = max(s.any, abs(p.Exact[i]))
		}
		if !moves {
			continue
		}
		s.worst = abs(p.Exact[m.Shown[0]])
		sizes[p.Element] = s
		m.By = append(m.By, p.Element)
	}
	sort.SliceStable(m.By, func(i, j int) bool {
		a, b := sizes[m.By[i]], sizes[m.By[j]]
		if a.worst != b.worst {
			return a.worst > b.worst
		}
		return a.any > b.any
	})
}

func abs[T int | float64](x T) T { return max(x, -x) }
