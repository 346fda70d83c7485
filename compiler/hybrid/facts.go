package hybrid

import (
	"slices"
	"strings"

	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// facts are what a declaration's text says, by where it stands, so that a copy
// of a declaration has its facts.
type facts map[source.Span]*fact

type fact struct {
	normal   string   // without what means nothing: comments, blanks, line ends that part nothing
	nameless string   // and without its own name
	reads    []string // words that may name other declarations
	parts    []string // names with the word after their dot: "fuels.e10"
}

// take reads a declaration's text.
func (f facts) take(d syntax.Decl) {
	head := d.Header()
	one := textFact(head.Span.Text())
	switch d := d.(type) {
	case *syntax.Catalog, *syntax.Curve: // they hold numbers, and a curve's head is a name of its own
		one.reads = nil
	case *syntax.Fn: // a parameter is nothing else's name
		own := map[string]bool{}
		for _, p := range d.Params {
			own[p.Name.Text] = true
		}
		var reads []string
		for _, r := range one.reads {
			if !own[r] {
				reads = append(reads, r)
			}
		}
		one.reads = reads
	}
	f[head.Span] = one
}

// of gives what was taken; what hybrids made up, such as a catalogue of the rows
// of both sides, reads nothing.
func (f facts) of(d syntax.Decl) *fact {
	if one := f[d.Header().Span]; one != nil {
		return one
	}
	return &fact{}
}

// textFact reads the text of a declaration.
func textFact(text string) *fact {
	f := source.New("", text)
	pieces, _ := syntax.Tokens(f, &diag.List{})
	out := &fact{}
	var words []string
	var before syntax.Token
	read := func(t syntax.Token) {
		dot := before.Kind == syntax.Op && before.Text == "."
		switch {
		case t.Kind == syntax.Word && dot && len(out.reads) > 0:
			out.parts = append(out.parts, out.reads[len(out.reads)-1]+"."+t.Text)
		case t.Kind == syntax.Word && !dot && before.Kind != syntax.Number && !syntax.IsKeyword(t.Text), t.Kind == syntax.Path:
			out.reads = append(out.reads, t.Text)
		}
		before = t
	}
	for _, p := range pieces {
		for _, t := range p {
			switch {
			case t.Kind == syntax.Body:
				for i, line := range syntax.BodyLines(f, t) {
					if i == 0 { // the axes of a grid
						out.reads = append(out.reads, wordsOf(line.Text())...)
					}
					words = append(words, strings.Join(strings.Fields(line.Text()), " "), "\n")
				}
			case t.Kind == syntax.Newline:
				if n := len(words); n > 0 && words[n-1] != "\n" {
					words = append(words, "\n")
				}
			case t.Kind != syntax.EOF:
				words = append(words, t.Text)
			}
			read(t)
		}
	}
	for len(words) > 0 && words[len(words)-1] == "\n" {
		words = words[:len(words)-1]
	}
	out.normal = strings.Join(words, " ")
	if len(words) > 1 {
		out.nameless = words[0] + " " + strings.Join(words[2:], " ")
	}
	return out
}

// wordsOf lists what can be names in a text.
func wordsOf(text string) []string {
	words := strings.FieldsFunc(text, func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r == '_')
	})
	return slices.DeleteFunc(words, func(w string) bool { return !syntax.IsName(w) })
}
