// Package syntax reads a source file into a tree of declarations.
//
// The lexer goes over the file once and cuts it into pieces, a declaration
// each. Every piece is parsed afresh by a participle grammar: its head first,
// then each statement of its block, so that every fault is reported and none
// hides the next. Participle is slow, so what is written as it should be is read
// by hand into the grammar's nodes (read.go), and the grammar is asked about the
// rest. What parses becomes the public tree, with a span on everything; expressions stay tokens, which package formula reads. Bodies of
// maps and catalogues stay one raw token, read by hand in rows.go.
//
// In: a source.File. Out: a tree, always, and diagnostics. The only importer of
// participle; the compiler's stages and the formatter import this package.
package syntax

import (
	"errors"
	"slices"
	"strings"

	"github.com/alecthomas/participle/v2"
	"github.com/alecthomas/participle/v2/lexer"

	"fettle/lang/diag"
	"fettle/lang/source"
)

// Parse reads a file. Faults go to errs; the tree holds what could be read.
func Parse(f *source.File, errs *diag.List) *File {
	if Conflicts(f, errs) {
		return outsideConflicts(f)
	}
	return ParseAsItStands(f, errs)
}

// ParseAsItStands reads a file as Parse does, but for the markers of a merge's
// conflicts, which are lines like any other to it: for showing a text, not for
// computing with it.
func ParseAsItStands(f *source.File, errs *diag.List) *File {
	pieces, comments, whole := lexFile(f, errs)
	p := &parsing{file: f, errs: errs}
	out := &File{Source: f, Comments: comments, Partial: !whole}
	for _, pc := range pieces {
		out.Words += len(pc.toks)
	}
	docs := newDocs(f, comments)
	for _, pc := range pieces {
		d := p.decl(pc)
		if d == nil {
			continue
		}
		h := d.Header()
		if _, broken := d.(*Broken); broken && h.Name.Text == "" {
			switch meantDecl(pc.toks[0].Text) {
			case "rule", "limit", "check", "review", "target", "bundle", "caution": // nobody asks for these
			default:
				out.Partial = true
			}
			continue
		}
		h.Keyword = meantDecl(pc.toks[0].Text)
		h.Span = source.Span{File: f, From: pc.toks[0].From, To: pc.toks[len(pc.toks)-1].To()}
		h.Doc = docs.above(pc.toks[0].From)
		if t, ok := d.(*Target); ok {
			for _, one := range t.Tables {
				one.Doc = docs.above(one.Span.From)
			}
		}
		if _, broken := d.(*Broken); !broken && h.Keyword != "use" && h.Keyword != "check" && h.Keyword != "caution" {
			p.checkName(h.Name, "a name")
		}
		out.Decls = append(out.Decls, d)
	}
	out.Partial = out.Partial || p.lost
	return out
}

// ParseExpr reads one expression that stands alone, as on a command line.
func ParseExpr(f *source.File, errs *diag.List) *Expr {
	told := errs.Len()
	toks := lexExpr(f, errs)
	if len(toks) == 0 && errs.Len() > told {
		return nil
	}
	if len(toks) == 0 {
		errs.Add("E101", source.Span{File: f, From: 0, To: len(f.Text)}, "an expression is missing")
		return nil
	}
	if p := (&parsing{file: f, errs: errs}); p.badToken(toks) {
		return nil
	}
	return &Expr{Toks: toks, Span: source.Span{File: f, From: toks[0].From, To: toks[len(toks)-1].To()}}
}

type parsing struct {
	file *source.File
	errs *diag.List
	lost bool // the name of a declaration can't be told
}

func (p *parsing) span(from, to int) source.Span {
	return source.Span{File: p.file, From: from, To: to}
}

func tokSpan(p *parsing, t lexer.Token) source.Span {
	return p.span(t.Pos.Offset, t.Pos.Offset+len(t.Value))
}

// decl parses one piece; nil if it doesn't even have a name.
func (p *parsing) decl(pc piece) Decl {
	first := pc.toks[0]
	word := meantDecl(first.Text)
	bare := len(pc.toks) > 1 && pc.toks[1].Kind == Op && pc.toks[1].Text != "{" // `value = 3` begins with a name
	if first.Kind != Word || word == "" || word != first.Text && bare {
		if !p.badToken(pc.toks[:1]) && !p.spoiled(pc, pc.toks[:1]) {
			p.notADeclaration(pc.toks)
		}
		return p.nameOf(pc.toks)
	}
	if word != first.Text {
		d := p.errs.Add("E102", first.Span(p.file), "`%s` doesn't begin a declaration", clip(first.Text)).
			Suggest(first.Span(p.file), word, "did you mean `%s`?", word)
		if borrowed[strings.ToLower(first.Text)] == word {
			d.Suggest(first.Span(p.file), word, "here the word is `%s`", word)
		}
		pc.toks = append([]Token{{Word, word, first.From}}, pc.toks[1:]...)
	}
	head, stmts, isBlock, partial := p.cut(pc)
	if p.badToken(head) || p.spoiled(pc, head) {
		for _, s := range stmts {
			p.badToken(s)
		}
		return p.broken(pc)
	}
	end := pc.toks[len(pc.toks)-1].To()
	if isBlock && stmts == nil {
		d := p.errs.Add("E106", first.Span(p.file), "this `%s` has no block", word).
			Hint("%s is written `%s`", article(word), forms[word])
		if word == "variant" {
			d.Suggest(p.span(end, end), " { }", "write `{ }` behind it if every given stays at its default")
		}
		return p.broken(pc)
	}
	headEnd := end
	if n := len(head); n > 0 {
		headEnd = head[n-1].To()
	}
	if p.misplacedUnit(head) {
		return p.broken(pc)
	}
	node := parseWith(p, (*reader).head, headParser, head, headEnd, word)
	if node == nil {
		return p.broken(pc)
	}
	kept := stmts[:0]
	for _, s := range stmts {
		if !p.badToken(s) && !p.spoiled(pc, s) {
			kept = append(kept, s)
		}
	}
	return p.buildHead(node, kept, partial || len(kept) < len(stmts))
}

// nameOf keeps the name that a line without its declaration's word seems to
// declare: the first word, or the second if two stand there.
func (p *parsing) nameOf(toks []Token) Decl {
	if toks[0].Kind != Word || keywords[toks[0].Text] {
		return nil
	}
	if len(toks) == 1 || toks[1].Text == "," {
		return &Broken{} // it may be a list of what is used
	}
	name := toks[0]
	switch next := toks[1]; {
	case next.Kind == Word && !keywords[next.Text]:
		name = next
	case next.Kind == Unit, next.Kind == Number, next.Text == "=", next.Text == "(", next.Text == "{", next.Text == "from":
	default:
		return nil
	}
	return &Broken{Head{Name: Name{name.Text, name.Span(p.file)}}}
}

// broken keeps the name of a declaration that can't be read.
func (p *parsing) broken(pc piece) Decl {
	b := &Broken{}
	if pc.toks[0].Text == "review" {
		return b // it has no name
	}
	p.lost = p.lost || p.nameInDoubt(pc)
	if len(pc.toks) > 1 && pc.toks[1].Kind == Word && pc.toks[0].Text != "use" && !keywords[pc.toks[1].Text] {
		b.Name = Name{pc.toks[1].Text, pc.toks[1].Span(p.file)}
	}
	return b
}

// nameInDoubt says whether a declaration may be meant to have another name than
// the word that stands for it.
func (p *parsing) nameInDoubt(pc piece) bool {
	if len(pc.toks) < 3 {
		return false
	}
	name, next := pc.toks[1], pc.toks[2]
	return keywords[name.Text] || next.Kind == Bad || next.Text == "-" || next.Kind == Word && !keywords[next.Text] || p.spoiled(pc, pc.toks[1:2])
}

// spoiled says whether a fault that the lexer reported stands among tokens.
func (p *parsing) spoiled(pc piece, toks []Token) bool {
	if len(toks) == 0 {
		return false
	}
	i, _ := slices.BinarySearch(pc.faults, toks[0].From)
	return i < len(pc.faults) && pc.faults[i] <= toks[len(toks)-1].To()
}

// cut separates a block's head from its statements. For a declaration without
// a block all tokens are the head; partial says that a statement was left out.
func (p *parsing) cut(pc piece) (head []Token, stmts [][]Token, isBlock, partial bool) {
	switch pc.toks[0].Text {
	case "rule", "variant", "variants", "check", "review", "target", "bundle":
	default:
		return pc.toks, nil, false, false
	}
	open := -1
	for i, t := range pc.toks {
		if t.Kind == Op && t.Text == "{" {
			open = i
			break
		}
	}
	if open < 0 {
		return pc.toks, nil, true, false
	}
	head = pc.toks[:open]
	stmts = [][]Token{}
	from := open + 1 // where the statement begins
	flush := func(to int) {
		if to > from {
			stmts = append(stmts, pc.toks[from:to:to])
		}
		from = to + 1
	}
	for i := from; i < len(pc.toks); i++ {
		t := pc.toks[i]
		switch {
		case t.Kind == Newline:
			flush(i)
		case t.Kind == Op && t.Text == "{":
			if !pc.cut {
				p.innerBlock(pc.toks[0].Text, pc.toks[from:i], t)
			}
			partial = true
			for depth := 1; depth > 0 && i+1 < len(pc.toks); {
				switch i++; pc.toks[i].Text {
				case "{":
					depth++
				case "}":
					depth--
				}
			}
			from = i + 1
		case t.Kind == Op && t.Text == "}":
			flush(i)
			if i+1 < len(pc.toks) {
				n := pc.toks[i+1]
				p.errs.Add("E101", n.Span(p.file), "`%s` stands behind the end of the block", clip(n.Text)).
					Suggest(p.span(t.To(), n.From), "\n", "begin a new line before it")
			}
			return head, stmts, true, partial
		}
	}
	flush(len(pc.toks))
	return head, stmts, true, partial
}

// parseWith parses tokens: by hand, and where that finds a fault by participle,
// which says where it is.
func parseWith[T any](p *parsing, read func(*reader) *T, parser func() *participle.Parser[T], toks []Token, end int, what string) *T {
	if node := byHand(read, toks); node != nil {
		return node
	}
	lex, err := lexer.Upgrade(&replay{toks, end})
	if err == nil {
		var node *T
		if node, err = parser().ParseFromLexer(lex); err == nil {
			return node
		}
	}
	var perr participle.Error
	i := len(toks)
	if errors.As(err, &perr) {
		for k, t := range toks {
			if t.From == perr.Position().Offset {
				i = k
				break
			}
		}
	}
	p.explain(toks, i, what)
	return nil
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
			line := source.Span{File: f, From: c.From}.Line()
			d.byLine[line] = strings.TrimPrefix(strings.TrimPrefix(c.Text, "#"), " ")
		}
	}
	return d
}

func (d docs) above(off int) string {
	line := source.Span{File: d.file, From: off}.Line()
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
