package diff

import (
	"math"
	"slices"
)

// At compares one map of two sides at one place, on its breakpoints or between
// them: coordinates in the units of the old side's axes, in the map's order. Both
// sides are computed tunes. The pair has that map alone, with one cell, whether it
// differs or not; its values are looked up and then rounded, as `why` prints
// them. It can be attributed as any other. Without the map on a side there is no
// map in it, and none is compared whose axes differ.
func At(old, new *Side, mapName string, at []float64) *Pair {
	p := &Pair{Old: old, New: new, Labels: [2]string{"old", "new"}}
	a, b := tableNamed(old.Tables, mapName), tableNamed(new.Tables, mapName)
	if a == nil || b == nil {
		return p
	}
	m := compareTables(a, b)
	p.Maps = []*MapDiff{m}
	if m.Problem != "" || len(at) != len(a.axes()) {
		return p
	}
	m.atPlace, m.Reshaped, m.same = true, "", nil
	m.Cols.Points = at[len(at)-1:]
	if len(at) == 2 {
		m.Rows.Points = at[:1]
	}
	b = (&MapDiff{}).inOldUnits(a, b)
	c := CellDiff{Old: m.printed(a)[0], New: m.printed(b)[0]}
	c.Change = changeOf(c.Old, c.New)
	c.Exact = bounded(m.sample(b.table(b.Exact))[0] - m.sample(a.table(a.Exact))[0])
	if kindOf(m.Unit, m.HasUnit).shares && c.Old != 0 {
		c.Share, c.HasShare = bounded(c.Change/math.Abs(c.Old)), true
	}
	m.Summary = Summary{}
	m.Cells, m.Total, m.old, m.largest = []CellDiff{c}, 1, []float64{c.Old}, max(math.Abs(c.Old), math.Abs(c.New))
	m.summarize()
	return p
}

// printedAt is a table's value at the one place of m: looked up, and then
// rounded.
func (m *MapDiff) printedAt(t *Table) []float64 {
	res := t.Res
	if !res.Set() {
		res = m.res // a table brought to another unit has lost its own
	}
	v := slices.Clone(m.sample(t.table(t.Exact)))
	for i, x := range v {
		v[i] = res.Round(x)
	}
	return v
}

func (t *Table) axes() []Axis {
	if t.Rows.Points == nil {
		return []Axis{t.Cols}
	}
	return []Axis{t.Rows, t.Cols}
}
