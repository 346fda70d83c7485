package review

import (
	"slices"
	"sort"

	"fettle/compiler/check"
	"fettle/compiler/diff"
)

// Spikes are looked for in three ways, since one change can hide another.
//
// In the base grids of the two sources: a wrong digit stands in one cell there,
// and in a tune it may be spread over two by a rule that shifts the grid. It is
// told of each tune in which that cell changed by half of what a spike does. Then in each tune: in the
// change of each map as a whole, and in the part that each element has in it,
// for a spike on a slope that another element made is no smaller for it. What is
// told of the cells around is their whole change, whoever made it. A policy hides
// none: what sticks out counts as beyond it.
//
// Patches of cells (patches.go) are looked for in the base grids, and in the whole
// change where no source says what moved it: the edge of a rule's region is a
// step that somebody meant.
//
// A spike shows in every map that follows from the one it is in. It is told of
// that one, and the others are named. One that a formula alone made, of a change
// that is none, is told of none (switches.go).

// spikeFinder gathers the spikes of all entries.
type spikeFinder struct {
	byKey map[spikeKey]*found
	list  []*found
	inMap map[[2]*check.Program]map[string]inBase
	flows flows
}

type spikeKey struct{ mapName, at string }

// found is a spike in the tunes in which it was found.
type found struct {
	*Spike
	root bool    // its map follows from no other
	size float64 // of the worst
	in   []told  // by tune
}

// told is where a spike is told of a tune.
type told struct {
	e     *Entry
	m     *diff.MapDiff
	cells []int
}

// findSpikes fills Spikes, and takes what sticks out from what the policy hides.
func (r *Review) findSpikes(opt Options) {
	f := &spikeFinder{byKey: map[spikeKey]*found{}, inMap: map[[2]*check.Program]map[string]inBase{}, flows: flows{}}
	there := map[*Entry]bool{}
	var entries []*Entry
	for _, e := range slices.Concat(r.Entries, r.Allowed) {
		if !there[e] { // one of which a limit moved may stand in both
			there[e] = true
			entries = append(entries, e)
			f.base(e.OldT.program(), e.NewT.program())
		}
	}
	lists := make([][]*cellSpike, len(entries))
	each(len(entries), Options{Workers: opt.Workers}, func(i int) { lists[i] = f.spikesOf(entries[i]) })
	for i, e := range entries {
		f.entry(e, lists[i])
	}
	r.reveal(f)
	sort.SliceStable(f.list, func(i, j int) bool {
		if a, b := f.list[i], f.list[j]; a.root != b.root {
			return a.root
		} else {
			return a.size > b.size
		}
	})
	for _, s := range f.list {
		r.Spikes = append(r.Spikes, s.Spike)
	}
}

// cellSpike is a spike or a patch in one map of one tune.
type cellSpike struct {
	m          *diff.MapDiff
	cell       int   // in its Cells; of a patch the worst
	cells      []int // of a patch: all of them; nil for a single cell
	by         *diff.Element
	neighbours float64
	also       []string
}

// spikesOf finds the spikes of all maps of an entry. It only reads what the finder
// has, so that many entries may be looked at at once.
func (f *spikeFinder) spikesOf(e *Entry) (list []*cellSpike) {
	base := f.inMap[[2]*check.Program{e.OldT.program(), e.NewT.program()}]
	for _, m := range e.Pair.Maps {
		em := e.mapOf(m)
		if em == nil || len(m.Cells) == 0 {
			continue
		}
		list = append(list, e.spikesIn(em, base[m.Map])...)
	}
	return list
}

func (f *spikeFinder) entry(e *Entry, list []*cellSpike) {
	if len(list) == 0 {
		return
	}
	fl := f.flows.of(e.NewT.program())
	for _, m := range e.Pair.Maps { // in the order in which tables were written
		fl.at(m.Map)
	}
	for _, s := range fold(list, fl) {
		if !e.switches(s, fl) {
			f.add(e, s, fl)
		}
	}
}

func (e *Entry) mapOf(m *diff.MapDiff) *EntryMap {
	for _, em := range e.Maps {
		if em.Diff == m {
			return em
		}
	}
	return nil
}

// spikesIn finds the spikes of one map, in the order of its cells.
func (e *Entry) spikesIn(em *EntryMap, base inBase) []*cellSpike {
	m := em.Diff
	g := gridOf(e, m)
	if g == nil {
		return nil
	}
	s := g.surface(m)
	parts := &partSurfaces{g: g, m: m, whole: s}
	byCell := map[int]*cellSpike{}
	inPatch := map[int]bool{}
	patches := e.patchesIn(em, g, s, base.patches)
	for _, p := range patches {
		for _, i := range p.cells {
			inPatch[i] = true
		}
	}
	for i := range m.Cells {
		cell := g.own(m.Cells[i])
		if cell < 0 || inPatch[i] || abs(m.Cells[i].Change) <= 1.5*s.step {
			continue
		}
		if n, ok := s.spike(cell); ok {
			byCell[i] = &cellSpike{m: m, cell: i, by: largestBy(m, i), neighbours: n}
			continue
		}
		if b := baseAt(base.spikes, g, cell); b != nil && s.large(cell, spikeChange/2) {
			if by, some := partOf(m, i, diff.KindBase); some {
				byCell[i] = &cellSpike{m: m, cell: i, by: by, neighbours: s.outside([]int{cell})}
				continue
			}
		}
		for k, p := range m.Parts {
			if len(m.Parts) == 1 || !s.large(cell, spikeChange) || !s.sticksOut(cell) {
				break
			}
			if _, ok := parts.of(k).spike(cell); ok {
				byCell[i] = &cellSpike{m: m, cell: i, by: p.Element, neighbours: s.outside([]int{cell})}
				break
			}
		}
	}
	out := patches
	for i := range m.Cells {
		if s := byCell[i]; s != nil {
			out = append(out, s)
		}
	}
	return out
}

// largestBy is the element with the largest part in a cell; nil where changes
// aren't attributed.
func largestBy(m *diff.MapDiff, cell int) *diff.Element {
	if p := largestPart(m, cell, 0); p != nil {
		return p.Element
	}
	return nil
}

// partOf says whether an element of a kind has a part in a cell; where changes
// aren't attributed it may have.
func partOf(m *diff.MapDiff, cell int, kind string) (*diff.Element, bool) {
	for _, p := range m.Parts {
		if p.Exact[cell] == 0 {
			continue
		}
		if p.Element.Kind == kind || p.Element.Kind == diff.KindTogether {
			return p.Element, true
		}
	}
	return nil, len(m.Parts) == 0
}

// sticksOut says whether a cell's whole change differs from that of each of its
// neighbours by enough to be seen.
func (s *surface) sticksOut(cell int) bool {
	old := s.old[cell]
	for dr := -1; dr <= 1; dr++ {
		for dc := -1; dc <= 1; dc++ {
			i := s.beside(cell, dr, dc)
			if i < 0 {
				continue
			}
			off := abs(s.change[cell] - s.change[i])
			if s.share(old) && off < spikeChange*abs(old) || !s.share(old) && off < spikeChange*s.span {
				return false
			}
		}
	}
	return true
}

// fold keeps the spikes of one tune that don't follow from another of them.
func fold(list []*cellSpike, fl *flow) []*cellSpike {
	var out []*cellSpike
	for _, s := range list {
		var head *cellSpike
		for _, h := range list {
			if h != s && fl.follows(h.m.Map, s.m.Map) && near(h, s) && (head == nil || fl.follows(h.m.Map, head.m.Map)) {
				head = h
			}
		}
		if head == nil {
			out = append(out, s)
		} else {
			head.also = append(head.also, s.m.Map)
		}
	}
	return out
}

// all is its cells.
func (s *cellSpike) all() []int {
	if s.cells == nil {
		return []int{s.cell}
	}
	return s.cells
}

// near says whether a spike lies where another does, or next to it.
func near(a, b *cellSpike) bool {
	within := func(x diff.Axis, i int, y diff.Axis, j int) bool {
		if x.Name != y.Name || len(x.Points) == 0 || len(y.Points) == 0 {
			return true // one of them doesn't run over this axis
		}
		at := y.Points[j]
		return at >= x.Points[max(0, i-1)] && at <= x.Points[min(len(x.Points)-1, i+1)]
	}
	for _, i := range a.all() {
		for _, j := range b.all() {
			ca, cb := a.m.Cells[i], b.m.Cells[j]
			if within(a.m.Rows, ca.Row, b.m.Rows, cb.Row) && within(a.m.Cols, ca.Col, b.m.Cols, cb.Col) {
				return true
			}
		}
	}
	return false
}

// add takes a spike of one tune in.
func (f *spikeFinder) add(e *Entry, s *cellSpike, fl *flow) {
	c := s.m.Cells[s.cell]
	one := &Spike{Map: s.m.Map, Unit: s.m.Unit, At: s.m.At(c), AtArgs: s.m.AtArgs(c), Tune: e.Name, Entry: e, Old: c.Old, New: c.New,
		Change: c.Change, Share: c.Share, HasShare: c.HasShare, Neighbours: s.neighbours, By: s.by}
	if s.cells != nil {
		one.At, one.Cells = blockText(s.m, s.cells), len(s.cells)
		one.Least, one.LeastShare = c.Change, c.Share
		for _, i := range s.cells {
			if x := s.m.Cells[i]; abs(x.Change) < abs(one.Least) {
				one.Least = x.Change
			}
			if x := s.m.Cells[i]; abs(x.Share) < abs(one.LeastShare) {
				one.LeastShare = x.Share
			}
		}
	}
	key := spikeKey{one.Map, one.At}
	g := f.byKey[key]
	size := sizeOf(s.m, c)
	if g == nil {
		g = &found{Spike: one, root: fl.root(one.Map), size: size}
		f.byKey[key] = g
		f.list = append(f.list, g)
	} else if size > g.size {
		one.Tunes, one.Also = g.Tunes, g.Also
		*g.Spike, g.size = *one, size
	}
	g.Tunes = append(g.Tunes, e.Name)
	g.in = append(g.in, told{e, s.m, s.all()})
	for _, name := range s.also {
		if !slices.Contains(g.Also, name) {
			g.Also = append(g.Also, name)
		}
	}
	fl.sort(g.Also)
}

// reveal takes the cells that stick out from what the policy hides.
func (r *Review) reveal(f *spikeFinder) {
	for _, s := range f.list {
		for _, t := range s.in {
			em := t.e.mapOf(t.m)
			n := len(em.Shown)
			for _, i := range t.cells {
				if !slices.Contains(em.Shown, i) {
					em.Shown = append(em.Shown, i)
				}
			}
			n = len(em.Shown) - n
			if n == 0 {
				continue
			}
			em.Hidden -= n
			r.Hidden.Cells -= n
			t.e.settle()
			k := slices.Index(r.Allowed, t.e)
			if k >= 0 {
				r.Allowed = slices.Delete(r.Allowed, k, k+1)
				r.Hidden.Tunes--
				r.Counts.Beyond++
			}
			if !slices.Contains(r.Entries, t.e) {
				r.Entries = append(r.Entries, t.e)
			}
		}
	}
}

// sizeOf puts spikes of all maps in an order: how much of the larger of the two
// values is gone or has come, so that a point that slipped to the left weighs
// as much as one that slipped to the right.
func sizeOf(m *diff.MapDiff, c diff.CellDiff) float64 {
	if larger := max(abs(c.Old), abs(c.New)); c.HasShare && larger > 0 {
		return abs(c.Change) / larger
	}
	if span := spanOf(m.Before()); span > 0 {
		return abs(c.Change) / span
	}
	return 0
}
