package session

import (
	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/grid"
	"fettle/lang/formula"
)

// A map over two axes whose every reading of what an edit changes stays in its own
// row needs no more than the edited rows anew. A program whose maps have those rows
// alone computes them as any program does: a row's cells, breakpoints and weights are
// what they are in the whole map, and what is looked up in maps that don't change is
// looked up in the whole ones.

// inRow says whether an expression reads the maps marked at the row alone that it is
// evaluated in, and steps to no other row, of whatever map. All those maps have the
// same rows.
func inRow(p *check.Program, n *formula.Node, rowAxis int, marked []bool) bool {
	if n == nil {
		return true
	}
	ok := true
	n.Walk(func(k *formula.Node) {
		switch k.Op {
		case formula.MapAt:
			row := formula.Strip(k.Kids[0])
			ok = ok && (!marked[k.A] || row.Op == formula.AxisVal && row.A == rowAxis)
		case formula.StepOf:
			ok = ok && k.B != rowAxis
		case formula.MapHere:
		default:
			return
		}
		ok = ok && (!marked[k.A] || p.Maps[k.A].Axes[0] == rowAxis)
	})
	return ok
}

// stepsOf lists every adjustment of a map, with the trims of all variants.
func stepsOf(p *check.Program, m *check.Map) []*check.Step {
	out := append([]*check.Step(nil), m.Steps...)
	for _, v := range p.Variants {
		for _, s := range v.Trims {
			if s.Map.Index == m.Index {
				out = append(out, s)
			}
		}
	}
	return out
}

// byRows says whether a map can be computed by rows, if those marked are. A clamp
// tells of the worst cell of all, an `=` of what it throws away, a `where` of how
// many cells it picks: those look at whole maps.
func byRows(p *check.Program, m *check.Map, marked []bool) bool {
	if len(m.Axes) != 2 || len(m.Clamps) > 0 || !inRow(p, m.Formula, m.Axes[0], marked) {
		return false
	}
	for _, s := range stepsOf(p, m) {
		if s.Op == "=" && !s.Self || !inRow(p, s.Amount, m.Axes[0], marked) || !inRow(p, s.Where, m.Axes[0], marked) || s.Where != nil && readsAny(s.Where, marked) {
			return false
		}
	}
	return true
}

func readsAny(n *formula.Node, marked []bool) bool {
	for _, i := range n.MapsUsed() {
		if marked[i] {
			return true
		}
	}
	return false
}

// rows is a program of the maps that are computed by rows, with those rows alone.
type rows struct {
	from, to int
	maps     []int  // that are computed, in their order
	of       []bool // the same, by map
	need     []bool // by map: those and what they read
	reads    []int  // what they read of the others
	steps    []int  // the adjustments of those maps, by their indexes
	check    *check.Program
	p        *eval.Program
}

func newRows(p *check.Program, of []bool, from, to int) *rows {
	r := &rows{from: from, to: to, of: of}
	cut := *p
	cut.Checks, cut.Maps = nil, make([]*check.Map, len(p.Maps))
	for i, m := range p.Maps {
		one := *m
		if of[i] {
			one.Base.Rows = m.Base.Rows[from:to]
			for _, s := range stepsOf(p, m) {
				r.steps = append(r.steps, s.Index)
			}
		} else {
			one.Formula, one.Steps, one.Clamps = nil, nil, nil
		}
		cut.Maps[i] = &one
	}
	for _, i := range p.Order {
		if of[i] {
			r.maps = append(r.maps, i)
		}
	}
	r.need, r.reads = needs(p, of)
	r.check = &cut
	r.rebase(p)
	r.p = eval.Lower(&cut)
	return r
}

// rebase takes the bases as they are now.
func (r *rows) rebase(p *check.Program) {
	for _, i := range r.maps {
		if b := &p.Maps[i].Base; b.Cells != nil {
			r.check.Maps[i].Base.Cells = r.part(b)
		}
	}
}

// part is the rows of a table.
func (r *rows) part(t *grid.Table) []float64 {
	return t.Cells[r.from*len(t.Cols) : r.to*len(t.Cols)]
}

// needs marks some maps and what they read themselves, and lists the latter.
func needs(p *check.Program, of []bool) (need []bool, reads []int) {
	need = append([]bool(nil), of...)
	read := func(nodes ...*formula.Node) {
		for _, n := range nodes {
			for _, i := range n.MapsUsed() {
				need[i] = true
			}
		}
	}
	for i, m := range p.Maps {
		if !of[i] {
			continue
		}
		read(m.Formula)
		for _, s := range stepsOf(p, m) {
			read(s.Amount, s.Where)
		}
		for _, l := range m.Clamps {
			read(l.Lo, l.Hi, l.Where)
		}
	}
	for i := range need {
		if need[i] && !of[i] {
			reads = append(reads, i)
		}
	}
	return need, reads
}
