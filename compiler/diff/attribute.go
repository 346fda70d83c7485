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
	moved := map[*Element]bool{}
	var waiting []*Element
	var reason string
	for n, e := range elements {
		waiting = append(waiting, e)
		after, fault := c.with(n + 1)
		now := make([]*Table, len(p.Maps))
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
		for i, m := range p.Maps {
			moved[e] = moved[e] || !sameCells(tableNamed(before, m.Map), tableNamed(after, m.Map))
			at[i].step(e, now[i])
		}
		if c.idle(e) {
			p.noteIdle(e, moved[e])
		}
		before, waiting, reason = after, nil, ""
	}
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
}

func newProgress(m *MapDiff, old *Table) *progress {
	g := &progress{m: m, old: old, exact: make([]float64, len(m.Cells)), printed: make([]float64, len(m.Cells))}
	if len(m.Cells) > 0 {
		g.read(old)
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
	var scratch MapDiff // the notes have been made
	t = scratch.inOldUnits(g.old, t)
	return t, scratch.Problem
}

// read takes the values of the differing cells from a table.
func (g *progress) read(t *Table) {
	exact, printed := g.m.sample(t.table(t.Exact)), g.m.printed(t)
	for i, c := range g.m.Cells {
		at := c.Row*len(g.m.Cols.Points) + c.Col
		g.exact[i], g.printed[i] = exact[at], printed[at]
	}
}

// step gives what the cells moved by to an element.
func (g *progress) step(e *Element, t *Table) {
	n := len(g.m.Cells)
	if n == 0 {
		return
	}
	part := &Part{Element: e, Exact: make([]float64, n), Printed: make([]float64, n)}
	was := [2][]float64{append([]float64(nil), g.exact...), append([]float64(nil), g.printed...)}
	g.read(t)
	any := false
	for i := range g.m.Cells {
		part.Exact[i] = bounded(g.exact[i] - was[0][i])
		part.Printed[i] = changeOf(was[1][i], g.printed[i])
		any = any || part.Exact[i] != 0 || part.Printed[i] != 0
	}
	if any {
		g.m.Parts = append(g.m.Parts, part)
	}
}

// sameCells says whether two tables of one map are the same before rounding.
func sameCells(a, b *Table) bool {
	if a == nil || b == nil {
		return a == b
	}
	return slices.Equal(a.Exact, b.Exact) && slices.Equal(a.Rows.Points, b.Rows.Points) && slices.Equal(a.Cols.Points, b.Cols.Points) && a.Unit == b.Unit && a.Res == b.Res
}

// noteIdle keeps an element that applies and has no part in any cell.
func (p *Pair) noteIdle(e *Element, moved bool) {
	if e.Applies == InNone || e.Kind == KindTogether {
		return
	}
	for _, m := range p.Maps {
		if n := len(m.Parts); n > 0 && m.Parts[n-1].Element == e {
			return
		}
	}
	p.Idle = append(p.Idle, Idle{e, moved})
}

// together makes one element of several.
func together(list []*Element, reason string) *Element {
	e := &Element{Kind: KindTogether, Members: append([]*Element(nil), list...), Applies: InBoth, Place: list[0].Place}
	var names []string
	for _, m := range list {
		names = append(names, m.Name)
	}
	e.Name = "together: " + strings.Join(names, ", ")
	e.Why = "can't be told apart: with some of them new and some old, " + reason
	return e
}
