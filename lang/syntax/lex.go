package syntax

import (
	"slices"
	"unicode/utf8"

	"fettle/lang/diag"
	"fettle/lang/source"
)

// The lexer has four states: a declaration's line, the inside of parentheses
// (where a newline is nothing), the word after from or with, or of a slot (a path), and the
// body of a map or catalogue (one raw token). It goes over the file once and
// cuts it into pieces as it goes: a newline outside all brackets ends a piece,
// and so does a declaration word in column 1 inside brackets that were never
// closed, which keeps one forgotten brace from spoiling the rest of the file.
// What it makes of other slips stands in recover.go.

// piece is the tokens of one declaration.
type piece struct {
	toks   []Token
	end    int   // byte offset where the piece ends
	faults []int // byte offsets of faults that spoil the statement around them, ascending
	cut    bool  // a brace of it was never closed
}

type lexing struct {
	file     *source.File
	text     string
	pos      int
	errs     *diag.List
	comments []Comment
	pieces   []piece
	cur      []Token
	room     []Token // what is left behind the last piece
	faults   []int
	isCut    bool
	open     []Token // unclosed ( and {
	isBody   bool    // the piece is a map or catalogue: its braces hold a raw body
	isCheck  bool    // +- is a token
	isReview bool    // its lines begin with allow
	isTarget bool    // its lines begin with table, compensates or bytes
	isBundle bool    // its lines begin with a number, differs or jump
	inFile   bool    // not an expression that stands alone
	wantPath bool
	spaced   int // the last line on which a wrong space was reported
	words    int // of the file so far
	over     bool
	ahead    ahead
}

// lexFile gives a file's pieces and comments; of one that is past a bound there
// are none, since what is left of it could be anything.
func lexFile(f *source.File, errs *diag.List) (pieces []piece, comments []Comment, whole bool) {
	lx := &lexing{file: f, text: f.Text, errs: errs, inFile: true}
	if !lx.lineLengths() {
		return nil, nil, false
	}
	if len(lx.text) >= 3 && lx.text[:3] == "\xef\xbb\xbf" {
		lx.pos = 3
	}
	lx.run()
	if lx.over {
		return nil, nil, false
	}
	lx.turned()
	return lx.pieces, lx.comments, true
}

// lexExpr reads one expression given on a command line.
func lexExpr(f *source.File, errs *diag.List) []Token {
	lx := &lexing{file: f, text: f.Text, errs: errs}
	lx.run()
	var toks []Token
	for _, p := range lx.pieces {
		toks = append(toks, p.toks...)
	}
	return toks
}

func (lx *lexing) run() {
	for lx.pos < len(lx.text) {
		lx.step()
		if lx.over {
			return
		}
	}
	lx.unclosed()
	lx.endPiece()
}

func (lx *lexing) emit(k Kind, n int) {
	t := Token{k, lx.text[lx.pos : lx.pos+n], lx.pos}
	lx.bounded(t)
	lx.pos += n
	if len(lx.cur) == 0 && k == Word {
		word := meantDecl(t.Text)
		lx.isBody = word == "map" || word == "catalog" || word == "curve"
		lx.isCheck = word == "check"
		lx.isReview = word == "review"
		lx.isTarget = word == "target"
		lx.isBundle = word == "bundle"
	}
	if lx.cur == nil {
		lx.cur = lx.space()
	}
	lx.cur = append(lx.cur, t)
	lx.wantPath = k == Word && (t.Text == "from" || t.Text == "with") || lx.isBundle && t.Text == "=" && lx.afterSlot()
}

// space is room for a piece's tokens, which lie one piece behind the other.
func (lx *lexing) space() []Token {
	if cap(lx.room) < 32 {
		lx.room = make([]Token, 0, max(32, min(512, (len(lx.text)-lx.pos)/5)))
	}
	return lx.room
}

func (lx *lexing) endPiece() {
	for n := len(lx.cur); n > 0 && lx.cur[n-1].Kind == Newline; n-- {
		lx.cur = lx.cur[:n-1]
	}
	if len(lx.cur) > 0 {
		slices.Sort(lx.faults)
		lx.pieces = append(lx.pieces, piece{slices.Clip(lx.cur), lx.pos, lx.faults, lx.isCut})
		lx.room = lx.cur[len(lx.cur):]
	}
	lx.faults, lx.isCut = nil, false
	lx.cur, lx.isBody, lx.isCheck, lx.isReview, lx.isTarget, lx.isBundle, lx.wantPath = nil, false, false, false, false, false, false
}

func (lx *lexing) inParens() bool {
	n := len(lx.open)
	return n > 0 && lx.open[n-1].Text == "("
}

func (lx *lexing) step() {
	c := lx.text[lx.pos]
	atLineStart := lx.pos == 0 || lx.text[lx.pos-1] == '\n'
	if atLineStart && len(lx.open) > 0 && isLetter(c) && isDecl[lx.text[lx.pos:lx.pos+lx.wordLen()]] {
		lx.unclosed()
		lx.endPiece()
	}
	if lx.slip() {
		return
	}
	switch {
	case c == ' ' || c == '\t' || c == '\r':
		lx.pos++
	case c == '\n':
		lx.newline()
	case c == '#':
		lx.comment()
	case c == '"':
		lx.str()
	case c == '[':
		lx.unit()
	case lx.wantPath && isPathByte(c):
		n := 0
		for lx.pos+n < len(lx.text) && isPathByte(lx.text[lx.pos+n]) {
			n++
		}
		lx.emit(Path, n)
	case isLetter(c):
		lx.emit(Word, lx.wordLen())
	case isDigit(c):
		lx.emit(Number, lx.numberLen())
	default:
		lx.punct()
	}
}

func (lx *lexing) newline() {
	lx.wantPath = false
	if n := len(lx.cur); n > 0 {
		begins := lx.nextBegins(lx.pos + 1)
		if begins && lx.inParens() {
			lx.unclosedParens()
		}
		if !lx.inParens() && (begins || !lx.cur[n-1].goesOn()) && !(!begins && lx.clauseBelow()) {
			if len(lx.open) == 0 && !lx.braceBelow() && !lx.braceForgotten() {
				lx.pos++
				lx.endPiece()
				return
			}
			if n := len(lx.cur); lx.isBody && lx.cur[n-1].Text == "{" { // forgotten
				lx.pos++
				lx.body()
				return
			}
			if len(lx.open) > 0 && lx.cur[n-1].Kind != Newline {
				lx.emit(Newline, 1)
				return
			}
		}
	}
	lx.pos++
}

func (lx *lexing) comment() {
	from := lx.pos
	for lx.pos < len(lx.text) && lx.text[lx.pos] != '\n' {
		lx.pos++
	}
	to := lx.pos
	for to > from && (lx.text[to-1] == '\r' || lx.text[to-1] == ' ' || lx.text[to-1] == '\t') {
		to--
	}
	whole := true
	for i := from - 1; i >= 0 && lx.text[i] != '\n'; i-- {
		if !isBlank(lx.text[i]) && !(i < 3 && lx.text[i] >= 0x80) {
			whole = false
			break
		}
	}
	lx.comments = append(lx.comments, Comment{lx.text[from:to], from, whole})
}

func (lx *lexing) str() {
	i := lx.pos + 1
	for i < len(lx.text) && lx.text[i] != '\n' && lx.text[i] != '"' {
		if lx.text[i] == '\\' && i+1 < len(lx.text) && lx.text[i+1] != '\n' {
			i++
		}
		i++
	}
	if i >= len(lx.text) || lx.text[i] == '\n' {
		span := source.Span{File: lx.file, From: lx.pos, To: i}
		lx.errs.Add("E104", span, "this text has no closing quote on its line").Hint(`end it with "`)
		lx.emit(String, i-lx.pos)
		return
	}
	lx.emit(String, i+1-lx.pos)
}

func (lx *lexing) unit() {
	i := lx.pos + 1
	for i < len(lx.text) && lx.text[i] != '\n' && lx.text[i] != ']' && lx.text[i] != '[' && lx.text[i] != '#' {
		i++
	}
	if i >= len(lx.text) || lx.text[i] != ']' {
		span := source.Span{File: lx.file, From: lx.pos, To: lx.pos + 1}
		d := lx.errs.Add("E103", span, "this `[` is never closed").Hint("a unit stands in brackets: `[mg]`")
		if n := unitLen(lx.text[lx.pos+1 : i]); n > 0 {
			end := source.Span{File: lx.file, From: lx.pos + 1 + n, To: lx.pos + 1 + n}
			d.Suggest(end, "]", "write `%s]`", lx.text[lx.pos:end.From])
			lx.faults = append(lx.faults, lx.pos)
			lx.pos = end.From
			return
		}
		lx.emit(Bad, 1)
		return
	}
	lx.emit(Unit, i+1-lx.pos)
}

// body takes everything up to the closing brace as one token, minding comments
// and quotes; a declaration word in column 1 ends it too.
func (lx *lexing) body() {
	i, lineStart := lx.pos, false
	for i < len(lx.text) {
		c := lx.text[i]
		if c == ' ' || isDigit(c) || c == '.' { // most of a grid
			i, lineStart = i+1, false
			continue
		}
		if lineStart && isLetter(c) {
			n := wordLen(lx.text[i:])
			if isDecl[lx.text[i:i+n]] {
				break
			}
		}
		lineStart = false
		switch c {
		case '}':
			lx.emit(Body, i-lx.pos)
			return
		case '#':
			from := lx.pos
			lx.pos = i
			lx.comment()
			i, lx.pos = lx.pos, from
			continue
		case '"':
			for i++; i < len(lx.text) && lx.text[i] != '"' && lx.text[i] != '\n'; i++ {
				if lx.text[i] == '\\' && i+1 < len(lx.text) && lx.text[i+1] != '\n' {
					i++
				}
			}
			if i < len(lx.text) && lx.text[i] == '"' {
				i++
			}
			continue
		case '\n':
			lineStart = true
		}
		i++
	}
	lx.emit(Body, i-lx.pos)
}

var ops = []string{"..", "+=", "-=", "*=", "/=", "<=", ">=", "==", "!=", "&&", "||", "**", "=<", "=>"}

func (lx *lexing) punct() {
	rest := lx.text[lx.pos:]
	if lx.isCheck && len(rest) >= 2 && rest[:2] == "+-" {
		lx.emit(Op, 2)
		return
	}
	for _, op := range ops {
		if len(rest) >= 2 && rest[:2] == op {
			lx.emit(Op, 2)
			return
		}
	}
	switch c := rest[0]; c {
	case '(', '{':
		if c == '{' && len(lx.open) > 0 {
			lx.indented()
		}
		body := c == '{' && lx.isBody && len(lx.open) == 0
		lx.open = append(lx.open, Token{Op, rest[:1], lx.pos})
		lx.emit(Op, 1)
		if body {
			lx.body()
		}
	case ')', '}':
		want := "("
		if c == '}' {
			want = "{"
		}
		lx.closing(want)
	case '+', '-', '*', '/', '^', '<', '>', '=', ',', '.', '%', ':':
		lx.emit(Op, 1)
	default:
		_, n := utf8.DecodeRuneInString(rest)
		lx.emit(Bad, n)
	}
}

func (lx *lexing) closing(want string) {
	n := len(lx.open)
	if n > 0 && lx.open[n-1].Text != want && want == "{" {
		// A } closes what a forgotten ) left open.
		lx.unclosedParens()
		n = len(lx.open)
	}
	if n == 0 || lx.open[n-1].Text != want {
		if len(lx.faults) == 0 || len(lx.cur) == 0 {
			lx.errs.Add("E105", lx.at(1), "this `%c` closes nothing", lx.text[lx.pos]).Suggest(lx.at(1), "", "leave it out")
			lx.tears(1)
		}
		lx.pos++
		return
	}
	lx.open = lx.open[:n-1]
	lx.emit(Op, 1)
}

func (lx *lexing) wordLen() int { return wordLen(lx.text[lx.pos:]) }

func wordLen(s string) int {
	n := 0
	for n < len(s) && (isLetter(s[n]) || isDigit(s[n])) {
		n++
	}
	return n
}

// numberLen measures digits, a dot between digits, and an exponent; and what
// is meant for a number but is none (see oddNumber).
func (lx *lexing) numberLen() int {
	s, n := lx.text[lx.pos:], 0
	if odd := oddNumber(s); odd > 0 {
		return odd
	}
	digits := func() {
		for n < len(s) && isDigit(s[n]) {
			n++
		}
	}
	digits()
	if n+1 < len(s) && s[n] == '.' && isDigit(s[n+1]) {
		n++
		digits()
	}
	if n < len(s) && (s[n] == 'e' || s[n] == 'E') {
		m := n + 1
		if m < len(s) && (s[m] == '+' || s[m] == '-') {
			m++
		}
		if m < len(s) && isDigit(s[m]) {
			n = m
			digits()
		}
	}
	return n
}

func isLetter(c byte) bool { return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c == '_' }
func isDigit(c byte) bool  { return c >= '0' && c <= '9' }
func isPathByte(c byte) bool {
	return isLetter(c) || isDigit(c) || c == '/' || c == '-' || c == '.' || c == '*' || c == '?' || c == '^'
}
