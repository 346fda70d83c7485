package merge

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// file is a source in pieces.
type file struct {
	header []string // the comments that belong to the file and to no declaration
	pieces []*piece
	tail   []string // what stands behind the last declaration
}

// piece is a declaration with what stands above it.
type piece struct {
	keyword string
	name    string // as messages say it
	key     string
	lead    []string // the comments and blank lines above it
	raw     []string // its own lines
	norm    string   // what it says, comments included
	body    string   // what it says apart from its name
	toks    []syntax.Token
	notes   []syntax.Comment // inside it and behind it
	file    *source.File
	decl    syntax.Decl
	block   *block // nil without braces
}

// said is what a piece says together with the comments above it.
func (p *piece) said() string {
	return strings.Join(append(inked(p.lead), p.norm), "\n")
}

// text is a piece from its first word to its last, without a comment behind it.
func (p *piece) text() string {
	return p.file.Text[p.toks[0].From:p.toks[len(p.toks)-1].To()]
}

// whole is a piece with what stands above it.
func (p *piece) whole() []string { return append(slices.Clone(p.lead), p.raw...) }

func (p *piece) entry() entry {
	e := entry{norm: p.norm, key: p.key, kind: p.keyword, body: p.body}
	switch p.keyword {
	case "variants":
		e.kind = "variant"
	case "use", "caution":
		e.body = "" // only their text tells them
	default:
		e.norm = ""
	}
	return e
}

// read takes a source apart. The error is the first of its faults.
func read(lines []string, name string) (*file, error) {
	f := source.New(name, text(lines))
	switch {
	case len(f.Text) > source.MaxFile:
		return nil, fmt.Errorf("it has over %d bytes", source.MaxFile)
	case !utf8.ValidString(f.Text):
		return nil, errors.New("it is not UTF-8 text")
	case strings.Contains(f.Text, "\r"):
		return nil, errors.New("it has a carriage return that ends no line")
	}
	errs := &diag.List{}
	tree := syntax.Parse(f, errs)
	var toks [][]syntax.Token
	if !errs.HasErrors() {
		toks, _ = syntax.Tokens(f, &diag.List{})
	}
	if err := firstError(errs); err != nil {
		return nil, err
	}
	if len(toks) != len(tree.Decls) {
		return nil, errors.New("its declarations can't be told apart")
	}
	out := &file{}
	at := 0 // the first line that belongs to no piece yet
	comments := tree.Comments
	for i, d := range tree.Decls {
		p := &piece{keyword: d.Header().Keyword, toks: toks[i], file: f, decl: d}
		from, to := toks[i][0].From, toks[i][len(toks[i])-1].To()
		first, last := source.Span{File: f, From: from}.Line()-1, source.Span{File: f, From: max(from, to-1)}.Line()-1
		if first < at {
			return nil, fmt.Errorf("two declarations share line %d", first+1)
		}
		_, end := f.LineSpan(last + 1)
		for len(comments) > 0 && comments[0].From < from {
			comments = comments[1:]
		}
		for len(comments) > 0 && comments[0].From < end {
			p.notes, comments = append(p.notes, comments[0]), comments[1:]
		}
		p.lead, p.raw = lines[at:first], lines[first:last+1]
		at = last + 1
		p.says()
		p.read(errs)
		out.pieces = append(out.pieces, p)
	}
	out.tail = lines[at:]
	if err := firstError(errs); err != nil {
		return nil, err
	}
	out.splitHeader()
	return out, nil
}

func firstError(errs *diag.List) error {
	for _, d := range errs.Sorted() {
		if d.Severity == diag.Error {
			return fmt.Errorf("line %d: %s", d.Span.Line(), d.Message)
		}
	}
	return nil
}

// splitHeader parts the comments at the top of the file from those of its
// first declaration.
func (f *file) splitHeader() {
	if len(f.pieces) == 0 {
		f.header, f.tail = f.tail, nil
		return
	}
	p := f.pieces[0]
	n := len(p.lead)
	if p.keyword != "use" {
		for n > 0 && strings.TrimSpace(p.lead[n-1]) != "" {
			n--
		}
	}
	for n > 0 && strings.TrimSpace(p.lead[n-1]) == "" {
		n-- // the blank lines stay with what is below them
	}
	f.header, p.lead = p.lead[:n], p.lead[n:]
}

// says sets what a piece is known by and what it says.
func (p *piece) says() {
	h := p.decl.Header()
	switch p.keyword {
	case "use":
		p.name, p.key = normTokens(p.toks), ""
	case "caution":
		p.name = normTokens(p.toks)
	case "review":
		p.name, p.key = "review", "review"
	case "check":
		p.name, p.key = p.keyword+" "+strconv.Quote(h.Name.Text), "check "+h.Name.Text
	default:
		p.name, p.key = p.keyword+" "+h.Name.Text, h.Name.Text
	}
	p.norm = normPiece(p.file, p.toks, p.notes)
	if len(p.toks) > 2 {
		p.body = normPiece(p.file, p.toks[2:], p.notes)
	}
}

// normPiece is what tokens and the comments among them say: a line each for the
// statements and for the lines of a table.
func normPiece(f *source.File, toks []syntax.Token, notes []syntax.Comment) string {
	type part struct {
		from int
		text string
	}
	var parts []part
	for _, t := range toks {
		switch t.Kind {
		case syntax.Body:
			for _, s := range syntax.BodyLines(f, t) {
				parts = append(parts, part{s.From, "\n" + normLine(s)})
			}
		case syntax.Newline:
			parts = append(parts, part{t.From, "\n"})
		default:
			parts = append(parts, part{t.From, normToken(t)})
		}
	}
	for _, c := range notes {
		parts = append(parts, part{c.From, c.Text + "\n"})
	}
	slices.SortStableFunc(parts, func(a, b part) int { return a.from - b.from })
	var b strings.Builder
	for i, p := range parts {
		if i > 0 && !strings.HasPrefix(p.text, "\n") && !strings.HasSuffix(b.String(), "\n") {
			b.WriteByte(' ')
		}
		b.WriteString(p.text)
	}
	lines := inked(strings.Split(b.String(), "\n"))
	return strings.Join(lines, "\n")
}

// normLine is what a line of a table says.
func normLine(s source.Span) string {
	var out []string
	for _, c := range syntax.SplitBars(s) {
		fields := strings.Fields(c.Text())
		for i, w := range fields {
			fields[i] = normNumber(w)
		}
		out = append(out, strings.Join(fields, " "))
	}
	return strings.Join(out, " | ")
}

func normTokens(toks []syntax.Token) string {
	var out []string
	for _, t := range toks {
		if t.Kind != syntax.Newline {
			out = append(out, normToken(t))
		}
	}
	return strings.Join(out, " ")
}

func normToken(t syntax.Token) string {
	switch t.Kind {
	case syntax.Number:
		return normNumber(t.Text)
	case syntax.Unit:
		return "[" + strings.Join(strings.Fields(t.Text[1:len(t.Text)-1]), " ") + "]"
	}
	return t.Text
}

// normNumber writes numbers that are equal in one way; other texts stay.
func normNumber(s string) string {
	v, ok := syntax.Float(s)
	switch {
	case !ok:
		return s
	case v == 0:
		return "0" // and not -0
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}
