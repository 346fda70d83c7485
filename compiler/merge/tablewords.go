package merge

import (
	"fmt"
	"slices"
	"strings"

	"fettle/lang/unit"
)

// What is said of a merged table.

// messages says each conflict on a line, and what was left blank.
func (g *merged) messages(name string, place func(r, c int) string, none string) (conflicts, notes []string) {
	text := func(side, r, c int) string {
		x := g.cell(side, r, c)
		switch {
		case x == nil:
			return ""
		case strings.TrimSpace(x.text) == "":
			return none
		}
		return strings.TrimSpace(x.text)
	}
	say := func(r, c int) {
		b, o, t := text(base, r, c), text(ours, r, c), text(theirs, r, c)
		gone := "removed its row"
		switch g.how[[2]int{r, c}] {
		case settled:
			return
		case unfilled:
			who := [2]string{sideNames[ours], sideNames[theirs]}
			if !has(g.rowAt, ours, r) {
				who[0], who[1] = who[1], who[0]
			}
			conflicts = append(conflicts, fmt.Sprintf("%s at %s: %s added the row and %s the column, and nobody gives the cell", name, place(r, c), who[0], who[1]))
			return
		case edited:
			conflicts = append(conflicts, fmt.Sprintf("%s at %s: %s", name, place(r, c), versions(b, o, t)))
			return
		case colGone:
			gone = "removed its column"
		}
		if o == "" {
			conflicts = append(conflicts, fmt.Sprintf("%s at %s: base %s, ours %s, theirs %s", name, place(r, c), b, gone, t))
		} else {
			conflicts = append(conflicts, fmt.Sprintf("%s at %s: base %s, ours %s, theirs %s", name, place(r, c), b, o, gone))
		}
	}
	for _, r := range g.rows {
		before := len(conflicts)
		for _, c := range g.cols {
			say(r, c)
		}
		if g.rowGone[r] && len(conflicts) == before {
			conflicts = append(conflicts, fmt.Sprintf("%s, row %s: one side removed it, the other changed its comment", name, strings.TrimSpace(g.rowLabel(r).text)))
		}
	}
	if g.headClash {
		conflicts = append(conflicts, fmt.Sprintf("%s: its first line is changed on both sides", name))
	} else {
		for _, c := range g.cols {
			if g.colGone[c] && !slices.ContainsFunc(g.rows, func(r int) bool { return g.how[[2]int{r, c}] != settled }) {
				conflicts = append(conflicts, fmt.Sprintf("%s, column %s: one side removed it, the other changed its head", name, strings.TrimSpace(g.colLabel(c).text)))
			}
		}
	}
	for _, at := range g.blanks {
		if g.how[at] == settled {
			notes = append(notes, fmt.Sprintf("%s at %s is left blank, to be filled in from its neighbours: one side added its row, the other its column", name, place(at[0], at[1])))
		}
	}
	for _, at := range g.dropped {
		side := ours
		if g.cell(ours, at[0], at[1]) == nil {
			side = theirs
		}
		fresh, lost := "row", "column"
		if has(g.rowAt, base, at[0]) {
			fresh, lost = lost, fresh
		}
		notes = append(notes, fmt.Sprintf("%s at %s: %s is left out: %s added its %s, %s removed its %s", name, place(at[0], at[1]),
			text(side, at[0], at[1]), sideNames[side], fresh, sideNames[ours+theirs-side], lost))
	}
	return conflicts, notes
}

// onAxis names a place on an axis: "throttle 50 %". An axis that is called like
// its unit says it once.
func onAxis(name, unitText, value string) string {
	if name == unitText {
		unitText = ""
	}
	return strings.TrimSpace(name + " " + unit.With(strings.TrimSpace(value), unitText))
}
