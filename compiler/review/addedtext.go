package review

import (
	"fettle/compiler/diff"
)

// loneList is tunes that have no counterpart of their name.
type loneList struct {
	word string
	n    int
	text func(i int) phrase
}

func (r *Review) loneLists() []loneList {
	var added, removed, onlyNew, onlyOld []phrase
	for _, l := range r.NewOnly {
		if a := r.findAdded(l.Name); a != nil {
			added = append(added, r.addedText(a, l.Why))
		} else {
			onlyNew = append(onlyNew, loneText(l, "old"))
		}
	}
	for _, l := range r.OldOnly {
		if l.Conditions != nil {
			removed = append(removed, say("%s, at %s", loneText(l, "new"), atText(l.Conditions)))
		} else {
			onlyOld = append(onlyOld, loneText(l, "new"))
		}
	}
	var renamed []phrase
	for _, x := range r.Renamed {
		text := say("%s → %s, the same cells", x.Old, x.New)
		if x.Changed {
			text = say("%s → %s, and changed", x.Old, x.New)
		}
		renamed = append(renamed, text)
	}
	var out []loneList
	for _, x := range []struct {
		word string
		list []phrase
	}{{"added", added}, {"renamed", renamed}, {"removed", removed}, {"only in old", onlyOld}, {"only in new", onlyNew}} {
		if len(x.list) > 0 {
			out = append(out, loneList{x.word, len(x.list), func(i int) phrase { return x.list[i] }})
		}
	}
	return out
}

// loneText names a tune, and says why the other side hasn't it, if that is known.
func loneText(l diff.Lone, other words) phrase {
	if l.Why == "" {
		return say("%s", l.Name)
	}
	return say("%s (%s: %s)", l.Name, other, l.Why)
}

// addedText tells of a tune that was added: what is unlike the one beside it, and
// what comes of that.
func (r *Review) addedText(a *Added, fails string) phrase {
	out := say("%s", a.Name)
	if fails != "" {
		out = say("%s, which %s", out, fails) // "fails: limit knock"
	}
	if a.Beside == "" {
		if len(a.Conditions) > 0 {
			out = say("%s: at %s", out, atText(a.Conditions))
		}
		return say("%s; there is no tune to compare it with", out)
	}
	out = say("%s: as %s", out, a.Beside)
	var but []phrase
	for _, d := range a.But {
		but = append(but, say("%s %s", d.Name, valueText(d.New)))
	}
	if but != nil {
		out = say("%s but %s", out, join(but, ", "))
	}
	if a.Entry == nil {
		return say("%s; the same cells; at %s", out, atText(a.Conditions))
	}
	out = say("%s; against it %s", out, a.Entry.effects(r))
	return say("%s; at %s", out, atText(a.Conditions))
}

// atText lists conditions.
func atText(list []diff.Condition) phrase {
	var out []phrase
	for _, c := range list {
		out = append(out, say("%s %s", c.Name, valueText(c.Value)))
	}
	return join(out, ", ")
}

func valueText(v string) string {
	if v == "" {
		return "not known"
	}
	return v
}

// effects says what happens to the first maps of an entry that was put in a group
// of its own or with others, and by what.
func (e *Entry) effects(r *Review) phrase {
	alone := &Group{Entries: []*Entry{e}, Worst: e}
	alone.sum(flows{}.of(e.NewT.program()))
	out := alone.effects(mostMaps)
	if by, _ := alone.by(); len(by) > 0 {
		var names []string
		for _, x := range by {
			names = append(names, x.Name)
		}
		out = say("%s by %s", out, some(names, mostBy))
	}
	return out
}

// Title names an entry's tune, and says that it was added if it was.
func (e *Entry) Title() string { return e.title().plain() }

func (e *Entry) title() phrase {
	if e.Beside == "" {
		return say("%s", e.Name)
	}
	return say("added %s, beside %s", e.Name, e.Beside)
}

// what names the one tune of a group, or says that all of them were added; nil
// where there is neither to say.
func (g *Group) what() phrase {
	switch {
	case len(g.Entries) == 1:
		return g.Worst.title()
	case g.Worst.Beside != "":
		return say("added, each beside the one most like it")
	}
	return nil
}

// What is that for a page.
func (g *Group) What() string { return g.what().plain() }
