// Package celltext writes a source or a CSV table for a comparison by lines: one
// line a cell, so that a tool which knows only lines, such as git, shows the
// cells that changed.
//
// How it goes. A row of a grid becomes a line for each of its cells, with the
// map's name, the breakpoints and the units that the same text tells of; a row
// of a catalogue becomes a line for each of its columns. Numbers stand as they
// are written. A comment behind a row comes on a line before its cells. All else
// is copied byte for byte: heads, comments, rules, a row that can't be read, a
// declaration with faults, a text that is neither source nor table. Nothing is
// an error. Whether a text is a table is told by its first line, since git hands
// over files without their names. Characters that command a terminal, or turn
// the direction of the text, are written so that they are seen: what a reviewer
// sees is what the compiler reads.
//
// The law: a changed cell is one changed line. So no width follows from a cell:
// a longer number sticks out on the left. Columns follow from the breakpoints
// and the names of a catalogue's columns alone.
//
// In: a text. Out: lines, to a writer. Imported by cmd; imports syntax and grid.
package celltext

import (
	"bufio"
	"io"
	"strings"
	"unicode/utf8"
)

// Write writes a text with its tables a cell a line. The errors are the
// writer's.
func Write(w io.Writer, text string) error {
	out := &lines{Writer: bufio.NewWriter(w), text: text}
	if utf8.ValidString(text) && !writeCSV(out) {
		writeSource(out)
	}
	out.copyTo(len(text))
	return out.Flush()
}

// Widths: the whole digits of a breakpoint and of a cell, with room for a sign,
// and the name of a catalogue's row.
const (
	pointWidth = 5
	cellWidth  = 6
	nameWidth  = 8
)

// lines copies a text and puts other lines in the place of some of its own.
type lines struct {
	*bufio.Writer
	text string
	at   int    // what stands before it is written
	eol  string // of the line that is being replaced
}

func (l *lines) copyTo(to int) {
	l.WriteString(visible(l.text[l.at:to]))
	l.at = to
}

// instead puts lines in the place of what stands from one place to another,
// unless more than blanks stand before it on its line.
func (l *lines) instead(from, to int, write func()) {
	begin := strings.LastIndexByte(l.text[:from], '\n') + 1
	if begin < l.at || strings.Trim(l.text[begin:from], " \t") != "" {
		return
	}
	end := len(l.text)
	if i := strings.IndexByte(l.text[to:], '\n'); i >= 0 {
		end = to + i + 1
	}
	l.copyTo(begin)
	l.eol = "\n"
	if strings.HasSuffix(l.text[:end], "\r\n") {
		l.eol = "\r\n"
	}
	rest := strings.Trim(l.text[to:end], " \t\r\n")
	if strings.HasPrefix(rest, "#") {
		l.line(indent, rest)
		rest = ""
	}
	write()
	if rest != "" { // the brace that closes the table
		l.line(rest)
	}
	l.at = end
}

const indent = "  "

// line writes a line of its parts, without blanks at its end.
func (l *lines) line(parts ...string) {
	l.WriteString(visible(strings.TrimRight(strings.Join(parts, ""), " \t")))
	l.WriteString(l.eol)
}

// axis writes the breakpoints of one axis.
type axis struct {
	name, unit  string
	whole, rest int // widths before and behind the units digit
}

func newAxis(name, unit string, points []string) axis {
	a := axis{name: name, unit: unit, whole: pointWidth}
	if unit == name { // rpm needs no second rpm
		a.unit = ""
	}
	for _, p := range points {
		whole, rest := splitNumber(p)
		a.whole, a.rest = max(a.whole, len(whole)), max(a.rest, len(rest))
	}
	return a
}

// at is a place on the axis: "throttle    50 %".
func (a axis) at(point string) string {
	whole, rest := splitNumber(point)
	text := a.name + " " + right(whole, a.whole) + rest + spaces(a.rest-len(rest))
	if a.unit != "" {
		text += " " + a.unit
	}
	return text
}

// table is a grid whose rows are written out.
type table struct {
	name, unit string // of the map; the name ends with " at ", or is "" in a CSV file
	row, col   axis   // row.name is "" where there is one axis
	cols       []string
}

// cells writes a row; point is its breakpoint.
func (t *table) cells(l *lines, point string, cells []string) {
	for i, c := range cells {
		place := t.col.at(t.cols[i])
		if t.row.name != "" {
			place = t.row.at(point) + ", " + place
		}
		l.line(indent, t.name, place, "   ", number(c, t.unit))
	}
}

// number sets a cell's number to the right; no unit stands behind a blank.
func number(c, unit string) string {
	if c == "" || c == "_" {
		return right("_", cellWidth)
	}
	whole, rest := splitNumber(c)
	if unit != "" {
		rest += " " + unit
	}
	return right(whole, cellWidth) + rest
}

// splitNumber parts a number behind its units digit.
func splitNumber(s string) (whole, rest string) {
	i := 0
	for i < len(s) && (i == 0 && (s[i] == '-' || s[i] == '+') || s[i] >= '0' && s[i] <= '9') {
		i++
	}
	return s[:i], s[i:]
}

func right(s string, width int) string { return spaces(width-utf8.RuneCountInString(s)) + s }
func left(s string, width int) string  { return s + spaces(width-utf8.RuneCountInString(s)) }

func spaces(n int) string { return strings.Repeat(" ", max(0, n)) }
