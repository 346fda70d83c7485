package diff

import (
	"slices"
	"strings"
)

// change is a pair of sides of which the elements can be replaced one by one.
type change interface {
	// elements lists, in order, the elements whose replacing can change a cell.
	elements() []*Element
	// with gives the tables with the first n elements new; or why they can't be
	// computed. With none it is the old side, with all the new one.
	with(n int) ([]*Table, string)
	// idle says whether an element that moves no cell is worth telling.
	idle(e *Element) bool
}

// attribute shares out each differing cell's change among the elements.
//
// The value of a cell with the first n elements new is v(n). Element n's part
// is v(n) - v(n-1), so that the parts add up to v(all) - v(0), the change of
// the cell before rounding: the sum telescopes. Each difference is rounded once
// to a float64, so the sum of parts may miss the change by about the number of
// parts times 2^-53 of the largest value met on the way, far under the one part
// in 10^9 that is promised. The same is done on printed values, whose parts add
// up to the printed change to the last digit.
//
// Where the tune can't be computed with the first n elements new (a quotient by
// zero, an argument out of its range), the next elements are taken together
// until it can: with all of them it can, for that is the new tune.
func attribute(p *Pair, c change) {
	p.Attributed = true
	elements := c.elements()
	before, _ := c.with(0)
	at := make([]*progress, len(p.Maps))
	for i, m := range p.Maps {
		at[i] = newProgress(m, tableNamed(p.Old.Tables, m.Map))
	}
	var waiting []*Element
	var reason string
	now := make([]*Table, len(p.Maps))
	for n, e := range elements {
		waiting = append(waiting, e)
		after, fault := c.with(n + 1)
		for i, m := range p.Maps {
			if fault == "" && len(m.Cells) > 0 {
				now[i], fault = at[i].comparable(after)
			}
		}
		if fault != "" {
			if reason == "" {
				reason = fault
			}
			continue
		}
		if len(waiting) > 1 {
			e = together(waiting, reason)
		}
		part := false
		for i, m := range p.Maps {
			if len(m.Cells) > 0 && at[i].step(e, now[i]) {
				part = true
			}
		}
		if !part && c.idle(e) {
			p.noteIdle(e, moves(p, before, after))
		}
		before, waiting, reason = after, nil, ""
	}
}

// moves says whether two lists of tables differ in a map that both sides have.
func moves(p *Pair, before, after []*Table) bool {
	for _, m := range p.Maps {
		if !sameCells(tableNamed(before, m.Map), tableNamed(after, m.Map)) {
			return true
		}
	}
	return false
}

func tableNamed(list []*Table, name string) *Table {
	for _, t := range list {
		if t.Map == name {
			return t
		}
	}
	return nil
}

// progress is how far the cells of a map that differ have come.
type progress struct {
	m              *MapDiff
	old            *Table
	exact, printed []float64
	last           *Table // what they were read from
}

func newProgress(m *MapDiff, old *Table) *progress {
	g := &progress{m: m, old: old, last: old}
	if len(m.Cells) > 0 {
		g.exact, g.printed = g.read(old)
	}
	return g
}

// comparable finds the map among tables and brings it to the units of the old
// side; or says why that can't be.
func (g *progress) comparable(list []*Table) (*Table, string) {
	t := tableNamed(list, g.m.Map)
	if t == nil {
		return nil, "map `" + g.m.Map + "` isn't there"
	}
	if t.Unit == g.old.Unit && t.Rows.sameAxis(g.old.Rows) && t.Cols.sameAxis(g.old.Cols) {
		return t, ""
	}
	t.round()
	var scratch MapDiff // the notes have been made
	t = scratch.inOldUnits(g.old, t)
	return t, scratch.Problem
}

// sameAxis says whether nothing has to be converted between two axes.
func (a Axis) sameAxis(b Axis) bool {
	return a.Name == b.Name && a.Unit == b.Unit && (a.Points == nil) == (b.Points == nil)
}

// read takes the values of the differing cells from a table.
func (g *progress) read(t *Table) (exact, printed []float64) {
	n := len(g.m.Cells)
	exact, printed = make([]float64, n), make([]float64, n)
	if !g.m.atPlace && g.m.hasPoints(t) {
		for i, c := range g.m.Cells {
			at := c.Row*len(g.m.Cols.Points) + c.Col
			exact[i], printed[i] = t.Exact[at], t.printedAt(at)
		}
		return exact, printed
	}
	t.round()
	e, p := g.m.sample(t.table(t.Exact)), g.m.printed(t)
	for i, c := range g.m.Cells {
		at := c.Row*len(g.m.Cols.Points) + c.Col
		exact[i], printed[i] = e[at], p[at]
	}
	return exact, printed
}

// step gives what the cells moved by to an element, and says whether any did.
func (g *progress) step(e *Element, t *Table) (any bool) {
	if t == g.last {
		return false
	}
	exact, printed := g.read(t)
	for i := range exact {
		any = any || exact[i] != g.exact[i] || printed[i] != g.printed[i]
	}
	if any {
		part := &Part{Element: e, Exact: make([]float64, len(exact)), Printed: make([]float64, len(exact))}
		for i := range exact {
			part.Exact[i] = bounded(exact[i] - g.exact[i])
			if printed[i] != g.printed[i] {
				part.Printed[i] = changeOf(g.printed[i], printed[i])
			}
		}
		g.m.Parts = append(g.m.Parts, part)
	}
	g.exact, g.printed, g.last = exact, printed, t
	return any
}

// sameCells says whether two tables of one map are the same before rounding.
func sameCells(a, b *Table) bool {
	if a == nil || b == nil || a == b {
		return a == b
	}
	return slices.Equal(a.Exact, b.Exact) && slices.Equal(a.Rows.Points, b.Rows.Points) && slices.Equal(a.Cols.Points, b.Cols.Points) && a.Unit == b.Unit && a.Res == b.Res
}

// noteIdle keeps an element that applies and has no part in any cell.
func (p *Pair) noteIdle(e *Element, moved bool) {
	if e.Applies == InNone || e.Kind == KindTogether {
		return
	}
	p.Idle = append(p.Idle, Idle{e, moved})
}

// together makes one element of several.
func together(list []*Element, reason string) *Element {
	e := &Element{Kind: KindTogether, Applies: InBoth, Place: list[0].Place, Places: list[0].Places}
	var names []string
	for _, m := range list {
		if m.Kind != KindTogether {
			e.Members = append(e.Members, m)
		} else {
			e.Members = append(e.Members, m.Members...)
		}
	}
	for _, m := range e.Members {
		names = append(names, m.Name)
	}
	e.Name = "together: " + strings.Join(names, ", ")
	e.Why = "can't be told apart: with some of them new and some old, " + reason
	return e
}
