package review

import (
	"sort"
	"strings"

	"fettle/compiler/diff"
	"fettle/lang/source"
)

// elements lists what changed in the source: what moves cells, in most tunes
// first, then what moves none.
func (r *Review) elements(opt Options, found []*compared) {
	byKey := map[string]*Change{}
	in := map[string]*Change{} // by key, those seen in the pair at hand
	order := map[string]int{}  // of the maps, as they are met
	take := func(e *diff.Element) *Change {
		key := keyOf(e)
		c := byKey[key]
		if c == nil {
			c = &Change{Kind: e.Kind, Name: e.Name, Places: placesOf(e), Why: e.Why, Element: e, Text: e.Text}
			byKey[key] = c
			r.Elements = append(r.Elements, c)
		}
		if e.Why != c.Why && !strings.HasSuffix(c.Why, ", …") {
			c.Why += ", …" // it depends on the tune
		}
		in[key] = c
		if n := len(c.Elements); n == 0 || c.Elements[n-1] != e {
			c.Elements = append(c.Elements, e)
		}
		return c
	}
	if opt.Changed != nil {
		for _, e := range opt.Changed() {
			take(e)
		}
	}
	for _, f := range found {
		if f.pair == nil {
			continue
		}
		clear(in)
		for _, m := range f.pair.Maps {
			if _, ok := order[m.Map]; !ok {
				order[m.Map] = len(order)
			}
			for _, p := range m.Parts {
				c := take(p.Element)
				c.addMap(m.Map)
			}
		}
		for _, c := range in {
			c.Tunes++
		}
		for _, i := range f.pair.Idle {
			take(i.Element)
		}
	}
	for _, c := range r.Elements {
		sort.SliceStable(c.Maps, func(i, j int) bool { return order[c.Maps[i]] < order[c.Maps[j]] })
	}
	sort.SliceStable(r.Elements, func(i, j int) bool { return r.Elements[i].Tunes > r.Elements[j].Tunes })
}

// addMap notes a map that a change moves.
func (c *Change) addMap(name string) {
	for _, m := range c.Maps {
		if m == name {
			return
		}
	}
	c.Maps = append(c.Maps, name)
}

// placesOf is where an element stands on both sides; within one program that is
// one place.
func placesOf(e *diff.Element) [2]source.Span {
	if !e.Places[0].IsZero() || !e.Places[1].IsZero() {
		return e.Places
	}
	switch e.Applies {
	case diff.InOld:
		if e.Kind == diff.KindTrim {
			return [2]source.Span{e.Place, {}}
		}
	case diff.InNew:
		if e.Kind == diff.KindTrim {
			return [2]source.Span{{}, e.Place}
		}
	}
	return [2]source.Span{e.Place, e.Place}
}
