package verify

import (
	"math"

	"fettle/compiler/grid"
	"fettle/compiler/resample"
	"fettle/compiler/table"
	"fettle/lang/elementary"
	"fettle/lang/unit"
)

// slack is how far past half a step a difference may lie, as a share of it, and
// noise what the decimals of a value leave behind, as a share of the value.
const (
	slack = 1e-9
	noise = 1e-12
)

// beside sets a table that was read beside one of a tune; nil where they aren't
// over the same axes.
func beside(read *Table, tune *table.Table) *Pair {
	rows, ok := pointsIn(read.Rows, tune.Rows)
	if !ok {
		return nil
	}
	cols, ok := pointsIn(read.Cols, tune.Cols)
	if !ok {
		return nil
	}
	p := &Pair{Read: read, Tune: tune, step: stepOf(tune)}
	p.Union = !same(rows, tune.Rows.Points) || !same(cols, tune.Cols.Points)
	a := grid.Table{Rows: tune.Rows.Points, Cols: tune.Cols.Points, Cells: tune.Cells}
	b := grid.Table{Rows: rows, Cols: cols, Cells: read.Cells}
	if p.Union {
		if rows != nil {
			rows = grid.Union(rows, tune.Rows.Points)
		}
		cols = grid.Union(cols, tune.Cols.Points)
		a, b = resample.To(&a, rows, cols), resample.To(&b, rows, cols)
	}
	own := 0.0
	if read.Decimals >= 0 {
		own = 0.5 * math.Pow10(-read.Decimals)
	}
	sum := 0.0
	for i, x := range a.Cells {
		y := b.Cells[i]
		d := math.Abs(y - x)
		half := halfStep(tune, x)
		room := func(half float64) bool { return d <= half+float64(slack*half)+float64(noise*math.Abs(x)) }
		p.Cells++
		switch {
		case room(half):
			continue
		case room(max(half, own)):
			p.Grade = max(p.Grade, AsFar)
			continue
		}
		p.Grade = Differs
		c := Cell{At: []float64{cols[i%len(cols)]}, Tune: x, Read: y}
		if rows != nil {
			c.At = []float64{rows[i/len(cols)], c.At[0]}
		}
		p.Cell = append(p.Cell, c)
		p.Steps = max(p.Steps, d/p.step)
		sum += d / p.step
	}
	p.Mean = sum / float64(p.Cells)
	return p
}

// pointsIn gives the breakpoints of an axis that was read in the unit of the
// tune's; false where they aren't the same axis.
func pointsIn(read, tune table.Axis) ([]float64, bool) {
	if read.Name != tune.Name || (read.Points == nil) != (tune.Points == nil) {
		return nil, false
	}
	if read.Unit == tune.Unit {
		return read.Points, true
	}
	from, err := unit.Parse(read.Unit)
	to, err2 := unit.Parse(tune.Unit)
	if err != nil || err2 != nil {
		return nil, false
	}
	conv, err := unit.NewConv(from, to)
	if err != nil {
		return nil, false
	}
	out := make([]float64, len(read.Points))
	for i, x := range read.Points {
		out[i] = conv.Apply(x)
	}
	return out, true
}

func same(a, b []float64) bool {
	if len(a) != len(b) {
		return false
	}
	for i, x := range a {
		if x != b[i] {
			return false
		}
	}
	return true
}

// halfStep is half of what a value of a table can be told apart by: a step of its
// storage, its resolution, or else a unit in its sixth digit.
func halfStep(t *table.Table, x float64) float64 {
	switch {
	case t.Storage != nil && t.Storage.Type == table.F32:
		return math.Abs(x) * 0x1p-24
	case t.Storage != nil:
		return t.Storage.Step / 2
	case t.Res.Set():
		return t.Res.Step() / 2
	case x == 0:
		return 0
	}
	return 0.5 * sixth(x)
}

// sixth is a unit in the sixth digit of a value.
func sixth(x float64) float64 { return math.Pow10(elementary.Decade(x) - 5) }

// stepOf is what differences of a table are counted in: its storage's step, its
// resolution, or a unit in the sixth digit of its largest value.
func stepOf(t *table.Table) float64 {
	switch {
	case t.Storage != nil && t.Storage.Type != table.F32:
		return t.Storage.Step
	case t.Res.Set():
		return t.Res.Step()
	}
	largest := 0.0
	for _, x := range t.Cells {
		largest = max(largest, math.Abs(x))
	}
	if largest == 0 {
		return 1
	}
	return sixth(largest)
}

// match sets a group beside a set of tables; nil where a table of it has no
// partner over the same axes. A table takes its namesake, or else one that shows
// the map of its name; one whose name no table has anywhere (known) takes the
// nearest of all that no other took.
func match(g *Group, set []table.Table, known map[string]bool) []*Pair {
	byName := map[string]int{}
	for i := range set {
		byName[set[i].Name] = i
	}
	taken := map[int]bool{}
	out := make([]*Pair, len(g.Tables))
	for i, t := range g.Tables {
		if k, ok := byName[t.Name]; ok {
			taken[k] = true
			if out[i] = beside(t, &set[k]); out[i] == nil {
				return nil
			}
		}
	}
	for i, t := range g.Tables {
		if out[i] != nil {
			continue
		}
		best := -1
		for k := range set {
			if taken[k] || known[t.Name] && set[k].Map != t.Name {
				continue
			}
			if p := beside(t, &set[k]); p != nil && (out[i] == nil || closer([]*Pair{p}, out[i:i+1])) {
				out[i], best = p, k
			}
		}
		if out[i] == nil {
			return nil
		}
		taken[best] = true
	}
	return out
}

// closer says which of two sets of one tune tables are rather to be set beside:
// of two that they aren't, the one with fewer other breakpoints, for there a cell
// is beside a cell.
func closer(a, b []*Pair) bool {
	x, y := farOf(a), farOf(b)
	if n, m := others(a), others(b); x.grade == y.grade && n != m {
		return n < m
	}
	return x.less(y)
}

func others(pairs []*Pair) int {
	n := 0
	for _, p := range pairs {
		if p.Union {
			n++
		}
	}
	return n
}

// farOf joins pairs: the worst of them, all cells that differ, and the mean over
// all their cells.
func farOf(pairs []*Pair) far {
	f, cells := far{}, 0
	for _, p := range pairs {
		f.grade, f.steps = max(f.grade, p.Grade), max(f.steps, p.Steps)
		f.cells += len(p.Cell)
		f.mean += float64(p.Mean * float64(p.Cells))
		cells += p.Cells
	}
	f.mean /= float64(max(1, cells))
	return f
}
