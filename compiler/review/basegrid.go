package review

import (
	"slices"

	"fettle/compiler/check"
	"fettle/compiler/diff"
	"fettle/compiler/grid"
)

// own is a compared map at the breakpoints of its new table alone: where the two
// sides have others, cells between them are looked up and move with what stands
// beside them.
type own struct {
	rows, cols []int // of each own breakpoint, its place among the compared ones
	byRow      []int // of each compared one, its own place or -1
	byCol      []int
	table      *diff.Table
	base       *check.Map // with blanks that were filled in; nil for tables
}

// gridOf finds the breakpoints of a map's new table; nil where they can't be
// found among those compared, as when they are in another unit.
func gridOf(e *Entry, m *diff.MapDiff) *own {
	g := &own{}
	for _, t := range e.Pair.New.Tables {
		if t.Map == m.Map {
			g.table = t
		}
	}
	if g.table == nil && len(e.Pair.New.Tables) == 1 { // a file beside one of another name
		g.table = e.Pair.New.Tables[0]
	}
	if g.table == nil {
		return nil
	}
	if p := e.NewT.program(); p != nil {
		for g.base = mapNamed(p, m.Map); g.base != nil && g.base.Like != nil; {
			g.base = g.base.Like // a formula commonly follows the map that it is like
		}
	}
	var ok [2]bool
	g.rows, g.byRow, ok[0] = placesAmong(m.Rows.Points, g.table.Rows.Points)
	g.cols, g.byCol, ok[1] = placesAmong(m.Cols.Points, g.table.Cols.Points)
	if !ok[0] || !ok[1] {
		return nil
	}
	return g
}

func mapNamed(p *check.Program, name string) *check.Map {
	for _, m := range p.Maps {
		if m.Name == name {
			return m
		}
	}
	return nil
}

// placesAmong finds some ascending points among more, and the other way round.
func placesAmong(all, some []float64) (of, back []int, ok bool) {
	if all == nil {
		return []int{0}, []int{0}, some == nil
	}
	back = make([]int, len(all))
	for i := range back {
		back[i] = -1
	}
	for k, x := range some {
		i, found := slices.BinarySearch(all, x)
		if !found {
			return nil, nil, false
		}
		of = append(of, i)
		back[i] = k
	}
	return of, back, true
}

// own is the place of a compared cell in the new table, or -1.
func (g *own) own(c diff.CellDiff) int {
	r, k := g.byRow[c.Row], g.byCol[c.Col]
	if r < 0 || k < 0 {
		return -1
	}
	return r*len(g.cols) + k
}

// surface is the whole change of a map.
func (g *own) surface(m *diff.MapDiff) *surface {
	s := &surface{rows: len(g.rows), cols: len(g.cols), along: g.table.Cols.Points, down: g.table.Rows.Points, step: m.Step(), leans: g.leans()}
	s.change = make([]float64, s.rows*s.cols)
	before, n := m.Before(), len(m.Cols.Points)
	if s.old = before; len(before) > len(s.change) {
		s.old = make([]float64, 0, len(s.change))
		for _, r := range g.rows {
			for _, c := range g.cols {
				s.old = append(s.old, before[r*n+c])
			}
		}
	}
	for _, c := range m.Cells {
		if i := g.own(c); i >= 0 {
			s.change[i] = c.Exact
			s.shares = s.shares || c.HasShare
		}
	}
	s.span = spanOf(s.old)
	return s
}

// partSurfaces are what each element changed of a map, each from the values that
// it found. They are worked out when they are first asked for.
type partSurfaces struct {
	g     *own
	m     *diff.MapDiff
	whole *surface
	list  []*surface
}

func (p *partSurfaces) of(k int) *surface {
	for n := len(p.list); n <= k; n++ {
		s := *p.whole
		s.change = make([]float64, len(s.old))
		s.old = append([]float64(nil), s.old...)
		if n > 0 {
			before := p.list[n-1]
			for i, x := range before.old {
				s.old[i] = x + before.change[i]
			}
		}
		for i, c := range p.m.Cells {
			if at := p.g.own(c); at >= 0 {
				s.change[at] = p.m.Parts[n].Exact[i]
			}
		}
		p.list = append(p.list, &s)
	}
	return p.list[k]
}

// leans says which blanks were filled in from which cells.
func (g *own) leans() func(cell, on int) bool {
	if g.base == nil || g.base.From == nil || len(g.base.From) != len(g.rows)*len(g.cols) {
		return nil
	}
	from := g.base.From
	return func(cell, on int) bool { return slices.Contains(from[cell], on) }
}

// baseSpike is a spike in the base grid of a map.
type baseSpike struct {
	row, col   float64 // breakpoints
	neighbours float64
}

// basePatch is a patch in the base grid of a map: the breakpoints of its cells.
type basePatch [][2]float64

// inBase is what sticks out of the base grid of a map.
type inBase struct {
	spikes  []baseSpike
	patches []basePatch
}

// base finds what sticks out of the base grids of two programs, by map. It is
// worked out once.
func (f *spikeFinder) base(old, new *check.Program) map[string]inBase {
	if old == nil || new == nil || old == new {
		return nil
	}
	key := [2]*check.Program{old, new}
	if out, ok := f.inMap[key]; ok {
		return out
	}
	out := map[string]inBase{}
	for _, b := range new.Maps {
		if a := mapNamed(old, b.Name); a != nil && a.Formula == nil && b.Formula == nil && sameShape(old, a, new, b) {
			out[b.Name] = inBaseOf(a, b)
		}
	}
	f.inMap[key] = out
	return out
}

// sameShape says whether two maps run over the same axes in the same units, so
// that one can be looked up at the other's breakpoints.
func sameShape(p *check.Program, a *check.Map, q *check.Program, b *check.Map) bool {
	return a.Unit.Same(b.Unit) && slices.EqualFunc(a.Axes, b.Axes, func(i, j int) bool {
		return p.Axes[i].Name == q.Axes[j].Name && p.Axes[i].Unit.Same(q.Axes[j].Unit)
	})
}

func inBaseOf(a, b *check.Map) (out inBase) {
	t := b.Base
	s := &surface{rows: t.NRows(), cols: len(t.Cols), along: t.Cols, down: t.Rows, shares: diff.SharesOf(b.Unit.Text), step: b.Res.Step()}
	rows := []grid.Knot{{}}
	if t.Rows != nil {
		rows = grid.KnotsOf(a.Base.Rows, t.Rows)
	}
	s.old = a.Base.Gather(nil, rows, grid.KnotsOf(a.Base.Cols, t.Cols))
	s.change = make([]float64, len(s.old))
	moved := false
	for i, x := range t.Cells {
		s.change[i] = x - s.old[i]
		moved = moved || s.change[i] != 0
	}
	if !moved {
		return out
	}
	s.span = spanOf(s.old)
	if b.From != nil {
		s.leans = func(cell, on int) bool { return slices.Contains(b.From[cell], on) }
	}
	place := func(i int) (at [2]float64) {
		at[1] = t.Cols[i%s.cols]
		if t.Rows != nil {
			at[0] = t.Rows[i/s.cols]
		}
		return at
	}
	for i := range t.Cells {
		if b.Given != nil && !b.Given[i] {
			continue
		}
		if n, ok := s.spike(i); ok {
			at := place(i)
			out.spikes = append(out.spikes, baseSpike{row: at[0], col: at[1], neighbours: n})
		}
	}
	for _, cells := range s.patches() {
		var p basePatch
		written := 0
		for _, i := range cells {
			p = append(p, place(i))
			if b.Given == nil || b.Given[i] {
				written++
			}
		}
		if written > 1 { // blanks that lean on one cell make no patch of it
			out.patches = append(out.patches, p)
		}
	}
	return out
}

// at is the cell of the new table at two breakpoints, or -1.
func (g *own) at(row, col float64) int {
	r, c := 0, slices.Index(g.table.Cols.Points, col)
	if g.table.Rows.Points != nil {
		r = slices.Index(g.table.Rows.Points, row)
	}
	if r < 0 || c < 0 {
		return -1
	}
	return r*len(g.cols) + c
}

// baseAt is the base's spike in a cell of the new table, or nil.
func baseAt(list []baseSpike, g *own, cell int) *baseSpike {
	n := len(g.cols)
	for i := range list {
		b := &list[i]
		if g.table.Cols.Points[cell%n] == b.col && (g.table.Rows.Points == nil || g.table.Rows.Points[cell/n] == b.row) {
			return b
		}
	}
	return nil
}
