package git

import (
	"errors"
	"strings"
)

// The lines that setup owns in a .gitattributes stand between two comments. All
// else in the file is someone else's, and is kept byte for byte.
const (
	firstMark = "# fettle git setup: begin; these lines are made anew by each setup"
	gluedMark = firstMark + " (a line end was added above)"
	lastMark  = "# fettle git setup: end"
)

// errMarks says that the marks don't come in pairs, so that nobody can tell
// whose the lines between them are.
var errMarks = errors.New("its marks `# fettle git setup: begin` and `end` don't come in pairs: take them out by hand with the lines between them, and set up again")

// block is the place of our lines in a text, marks included.
type block struct {
	from, to int
	lines    []string
	glued    bool // the file ended without a line end, and setup put one in
}

// blocks finds our lines in a text.
func blocks(text string) ([]block, error) {
	var out []block
	open := false
	for at := 0; at < len(text); {
		end := len(text)
		if i := strings.IndexByte(text[at:], '\n'); i >= 0 {
			end = at + i + 1
		}
		line := text[at:end]
		if at == 0 {
			line = strings.TrimPrefix(line, "\ufeff")
		}
		switch line = strings.TrimRight(line, " \t\r\n"); {
		case line == firstMark || line == gluedMark:
			if open {
				return nil, errMarks
			}
			open = true
			out = append(out, block{from: end - len(strings.TrimPrefix(text[at:end], "\ufeff")), glued: line == gluedMark})
		case line == lastMark:
			if !open {
				return nil, errMarks
			}
			open = false
			out[len(out)-1].to = end
		case open:
			out[len(out)-1].lines = append(out[len(out)-1].lines, line)
		}
		at = end
	}
	if open {
		return nil, errMarks
	}
	return out, nil
}

// setLines puts our lines in a text of attributes, in the place of those that
// are there, or at its end, where they outweigh what stands above. Without lines
// it takes out what is there. A text whose lines are ours already stays as it
// is.
func setLines(text string, lines []string) (string, error) {
	old, err := blocks(text)
	if err != nil {
		return text, err
	}
	if len(old) == 1 && len(lines) > 0 && strings.Join(old[0].lines, "\n") == strings.Join(lines, "\n") {
		return text, nil
	}
	eol := "\n"
	if i := strings.IndexByte(text, '\n'); i > 0 && text[i-1] == '\r' {
		eol = "\r\n"
	}
	ours := func(mark string) string {
		return strings.Join(append(append([]string{mark}, lines...), lastMark), eol) + eol
	}
	var b strings.Builder
	at := 0
	for i, o := range old {
		before := text[at:o.from]
		at = o.to
		if i == 0 && len(lines) > 0 {
			mark := firstMark
			if o.glued {
				mark = gluedMark
			}
			b.WriteString(before + ours(mark))
			continue
		}
		if o.glued && endsWith(text, old[i:]) { // what we added goes too, unless something follows now
			before = strings.TrimSuffix(before, "\n")
			if strings.HasSuffix(text[:o.to], "\r\n") {
				before = strings.TrimSuffix(before, "\r")
			}
		}
		b.WriteString(before)
	}
	b.WriteString(text[at:])
	if len(old) == 0 && len(lines) > 0 {
		mark := firstMark
		if bare := strings.TrimPrefix(text, "\ufeff"); bare != "" && !strings.HasSuffix(text, "\n") {
			b.WriteString(eol)
			mark = gluedMark
		}
		b.WriteString(ours(mark))
	}
	return b.String(), nil
}

// endsWith says whether nothing but some blocks stands at the end of a text.
func endsWith(text string, blocks []block) bool {
	at := blocks[0].from
	for _, b := range blocks {
		if b.from != at {
			return false
		}
		at = b.to
	}
	return at == len(text)
}

// Pattern is the pattern of a .gitattributes that matches one file alone, by its
// name from the folder of the .gitattributes.
func Pattern(name string) string {
	var p strings.Builder
	p.WriteByte('/')
	for i := range len(name) {
		if strings.IndexByte(`*?[\`, name[i]) >= 0 {
			p.WriteByte('\\')
		}
		p.WriteByte(name[i])
	}
	plain := p.String()
	odd := func(c rune) bool { return c <= ' ' || c == '"' || c == 0x7f }
	if strings.IndexFunc(plain, odd) < 0 {
		return plain
	}
	// In quotes, as in C.
	var q strings.Builder
	q.WriteByte('"')
	for i := range len(plain) {
		switch c := plain[i]; {
		case c == '"' || c == '\\':
			q.WriteByte('\\')
			q.WriteByte(c)
		case c < ' ' || c == 0x7f:
			q.WriteByte('\\')
			q.WriteByte('0' + c>>6)
			q.WriteByte('0' + c>>3&7)
			q.WriteByte('0' + c&7)
		default:
			q.WriteByte(c)
		}
	}
	q.WriteByte('"')
	return q.String()
}
