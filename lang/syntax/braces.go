package syntax

import (
	"strings"

	"fettle/lang/source"
)

// What the lexer makes of brackets that are missing, or stand on another line
// than they should: as much as can be is read as if they stood right.

// nextBegins says whether the line at an offset can only begin a statement: a
// declaration in column 1, or a name and a sign of assignment.
func (lx *lexing) nextBegins(at int) bool {
	rest := lx.text[at:]
	line := strings.TrimLeft(rest, " \t\r")
	n := wordLen(line)
	if n == 0 || !isLetter(line[0]) {
		return lx.isBundle && len(lx.open) > 0 && slotLine(line)
	}
	if word := line[:n]; isDecl[word] && len(line) == len(rest) || len(lx.open) > 0 && (word == "trim" || word == "except" || word == "allow" && lx.isReview || lx.isTarget && lx.targetLine(line, word) || lx.isBundle && (word == "differs" || word == "jump")) {
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

// targetLine says whether a line begins as one of a target does, and can't be a
// list's next breakpoint.
func (lx *lexing) targetLine(line, word string) bool {
	rest := strings.TrimLeft(line[len(word):], " \t")
	return (word == "table" || word == "compensates" || word == "bytes") && rest != "" && isLetter(rest[0])
}

// slotLine says whether a line begins as a slot of a bundle does: `2 = `.
func slotLine(line string) bool {
	rest := strings.TrimLeft(line, "0123456789")
	return len(rest) < len(line) && strings.HasPrefix(strings.TrimLeft(rest, " \t"), "=")
}

// afterSlot says whether the `=` that was just read stands behind the number of a
// slot, so that a tune's name comes next.
func (lx *lexing) afterSlot() bool {
	n := len(lx.cur)
	return n > 2 && lx.cur[n-2].Kind == Number && (lx.cur[n-3].Kind == Newline || lx.cur[n-3].Text == "{")
}

// braceBelow reads a block's { that stands on the line below its head.
func (lx *lexing) braceBelow() bool {
	switch meantDecl(lx.cur[0].Text) {
	case "map", "catalog", "curve", "rule", "variant", "variants", "check", "review", "target", "bundle":
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
	if opens, closes := lx.bracesAhead(); closes >= len(lx.open)+opens {
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

// clauses are the words that may begin a line only by mistake, by the
// declaration in whose head or block they do.
var clauses = map[string]map[string]bool{
	"rule":     set("over", "where", "feather", "and", "or"),
	"variant":  set("over", "where", "feather", "and", "or"),
	"variants": set("over", "where", "feather", "and", "or"),
	"check":    set("and", "or"),
	"limit":    set("when", "where", "else", "and", "or"),
	"given":    set("within", "from"),
	"region":   set("feather"),
	"target":   set("as", "step", "offset", "at", "by"),
	"let":      set("and", "or", "then", "else"),
	"fn":       set("and", "or", "then", "else"),
}

// clauseBelow reads a line that begins with a clause or an operator as the end of
// the line above: one that is indented, or stands in a block, where the layout
// indents it.
func (lx *lexing) clauseBelow() bool {
	rest := lx.text[lx.pos+1:]
	line := strings.TrimLeft(rest, " \t")
	if len(line) == len(rest) && len(lx.open) == 0 || line == "" || len(lx.cur) == 0 || lx.cur[0].Kind != Word {
		return false
	}
	kind, word := meantDecl(lx.cur[0].Text), line[:wordLen(line)]
	last := lx.cur[len(lx.cur)-1]
	switch {
	case last.Text == "{" || last.Kind == Newline:
		return false
	case len(lx.open) == 0 && kind == "rule" && (word == "when" || word == "corrects" || word == "and" || word == "or"):
	case len(lx.open) == 0 && kind == "check" && word == "with", len(lx.open) == 0 && (kind == "variant" || kind == "variants") && word == "from":
	case clauses[kind][word] && (len(lx.open) > 0 || kind != "rule" && kind != "variant" && kind != "variants" && kind != "check"):
	case word == "" && strings.IndexByte("<>", line[0]) >= 0, word == "" && strings.IndexByte("*/^+", line[0]) >= 0 && !(len(line) > 1 && strings.IndexByte("=/*", line[1]) >= 0):
		word = line[:1]
	default:
		return false
	}
	at := source.Span{File: lx.file, From: len(lx.text) - len(line), To: len(lx.text) - len(line) + len(word)}
	d := lx.errs.Add("E101", at, "a statement ends with its line, and `%s` can't begin the next", word).
		Hint("a line goes on after an operator or a comma, and inside parentheses")
	if strings.TrimSpace(lx.text[last.To():at.From]) == "" {
		d.Suggest(source.Span{File: lx.file, From: last.To(), To: at.From}, " ", "write it on the line above")
	}
	return true
}

// braceForgotten reads a block whose { is missing: its lines are indented.
func (lx *lexing) braceForgotten() bool {
	word := meantDecl(lx.cur[0].Text)
	switch word {
	case "map", "catalog", "curve", "rule", "variant", "variants", "check", "review", "target", "bundle":
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
	lx.isCut = true
	if lx.text[t.From] != t.Text[0] { // one that was forgotten, and reported
		lx.closeBody()
		return
	}
	d := lx.errs.Add("E103", t.Span(lx.file), "this `%s` is never closed", t.Text).Hint("add the `%s` where it should end", want)
	if w := lx.wordLen(); w > 0 {
		d.Note(lx.at(w), "it is open still where the next declaration begins")
	}
	lx.closeBody()
}

// closeBody gives up all open brackets; a body gets its brace.
func (lx *lexing) closeBody() {
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
