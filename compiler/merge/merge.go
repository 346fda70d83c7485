// Package merge merges two edits of a source or of a CSV table, by what stands
// in it and not by its lines.
//
// How it goes. Each of the three texts (the base that both edits began from,
// ours and theirs) is read into declarations, each with the comments and blank
// lines above it. A declaration is known by its name, and found again under a
// new one by its text. What one side changed is taken from that side. A
// declaration that both changed is merged by its parts: a table by its cells,
// which are known by their breakpoints or by the names of row and column
// (table.go); a block by its statements, which are known by what they set
// (block.go); a head by its clauses. Members of a sequence that only one side
// has are put where that side has them, ours first (order.go). What both
// changed in different ways is a conflict: the smallest run of lines that holds
// it stands between markers, in three versions.
//
// What is compared is what a text says: white space doesn't count, nor does how
// a number is written. What is written is ours, with the parts of theirs that
// changed put in; it is laid out anew if ours was in the one layout. Line ends,
// a byte-order mark and a missing end of the last line are kept from ours.
//
// A text that can't be read is merged by its lines (lines.go), and that is said.
//
// In: three texts. Out: the merged text, and what is in conflict, a line each.
// Imported by cmd and by merge/meaning, which compiles what was merged; imports
// lang and compiler/grid.
package merge

import (
	"path"
	"strings"
)

// The three versions of anything, as indices.
const (
	base = iota
	ours
	theirs
)

// sideNames are what the versions are called in markers and messages.
var sideNames = [3]string{"base", "ours", "theirs"}

// Options says what is merged.
type Options struct {
	Path       string            // the file's name: what ends in .csv is a table, what ends in .fettle a source
	MarkerSize int               // the length of a conflict marker; 0 is 7
	Units      map[string]string // of axes that are declared in other files
}

// Result is a merged text.
type Result struct {
	Text      string
	Conflicts []string // what both sides changed in different ways, a line each
	Notes     []string // what was settled and is worth a look, a line each
	ByLine    string   // why it was merged by its lines; "" where it wasn't
}

// Texts merges two edits of a text.
func Texts(baseText, oursText, theirsText string, opt Options) *Result {
	switch {
	case oursText == theirsText, theirsText == baseText:
		return &Result{Text: oursText}
	case oursText == baseText:
		return &Result{Text: theirsText}
	}
	if opt.MarkerSize <= 0 {
		opt.MarkerSize = 7
	}
	m := &merger{opt: opt, res: &Result{}}
	var st style
	for side, text := range [3]string{baseText, oursText, theirsText} {
		lines, s := plain(text)
		m.lines[side] = lines
		if side == ours {
			st = s
		}
	}
	out, why := m.structured()
	if why != "" {
		m.res.Conflicts, m.res.Notes, m.res.ByLine = nil, nil, why
		out = m.byLine()
	}
	m.res.Text = st.text(out.written(opt.MarkerSize))
	return m.res
}

// merger is one merge under way.
type merger struct {
	opt   Options
	lines [3][]string
	res   *Result
	units map[string]string // of the axes that the texts declare
}

// structured merges by declarations or by cells; why says what keeps it from
// that.
func (m *merger) structured() (out doc, why string) {
	switch path.Ext(m.opt.Path) {
	case ".csv":
		return m.csv()
	case ".fettle":
		return m.source()
	}
	if out, why := m.csv(); why == "" {
		return out, ""
	}
	m.res.Conflicts, m.res.Notes = nil, nil
	return m.source()
}

// conflict notes what is in conflict, on one line.
func (m *merger) conflict(text string) { m.res.Conflicts = append(m.res.Conflicts, text) }

// text puts lines together.
func text(lines []string) string {
	if len(lines) == 0 {
		return ""
	}
	return strings.Join(lines, "\n") + "\n"
}
