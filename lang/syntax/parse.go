// Package syntax reads a source file into a tree of declarations.
//
// The lexer goes over the file once and cuts it into pieces, a declaration
// each. Every piece is parsed afresh by a participle grammar: its head first,
// then each statement of its block, so that every fault is reported and none
// hides the next. What parses becomes the public tree, with a span on
// everything; expressions stay tokens, which package formula reads. Bodies of
// maps and catalogues stay one raw token, read by hand in rows.go.
//
// In: a source.File. Out: a tree, always, and diagnostics. The only importer of
// participle; the compiler's stages and the formatter import this package.
package syntax

import (
	"errors"
	"strings"

	"github.com/alecthomas/participle/v2"
	"github.com/alecthomas/participle/v2/lexer"

	"fettle/lang/diag"
	"fettle/lang/source"
)

// Parse reads a file. Faults go to errs; the tree holds what could be read.
func Parse(f *source.File, errs *diag.List) *File {
	pieces, comments := lexFile(f, errs)
	p := &parsing{file: f, errs: errs}
	out := &File{Source: f, Comments: comments}
	docs := newDocs(f, comments)
	for _, pc := range pieces {
		d := p.decl(pc)
		if d == nil {
			continue
		}
		h := d.Header()
		h.Keyword = pc.toks[0].Text
		h.Span = source.Span{File: f, From: pc.toks[0].From, To: pc.toks[len(pc.toks)-1].To()}
		h.Doc = docs.above(pc.toks[0].From)
		if h.Keyword != "use" && h.Keyword != "check" && h.Keyword != "caution" {
			p.checkName(h.Name, "a name")
		}
		out.Decls = append(out.Decls, d)
	}
	return out
}

// ParseExpr reads one expression that stands alone, as on a command line.
func ParseExpr(f *source.File, errs *diag.List) *Expr {
	toks := lexExpr(f, errs)
	if len(toks) == 0 {
		errs.Add("E101", source.Span{File: f, From: 0, To: len(f.Text)}, "an expression is missing")
		return nil
	}
	return &Expr{Toks: toks, Span: source.Span{File: f, From: toks[0].From, To: toks[len(toks)-1].To()}}
}

type parsing struct {
	file *source.File
	errs *diag.List
}

func (p *parsing) span(from, to int) source.Span {
	return source.Span{File: p.file, From: from, To: to}
}

func tokSpan(p *parsing, t lexer.Token) source.Span {
	return p.span(t.Pos.Offset, t.Pos.Offset+len(t.Value))
}

// decl parses one piece; nil if nothing could be made of it.
func (p *parsing) decl(pc piece) Decl {
	first := pc.toks[0]
	if p.badToken(pc.toks) {
		return nil
	}
	if first.Kind != Word || !isDecl[first.Text] {
		p.notADeclaration(first)
		return nil
	}
	head, stmts, isBlock := p.cut(pc)
	end := pc.toks[len(pc.toks)-1].To()
	if isBlock && stmts == nil {
		p.errs.Add("E106", first.Span(p.file), "this `%s` has no block", first.Text).
			Hint("a `%s` is written `%s`", first.Text, forms[first.Text])
		return nil
	}
	headEnd := end
	if n := len(head); n > 0 {
		headEnd = head[n-1].To()
	}
	node := parseWith(p, headParser(), head, headEnd, first.Text)
	if node == nil {
		return nil
	}
	return p.buildHead(node, stmts)
}

// badToken reports characters that belong to no token; true if there are any.
func (p *parsing) badToken(toks []Token) bool {
	found := false
	for _, t := range toks {
		if t.Kind != Bad {
			continue
		}
		found = true
		if t.Text == "[" {
			continue // reported when it was read
		}
		d := p.errs.Add("E107", t.Span(p.file), "`%s` has no meaning here", printable(t.Text))
		if fix, ok := lookalikes[t.Text]; ok {
			d.Suggest(t.Span(p.file), fix, "write `%s`", fix)
		} else if t.Text == ";" {
			d.Hint("write each statement on a line of its own")
		}
	}
	return found
}

var lookalikes = map[string]string{
	"≤": "<=", "≥": ">=", "≠": "!=", "×": "*", "·": "*", "÷": "/", "−": "-", "–": "-", "±": "+-", "…": "..",
	"“": `"`, "”": `"`, "„": `"`, "'": `"`, "’": `"`, "°": "deg", "|": "or", "&": "and", "!": "not",
	"µ": "u", "²": "^2", "³": "^3",
}

func printable(s string) string {
	for _, r := range s {
		if r < ' ' || r == 0x7f || r == 0xfffd || r >= 0x200b && r <= 0x200f || r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069 {
			return strings.ToUpper("u+" + hex(r))
		}
	}
	return s
}

func hex(r rune) string {
	const digits = "0123456789abcdef"
	out := ""
	for i := 12; i >= 0; i -= 4 {
		out += string(digits[r>>i&15])
	}
	return out
}

func (p *parsing) notADeclaration(first Token) {
	d := p.errs.Add("E102", first.Span(p.file), "`%s` doesn't begin a declaration", first.Text)
	if near := diag.Nearest(first.Text, declWords); first.Kind == Word && near != "" {
		d.Suggest(first.Span(p.file), near, "did you mean `%s`?", near)
		return
	}
	if first.Text == "trim" || first.Text == "except" {
		d.Hint("`%s` stands inside the braces of a variant", first.Text)
		return
	}
	d.Hint("a line outside braces begins with one of: %s", strings.Join(declWords, ", "))
}

// cut separates a block's head from its statements. For a declaration without
// a block all tokens are the head.
func (p *parsing) cut(pc piece) (head []Token, stmts [][]Token, isBlock bool) {
	switch pc.toks[0].Text {
	case "rule", "variant", "variants", "check":
	default:
		return pc.toks, nil, false
	}
	open := -1
	for i, t := range pc.toks {
		if t.Kind == Op && t.Text == "{" {
			open = i
			break
		}
	}
	if open < 0 {
		return pc.toks, nil, true
	}
	head = pc.toks[:open]
	stmts = [][]Token{}
	var cur []Token
	flush := func() {
		if len(cur) > 0 {
			stmts = append(stmts, cur)
		}
		cur = nil
	}
	for i := open + 1; i < len(pc.toks); i++ {
		t := pc.toks[i]
		switch {
		case t.Kind == Newline:
			flush()
		case t.Kind == Op && t.Text == "{":
			p.errs.Add("E101", t.Span(p.file), "a `{` inside a block").Hint("blocks don't stand inside blocks: close the outer one first")
			return head, stmts, true
		case t.Kind == Op && t.Text == "}":
			flush()
			if i+1 < len(pc.toks) {
				n := pc.toks[i+1]
				p.errs.Add("E101", n.Span(p.file), "`%s` after the block's end", n.Text).Hint("a statement ends with its line: begin a new line")
			}
			return head, stmts, true
		default:
			cur = append(cur, t)
		}
	}
	flush()
	return head, stmts, true
}

// parseWith runs one participle parser over tokens and words its error.
func parseWith[T any](p *parsing, parser *participle.Parser[T], toks []Token, end int, what string) *T {
	lex, err := lexer.Upgrade(&replay{toks, end})
	if err == nil {
		var node *T
		if node, err = parser.ParseFromLexer(lex); err == nil {
			return node
		}
	}
	var perr participle.Error
	at := p.span(end, end)
	if errors.As(err, &perr) {
		off := perr.Position().Offset
		for _, t := range toks {
			if t.From == off {
				at = t.Span(p.file)
			}
		}
	}
	d := p.errs.Add("E101", at, "")
	if at.From == at.To {
		if len(toks) > 0 {
			d.Span = toks[len(toks)-1].Span(p.file)
			d.Message = "something is missing after `" + clip(d.Span.Text()) + "`"
		}
	} else {
		d.Message = "`" + clip(at.Text()) + "` doesn't fit here"
	}
	if at.Text() == "=" && (what == "limit" || what == "expectation" || what == "rule") {
		d.Suggest(at, "==", "to compare, write `==`")
	} else if form := forms[what]; form != "" {
		d.Hint("%s is written `%s`", article(what), form)
	}
	return nil
}

func clip(s string) string {
	if i := strings.IndexByte(s, '\n'); i >= 0 {
		s = s[:i]
	}
	if len(s) > 40 {
		s = s[:40] + "…"
	}
	return s
}

func article(what string) string {
	switch what[0] {
	case 'a', 'e':
		return "an " + what
	}
	return "a " + what
}

// forms shows how each declaration and statement is written.
var forms = map[string]string{
	"use":         `use air, injection`,
	"axis":        `axis NAME [unit] LOW..HIGH`,
	"given":       `given NAME [unit] = VALUE within LOW..HIGH`,
	"let":         `let NAME = VALUE`,
	"fn":          `fn NAME(PARAMETER [unit], …) = EXPRESSION`,
	"catalog":     `catalog NAME { name | column [unit] … }`,
	"map":         `map NAME [unit] to STEP { GRID }`,
	"region":      `region NAME = AXIS LOW..HIGH feather WIDTH, …`,
	"rule":        `rule NAME when CONDITION corrects GIVEN, … { MAP += AMOUNT over AXIS LOW..HIGH }`,
	"limit":       `limit NAME: MAP <= VALUE when CONDITION else warn`,
	"variant":     `variant NAME from OTHER { GIVEN = VALUE }`,
	"variants":    `variants NAME { GIVEN = VALUE, VALUE, … }`,
	"check":       `check "TITLE" with VARIANT { MAP(POINT, POINT) == VALUE +- TOLERANCE }`,
	"caution":     `caution "SENTENCE"`,
	"adjustment":  `MAP += AMOUNT over AXIS LOW..HIGH feather WIDTH where CONDITION`,
	"setting":     `GIVEN = VALUE`,
	"expectation": `MAP(POINT, POINT) == VALUE +- TOLERANCE`,
}

func (p *parsing) checkName(n Name, what string) {
	switch {
	case n.Text == "":
	case IsKeyword(n.Text):
		p.errs.Add("E108", n.Span, "`%s` is a word of the language and can't be %s", n.Text, what).
			Hint("choose another, such as `%s_1`", n.Text)
	case !IsName(n.Text):
		d := p.errs.Add("E109", n.Span, "`%s` can't be %s: names are lower case letters, digits and _", n.Text, what)
		if low := strings.ToLower(strings.TrimLeft(n.Text, "_0123456789")); IsName(low) && !IsKeyword(low) {
			d.Suggest(n.Span, low, "write `%s`", low)
		}
	}
}

// docs finds the comment lines right above a declaration.
type docs struct {
	file   *source.File
	byLine map[int]string
}

func newDocs(f *source.File, comments []Comment) docs {
	d := docs{f, map[int]string{}}
	for _, c := range comments {
		if c.Whole {
			line, _ := f.Pos(c.From)
			d.byLine[line] = strings.TrimPrefix(strings.TrimPrefix(c.Text, "#"), " ")
		}
	}
	return d
}

func (d docs) above(off int) string {
	line, _ := d.file.Pos(off)
	first := line
	for {
		if _, ok := d.byLine[first-1]; !ok {
			break
		}
		first--
	}
	var lines []string
	for l := first; l < line; l++ {
		lines = append(lines, d.byLine[l])
	}
	return strings.Join(lines, "\n")
}
