package limit

import (
	"math"
	"slices"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/plan"
	"fettle/lang/formula"
	"fettle/lang/unit"
)

// What is judged again after cells changed. A verdict whose cells changed in some
// rows alone is mostly settled by those rows: the nearest cell is either among them
// or where it was. That is sure where it stands out:
//
//   - each cell before it has so much more room that it takes their place, and
//   - no cell after it has so much less that it would take its place,
//
// in both cases by more than a tie (reach). Then a search over all cells ends at it,
// whatever it meets on the way. What is done here keeps it so, or judges all cells.

// Todo is what is to be judged again of a tune.
type Todo struct {
	Limits  []bool  // by limit
	Parts   []*Part // by limit: the part of its cells that alone changed; nil for all
	Expects map[*check.Expect]bool
}

// Part is some rows of a limit's cells.
type Part struct {
	lo    *lowered // over those rows, and one more where a step leads to it
	first int      // the first cell, of the limit's
	n     int
}

// Grid is what a limit looks at, by its place in the program: every crossing of its
// maps' breakpoints.
func (c *Checker) Grid(i int) *eval.Cells { return c.limits[i].cells }

// Part prepares rows from..to of a limit's cells; nil where they can't be judged
// alone. One row more is looked at where onward says that a cell's value depends on
// the next row.
func (c *Checker) Part(i, from, to int, onward bool) *Part {
	lo := c.limits[i]
	l := lo.l
	if l.Mode == check.Clamp || lo.conds > 0 && (lo.conds < len(lo.parts) || lo.where != nil) || lo.cells.RowAxis < 0 {
		return nil
	}
	cells, nc := *lo.cells, len(lo.cells.Cols)
	end := to
	if onward {
		end = min(to+1, len(cells.Rows))
	}
	cells.Rows = cells.Rows[from:end]
	return &Part{c.lowerOver(l, &cells), from * nc, (to - from) * nc}
}

// Again judges again what is to be, into the verdicts and outcomes of before. It
// says whether a limit that is judged again fails or warns, or did.
func (c *Checker) Again(t *plan.Tune, res *eval.Result, todo *Todo, verdicts []*Verdict, outcomes []*Outcome) (explain bool) {
	j := c.begin(t, res, false)
	defer j.end()
	for i, v := range verdicts {
		if !todo.Limits[i] || v.State == NotHere && v.of == nil && v.Problem == "" {
			continue // its `when` doesn't hold, whatever the cells
		}
		if p := todo.Parts[i]; p != nil && j.part(v, p) {
			v.looked.Store(nil)
			continue
		}
		explain = explain || v.troubled()
		v.reset()
		j.verdict(v, c.limits[i])
		if p := todo.Parts[i]; p != nil && v.State == Holds && v.HasMargin && !v.sure {
			_, v.sure = j.mem.look.standsOut(v.cell, v.room)
		}
		explain = explain || v.troubled()
	}
	for _, o := range outcomes {
		if todo.Expects[o.Expect] {
			*o = Outcome{Check: o.Check, Expect: o.Expect, x: o.x}
			j.expect(o, o.x)
		}
	}
	return explain
}

func (v *Verdict) troubled() bool { return v.State == Fails || v.State == Warns }

// reset makes a verdict as good as new.
func (v *Verdict) reset() {
	v.State, v.Bad, v.HasMargin, v.Value, v.Bound, v.Margin = Holds, 0, false, 0, 0, 0
	v.Unit, v.Blame, v.Problem, v.of, v.lo, v.told, v.sure = unit.Unit{}, nil, "", nil, nil, 0, false
	v.looked.Store(nil)
}

// part settles a verdict by the cells that changed; false where all are needed.
func (j *judging) part(v *Verdict, p *Part) bool {
	conds := p.lo.conds > 0
	if v.State != Holds || !conds && !v.sure {
		return false
	}
	looked := v.Cells
	if lo := v.lo; lo.where != nil {
		where, err := j.probe.Column(lo.where, j.env, eval.Column{}, eval.Third)
		if err != nil {
			return false
		}
		j.mem.used = 0
		all := look{n: lo.cells.N(), where: j.mem.values(where, lo.cells, false)}
		looked = all.cells()
	}
	k, problem := p.lo.look(j.probe, j.env, j.mem)
	if problem != "" {
		return false
	}
	k.cut(p.n)
	if conds { // of conditions without a margin the first cell stands for all
		return !slices.ContainsFunc(k.sides, func(s sides) bool { return !s.left.all(p.n) })
	}
	w, least, ok := k.worst(j.mem)
	if !ok || !v.join(k, w, least, p) {
		return false
	}
	v.Cells = looked
	return true
}

// join settles a verdict by the worst cell of the part that changed and the least
// room of any there.
func (v *Verdict) join(k *look, w worst, least float64, p *Part) bool {
	cell, in := p.first+w.cell, v.cell >= p.first && v.cell < p.first+p.n
	switch {
	case w.cell >= 0 && (w.room < reach(reach(v.room)) || w.room <= v.room && cell <= v.cell):
		// All others had more room than that, or come after it and were no tie worse.
		v.At = appendPlace(v.At[:0], v.lo.cells, cell)
		v.Value, v.Bound, v.Margin = k.told(w.part, w.cell)
		v.Unit, v.told, v.cell, v.room = p.lo.parts[w.part].unit, w.part, cell, w.room
		return true
	case in:
		return false
	case v.cell < p.first:
		return least >= reach(v.room)
	}
	return reach(least) > v.room
}

// worst finds the worst cell of a look, where it stands out, and the least room of
// any; the cell is -1 where the limit looks at none.
func (k *look) worst(mem *memory) (w worst, least float64, ok bool) {
	over := mem.begin(k)
	if w, ok = k.nearest(over); ok {
		least = math.Inf(1)
		for i := range over {
			least = min(least, over[i].least)
		}
		return w, least, true
	}
	w = worst{cell: -1}
	if problem := w.search(k, over); problem != "" || w.count > 0 || w.cell >= 0 && w.part < 0 {
		return w, 0, false
	}
	least, ok = k.standsOut(w.cell, w.room)
	return w, least, ok
}

// standsOut says whether a cell stands out among all that are looked at, and what
// the least room of those is.
func (k *look) standsOut(cell int, room float64) (least float64, ok bool) {
	least = math.Inf(1)
	for i := range k.n {
		if !k.looks(i) {
			continue
		}
		f := k.cell(i)
		if !f.finite || f.bad || i < cell && !(reach(f.room) > room) || i > cell && !(f.room >= reach(room)) {
			return 0, false
		}
		least = min(least, f.room)
	}
	return least, least > 1e-280
}

// cut leaves the first n cells of a look.
func (k *look) cut(n int) {
	k.n = n
	if k.where.step == 1 {
		k.where.v = k.where.v[:n]
	}
	for i := range k.sides {
		for _, x := range []*values{&k.sides[i].left, &k.sides[i].right} {
			if x.step == 1 {
				x.v = x.v[:n]
			}
		}
	}
}

// all says whether the first n values are yes.
func (x values) all(n int) bool {
	if x.step == 0 {
		return x.v[0] != 0
	}
	return !slices.Contains(x.v[:n], 0)
}

// Onward says whether what a limit says of a cell depends on the next one along an
// axis.
func Onward(l *check.Limit, axis int) (found bool) {
	for _, n := range []*formula.Node{l.Cond, l.Where} {
		if n != nil {
			n.Walk(func(k *formula.Node) { found = found || k.Op == formula.StepOf && k.B == axis })
		}
	}
	return found
}
