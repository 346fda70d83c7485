package review

import (
	"strings"

	"fettle/compiler/diff"
)

// How much of a map's table is written as Markdown.
const (
	markdownRows = 8
	markdownCols = 8
)

// mapTitle is "fuel [mg]".
func mapTitle(d *diff.MapDiff) phrase {
	if d.Unit == "" {
		return say("%s", d.Map)
	}
	return say("%s", d.Map+" ["+d.Unit+"]")
}

// summaryText is "7 of 144 cells, +0.9 % to +3.0 %, mean +1.8 %", ours if its
// unit is a plain one.
func summaryText(d *diff.MapDiff) any {
	if plainUnit(d.ChangeUnit) {
		return words(d.SummaryText())
	}
	return d.SummaryText()
}

// mapText is a map: its summary, its cells, and what moved them.
func (m *markdownWriter) mapText(p *diff.Pair, d *diff.MapDiff) string {
	if odd := d.Odd(); odd != "" {
		return "**" + mapTitle(d).markdown(false) + "** " + say("%s", odd).markdown(false)
	}
	out := []string{"**" + say("%s", mapTitle(d)).markdown(false) + "** " + say("%s", summaryText(d)).markdown(false)}
	for _, n := range d.Notes {
		out = append(out, "note: "+say("%s", n).markdown(false))
	}
	x := d.Excerpt(markdownRows, markdownCols)
	lines := []string{row(append([]phrase{say("%s", x.Corner)}, figures(x.Cols)...)...), "| --: " + strings.Repeat("| --: ", len(x.Cols)) + "|"}
	for _, r := range x.Rows {
		for len(r) < len(x.Cols)+1 {
			r = append(r, "")
		}
		lines = append(lines, row(figures(r)...))
	}
	out = append(out, strings.Join(lines, "\n"))
	if x.More != "" {
		out = append(out, say("%s", words(x.More)).markdown(false))
	}
	if n := d.Allowed(); n > 0 {
		out = append(out, say("and %s within what is allowed, marked ~", counted(n, "more cell differs", "more cells differ")).markdown(false))
	}
	c := d.Cells[d.Summary.Worst]
	list := []string{"- " + say("worst at %s: %s", d.At(c), d.OldToNew(c)).markdown(false)}
	for i, cause := range d.Causes() {
		if i == mostChanges {
			break
		}
		text := say("by %s: %s", cause.Element.Name, cause.Change)
		if cause.Range != "" {
			text = say("%s, %s", text, cause.Range)
		}
		if cause.Place != "" {
			text = say("%s, %s", text, cause.Place)
		}
		if cause.Element.Why != "" {
			text = say("%s: %s", text, cause.Element.Why)
		}
		list = append(list, "- "+text.markdown(false))
	}
	for _, l := range d.Clamps {
		list = append(list, "- "+say("clamped by limit %s %s, %s", l.Limit, words(p.Sides(l.In)), l.Place.String()).markdown(false))
	}
	return strings.Join(append(out, strings.Join(list, "\n")), "\n\n")
}

// figures are texts of ours.
func figures(list []string) []phrase {
	var out []phrase
	for _, s := range list {
		out = append(out, say("%s", figure(s)))
	}
	return out
}
