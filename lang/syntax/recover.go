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
	case strings.HasPrefix(rest, "//"), strings.HasPrefix(rest, "/*"), strings.HasPrefix(rest, "--") && lx.inFile && (len(lx.cur) == 0 || lx.cur[len(lx.cur)-1].Kind == Newline && !lx.isCheck):
		lx.foreignComment(rest)
	case strings.HasPrefix(rest, "..."):
		n := len(rest) - len(strings.TrimLeft(rest, "."))
		lx.errs.Add("E107", lx.at(n), "a range has two dots").Suggest(lx.at(n), "..", "write `..`")
		lx.cur = append(lx.cur, Token{Op, "..", lx.pos})
		lx.pos += n
	case c < ' ' && c != '\t' && c != '\r' && c != '\n', c == 0x7f:
		lx.oddSpace(rune(c), 1)
	case c == '.' && len(rest) > 1 && isDigit(rest[1]) && !lx.afterValue():
		lx.emit(Number, 1+wordLen(rest[1:]))
	case lx.isReview && (strings.HasPrefix(rest, "±") || strings.HasPrefix(rest, "+-") || strings.HasPrefix(rest, "+/-")):
		lx.bothWays(rest)
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

// bothWays reads the sign of a tolerance in a review, where an amount goes both
// ways without one.
func (lx *lexing) bothWays(rest string) {
	n := 2
	if strings.HasPrefix(rest, "+/-") {
		n = 3
	}
	d := lx.errs.Add("E107", lx.at(n), "what is allowed goes both ways by itself")
	if last := len(lx.cur) - 1; lx.cur[last].Text == "=" {
		d.Suggest(lx.at(n), "", "leave it out")
	} else {
		d.Suggest(lx.at(n), "=", "write `=`")
		lx.cur = append(lx.cur, Token{Op, "=", lx.pos})
	}
	lx.pos += n
}

// foreignComment passes over a comment of another language.
func (lx *lexing) foreignComment(rest string) {
	d := lx.errs.Add("E107", lx.at(2), "a comment begins with `#`")
	end := "\n"
	if rest[1] == '*' {
		d.Hint("it ends with its line")
		end = "*/"
	} else {
		d.Suggest(lx.at(2), "#", "write `#`")
	}
	n := strings.Index(rest[2:], end)
	switch {
	case n < 0:
		lx.pos = len(lx.text)
	case end == "\n":
		lx.pos += 2 + n
	default:
		lx.pos += 2 + n + len(end)
	}
}

// afterValue says whether a name or number ends right before here.
func (lx *lexing) afterValue() bool {
	if lx.pos == 0 {
		return false
	}
	c := lx.text[lx.pos-1]
	return isLetter(c) || isDigit(c) || c == ')' || c == ']' || c == '.'
}

// semicolon reads the end of a statement, or a separator of values; several in
// a row count once.
func (lx *lexing) semicolon() {
	rest := lx.text[lx.pos:]
	after := strings.TrimLeft(rest, " \t\r;")
	n := len(strings.TrimRight(rest[:len(rest)-len(after)], " \t\r"))
	at := lx.at(n)
	d := lx.errs.Add("E107", at, "`;` has no meaning here")
	switch {
	case after == "" || after[0] == '\n' || after[0] == '#' || after[0] == '}':
		d.Suggest(at, "", "leave it out: a statement ends with its line")
	case !lx.inParens() && isLetter(after[0]):
		d.Suggest(at, "\n", "write each statement on a line of its own")
		if len(lx.open) == 0 {
			lx.pos += n
			lx.endPiece()
			return
		}
		lx.cur = append(lx.cur, Token{Newline, "\n", lx.pos})
	default:
		d.Suggest(at, ",", "values are parted by `,`")
		lx.cur = append(lx.cur, Token{Op, ",", lx.pos})
	}
	lx.pos += n
}

// quotes are the signs that word processors put around a text.
const quotes = "“”„‟‘’‚‛«»‹›'"

// quoted reads a text in printer's quotes or single ones; false if it has no
// end on its line.
func (lx *lexing) quoted() bool {
	rest := lx.text[lx.pos:]
	_, open := utf8.DecodeRuneInString(rest)
	closing := quotes
	if rest[:open] != "'" && rest[:open] != "‘" && rest[:open] != "‚" {
		closing = strings.NewReplacer("'", "", "’", "", "‘", "").Replace(quotes) // apostrophes
	}
	end := strings.IndexAny(rest[open:], closing+"\"\n")
	if end < 0 || rest[open+end] == '\n' {
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
	if replace == "" {
		lx.tears(n)
	}
	lx.pos += n
}

// tears spoils the statement if what is passed over here stands inside a word.
func (lx *lexing) tears(n int) {
	if lx.pos == 0 || lx.pos+n >= len(lx.text) || len(lx.cur) == 0 {
		return
	}
	if a, b := lx.text[lx.pos-1], lx.text[lx.pos+n]; (isLetter(a) || isDigit(a)) && (isLetter(b) || isDigit(b)) {
		lx.faults = append(lx.faults, lx.pos)
	}
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

// ahead counts the braces from one place to another, that of the next
// declaration. It is kept, since many questions are asked from place to place.
type ahead struct {
	from, to      int
	opens, closes int
}

func (a *ahead) add(c byte, n int) {
	switch c {
	case '{':
		a.opens += n
	case '}':
		a.closes += n
	}
}

// bracesAhead counts the braces from here up to the next declaration.
func (lx *lexing) bracesAhead() (opens, closes int) {
	a := &lx.ahead
	if lx.pos < a.from || lx.pos >= a.to {
		*a = ahead{from: lx.pos, to: lx.pos}
		for ; a.to < len(lx.text); a.to++ {
			if a.to > lx.pos && lx.text[a.to-1] == '\n' && isLetter(lx.text[a.to]) && isDecl[lx.text[a.to:a.to+wordLen(lx.text[a.to:])]] {
				break
			}
			a.add(lx.text[a.to], 1)
		}
	}
	for ; a.from < lx.pos; a.from++ {
		a.add(lx.text[a.from], -1)
	}
	return a.opens, a.closes
}

// borrowed are words that stand elsewhere for what is declared here.
var borrowed = map[string]string{
	"import": "use", "include": "use", "require": "use", "def": "fn", "func": "fn", "function": "fn", "const": "let", "var": "let",
	"value": "let", "table": "map", "grid": "map", "input": "given", "param": "given", "parameter": "given", "condition": "given",
	"zone": "region", "area": "region", "tune": "variant", "matrix": "variants", "test": "check", "assert": "check",
	"warning": "caution", "constraint": "limit", "policy": "review", "controller": "target", "ecu": "target", "slots": "bundle", "switch": "bundle",
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
