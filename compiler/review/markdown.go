package review

import (
	"io"
	"strings"

	"fettle/compiler/diff"
	"fettle/lang/diag"
)

// MarkdownOptions says how a review is written as Markdown.
type MarkdownOptions struct {
	Call   string // how fettle was called, for the commands that are named; "" for its plain name
	Source bool   // with the differences of the text
}

// MarkdownSize is how many characters a review has as Markdown at most.
const MarkdownSize = 65_000

// What the parts of a review may take of that, so that each has room.
const (
	roomForGroups = 14_000
	roomForLimits = 10_000
	roomForTables = 42_000 // up to here, with all that stands before
	roomForSource = 58_000
	mostCautions  = 10
)

// Markdown writes a review as a comment: CommonMark with tables and <details>,
// no longer than MarkdownSize, in the order of the text. Each part is whole or
// isn't there, and what was left out is counted.
func (r *Review) Markdown(w io.Writer, opt MarkdownOptions) error {
	m := &markdownWriter{r: r, opt: opt}
	tail := m.tail()
	m.limit = MarkdownSize - size(tail)
	m.head()
	m.alarms()
	m.notes()
	m.groups()
	if p := r.hiddenText(); p != nil {
		m.paragraph(p)
	}
	m.limits()
	m.tables()
	m.changes()
	m.lone()
	m.source()
	_, err := io.WriteString(w, m.b.String()+tail)
	return err
}

// markdownWriter puts blocks together while there is room.
type markdownWriter struct {
	b     strings.Builder
	used  int
	limit int
	r     *Review
	opt   MarkdownOptions
}

// add writes a block with a blank line after it, if that stays within a number of
// characters.
func (m *markdownWriter) add(block string, limit int) bool {
	n := size(block) + 2
	if m.used+n > min(limit, m.limit) {
		return false
	}
	m.b.WriteString(block + "\n\n")
	m.used += n
	return true
}

func (m *markdownWriter) paragraph(p phrase) bool { return m.add(p.markdown(false), m.limit) }

// head is the verdict, what is compared, and the counts.
func (m *markdownWriter) head() {
	lines := m.r.headline()
	m.add("## "+lines[1].markdown(false), m.limit)
	var list []string
	for i, p := range lines {
		if i != 1 {
			list = append(list, p.markdown(false))
		}
	}
	m.add("compared: "+strings.Join(list, "\\\n"), m.limit)
}

// notes are what a reader has to know of how this was compared.
func (m *markdownWriter) notes() {
	var list []string
	for i, n := range m.r.Notes {
		if i == mostLone && len(m.r.Notes) > mostLone+1 {
			list = append(list, "> "+say("and %s more", len(m.r.Notes)-i).markdown(false))
			break
		}
		list = append(list, "> note: "+prose(n))
	}
	if list != nil {
		m.add(strings.Join(list, "\\\n"), m.limit)
	}
}

// alarms are a list.
func (m *markdownWriter) alarms() {
	var list []string
	for _, a := range m.r.alarms() {
		text := join(a.says, "; ").markdown(false)
		if a.word != "" {
			text = "**" + a.word + "** " + text
		}
		list = append(list, "- "+text)
	}
	if list == nil {
		if p := m.r.allClear(); p != nil {
			m.paragraph(p)
		}
		return
	}
	m.add(strings.Join(list, "\n"), m.limit)
}

// table writes as many rows as there is room for, and says how many.
func (m *markdownWriter) table(title, head, rule string, rows []string, room int) int {
	room = min(m.used+room, m.limit)
	text := "### " + title + "\n\n" + head + "\n" + rule
	n := 0
	for _, row := range rows {
		if m.used+size(text)+1+size(row)+2 > room {
			break
		}
		text += "\n" + row
		n++
	}
	if n == 0 || !m.add(text, room) {
		return 0
	}
	return n
}

// row is a row of a table.
func row(cells ...phrase) string {
	out := "|"
	for _, c := range cells {
		out += " " + c.markdown(true) + " |"
	}
	return out
}

// groups are a table: how many tunes, what happens to them, and by what.
func (m *markdownWriter) groups() {
	list := m.r.Groups
	if len(list) == 0 {
		return
	}
	var rows []string
	for _, g := range list {
		name := say("%s", len(g.Entries))
		if what := g.what(); what != nil && len(g.Entries) > 1 {
			name = say("%s, %s", name, what)
		} else if what != nil {
			name = what
		}
		rows = append(rows, row(name, g.effects(mostMaps), m.r.byText(g, mostBy)))
	}
	n := m.table("What changes", "| tunes | change | by |", "| --: | --- | --- |", rows, roomForGroups)
	if more := list[n:]; len(more) > 0 {
		m.paragraph(say("… and %s more, of %s%s", counted(len(more), "group", "groups"), tunes(entriesOf(more)), m.run()))
	}
}

// limits are a table of margins.
func (m *markdownWriter) limits() {
	list := m.r.Limits
	if len(list) == 0 {
		return
	}
	var rows []string
	for _, x := range list {
		l := x.row()
		rows = append(rows, row(l.kind, l.name, l.before, l.after, l.tunes, l.at, l.place))
	}
	n := m.table("Limits: room before the bound", "| | limit | before | after | tunes | at | place |", "| --- | --- | --: | --: | --- | --- | --- |", rows, roomForLimits)
	if more := len(list) - n; more > 0 {
		m.paragraph(say("… and %s more%s", counted(more, "limit", "limits"), m.run()))
	}
}

// changes are a table of what changed in the source.
func (m *markdownWriter) changes() {
	var rows []string
	for _, c := range m.r.Elements {
		rows = append(rows, row(say("%s", c.Name), c.moves(), places(c.Places), say("%s", c.Why)))
	}
	if len(rows) == 0 {
		return
	}
	title := m.r.changesTitle()
	n := m.table(strings.ToUpper(title[:1])+title[1:], "| element | moves | place | what |", "| --- | --- | --- | --- |", rows, roomForGroups)
	if more := len(rows) - n; more > 0 {
		m.paragraph(say("… and %s more", counted(more, "change", "changes")))
	}
}

// lone are lists of tunes that have no counterpart of their name.
func (m *markdownWriter) lone() {
	for _, l := range m.r.loneLists() {
		var list []phrase
		for i := range l.n {
			if i == mostLone && l.n > mostLone+1 {
				list = append(list, say("and %s more", l.n-i))
				break
			}
			list = append(list, l.text(i))
		}
		m.paragraph(say("%s: %s", words(l.word), join(list, ", ")))
	}
}

// source is the differences of the text, folded away, each hunk whole.
func (m *markdownWriter) source() {
	if !m.opt.Source {
		return
	}
	left := 0
	for _, s := range m.r.stretches() {
		var text strings.Builder
		for _, h := range s.hunks {
			text.WriteString(h.file.plain() + " " + diag.Clean(h.hunk.Head) + "\n")
			for _, l := range h.hunk.Lines {
				text.WriteString(clip(diag.Clean(strings.ReplaceAll(l, "\t", "    "))) + "\n")
			}
		}
		if left > 0 || !m.add(details(say("source: %s", s.head), fenced("diff", text.String())), roomForSource) {
			left += len(s.hunks)
		}
	}
	if left > 0 {
		m.paragraph(say("… and %s of the source%s", counted(left, "hunk more", "hunks more"), m.run()))
	}
}

// details is a block that is folded until it is opened.
func details(summary phrase, body string) string {
	return "<details><summary>" + summary.html() + "</summary>\n\n" + body + "\n\n</details>"
}

// fenced is a text as a block of code that nothing in it can close.
func fenced(of, text string) string {
	fence := strings.Repeat("`", max(3, longestRun(text)+1))
	return fence + of + "\n" + strings.TrimSuffix(text, "\n") + "\n" + fence
}

// run names the command that shows all.
func (m *markdownWriter) run() phrase {
	return say(": run %s", m.r.diffCommand(m.opt.Call))
}

// tail is the commands for the worst cells, and the cautions.
func (m *markdownWriter) tail() string {
	var out []string
	if list := m.r.whyCommands(m.opt.Call); len(list) > 0 {
		if size(strings.Join(list, "\n")) < 2000 {
			out = append(out, "The worst cell, explained:\n\n"+fenced("sh", strings.Join(list, "\n")))
		}
	}
	var cautions []string
	for i, c := range m.r.Cautions {
		if i == mostCautions {
			break
		}
		cautions = append(cautions, "> caution: "+prose(c))
	}
	if n := len(m.r.Cautions) - len(cautions); n > 0 {
		cautions = append(cautions, "> "+say("… and %s more", counted(n, "caution", "cautions")).markdown(false))
	}
	if cautions != nil {
		out = append(out, strings.Join(cautions, "\\\n"))
	}
	if out == nil {
		return ""
	}
	return strings.Join(out, "\n\n") + "\n"
}

// tables are the worst tunes of groups, folded away.
func (m *markdownWriter) tables() {
	left := 0
	for _, g := range m.r.Groups {
		e := g.Worst
		if !e.hasTables() {
			continue
		}
		p := e.shown()
		done := false
		for maps := mostMaps; maps > 0 && left == 0 && !done; maps-- {
			done = m.add(details(g.tableTitle(), m.pairText(p, maps)), roomForTables)
		}
		if !done {
			left++
		}
	}
	if left > 0 {
		m.paragraph(say("… and %s more%s", counted(left, "group", "groups"), m.run()))
	}
}

// pairText is a tune: its maps that differ, the first few with their cells.
func (m *markdownWriter) pairText(p *diff.Pair, most int) string {
	var out []string
	var list []string
	for _, d := range p.Conditions {
		list = append(list, "- "+say("%s", d.Text()).markdown(false))
	}
	if list != nil {
		out = append(out, strings.Join(list, "\n"))
	}
	var rest []phrase
	n := 0
	for _, d := range p.InOrder() {
		switch {
		case !d.Differs():
			continue
		case n == most:
			rest = append(rest, say("%s %s", mapTitle(d), summaryText(d)))
			continue
		}
		n++
		out = append(out, m.mapText(p, d))
	}
	if rest != nil {
		out = append(out, "and "+join(rest, "; ").markdown(false))
	}
	for i, lone := range [][]string{p.OldOnly, p.NewOnly} {
		if len(lone) > 0 {
			out = append(out, say("only in %s: %s", words(p.Labels[i]), some(lone, mostLone)).markdown(false))
		}
	}
	return strings.Join(out, "\n\n")
}
