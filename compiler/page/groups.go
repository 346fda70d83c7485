package page

import (
	"html/template"
	"strings"

	"fettle/compiler/review"
)

// maxStatic is how many bytes of tables stand in the page for those who read it
// without a script, or on paper; maxGroupMaps how many maps of a tune.
const (
	maxStatic    = 500_000
	maxGroupMaps = 4
)

// group is a number of tunes that change alike.
type group struct {
	ID     int
	Head   string
	Lines  []groupLine
	More   string // "12 more maps" that aren't told
	Names  []string
	Others int // names that aren't told
	Worst  string
	Jump   *jump
	Tables template.HTML
	Rest   string // maps whose tables aren't here
}

type groupLine struct {
	Map, Span, Cells, Worst string
	By                      []because
}

// because is an element with what changed in it.
type because struct{ Name, Why string }

// maxNames is how many names of a group's tunes are told.
const maxNames = 300

// How many groups are told in the open, and how many at all; and of how many maps
// the first and the folded ones tell, those that changed most.
const (
	openGroups = 10
	mostGroups = 80
	openMaps   = 60
	foldedMaps = 8
)

// groups puts the groups in words, each with the tables of its worst tune while
// there is room: the worst of them, and those that are folded. The last result
// names the tunes that are in none: those with no cell to show.
func (v *viewer) groups(cut *cuts) (open, folded []group, loose []string) {
	room := maxStatic
	in := map[*review.Entry]bool{}
	for _, g := range v.r.Groups {
		for _, e := range g.Entries {
			in[e] = true
		}
	}
	for i, g := range capped(v.r.Groups, mostGroups, "groups of tunes", cut) {
		x := group{ID: i, Head: headOf(g)}
		said := map[string]bool{}
		maps := g.Maps
		if most := mapsTold(i); len(maps) > most+1 { // one more takes no more room than to say so
			x.More, maps = counted(len(maps)-most, "more map"), maps[:most]
		}
		for _, m := range maps {
			line := lineOf(g, m)
			for i, by := range line.By { // what changed in one is said once
				if said[by.Name+"\n"+by.Why] {
					line.By[i].Why = ""
				}
				said[by.Name+"\n"+by.Why] = true
			}
			x.Lines = append(x.Lines, line)
		}
		for _, e := range g.Entries[:min(maxNames, len(g.Entries))] {
			x.Names = append(x.Names, clean(e.Title()))
		}
		x.Others = len(g.Entries) - len(x.Names)
		v.worst(&x, g.Worst, &room)
		if i < openGroups {
			open = append(open, x)
		} else {
			folded = append(folded, x)
		}
	}
	for _, e := range v.r.Entries {
		if !in[e] {
			loose = append(loose, looseText(e))
		}
	}
	return open, folded, capped(loose, mostRows, "tunes without a cell to show", cut)
}

// mapsTold is of how many maps a group tells.
func mapsTold(group int) int {
	if group < openGroups {
		return openMaps
	}
	return foldedMaps
}

// headOf is "96 tunes: fuel +1.0 % to +3.0 % by rule long_pipe".
func headOf(g *review.Group) string {
	head := counted(len(g.Entries), "tune")
	switch what := clean(g.What()); {
	case len(g.Entries) == 1:
		head = what
	case what != "":
		head += " " + what
	}
	if len(g.Maps) == 0 {
		return head
	}
	line := lineOf(g, g.Maps[0])
	head += ": " + line.Map + " " + line.Span
	if by := byNames(g.Maps[0].By); by != "" {
		head += " by " + by
	}
	return head
}

func lineOf(g *review.Group, m *review.GroupMap) groupLine {
	decimals, worst := -1, ""
	for _, e := range g.Entries {
		for _, em := range e.Maps {
			if em.Diff.Map != m.Map {
				continue
			}
			decimals = max(decimals, em.Diff.Decimals())
			if e == g.Worst {
				worst = worstOf(em)
			}
		}
	}
	cells := counted(m.MaxCells, "cell")
	if m.MinCells != m.MaxCells {
		cells = plain(float64(m.MinCells), 0) + " to " + cells
	}
	line := groupLine{Map: clean(m.Map), Cells: cells + " of " + plain(float64(m.Total), 0), By: causesOf(m.By), Worst: worst}
	line.Span = spanOf(m.Min, m.Max, m.HasShare, m.MinShare, m.MaxShare, decimals, m.ChangeUnit)
	return line
}

// worst gives a group the tables of its worst tune.
func (v *viewer) worst(x *group, e *review.Entry, room *int) {
	if e == nil {
		return
	}
	x.Worst = clean(e.Name)
	var b strings.Builder
	var rest []string
	n := 0
	for _, m := range ownFirst(e) {
		if m.Diff.Problem != "" || len(m.Shown) == 0 {
			continue
		}
		if c := m.Diff.Cells[m.Shown[0]]; x.Jump == nil {
			x.Jump = &jump{v.place[e], m.Diff.Map, c.Row, c.Col}
		}
		t := tables(m.Diff, e.Title())
		if n >= maxGroupMaps || len(t) > *room {
			rest = append(rest, clean(m.Diff.Map))
			continue
		}
		*room -= len(t)
		n++
		v.told[m.Diff.Map] = true
		b.WriteString("<h4>" + template.HTMLEscapeString(clean(m.Diff.Map)+": "+worstOf(m)) + "</h4>\n")
		for _, note := range m.Diff.Notes {
			b.WriteString("<p>" + template.HTMLEscapeString(clean(note)) + "</p>\n")
		}
		b.WriteString(string(t))
	}
	x.Tables, x.Rest = template.HTML(b.String()), enumerated(rest)
}

// mostAlarmMaps is how many maps of alarms are printed beside those of the groups.
const mostAlarmMaps = 3

// alarmTables are the tables of maps that alarms are about and that no group
// prints, in the tune of the alarm, the worst first.
func (v *viewer) alarmTables(sets []alarmSet) template.HTML {
	var b strings.Builder
	n := 0
	var list []alarm
	for _, s := range sets {
		list = append(list, s.Open...)
	}
	for _, a := range list {
		if a.at == nil || v.told[a.at.m.Map] || n == mostAlarmMaps {
			continue
		}
		t := tables(a.at.m, a.at.entry.Title())
		if b.Len()+len(t) > maxStatic/4 {
			continue
		}
		n++
		v.told[a.at.m.Map] = true
		b.WriteString("<h4>" + template.HTMLEscapeString(clean(a.at.m.Map)+" in "+clean(a.at.entry.Title())+": "+strings.ToLower(a.Word)) + "</h4>\n" + string(t))
	}
	return template.HTML(b.String())
}

// looseText says what there is to tell of a tune without a cell to show.
func looseText(e *review.Entry) string {
	var what []string
	for _, m := range e.Maps {
		if odd := m.Diff.Odd(); odd != "" {
			what = append(what, clean(m.Diff.Map)+": "+clean(odd))
		}
	}
	for _, name := range e.Pair.OldOnly {
		what = append(what, "only before: "+clean(name))
	}
	for _, name := range e.Pair.NewOnly {
		what = append(what, "only after: "+clean(name))
	}
	if len(what) == 0 {
		what = append(what, "no cell changes beyond what is allowed; see the limits")
	}
	return clean(e.Title()) + ": " + strings.Join(what, "; ")
}
