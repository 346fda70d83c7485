package limit

import (
	"math"
	"slices"

	"fettle/compiler/eval"
	"fettle/lang/unit"
)

// Here is what a verdict says of one point.
type Here struct {
	Looks                bool // the limit looks at this point
	Holds                bool
	HasMargin            bool
	Value, Bound, Margin float64
	Unit                 unit.Unit
}

// cells are a verdict's cells, worked out when they are first asked for; nil where
// the limit wasn't looked at.
func (v *Verdict) cells() *look {
	if v.of == nil {
		return nil
	}
	k := v.looked.Load()
	if k == nil {
		j := v.of.c.again(v.of)
		defer j.end()
		k, _ = v.lo.look(j.probe, j.env, j.mem)
		k = k.kept()
		v.looked.Store(k)
	}
	return k
}

// AtCell gives what a verdict says of one point: values for the axes named.
func (v *Verdict) AtCell(axes []int, at []float64) Here {
	k := v.cells()
	if k == nil {
		return Here{}
	}
	i := k.lo.index(axes, at)
	if i < 0 || !k.looks(i) {
		return Here{}
	}
	return k.here(i)
}

// Near is what a verdict says nearest to a point: of the cells that the limit looks
// at and that stand nearest along the axes named, the one with the least room. An
// axis that isn't named is looked at along its whole length. The place is by the
// limit's axes.
func (v *Verdict) Near(axes []int, at []float64) (Here, []float64) {
	k := v.cells()
	if k == nil {
		return Here{}, nil
	}
	near := func(points []float64, axis int) (list []int) {
		k := slices.Index(axes, axis)
		best := math.Inf(1)
		for i, x := range points {
			switch d := math.Abs(x - at[max(k, 0)]); {
			case k < 0 || d == best:
				list = append(list, i)
			case d < best:
				list, best = []int{i}, d
			}
		}
		return list
	}
	cells := k.lo.cells
	rows := []int{0}
	if cells.RowAxis >= 0 {
		rows = near(cells.Rows, cells.RowAxis)
	}
	worst, w := -1, found{}
	for _, r := range rows {
		for _, c := range near(cells.Cols, cells.ColAxis) {
			i := r*len(cells.Cols) + c
			if !k.looks(i) {
				continue
			}
			if f := k.cell(i); worst < 0 || f.bad && !w.bad || f.bad == w.bad && f.room < w.room {
				worst, w = i, f
			}
		}
	}
	if worst < 0 {
		return Here{}, nil
	}
	return k.here(worst), place(cells, worst)
}

// here is what a look says of a cell.
func (k *look) here(i int) Here {
	f := k.cell(i)
	h := Here{Looks: true, Holds: !f.bad}
	if h.HasMargin = f.part >= 0; h.HasMargin {
		h.Value, h.Bound, h.Margin = k.told(f.part, i)
		h.Unit = k.lo.parts[f.part].unit
	}
	return h
}

// index finds the cell at a point, or -1.
func (lo *lowered) index(axes []int, at []float64) int {
	find := func(points []float64, axis int) int {
		if i := slices.Index(axes, axis); i >= 0 {
			return slices.Index(points, at[i])
		}
		return -1
	}
	c, r := find(lo.cells.Cols, lo.cells.ColAxis), 0
	if lo.cells.RowAxis >= 0 {
		r = find(lo.cells.Rows, lo.cells.RowAxis)
	}
	if c < 0 || r < 0 {
		return -1
	}
	return r*len(lo.cells.Cols) + c
}

// place is the value on each axis of a cell.
func place(c *eval.Cells, i int) []float64 { return appendPlace(nil, c, i) }

func appendPlace(at []float64, c *eval.Cells, i int) []float64 {
	nc := len(c.Cols)
	if c.RowAxis >= 0 {
		at = append(at, c.Rows[i/nc])
	}
	return append(at, c.Cols[i%nc])
}
