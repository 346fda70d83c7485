package review

import (
	"strings"

	"fettle/compiler/diff"
	"fettle/lang/source"
)

// percentSize is a share without a sign.
func percentSize(share float64) string { return strings.TrimLeft(diff.Percent(share), "+-") }

func changeUnit(of string) string { return diff.ChangeUnit(of) }

// find gives an entry's map by its name; nil if there is none.
func (e *Entry) find(name string) *EntryMap {
	if e == nil {
		return nil
	}
	for _, m := range e.Maps {
		if m.Diff.Map == name {
			return m
		}
	}
	return nil
}

// placesOf is where an element stands on both sides.
func (r *Review) placesOf(e *diff.Element, mapName string) phrase {
	if e.Places != [2]source.Span{} {
		return places(e.Places)
	}
	for _, c := range r.Elements {
		if c.Element == e || c.is(e) {
			return places(c.Places)
		}
	}
	return places([2]source.Span{e.PlaceIn(mapName), e.PlaceIn(mapName)})
}

// is says whether a change is that of an element of some pair.
func (c *Change) is(e *diff.Element) bool {
	for _, x := range c.Elements {
		if x == e {
			return true
		}
	}
	return false
}

// named is an element with its place: "rule long_pipe, tune.fettle:52 (was :50)".
func (r *Review) named(e *diff.Element, mapName string) phrase {
	if at := r.placesOf(e, mapName); at != nil {
		return say("%s, %s", e.Name, at)
	}
	return say("%s", e.Name)
}

// effect says what happens to a map over a group: "fuel +1.0 % to +3.0 %".
func (g *Group) effect(m *GroupMap) phrase {
	e := g.Worst.find(m.Map)
	text := func(change, share float64) any {
		switch {
		case m.HasShare:
			return figure(diff.Percent(share))
		case e != nil:
			return e.changeOf(change, 0, false)
		}
		return quantity(signed(numbers(change)[0]), m.ChangeUnit)
	}
	lo, hi := text(m.Min, m.MinShare), text(m.Max, m.MaxShare)
	if lo == hi {
		return say("%s %s", m.Map, lo)
	}
	if e != nil && !m.HasShare {
		lo = figure(e.Diff.AmountText(m.Min)) // the unit is said once
	}
	return say("%s %s to %s", m.Map, lo, hi)
}

// effects says what happens to the first few maps of a group.
func (g *Group) effects(most int) phrase {
	if len(g.Maps) == 0 {
		return say("no cell beyond what is allowed")
	}
	var list []phrase
	for i, m := range g.Maps {
		if i == most && len(g.Maps) > most+1 {
			list = append(list, say("and %s", counted(len(g.Maps)-i, "map more", "maps more")))
			break
		}
		list = append(list, g.effect(m))
	}
	return join(list, ", ")
}

// by lists the elements that move the maps of a group, those of its first map
// first, each once.
func (g *Group) by() (list []*diff.Element, in []string) {
	seen := map[string]bool{}
	for _, m := range g.Maps {
		for _, e := range m.By {
			if key := e.Kind + " " + e.Name + " " + e.Place.String(); !seen[key] {
				seen[key] = true
				list, in = append(list, e), append(in, m.Map)
			}
		}
	}
	return list, in
}

// byText names the first few of them, with their places and what changed in them;
// nil if none is known.
func (r *Review) byText(g *Group, most int) phrase {
	list, in := g.by()
	var out []phrase
	for i, e := range list {
		if i == most && len(list) > most+1 {
			out = append(out, say("and %s more", len(list)-i))
			break
		}
		text := say("%s   %s", e.Name, r.placesOf(e, in[i]))
		if e.Why != "" {
			text = say("%s   %s", text, Cause(e))
		}
		out = append(out, text)
	}
	return join(out, "; ")
}

// hasTables says whether there is anything to show of an entry cell by cell.
func (e *Entry) hasTables() bool {
	return e != nil && e.Pair != nil && (len(e.Maps) > 0 || e.odd())
}

// tableTitle stands over the tables of a group.
func (g *Group) tableTitle() phrase {
	if n := len(g.Entries); n > 1 {
		return say("cell by cell: %s, the worst of %s", g.Worst.title(), tunes(n))
	}
	return say("cell by cell: %s", g.Worst.title())
}

// alike says which tunes change as a group's worst one does; nil where it is
// alone.
func (g *Group) alike(most int) phrase {
	var names []string
	for _, e := range g.Entries {
		if e != g.Worst {
			names = append(names, e.Name)
		}
	}
	if len(names) == 0 {
		return nil
	}
	verb := "change"
	if len(names) == 1 {
		verb = "changes"
	}
	return say("and %s more %s alike: %s", tunes(len(names)), words(verb), some(names, most))
}

// shown is an entry's pair with the cells that the policy leaves.
func (e *Entry) shown() *diff.Pair {
	return e.Pair.Narrow(func(m *diff.MapDiff) []int {
		if x := e.find(m.Map); x != nil && x.Diff == m {
			return x.Shown
		}
		return nil
	})
}
