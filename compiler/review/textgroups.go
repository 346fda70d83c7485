package review

import "strings"

const (
	mostMaps    = 3  // of a group that are told in its line
	mostBy      = 3  // elements of a group that are named there
	mostGroups  = 12 // lines of groups
	mostNames   = 3  // of tunes in a line
	mostChanges = 20
	mostLone    = 8
)

// groups writes a line or two for each group: how many tunes, what happens to
// their maps, and by what.
func (t *textWriter) groups() {
	list := t.r.Groups
	if len(list) == 0 {
		return
	}
	t.section()
	var rows [][]phrase
	count := 0
	for i, g := range list {
		if i == mostGroups && !t.opt.Cells && len(list) > mostGroups+1 {
			break
		}
		count = max(count, width(string(tunes(len(g.Entries)))))
		effects := g.effects(mostMaps)
		if what := g.what(); what != nil {
			effects = say("%s: %s", what, effects)
		}
		by := t.r.byText(g, mostBy)
		if by != nil {
			by = say("by %s", by)
		}
		rows = append(rows, []phrase{effects, by})
	}
	wide := widths(rows)
	onOneLine := count+3+rowWidth(wide) <= t.opt.Width
	for i, row := range rows {
		n := padLeft(string(tunes(len(list[i].Entries))), count)
		switch {
		case onOneLine:
			t.line(n + "   " + columns(row, wide))
		case width(row[0].plain())+3+width(row[1].plain()) <= t.opt.Width-count-3:
			t.line(n + "   " + row[0].plain() + "   " + row[1].plain())
		default:
			t.wrap(n, count+3, row[0])
			if row[1] != nil {
				t.wrap("", count+5, row[1])
			}
		}
	}
	if more := list[len(rows):]; len(more) > 0 {
		t.wrap("", 0, say("… and %s more, of %s", counted(len(more), "group", "groups"), tunes(entriesOf(more))))
	}
}

// entriesOf is how many tunes groups hold.
func entriesOf(list []*Group) int {
	n := 0
	for _, g := range list {
		n += len(g.Entries)
	}
	return n
}

// tables writes the worst tune of the first few groups, cell by cell; every tune
// where every cell is wanted.
func (t *textWriter) tables() {
	for i, g := range t.r.Groups {
		if i == t.opt.Tunes && !t.opt.Cells {
			t.section()
			t.wrap("", 0, say("… and %s more: --cells prints the tables of all", counted(len(t.r.Groups)-i, "group", "groups")))
			return
		}
		if t.opt.Cells {
			for _, e := range g.Entries {
				t.table(e)
			}
			continue
		}
		if g.Worst.hasTables() {
			t.section()
			t.wrap("", 0, g.tableTitle())
		}
		t.table(g.Worst)
		if p := g.alike(mostNames); p != nil {
			t.section()
			t.wrap("", 0, p)
		}
	}
}

// table writes one tune, unless it has no cell to show.
func (t *textWriter) table(e *Entry) {
	if !e.hasTables() {
		return
	}
	p := e.shown().Text(t.opt.TextOptions)
	t.block(p.Head)
	t.block(p.Body)
}

// changes writes what changed in the source: which tunes it moves, most first,
// and what moves no cell.
func (t *textWriter) changes() {
	list := t.r.Elements
	if len(list) == 0 {
		return
	}
	t.section()
	t.line(t.r.changesTitle())
	var rows [][]phrase
	for i, c := range list {
		if i == mostChanges && !t.opt.Cells && len(list) > mostChanges+1 {
			break
		}
		rows = append(rows, []phrase{say("%s", c.Name), c.moves(), places(c.Places)})
	}
	alignCounts(rows, 1, func(i int) int { return list[i].Tunes }, func(i int) *phrase { return &rows[i][1] })
	wide := widths(rows)
	for i, row := range rows {
		line := "  " + columns(row, wide)
		why := phrase{{text: list[i].Why, foreign: true}}
		switch {
		case list[i].Why == "":
			t.line(line)
		case width(line)+3+width(why.plain()) <= t.opt.Width:
			t.line(line + "   " + why.plain())
		default:
			t.line(line)
			t.wrap("", 6, why)
		}
	}
	if n := len(list) - len(rows); n > 0 {
		t.line("  … and " + thousands(n) + " more")
	}
}

// changesTitle stands over the changes.
func (r *Review) changesTitle() string {
	if r.oneText() {
		return "what differs between them"
	}
	return "changed in the source"
}

// moves says in how many tunes a change moves a cell.
func (c *Change) moves() phrase {
	if c.Tunes == 0 {
		return say("moves no cell")
	}
	return say("%s", tunes(c.Tunes))
}

// widths are those of columns.
func widths(rows [][]phrase) []int {
	var out []int
	for _, row := range rows {
		for i, p := range row {
			if i == len(out) {
				out = append(out, 0)
			}
			out[i] = max(out[i], width(p.plain()))
		}
	}
	return out
}

// columns is a row with its cells padded. A column without a text isn't there.
func columns(row []phrase, wide []int) string {
	var list []string
	for i, p := range row {
		if wide[i] > 0 {
			list = append(list, pad(p.plain(), wide[i]))
		}
	}
	return strings.Join(list, "   ")
}

// rowWidth is how wide such rows are.
func rowWidth(wide []int) int {
	n := -3
	for _, w := range wide {
		if w > 0 {
			n += w + 3
		}
	}
	return n
}

// lone writes the tunes that have no counterpart of their name.
func (t *textWriter) lone() {
	for _, l := range t.r.loneLists() {
		t.section()
		for i := range l.n {
			if i == mostLone && !t.opt.Cells && l.n > mostLone+1 {
				t.line(l.word + "   and " + thousands(l.n-i) + " more")
				break
			}
			t.wrap(l.word, width(l.word)+3, l.text(i))
		}
	}
}
