package diag

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/width"

	"fettle/lang/source"
)

// A source line is shown as cells, each a character with its width on the
// terminal. A tab is spaces up to the next stop; what a terminal would obey or
// hide (control characters, escape sequences, marks that turn the direction of
// reading, characters without ink) is spelled out, so that a source can't forge
// what the compiler says about it.

const tabStop = 4

// cell is one character as shown.
type cell struct {
	from, to int // bytes of the line
	text     string
	wide     int
}

// spell gives a character as it may be sent to a terminal, and its width there.
func spell(r rune, size int) (string, int) {
	switch {
	case r == utf8.RuneError && size <= 1:
		return "<?>", 3
	case r != ' ' && !unicode.IsPrint(r):
		s := fmt.Sprintf("<U+%04X>", r)
		return s, len(s)
	case unicode.In(r, unicode.Mn, unicode.Me):
		return string(r), 0
	}
	switch width.LookupRune(r).Kind() {
	case width.EastAsianWide, width.EastAsianFullwidth:
		return string(r), 2
	}
	return string(r), 1
}

// Clean spells out every character of a text that a terminal would obey or
// hide; a line end becomes a space.
func Clean(s string) string {
	var b strings.Builder
	for i := 0; i < len(s); {
		r, n := utf8.DecodeRuneInString(s[i:])
		if r == '\n' || r == '\t' {
			b.WriteByte(' ')
		} else {
			t, _ := spell(r, n)
			b.WriteString(t)
		}
		i += n
	}
	return b.String()
}

// cells lays a line out. A byte-order mark at the start of a file isn't shown.
func cells(line string, first bool) []cell {
	var out []cell
	at := 0
	for i := 0; i < len(line); {
		r, n := utf8.DecodeRuneInString(line[i:])
		c := cell{from: i, to: i + n}
		switch {
		case first && i == 0 && r == '\ufeff':
		case r == '\t':
			c.wide = tabStop - at%tabStop
			c.text = strings.Repeat(" ", c.wide)
		default:
			c.text, c.wide = spell(r, n)
		}
		at += c.wide
		out = append(out, c)
		i += n
	}
	return out
}

// excerpt is a source line with the place under a span marked.
type excerpt struct {
	line     int
	text     string // what is shown of the line
	indent   int    // columns before the marks
	marks    int    // how many
	lastLine int    // of a span over several lines; 0 otherwise
}

// excerptOf cuts a line down to room columns around its span.
func excerptOf(s source.Span, room int) excerpt {
	line, _ := s.File.Pos(s.From)
	from, to := s.File.LineSpan(line)
	ex := excerpt{line: line}
	end := s.To
	if end > to {
		if last, _ := s.File.Pos(max(s.From, s.To-1)); last > line {
			ex.lastLine = last
		}
		end = codeEnd(s.File.Text, max(from, min(s.From, to)), to)
	}
	// Of a very long line only what lies around the place is laid out.
	before, behind := from, to
	from, to = around(s.File.Text, from, to, s.From)
	end = min(end, to)
	cs := cells(s.File.Text[from:to], line == 1 && from == before)
	a, b, total := 0, 0, 0 // the columns of the span
	for _, c := range cs {
		if from+c.to <= s.From {
			a += c.wide
		}
		if from+c.from < end {
			b = total + c.wide
		}
		total += c.wide
	}
	if b <= a {
		b = a + 1
	}
	lo, hi := window(a, b, total, room)
	ex.indent, ex.marks = a-lo, min(b, hi)-a
	at := 0
	var out strings.Builder
	for _, c := range cs {
		switch {
		case at+c.wide <= lo || at >= hi: // outside; marks without width go with what they stand on
		case at < lo || at+c.wide > hi: // cut by the edge
			out.WriteString(strings.Repeat(" ", min(at+c.wide, hi)-max(at, lo)))
		default:
			out.WriteString(c.text)
		}
		at += c.wide
	}
	ex.text = strings.TrimRight(out.String(), " ")
	if lo > 0 || from > before {
		ex.text = "…" + ex.text
		ex.indent++
	}
	if hi < total || to < behind {
		ex.text += "…"
	}
	return ex
}

// around cuts a line of a text to what may be shown of it around a place.
func around(text string, from, to, at int) (int, int) {
	const most = 4096 // more than any terminal has columns
	at = max(from, min(at, to))
	if at-from > most {
		for from = at - most; from < at && !utf8.RuneStart(text[from]); from++ {
		}
	}
	if to-at > most {
		for to = at + most; to > at && !utf8.RuneStart(text[to]); to-- {
		}
	}
	return from, to
}

// codeEnd is where a line's text ends, its comment and the spaces before it
// left out, for marking the first line of a long span.
func codeEnd(text string, from, to int) int {
	quoted := false
	for i := from; i < to; i++ {
		if text[i] == '"' {
			quoted = !quoted
		}
		if text[i] == '#' && !quoted {
			to = i
		}
	}
	for to > from && (text[to-1] == ' ' || text[to-1] == '\t') {
		to--
	}
	return to
}

// window picks the columns lo..hi of a line that are shown: all of them if
// there is room, else a part with the span's start in its left third.
func window(a, b, total, room int) (lo, hi int) {
	total = max(total, b)
	if total <= room {
		return 0, total
	}
	room -= 2 // an ellipsis at either end
	lo = max(0, min(a-room/3, total-room))
	if b <= room {
		lo = 0
	}
	return lo, lo + room
}
