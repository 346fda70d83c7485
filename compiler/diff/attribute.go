package diff

import (
	"strings"

	"fettle/compiler/grid"
)

// change is a pair of sides of which the elements can be replaced one by one.
type change interface {
	// elements lists, in order, the elements whose replacing can change a cell.
	elements() []*Element
	// with gives the maps, by name, with the first n elements new; or why they
	// can't be computed. With none it is the old side, with all the new one.
	with(n int) (map[string]grid.Table, string)
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
		at[i] = newProgress(m, before[m.Map])
	}
	moved := map[*Element]bool{}
	var waiting []*Element
	var reason string
	for n, e := range elements {
		waiting = append(waiting, e)
		after, fault := c.with(n + 1)
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
			moved[e] = moved[e] || !sameCells(before[m.Map], after[m.Map])
			at[i].step(e, after[m.Map], n+1 == len(elements))
		}
		p.noteIdle(e, moved[e])
		before, waiting, reason = after, nil, ""
	}
}

// progress is how far the cells of a map that differ have come.
type progress struct {
	m              *MapDiff
	exact, printed []float64
}

func newProgress(m *MapDiff, t grid.Table) *progress {
	g := &progress{m: m, exact: make([]float64, len(m.Cells)), printed: make([]float64, len(m.Cells))}
	g.read(t)
	for i, c := range m.Cells {
		g.printed[i] = c.Old
	}
	return g
}

// read takes the values of the differing cells from a computed map.
func (g *progress) read(t grid.Table) {
	if len(g.m.Cells) == 0 {
		return
	}
	v := g.m.sample(t)
	for i, c := range g.m.Cells {
		g.exact[i] = v[c.Row*len(g.m.Cols.Points)+c.Col]
	}
}

// step gives what the cells moved by to an element; last says that this is the
// new side.
func (g *progress) step(e *Element, t grid.Table, last bool) {
	n := len(g.m.Cells)
	part := &Part{Element: e, Exact: make([]float64, n), Printed: make([]float64, n)}
	was := append([]float64(nil), g.exact...)
	g.read(t)
	any := false
	for i, c := range g.m.Cells {
		now := g.m.res.Round(g.exact[i])
		if last {
			now = c.New
		}
		part.Exact[i] = bounded(g.exact[i] - was[i])
		part.Printed[i] = changeOf(g.printed[i], now)
		g.printed[i] = now
		any = any || part.Exact[i] != 0 || part.Printed[i] != 0
	}
	if any {
		g.m.Parts = append(g.m.Parts, part)
	}
}

func sameCells(a, b grid.Table) bool {
	for i, x := range a.Cells {
		if x != b.Cells[i] {
			return false
		}
	}
	return true
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
