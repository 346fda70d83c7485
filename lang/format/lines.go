package format

import (
	"strings"
	"unicode/utf8"

	"fettle/lang/source"
	"fettle/lang/syntax"
)

const (
	inBlock    = 2 // indentation inside braces
	goingOn    = 4 // further lines of a statement, from its first
	beforeNote = 2 // spaces before a comment behind something
)

// word is a token in a line.
type word struct {
	syntax.Token
	gap bool // a space stands before it, unless it is the first of its line
}

// line is one line of the result.
type line struct {
	indent int
	blank  bool   // a blank line stands before it
	words  []word // of a statement
	text   string // what is written, once the columns are set
	note   string // the comment behind it
	noteAt int    // the comment's column, in a table; 0: it follows from the neighbours
	whole  bool   // a comment that has the line to itself

	kind  string // what may be set in columns: a keyword, or a kind of statement in a block
	block int    // counts blocks; 0 outside
}

func (l *line) width() int { return l.indent + utf8.RuneCountInString(l.text) }

// layout gathers the lines of a file.
type layout struct {
	file     *source.File
	comments []syntax.Comment // those to come
	lines    []*line
	at       int  // where in the source the last thing laid out ends
	opened   bool // nothing stands yet behind the brace that was opened
	blocks   int
}

// breaks counts the line ends in the source up to a place.
func (l *layout) breaks(to int) int { return strings.Count(l.file.Text[l.at:to], "\n") }

// newLine begins a line with what stands at a place in the source.
func (l *layout) newLine(indent, from int) *line {
	ln := &line{indent: indent, blank: len(l.lines) > 0 && !l.opened && l.breaks(from) > 1}
	l.opened = false
	l.lines = append(l.lines, ln)
	return ln
}

// commentsBefore lays out the comments that stand before a place.
func (l *layout) commentsBefore(at, indent int) {
	for len(l.comments) > 0 && l.comments[0].From < at {
		c := l.comments[0]
		l.comments = l.comments[1:]
		if c.Whole || len(l.lines) == 0 {
			ln := l.newLine(indent, c.From)
			ln.text, ln.whole = c.Text, true
		} else {
			l.lines[len(l.lines)-1].note = c.Text
		}
		l.at = c.From + len(c.Text)
	}
}

// statements names the statements of each block by how they are set in columns.
var statements = map[string]string{"rule": "adjustment", "variant": "setting", "variants": "setting", "check": "expectation", "review": "allowance", "target": "table", "bundle": "slot"}

// declaration lays out one declaration.
func (l *layout) declaration(toks []syntax.Token) {
	gaps := spacing(toks)
	var cur *line
	first := len(l.lines)
	depth, parens := 0, 0
	begins, oneLine := true, false
	for i, t := range toks {
		if t.Kind == syntax.Newline {
			begins = true
			continue
		}
		if t.Kind == syntax.Body {
			l.body(toks, t)
			continue
		}
		closes := is(t, "}")
		indent := depth * inBlock
		if !begins && !closes {
			l.commentsBefore(t.From, indent+goingOn)
		} else if !oneLine {
			l.commentsBefore(t.From, indent)
		}
		if closes {
			indent = 0
		}
		if i == 0 || depth == 1 && !oneLine && (begins || closes) || !oneLine && l.breaks(t.From) > 0 {
			if closes {
				l.opened = true // no blank line before it either
			}
			if !begins && !closes && !l.closesAll(toks[i:], parens) {
				indent += goingOn
			}
			cur = l.newLine(indent, t.From)
			if begins && depth == 1 && !closes {
				cur.kind, cur.block = statements[toks[0].Text], l.blocks
			}
			if i == 0 {
				first = len(l.lines) - 1
			}
		}
		cur.words = append(cur.words, word{t, gaps[i]})
		begins = false
		l.at = t.To()
		switch {
		case is(t, "("):
			parens++
		case is(t, ")"):
			parens--
		case is(t, "{"):
			depth, begins = 1, true
			oneLine = l.isOneLine(toks[i:])
			l.opened = !oneLine
			l.blocks++
		case closes:
			depth = 0
		}
	}
	if first == len(l.lines)-1 && depth == 0 && !is(toks[len(toks)-1], "}") {
		cur.kind = toks[0].Text
	}
}

// closesAll says whether a line begins with the parentheses that close all that
// are open.
func (l *layout) closesAll(toks []syntax.Token, open int) bool {
	n := 0
	for n < len(toks) && is(toks[n], ")") && !strings.Contains(l.file.Text[toks[max(0, n-1)].From:toks[n].From], "\n") {
		n++
	}
	return n > 0 && n >= open
}

// isOneLine says whether the block that begins with the first token is written
// on one line, or is empty.
func (l *layout) isOneLine(toks []syntax.Token) bool {
	from := toks[0].To()
	for i, t := range toks {
		if t.Kind == syntax.Body {
			return false
		}
		if !is(t, "}") {
			continue
		}
		if i == 1 || i == 2 && toks[1].Kind == syntax.Newline {
			return len(l.comments) == 0 || l.comments[0].From > t.From
		}
		return !strings.Contains(l.file.Text[from:t.From], "\n")
	}
	return false
}

// body lays out the table between the braces of a map or catalogue.
func (l *layout) body(toks []syntax.Token, body syntax.Token) {
	spans := syntax.BodyLines(l.file, body)
	var texts []string
	if is(toks[0], "map") || is(toks[0], "curve") {
		texts = grid(spans, stepDecimals(toks))
	} else {
		texts = catalogue(spans)
	}
	width := 0
	for _, t := range texts {
		width = max(width, utf8.RuneCountInString(t))
	}
	for i, s := range spans {
		l.commentsBefore(s.From, inBlock)
		ln := l.newLine(inBlock, s.From)
		ln.text = strings.TrimRight(texts[i], " ")
		ln.noteAt = inBlock + width + beforeNote
		l.at = s.To
	}
	l.commentsBefore(body.To(), inBlock)
}

// write puts the lines together.
func write(lines []*line) string {
	var b strings.Builder
	for _, ln := range lines {
		if ln.blank {
			b.WriteByte('\n')
		}
		spaces(&b, ln.indent)
		b.WriteString(ln.text)
		if ln.note != "" {
			spaces(&b, ln.noteAt-ln.width())
			b.WriteString(ln.note)
		}
		b.WriteByte('\n')
	}
	return b.String()
}

func spaces(b *strings.Builder, n int) {
	for ; n > 0; n-- {
		b.WriteByte(' ')
	}
}
