package review

import (
	"strings"

	"fettle/lang/diag"
)

const mostLimits = 12 // rows of the table of limits

// limitRow is a limit's line in the table of margins.
type limitRow struct {
	kind, name, before, after, at, tunes, place phrase
}

// row says how a limit's margin changed.
func (m *Margin) row() limitRow {
	r := limitRow{kind: say("%s", words(m.Kind)), name: m.title(), before: m.Before.text(), after: m.After.text(), at: m.afterAt(), tunes: m.tunesText(), place: places(m.Place)}
	if m.Before == nil && m.After == nil { // it looks at no tune that was compared
		r.before, r.after = say("no tune"), say("no tune")
	}
	if a, b := m.After, m.Before; a != nil && b != nil && a.HasMargin && b.HasMargin {
		old, new := marginPair(b.Margin, a.Margin)
		r.before, r.after = say("%s", figure(old)), say("%s", quantity(new, changeUnit(a.Unit)))
	}
	return r
}

// text is a state's margin, or its word.
func (s *State) text() phrase {
	switch {
	case s == nil:
		return say("none")
	case s.HasMargin:
		return say("%s", quantity(signed(numbers(s.Margin)[0]), changeUnit(s.Unit)))
	}
	return say("%s", words(s.Word))
}

func (m *Margin) afterAt() phrase {
	switch {
	case m.After != nil && m.After.At != "":
		return say("%s", m.After.At)
	case m.After == nil && m.Before != nil && m.Before.At != "":
		return say("%s", m.Before.At)
	}
	return nil
}

func (m *Margin) tunesText() phrase {
	if len(m.Tunes) > 1 {
		return say("%s", tunes(len(m.Tunes)))
	}
	return say("%s", m.Tune)
}

// limits writes the margins before and after, worst first. Where there isn't
// room for all columns, places go first, then cells.
func (t *textWriter) limits() {
	list := t.r.Limits
	if len(list) == 0 {
		return
	}
	t.section()
	t.line("limits: room before the bound, before → after")
	var rows []limitRow
	for i, m := range list {
		if i == mostLimits && !t.opt.Cells && len(list) > mostLimits+1 {
			break
		}
		rows = append(rows, m.row())
	}
	before := 0
	for _, r := range rows {
		before = max(before, width(r.before.plain()))
	}
	alignCounts(rows, 2, func(i int) int { return len(list[i].Tunes) }, func(i int) *phrase { return &rows[i].tunes })
	room := func(r limitRow) phrase { return say("%s → %s", figure(padLeft(r.before.plain(), before)), r.after) }
	table := func(with func(r limitRow) []phrase) ([][]phrase, []int, bool) {
		var out [][]phrase
		for _, r := range rows {
			out = append(out, with(r))
		}
		wide := widths(out)
		return out, wide, 2+rowWidth(wide) <= t.opt.Width
	}
	var all [][]phrase
	var wide []int
	fits := false
	for last := 3; last >= 0 && !fits; last-- {
		all, wide, fits = table(func(r limitRow) []phrase {
			more := []phrase{r.tunes, r.at, r.place}
			if t.r.plainPair() {
				more[0] = nil // there is but one
			}
			return append([]phrase{r.kind, r.name, room(r)}, more[:last]...)
		})
	}
	for _, row := range all {
		t.line("  " + columns(row, wide))
	}
	if n := len(list) - len(rows); n > 0 {
		t.line("  … and " + thousands(n) + " more; --json has all")
	}
}

// alignCounts puts the last digits of numbers of tunes under each other, of those
// that are numbers.
func alignCounts[T any](rows []T, least int, count func(i int) int, cell func(i int) *phrase) {
	wide := 0
	for i := range rows {
		if count(i) >= least {
			wide = max(wide, width(thousands(count(i))))
		}
	}
	for i := range rows {
		if n := count(i); n >= least {
			*cell(i) = say("%s", figure(strings.Repeat(" ", wide-width(thousands(n)))+string(tunes(n))))
		}
	}
}

// source writes the differences of the text, each hunk under what it causes.
func (t *textWriter) source() {
	if !t.opt.Source || len(t.r.Sources) == 0 {
		return
	}
	t.section()
	t.line("source")
	for _, f := range t.r.Sources {
		if f.State != "changed" {
			t.wrap("", 2, say("%s %s", f.title(), words(f.State)))
		}
	}
	for _, s := range t.r.stretches() {
		t.section()
		t.wrap("", 2, s.head)
		for _, h := range s.hunks {
			t.line("  " + h.file.plain() + "   " + diag.Clean(h.hunk.Head))
			marks := h.hunk.Marks()
			for i, l := range h.hunk.Lines {
				t.line("  " + t.shade(shownLine(l), marks[i]))
				if strings.HasPrefix(l, "+") {
					if under := carets(shownLine(l), marks[i]); under != "" {
						t.line("  " + under)
					}
				}
			}
		}
	}
}

// shade colours a line that was taken out or put in, with what differs in it
// underlined.
func (t *textWriter) shade(line string, marks [][2]int) string {
	color := ""
	switch {
	case !t.opt.Color:
	case strings.HasPrefix(line, "-"):
		color = "\x1b[38;5;75m"
	case strings.HasPrefix(line, "+"):
		color = look
	}
	if color == "" {
		return line
	}
	r := []rune(line)
	out, at := color, 0
	for _, m := range marks {
		out += string(r[at:m[0]]) + "\x1b[1;4m" + string(r[m[0]:m[1]]) + off + color
		at = m[1]
	}
	return out + string(r[at:]) + off
}
