package review

import (
	"fettle/compiler/diff"
	"fettle/lang/formula"
)

// blameCheck says what moved the value of a check that newly fails: the element
// with the largest part in the cell next to the point at which the check looks a
// map up; where that one is as before, in the whole of the map.
func (m *Margin) blameCheck() {
	if m.Entry == nil || m.Entry.Pair == nil || m.outcome == nil {
		return
	}
	p := m.Entry.NewT.program()
	if p == nil {
		return
	}
	m.outcome.Expect.Cond.Walk(func(n *formula.Node) {
		if m.By != "" || n.Op != formula.MapAt {
			return
		}
		for _, d := range m.Entry.Pair.Maps {
			if d.Map != p.Maps[n.A].Name || d.Problem != "" {
				continue
			}
			if part := partAt(d, n.Kids); part != nil {
				m.By, m.ByAt = part.Element.Name, part.Element.PlaceIn(d.Map)
			}
		}
	})
}

// partAt is the largest part in the cell next to a point, or else in any cell; nil
// where the map doesn't change.
func partAt(d *diff.MapDiff, at []*formula.Node) *diff.Part {
	row, col := 0, nearest(d.Cols.Points, at[len(at)-1])
	if d.Rows.Points != nil && len(at) == 2 {
		row = nearest(d.Rows.Points, at[0])
	}
	for _, everywhere := range []bool{false, true} {
		var out *diff.Part
		most := 0.0
		for k, c := range d.Cells {
			if !everywhere && (c.Row != row || c.Col != col) {
				continue
			}
			if p := largestPart(d, k, 0); p != nil && abs(p.Exact[k]) > most {
				out, most = p, abs(p.Exact[k])
			}
		}
		if out != nil {
			return out
		}
	}
	return nil
}

// nearest is the place of the breakpoint next to a fixed coordinate, or -1.
func nearest(points []float64, at *formula.Node) int {
	if at.Givens != 0 || at.OnCell() {
		return -1
	}
	x, err := formula.Scalar(at, nil)
	if err != nil {
		return -1
	}
	best := -1
	for i, p := range points {
		if best < 0 || abs(p-x) < abs(points[best]-x) {
			best = i
		}
	}
	return best
}
