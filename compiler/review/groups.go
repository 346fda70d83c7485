package review

import (
	"math"
	"slices"
	"sort"
	"strings"

	"fettle/compiler/diff"
)

// group puts entries together of which the same maps change by the same
// elements. A map that is a formula and follows from another that changes is no
// ground to part them: what it reads was rounded away in some tunes, or didn't
// reach it; nor is one that a number moves by way of another formula. Groups and their entries keep the order of the entries, so that what
// is unsafe is told first.
func (r *Review) group() {
	byKey := map[string]*Group{}
	fl := map[*Entry]*flow{}
	all := flows{}
	for _, e := range r.Entries {
		if e.Worst == nil {
			continue
		}
		fl[e] = all.of(e.NewT.program())
		key := e.groupKey(fl[e])
		g := byKey[key]
		if g == nil {
			g = &Group{Worst: e}
			byKey[key] = g
			r.Groups = append(r.Groups, g)
		}
		g.Entries = append(g.Entries, e)
		e.Group = g
	}
	for _, g := range r.Groups {
		g.sum(fl[g.Worst])
		g.worst()
	}
}

// groupKey says which maps change by what.
func (e *Entry) groupKey(fl *flow) string {
	var maps []string
	told := map[string]bool{} // elements that move a map with cells of its own
	for _, own := range []bool{true, false} {
		for _, m := range e.Maps {
			if len(m.Shown) == 0 || fl.root(m.Diff.Map) != own {
				continue
			}
			var by []string
			for _, el := range m.By {
				if k := keyOf(el); own || !told[k] && !e.comesThrough(fl, k, m.Diff.Map) {
					by = append(by, k)
				}
			}
			if own {
				for _, k := range by {
					told[k] = true
				}
			}
			if follows := !own && fl.followsAny(m.Diff.Map, e.Maps); follows && len(by) == 0 {
				continue
			}
			slices.Sort(by)
			maps = append(maps, m.Diff.Map+"\x00"+strings.Join(by, "\x00"))
		}
	}
	slices.Sort(maps)
	key := strings.Join(maps, "\x01")
	if e.Beside != "" {
		key += "\x02" // it didn't change: it is new
	}
	return key
}

// comesThrough says whether an element moves a map by way of another that it moves.
func (e *Entry) comesThrough(fl *flow, key, name string) bool {
	for _, m := range e.Maps {
		if len(m.Shown) > 0 && fl.follows(m.Diff.Map, name) && slices.ContainsFunc(m.By, func(el *diff.Element) bool { return keyOf(el) == key }) {
			return true
		}
	}
	return false
}

// followsAny says whether a map follows from another one that changes.
func (fl *flow) followsAny(name string, maps []*EntryMap) bool {
	for _, m := range maps {
		if len(m.Shown) > 0 && fl.follows(m.Diff.Map, name) {
			return true
		}
	}
	return false
}

// keyOf tells elements apart over many pairs: by kind, name and place. What a
// given is depends on the tune, so its place says nothing.
func keyOf(e *diff.Element) string {
	var b strings.Builder
	b.WriteString(e.Kind + " " + e.Name)
	if e.Kind == diff.KindGiven {
		return b.String()
	}
	for _, at := range placesOf(e) {
		b.WriteString(" " + at.String())
	}
	return b.String()
}

// sum works out what happens to each map over a group: maps with cells of their
// own first, else in the order of the worst entry's maps.
func (g *Group) sum(fl *flow) {
	byName := map[string]*GroupMap{}
	shown := func(e *Entry) {
		for _, m := range e.Maps {
			if len(m.Shown) == 0 {
				continue
			}
			gm := byName[m.Diff.Map]
			if gm == nil {
				gm = &GroupMap{Map: m.Diff.Map, Unit: m.Diff.Unit, ChangeUnit: m.Diff.ChangeUnit, HasUnit: m.Diff.HasUnit, HasShare: true, By: m.By, Total: m.Diff.Total,
					Min: math.Inf(1), Max: math.Inf(-1), MinShare: math.Inf(1), MaxShare: math.Inf(-1), MinCells: math.MaxInt}
				byName[m.Diff.Map] = gm
				g.Maps = append(g.Maps, gm)
			}
		}
	}
	shown(g.Worst)
	for _, e := range g.Entries {
		shown(e)
		for _, m := range e.Maps {
			if gm := byName[m.Diff.Map]; gm != nil && len(m.Shown) > 0 {
				gm.add(m)
			}
		}
	}
	for _, gm := range g.Maps {
		if !gm.HasShare {
			gm.MinShare, gm.MaxShare = 0, 0
		}
	}
	// Causes stand before what follows from them.
	sort.SliceStable(g.Maps, func(i, j int) bool {
		a, b := fl.root(g.Maps[i].Map), fl.root(g.Maps[j].Map)
		return a && !b
	})
}

// worst finds the entry with the largest change of the group's first map, as it is
// shown there.
func (g *Group) worst() {
	lead := g.Maps[0]
	most, weight := -1.0, 0.0
	for _, e := range g.Entries {
		m := e.find(lead.Map)
		if m == nil {
			continue
		}
		for _, i := range m.Shown {
			x, y := abs(m.Diff.Cells[i].Change), m.Diff.Weight(m.Diff.Cells[i])
			if lead.HasShare {
				x = m.told(i)
			}
			if x > most || x == most && y > weight {
				g.Worst, most, weight = e, x, y
			}
		}
	}
}

func (gm *GroupMap) add(m *EntryMap) {
	gm.Tunes++
	gm.MinCells, gm.MaxCells = min(gm.MinCells, len(m.Shown)), max(gm.MaxCells, len(m.Shown))
	for _, i := range m.Shown {
		c := &m.Diff.Cells[i]
		gm.Min, gm.Max = min(gm.Min, c.Change), max(gm.Max, c.Change)
		gm.MinShare, gm.MaxShare = min(gm.MinShare, c.Share), max(gm.MaxShare, c.Share)
		gm.HasShare = gm.HasShare && c.HasShare
	}
}
