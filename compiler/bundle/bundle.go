// Package bundle judges tunes among which a switch on the bike selects.
//
// How it goes. A bundle may be written if every slot's tune is written itself;
// if the slots' givens are alike, but for those in which the bundle says that
// they differ; and if no table jumps farther than a `jump` lets it. For the
// last, each pair of slots is set side by side table by table, both looked up at
// all breakpoints that either has, which tells two tables of the same
// breakpoints cell by cell. A share is of the smaller of the two values, since a
// switch goes both ways.
//
// In: plan.Bundle, the written tables of each slot. Out: an Outcome. Imported by
// emit, report and the compiler; imports plan and below.
package bundle

import (
	"math"

	"fettle/compiler/check"
	"fettle/compiler/grid"
	"fettle/compiler/plan"
	"fettle/compiler/resample"
	"fettle/compiler/table"
)

// Outcome is a judged bundle. Slots are counted from 0 here, and told from 1.
type Outcome struct {
	Bundle *plan.Bundle
	Unlike []int // givens in which slots differ and may not
	Broken []int // slots whose tune isn't written
	Jumps  []Jump
}

// Jump is how far a table differs from slot to slot.
type Jump struct {
	Table, Map string
	Unit       string
	Axes       []table.Axis // without their breakpoints
	Allowed    *check.Allowance
	Size       float64    // of the largest: the difference of the two values
	Slots      [2]int     // between which it is
	Values     [2]float64 // there
	At         []float64  // by the axes
	Points     int        // looked at
	Past       int        // of them, where it is farther than allowed
	weight     float64
}

// Fails says that the bundle isn't written.
func (o *Outcome) Fails() bool {
	for _, j := range o.Jumps {
		if j.Past > 0 {
			return true
		}
	}
	return len(o.Unlike)+len(o.Broken) > 0
}

// Judge looks at a bundle. Tables are those of each slot, all of the same target
// or the maps' own; none of a slot whose tune isn't written.
func Judge(p *check.Program, b *plan.Bundle, tables [][]table.Table) *Outcome {
	o := &Outcome{Bundle: b}
	for g := range p.Givens {
		if b.Differs(g) && !b.Spec.MayDiffer(g) {
			o.Unlike = append(o.Unlike, g)
		}
	}
	whole := []int{}
	for i, list := range tables {
		if list == nil {
			o.Broken = append(o.Broken, i)
		} else {
			whole = append(whole, i)
		}
	}
	if len(whole) < 2 {
		return o
	}
	for k, t := range tables[whole[0]] {
		j := Jump{Table: t.Name, Map: t.Map, Unit: t.Unit, Allowed: allowance(b.Spec, t.Map)}
		for _, a := range t.Axes() {
			j.Axes = append(j.Axes, table.Axis{Name: a.Name, Unit: a.Unit})
		}
		for n, from := range whole {
			for _, to := range whole[n+1:] {
				j.compare(&tables[from][k], &tables[to][k], [2]int{from, to})
			}
		}
		o.Jumps = append(o.Jumps, j)
	}
	return o
}

// allowance finds how far a map may jump; nil where nothing is said.
func allowance(b *check.Bundle, name string) *check.Allowance {
	for i := range b.Jumps {
		if b.Jumps[i].Map.Name == name {
			return &b.Jumps[i]
		}
	}
	return nil
}

// compare sets two slots' tables side by side.
func (j *Jump) compare(a, b *table.Table, slots [2]int) {
	var rows []float64
	if a.Rows.Points != nil {
		rows = grid.Union(a.Rows.Points, b.Rows.Points)
	}
	cols := grid.Union(a.Cols.Points, b.Cols.Points)
	x, y := at(a, rows, cols), at(b, rows, cols)
	var policy check.Policy
	if j.Allowed != nil {
		policy = check.NewPolicy([]check.Allowance{*j.Allowed})
	}
	for i := range x.Cells {
		from, to := x.Cells[i], y.Cells[i]
		j.Points++
		if j.Allowed != nil && !(policy.Within(j.Map, from, to) && policy.Within(j.Map, to, from)) {
			j.Past++
		}
		if w := j.weigh(from, to); w > j.weight || j.At == nil {
			j.weight, j.Size, j.Slots, j.Values = w, math.Abs(to-from), slots, [2]float64{from, to}
			j.At = []float64{cols[i%len(cols)]}
			if rows != nil {
				j.At = []float64{rows[i/len(cols)], j.At[0]}
			}
		}
	}
}

// weigh says how far two values are apart, in the way in which they are judged.
func (j *Jump) weigh(a, b float64) float64 {
	d := math.Abs(b - a)
	if j.Allowed == nil || !j.Allowed.Share || d == 0 {
		return d
	}
	return d / math.Min(math.Abs(a), math.Abs(b)) // of nothing it is without end
}

// Share is how large the jump is as a share of the smaller value; infinite where
// that is nothing.
func (j *Jump) Share() float64 {
	if j.Size == 0 {
		return 0
	}
	return j.Size / math.Min(math.Abs(j.Values[0]), math.Abs(j.Values[1]))
}

// at looks a table up at breakpoints.
func at(t *table.Table, rows, cols []float64) grid.Table {
	g := grid.Table{Rows: t.Rows.Points, Cols: t.Cols.Points, Cells: t.Cells}
	return resample.To(&g, rows, cols)
}
