package syntax

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"fettle/lang/diag"
	"fettle/lang/source"
)

// What the lexer makes of slips: signs that other languages, word processors
// and web pages bring along are reported with what to write, and read as what
// was meant where there is no doubt, so that one slip costs one error. Where a
// bracket is never closed, the statement around it is spoiled and the next
// ones are read as if it were closed.

func (lx *lexing) at(n int) source.Span {
	return source.Span{File: lx.file, From: lx.pos, To: lx.pos + n}
}

// slip reads what is no part of the language; false if nothing is amiss here.
func (lx *lexing) slip() bool {
	rest := lx.text[lx.pos:]
	switch c := rest[0]; {
	case isLetter(c) && !lx.wantPath:
		r, _ := utf8.DecodeRuneInString(rest[wordLen(rest):])
		if r < utf8.RuneSelf || r == utf8.RuneError || !unicode.IsLetter(r) {
			return false
		}
		lx.foreignWord()
	case c == ';':
		lx.semicolon()
	case c == '\'':
		return lx.quoted()
	case strings.HasPrefix(rest, "..."):
		n := len(rest) - len(strings.TrimLeft(rest, "."))
		lx.errs.Add("E107", lx.at(n), "a range has two dots").Suggest(lx.at(n), "..", "write `..`")
		lx.cur = append(lx.cur, Token{Op, "..", lx.pos})
		lx.pos += n
	case c < ' ' && c != '\t' && c != '\r' && c != '\n', c == 0x7f:
		lx.oddSpace(rune(c), 1)
	case c == '.' && len(rest) > 1 && isDigit(rest[1]) && !lx.afterValue():
		lx.emit(Number, 1+wordLen(rest[1:]))
	case lx.isCheck && strings.HasPrefix(rest, "+/-"), strings.HasPrefix(rest, "±"):
		n := len("±")
		if c == '+' {
			n = 3
		}
		lx.errs.Add("E107", lx.at(n), "a tolerance is written `+-`").Suggest(lx.at(n), "+-", "write `+-`")
		lx.cur = append(lx.cur, Token{Op, "+-", lx.pos})
		lx.pos += n
	case c >= utf8.RuneSelf:
		return lx.foreign(rest)
	default:
		return false
	}
	return true
}

// afterValue says whether a name or number ends right before here.
func (lx *lexing) afterValue() bool {
	if lx.pos == 0 {
		return false
	}
	c := lx.text[lx.pos-1]
	return isLetter(c) || isDigit(c) || c == ')' || c == ']' || c == '.'
}

// semicolon reads the end of a statement, or a separator of values.
func (lx *lexing) semicolon() {
	at := lx.at(1)
	d := lx.errs.Add("E107", at, "`;` has no meaning here")
	after := strings.TrimLeft(lx.text[lx.pos+1:], " \t\r;")
	switch {
	case after == "" || after[0] == '\n' || after[0] == '#' || after[0] == '}':
		d.Suggest(at, "", "leave it out: a statement ends with its line")
		lx.pos++
	case !lx.inParens() && isLetter(after[0]):
		d.Suggest(at, "\n", "write each statement on a line of its own")
		if len(lx.open) > 0 {
			lx.emit(Newline, 1)
			return
		}
		lx.pos++
		lx.endPiece()
	default:
		d.Suggest(at, ",", "values are parted by `,`")
		lx.cur = append(lx.cur, Token{Op, ",", lx.pos})
		lx.pos++
	}
}

// quotes are the signs that word processors put around a text.
const quotes = "“”„‟‘’‚‛«»‹›'"

// quoted reads a text in printer's quotes or single ones; false if it has no
// end on its line.
func (lx *lexing) quoted() bool {
	rest := lx.text[lx.pos:]
	if i := strings.IndexByte(rest, '\n'); i >= 0 {
		rest = rest[:i]
	}
	_, open := utf8.DecodeRuneInString(rest)
	closing := quotes
	if rest[:open] != "'" && rest[:open] != "‘" && rest[:open] != "‚" {
		closing = strings.NewReplacer("'", "", "’", "", "‘", "").Replace(quotes) // apostrophes
	}
	end := strings.IndexAny(rest[open:], closing+`"`)
	if end < 0 {
		return false
	}
	end += open
	_, n := utf8.DecodeRuneInString(rest[end:])
	inner := rest[open:end]
	span := lx.at(end + n)
	lx.errs.Add("E107", span, "a text stands in plain quotes").Suggest(span, `"`+inner+`"`, `write "%s"`, clip(inner))
	lx.emit(String, end+n)
	return true
}

// unquote gives what stands between a text's quotes, whatever they are.
func unquote(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if r == '"' || strings.ContainsRune(quotes, r) {
		s = s[n:]
		if r, n = utf8.DecodeLastRuneInString(s); r == '"' || strings.ContainsRune(quotes, r) {
			s = s[:len(s)-n]
		}
	}
	return s
}

// foreign reads a character outside ASCII.
func (lx *lexing) foreign(rest string) bool {
	r, n := utf8.DecodeRuneInString(rest)
	switch {
	case strings.ContainsRune(quotes, r):
		return lx.quoted()
	case unicode.IsSpace(r), unicode.In(r, unicode.Cf, unicode.Cc):
		lx.oddSpace(r, n)
		return true
	case unicode.IsLetter(r):
		lx.foreignWord()
		return true
	}
	return false
}

// oddSpace reads a space that isn't one, or a character that can't be seen;
// one error a line.
func (lx *lexing) oddSpace(r rune, n int) {
	replace, what := " ", "a space that isn't a plain one"
	if !unicode.IsSpace(r) || r < ' ' {
		replace, what = "", "a character that can't be seen"
	}
	if line := lx.at(n).Line(); line != lx.spaced {
		lx.spaced = line
		lx.errs.Add("E107", lx.at(n), "%s stands here: %s", what, codePoint(r)).Suggest(lx.at(n), replace, "type it anew")
	}
	lx.pos += n
}

// foreignWord reads a word with letters outside a to z; a unit's micro sign is
// a letter too.
func (lx *lexing) foreignWord() {
	n := 0
	for n < len(lx.text)-lx.pos {
		r, size := utf8.DecodeRuneInString(lx.text[lx.pos+n:])
		if r != '_' && !unicode.IsLetter(r) && !unicode.IsDigit(r) && !unicode.Is(unicode.Mn, r) {
			break
		}
		n += size
	}
	word := lx.text[lx.pos : lx.pos+n]
	d := lx.errs.Add("E107", lx.at(n), "`%s` has letters outside a to z", clip(word)).Hint("names and units are written with a to z, 0 to 9 and _")
	if plain := strings.NewReplacer("µ", "u", "μ", "u").Replace(word); IsName(plain) {
		d.Suggest(lx.at(n), plain, "write `%s`", plain)
	}
	lx.faults = append(lx.faults, lx.pos)
	lx.emit(Word, n)
}

// oddNumber measures what is meant for a number but is none: with marks
// between its thousands, in hexadecimal, with several dots, or with a dot at
// its end. 0 if the text doesn't begin with such a thing.
func oddNumber(s string) int {
	n := 0
	for n < len(s) && isDigit(s[n]) {
		n++
	}
	if n+1 < len(s) && s[n] == '_' && isDigit(s[n+1]) || n == 1 && s[0] == '0' && len(s) > 2 && s[1] == 'x' && isHex(s[2]) {
		return wordLen(s)
	}
	if n+1 < len(s) && s[n] == '\'' && isDigit(s[n+1]) {
		for n < len(s) && (isDigit(s[n]) || s[n] == '\'' && n+1 < len(s) && isDigit(s[n+1])) {
			n++
		}
		return n
	}
	if n == len(s) || s[n] != '.' {
		return 0
	}
	if n+1 == len(s) || !isDigit(s[n+1]) && s[n+1] != '.' && !isLetter(s[n+1]) {
		return n + 1
	}
	dots := 0
	for n+1 < len(s) && s[n] == '.' && isDigit(s[n+1]) {
		dots++
		for n++; n < len(s) && isDigit(s[n]); n++ {
		}
	}
	if dots > 1 {
		return n
	}
	return 0
}

func isHex(c byte) bool { return isDigit(c) || c >= 'a' && c <= 'f' || c >= 'A' && c <= 'F' }

// unitLen measures a unit that stands at the start of a text, alone before a
// space or the end.
func unitLen(s string) int {
	n := 0
	for n < len(s) && (isLetter(s[n]) || isDigit(s[n]) || strings.IndexByte("/^*%", s[n]) >= 0) {
		n++
	}
	return n
}

// nextBegins says whether the line at an offset can only begin a statement: a
// declaration in column 1, or a name and a sign of assignment.
func (lx *lexing) nextBegins(at int) bool {
	rest := lx.text[at:]
	line := strings.TrimLeft(rest, " \t\r")
	n := wordLen(line)
	if n == 0 || !isLetter(line[0]) {
		return false
	}
	if word := line[:n]; isDecl[word] && len(line) == len(rest) || len(lx.open) > 0 && (word == "trim" || word == "except") {
		return true
	}
	line = strings.TrimLeft(line[n:], " \t\r")
	for _, op := range []string{"+=", "-=", "*=", "/="} {
		if strings.HasPrefix(line, op) {
			return true
		}
	}
	return strings.HasPrefix(line, "=") && !strings.HasPrefix(line, "==") && !strings.HasPrefix(line, "=<") && !strings.HasPrefix(line, "=>")
}

// braceBelow reads a block's { that stands on the line below its head.
func (lx *lexing) braceBelow() bool {
	switch meantDecl(lx.cur[0].Text) {
	case "map", "catalog", "rule", "variant", "variants", "check":
	default:
		return false
	}
	below := strings.TrimLeft(lx.text[lx.pos:], " \t\r\n")
	if !strings.HasPrefix(below, "{") {
		return false
	}
	for _, t := range lx.cur {
		if t.Text == "{" || t.Kind == String && lx.isBody {
			return false
		}
	}
	brace := len(lx.text) - len(below)
	end := lx.cur[len(lx.cur)-1].To()
	span := source.Span{File: lx.file, From: brace, To: brace + 1}
	d := lx.errs.Add("E106", span, "the `{` of a `%s` stands at the end of its line, not under it", meantDecl(lx.cur[0].Text))
	if strings.TrimSpace(lx.text[end:brace]) == "" {
		d.Suggest(source.Span{File: lx.file, From: end, To: brace + 1}, " {", "write it behind `%s`", clip(lx.cur[len(lx.cur)-1].Text))
	}
	lx.pos = brace - 1
	return true
}

// indented looks at a { inside other brackets. If its line begins with a
// declaration's word and there are too few closing braces up to the next
// declaration, a brace was forgotten before it, and a new piece begins.
func (lx *lexing) indented() {
	start := len(lx.cur)
	for start > 0 && lx.cur[start-1].Kind != Newline && lx.cur[start-1].Text != "{" {
		start--
	}
	if start == len(lx.cur) || start == 0 || !isDecl[lx.cur[start].Text] {
		return
	}
	opens, closes := len(lx.open), 0
	for i := lx.pos; i < len(lx.text); i++ {
		switch lx.text[i] {
		case '{':
			opens++
		case '}':
			closes++
		case '\n':
			if i+1 < len(lx.text) && isLetter(lx.text[i+1]) && isDecl[lx.text[i+1:i+1+wordLen(lx.text[i+1:])]] {
				i = len(lx.text)
			}
		}
	}
	if closes >= opens {
		return // it stands inside on purpose
	}
	head := append([]Token(nil), lx.cur[start:]...)
	pos := lx.pos
	lx.cur, lx.pos = lx.cur[:start], head[0].From
	lx.unclosed()
	lx.endPiece()
	for _, t := range head {
		lx.pos = t.From
		lx.emit(t.Kind, len(t.Text))
	}
	lx.pos = pos
}

// braceForgotten reads a block whose { is missing: its lines are indented.
func (lx *lexing) braceForgotten() bool {
	word := meantDecl(lx.cur[0].Text)
	switch word {
	case "map", "catalog", "rule", "variant", "variants", "check":
	default:
		return false
	}
	for i, t := range lx.cur {
		if t.Text == "{" || lx.isBody && i > 1 && (t.Text == "from" || t.Text == "like" || t.Text == "=") {
			return false
		}
	}
	for at := lx.pos + 1; ; {
		end := strings.IndexByte(lx.text[at:], '\n')
		if end < 0 {
			end = len(lx.text) - at
		}
		text := strings.TrimSpace(lx.text[at : at+end])
		if text != "" && text[0] != '#' {
			first := lx.text[at]
			if first != ' ' && first != '\t' || isDecl[text[:wordLen(text)]] || text[0] == '}' {
				return false
			}
			break
		}
		if at += end + 1; at > len(lx.text) {
			return false
		}
	}
	last := lx.cur[len(lx.cur)-1]
	behind := source.Span{File: lx.file, From: last.To(), To: last.To()}
	lx.errs.Add("E106", last.Span(lx.file), "a `{` is missing behind this").Suggest(behind, " {", "write `{` at the end of the line")
	brace := Token{Op, "{", lx.pos}
	lx.open = append(lx.open, brace)
	lx.cur = append(lx.cur, brace)
	return true
}

// unclosed reports brackets left open where a piece is cut. A body gets its
// brace, so that its rows are read.
func (lx *lexing) unclosed() {
	n := len(lx.open)
	if n == 0 {
		return
	}
	t := lx.open[n-1]
	want := "}"
	if t.Text == "(" {
		want = ")"
		lx.faults = append(lx.faults, t.From)
	}
	d := lx.errs.Add("E103", t.Span(lx.file), "this `%s` is never closed", t.Text).Hint("add the `%s` where it should end", want)
	if w := lx.wordLen(); w > 0 {
		d.Note(lx.at(w), "it is open still where the next declaration begins")
	}
	if lx.cur[len(lx.cur)-1].Kind == Body {
		lx.cur = append(lx.cur, Token{Op, "}", lx.pos - 1})
	}
	lx.open = nil
}

// unclosedParens reports parentheses that are open where a statement must end.
func (lx *lexing) unclosedParens() {
	n := len(lx.open)
	t := lx.open[n-1]
	lx.errs.Add("E103", t.Span(lx.file), "this `(` is never closed").Hint("add the `)` where it should end")
	for n > 0 && lx.open[n-1].Text == "(" {
		n--
	}
	lx.faults = append(lx.faults, t.From)
	lx.open = lx.open[:n]
}

// borrowed are words that stand elsewhere for what is declared here.
var borrowed = map[string]string{
	"import": "use", "include": "use", "require": "use", "def": "fn", "func": "fn", "function": "fn", "const": "let", "var": "let",
	"value": "let", "table": "map", "grid": "map", "input": "given", "param": "given", "parameter": "given", "condition": "given",
	"zone": "region", "area": "region", "tune": "variant", "matrix": "variants", "test": "check", "assert": "check",
	"warning": "caution", "constraint": "limit",
}

// meantDecl is the declaration word that a line's first word is, or is a
// misspelling of, or stands elsewhere for; "" if there is none.
func meantDecl(word string) string {
	low := strings.ToLower(word)
	switch {
	case isDecl[low]:
		return low
	case borrowed[low] != "":
		return borrowed[low]
	case len(low) > 2 && !keywords[low]:
		return diag.Nearest(low, declWords)
	}
	return ""
}
