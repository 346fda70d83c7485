package merge

import (
	"strings"

	"fettle/lang/diag"
	"fettle/lang/syntax"
)

// block is what stands in braces, with its head and its end.
type block struct {
	indent   string // before the declaration
	head     string // up to the brace, which is its end
	headNote string // the comment behind the brace, with the space before it
	items    []*item
	tail     []string // comments before the closing brace
	close    string   // the closing brace, with the space before it
	note     string   // the comment behind that
	oneLine  bool
	grid     *syntax.Grid      // of a map or a curve
	table    *syntax.TableBody // of a catalogue
}

// item is a statement of a block, or a line of a table.
type item struct {
	lead []string // comments and blank lines above it
	text string   // from the start of its line
	note string   // the comment behind it, with the space before it
	from int      // where it stands in the file
	toks []syntax.Token
	norm string
	key  string
	kind string
}

// lines gives an item's own lines.
func (it *item) lines() []string { return strings.Split(it.text+it.note, "\n") }

// whole gives an item's lines with what stands above it.
func (it *item) whole() []string { return append(append([]string{}, it.lead...), it.lines()...) }

// said is what an item says together with its comments.
func (it *item) said() string {
	return strings.Join(append(inked(it.lead), it.norm, strings.TrimSpace(it.note)), "\n")
}

func (it *item) entry() entry { return entry{norm: it.norm, key: it.key, kind: it.kind} }

func (b *block) quotedHead() string { return quoted(strings.TrimSuffix(b.head, "{")) }

// stretch is a part of a text.
type stretch struct{ from, to int }

// read takes the block of a piece apart, if it has one.
func (p *piece) read(errs *diag.List) {
	open := -1
	for i, t := range p.toks {
		if t.Kind == syntax.Op && t.Text == "{" {
			open = i
			break
		}
	}
	last := len(p.toks) - 1
	if open < 0 || p.toks[last].Text != "}" {
		return
	}
	b := &block{}
	f := p.file
	var at []stretch
	var stmts [][]syntax.Token
	if p.toks[open+1].Kind == syntax.Body {
		body := p.toks[open+1]
		switch p.keyword {
		case "map", "curve":
			b.grid = syntax.ReadGrid(f, body, errs)
		case "catalog":
			b.table = syntax.ReadTable(f, body, errs)
		}
		for _, s := range syntax.BodyLines(f, body) {
			at = append(at, stretch{s.From, s.To})
		}
	} else {
		stmts = statements(p.toks[open+1 : last])
		for _, s := range stmts {
			at = append(at, stretch{s[0].From, s[len(s)-1].To()})
		}
	}
	b.cut(p, p.toks[open], p.toks[last], at)
	for i, s := range stmts {
		it := b.items[i]
		it.toks = s
		it.norm = normPiece(f, s, within(p.notes, at[i]))
		it.kind, it.key = statementKey(p.keyword, s)
	}
	p.block = b
}

// within are the comments inside a part of the text.
func within(notes []syntax.Comment, s stretch) []syntax.Comment {
	var out []syntax.Comment
	for _, c := range notes {
		if c.From >= s.from && c.From < s.to {
			out = append(out, c)
		}
	}
	return out
}

// statements parts the tokens of a block at its line ends.
func statements(toks []syntax.Token) [][]syntax.Token {
	var out [][]syntax.Token
	var cur []syntax.Token
	for _, t := range toks {
		if t.Kind != syntax.Newline {
			cur = append(cur, t)
		} else if len(cur) > 0 {
			out, cur = append(out, cur), nil
		}
	}
	if len(cur) > 0 {
		out = append(out, cur)
	}
	return out
}

// cut gives each part of a block the comments and the space around it.
func (b *block) cut(p *piece, open, close syntax.Token, at []stretch) {
	s := p.file.Text
	start := strings.LastIndexByte(s[:p.toks[0].From], '\n') + 1
	b.indent = s[start:p.toks[0].From]
	b.head = s[start:open.To()]
	b.oneLine = !strings.Contains(s[open.To():close.From], "\n")
	end := open.To()
	note := &b.headNote
	lead := func(to int) (lead []string, indent string) {
		gap := strings.Split(s[end:to], "\n")
		n := len(gap) - 1
		if n == 0 {
			return nil, b.indent + "  " // on the line of what stands before it
		}
		*note = strings.TrimRight(gap[0], " \t")
		return gap[1:n], gap[n]
	}
	for _, a := range at {
		it := &item{from: a.from}
		var indent string
		it.lead, indent = lead(a.from)
		it.text = indent + s[a.from:a.to]
		b.items = append(b.items, it)
		end, note = a.to, &it.note
	}
	var space string
	if b.tail, space = lead(close.From); b.oneLine || strings.Trim(space, " \t") != "" || !strings.Contains(s[end:close.From], "\n") {
		space = b.indent
	}
	b.close = space + close.Text
	rest := s[close.To():]
	if i := strings.IndexByte(rest, '\n'); i >= 0 {
		rest = rest[:i]
	}
	b.note = strings.TrimRight(rest, " \t")
}

// statementKey says what a statement is known by: an adjustment by its map and
// where it acts, a setting by its given, a comparison by what is compared.
func statementKey(keyword string, s []syntax.Token) (kind, key string) {
	words := func(from, to int) string { return normTokens(s[min(from, to):to]) }
	find := func(from int, signs ...string) int {
		depth := 0
		for i := from; i < len(s); i++ {
			switch t := s[i].Text; {
			case s[i].Kind != syntax.Op && s[i].Kind != syntax.Word:
			case t == "(":
				depth++
			case t == ")":
				depth--
			case depth == 0:
				for _, sign := range signs {
					if t == sign {
						return i
					}
				}
			}
		}
		return len(s)
	}
	adjustment := func(from int) (string, string) {
		over := find(from, "over")
		kind := words(0, from+1)
		return kind, kind + " " + words(over, max(over, find(over, "where")))
	}
	switch keyword {
	case "rule":
		return adjustment(0)
	case "variant", "variants":
		switch s[0].Text {
		case "trim":
			return adjustment(1)
		case "except":
			return "except", ""
		}
		return words(0, 1), words(0, 1)
	case "check":
		return "comparison", words(0, find(0, "==", "!=", "<", ">", "<=", ">="))
	}
	return "statement", words(0, find(0, "="))
}
