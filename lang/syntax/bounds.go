package syntax

import (
	"unicode/utf8"

	"fettle/lang/source"
	"fettle/lang/work"
)

// The bounds of what is read. What is longer was made to harm, or is no source.
const (
	maxLine   = 1 << 20 // bytes of a line
	maxName   = 200     // letters of a name or word
	maxDigits = 1000    // letters of a number
	maxPath   = 1000    // letters of a file's name without quotes
	maxString = 10_000  // bytes of a text in quotes
)

// lineLengths refuses a file with a line that is too long.
func (lx *lexing) lineLengths() bool {
	if len(lx.text) <= maxLine {
		return true
	}
	for line := 1; line <= lx.file.LineCount(); line++ {
		if from, to := lx.file.LineSpan(line); to-from > maxLine {
			at := source.Span{File: lx.file, From: from, To: from}
			lx.errs.Add("E410", at, "this line has %d bytes; the most is %d", to-from, maxLine).
				Hint("break it: an expression in parentheses goes on over several lines; a large table is a CSV file")
			return false
		}
	}
	return true
}

// bounded counts a word, and refuses one that is too long.
func (lx *lexing) bounded(t Token) {
	if lx.words++; lx.words > work.Most(work.Words) && !lx.over {
		lx.over = true
		lx.errs.Add("E410", t.Span(lx.file).Cut(1), "the file has over %d words and signs, the most that are read", work.Most(work.Words)).Hint(work.Hint)
	}
	what, most := "", 0
	switch n := len(t.Text); t.Kind {
	case Word:
		if n > maxName {
			what, most = "name", maxName
		}
	case Number:
		if n > maxDigits {
			what, most = "number", maxDigits
		}
	case Path:
		if n > maxPath {
			what, most = "path", maxPath
		}
	case String:
		if n > maxString {
			what, most = "text", maxString
		}
	}
	if most > 0 {
		lx.errs.Add("E410", t.Span(lx.file), "this %s has %d bytes; the most is %d", what, len(t.Text), most)
		lx.over = true
	}
}

// turned refuses what a reader of the source can't see and may be fooled by, in
// comments, texts and tables too: marks that turn the direction of reading, so that
// a line reads as another one than it is, and what a terminal obeys. One error a
// line. Names have no such letters anyway: they are a to z.
func (lx *lexing) turned() {
	line := 0
	for i := 0; i < len(lx.text); {
		c := lx.text[i]
		if c >= ' ' && c < 0x7f || c == '\n' || c == '\t' || c == '\r' {
			i++
			continue
		}
		r, n := utf8.DecodeRuneInString(lx.text[i:])
		if at := (source.Span{File: lx.file, From: i, To: i + n}); Unseen(r) && at.Line() != line {
			line = at.Line()
			what := "a character that can't be seen"
			if r >= 0xa0 {
				what = "a mark that turns the direction of reading"
			}
			lx.errs.Add("E107", at, "%s stands here: %s", what, codePoint(r)).Suggest(at, "", "leave it out")
		}
		i += n
	}
}

// Unseen says whether a character moves the letters around it, or commands what
// they are shown on.
func Unseen(r rune) bool {
	return r < ' ' && r != '\n' && r != '\t' && r != '\r' || r >= 0x7f && r < 0xa0 ||
		r == 0x061c || r == 0x200e || r == 0x200f || r == 0x2028 || r == 0x2029 || r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069
}
