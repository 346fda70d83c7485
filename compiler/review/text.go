package review

import (
	"io"
	"strings"
	"unicode/utf8"

	"fettle/compiler/diff"
	"fettle/lang/diag"
)

// TextOptions says how a review is written for a terminal.
type TextOptions struct {
	diff.TextOptions      // Cells: every cell of every tune
	Source           bool // with the differences of the text
	Tunes            int  // groups whose tables are printed; 0 for three
}

const (
	defaultWidth = 120
	defaultTunes = 3
)

// Text writes a review for a terminal. What a reader must not miss stands on the
// first screen: the verdict, what may be unsafe, which tunes change alike and by
// what. Below it stand limits, tables, what changed in the source, and last the
// command that explains the worst cell. A pair of tunes of one text, or of
// tables, is written as diff writes it, with what may be unsafe put in.
func (r *Review) Text(w io.Writer, opt TextOptions) error {
	if opt.Width <= 0 {
		opt.Width = defaultWidth
	}
	if opt.Tunes <= 0 {
		opt.Tunes = defaultTunes
	}
	t := &textWriter{r: r, opt: opt}
	if r.plainPair() {
		t.pair()
	} else {
		t.all()
	}
	_, err := io.WriteString(w, t.b.String())
	return err
}

// plainPair says whether nothing but two tunes or tables is compared: their
// names say all of what is compared.
func (r *Review) plainPair() bool {
	if r.Only == nil || r.Only.Pair == nil || len(r.Renamed) > 0 {
		return false
	}
	return r.oneText() || r.Verdict == TablesOnly && len(r.Sources) == 0
}

// pair writes two tunes.
func (t *textWriter) pair() {
	p := t.r.Only.shown().Text(t.opt.TextOptions)
	t.block(p.Head)
	t.alarms()
	t.notes()
	t.block(p.Body)
	t.hidden()
	t.limits()
	t.source()
	t.cautions(t.why())
}

// all writes many tunes.
func (t *textWriter) all() {
	for _, p := range t.r.headline() {
		t.wrap("", 0, p)
	}
	if !t.alarms() {
		if p := t.r.allClear(); p != nil {
			t.section()
			t.wrap("", 0, p)
		}
	}
	t.notes()
	t.groups()
	t.hidden()
	t.limits()
	t.tables()
	t.changes()
	t.lone()
	t.source()
	t.cautions(t.why())
}

// textWriter writes blocks with a blank line between them.
type textWriter struct {
	b   strings.Builder
	r   *Review
	opt TextOptions
}

// line writes a line that is clean already.
func (t *textWriter) line(text string) {
	t.b.WriteString(strings.TrimRight(text, " "))
	t.b.WriteByte('\n')
}

func (t *textWriter) section() {
	if t.b.Len() > 0 {
		t.b.WriteByte('\n')
	}
}

// block writes lines that are there already.
func (t *textWriter) block(text string) {
	if text != "" {
		t.section()
		t.b.WriteString(text)
	}
}

// wrap writes a phrase after a first word, folded to the width, the further lines
// indented.
func (t *textWriter) wrap(first string, indent int, p phrase) {
	t.fold(pad(first, indent), indent, p)
}

// fold is wrap with a first word that is as wide as the indent.
func (t *textWriter) fold(line string, indent int, p phrase) {
	at := indent
	for i, word := range p.parts() {
		if i > 0 && at+width(word) > t.opt.Width && at > indent {
			t.line(line)
			line, at = strings.Repeat(" ", indent), indent
		}
		if at == indent {
			word = strings.TrimLeft(word, " ")
		}
		line += word
		at += width(word)
	}
	t.line(line)
}

// parts cuts a phrase where a line may end: before the blanks between words of
// ours. A part begins with the blanks before it.
func (p phrase) parts() []string {
	var out []string
	open := false // the last part goes on
	add := func(s string) {
		if open && len(out) > 0 {
			out[len(out)-1] += s
		} else {
			out = append(out, s)
		}
		open = true
	}
	for _, x := range p {
		text := diag.Clean(x.text)
		if x.whole {
			add(text)
			continue
		}
		for text != "" {
			blanks := len(text) - len(strings.TrimLeft(text, " "))
			end := strings.IndexByte(text[blanks:], ' ')
			if blanks > 0 {
				open = false
			}
			if end < 0 {
				add(text)
				break
			}
			add(text[:blanks+end])
			text = text[blanks+end:]
		}
	}
	return out
}

// notes are what a reader has to know of how this was compared.
func (t *textWriter) notes() {
	if len(t.r.Notes) > 0 {
		t.section()
	}
	for _, n := range t.r.Notes {
		t.wrap("note", 6, phrase{{text: n, foreign: true}})
	}
}

// The colours of alarms; the words say the same without.
const (
	bad  = "\x1b[1;38;5;208m"
	look = "\x1b[38;5;215m"
	off  = "\x1b[0m"
)

// alarms writes what may be unsafe, and says whether there is anything.
func (t *textWriter) alarms() bool {
	list := t.r.alarms()
	if len(list) == 0 {
		return false
	}
	t.section()
	wide := 0
	for _, a := range list {
		wide = max(wide, width(a.word))
	}
	for _, a := range list {
		shade := bad
		if a.word == "NEAR" || a.word == "WARNS" || a.word == "WORSE" || a.word == "ALTERED" {
			shade = look
		}
		first := pad(a.word, wide+2)
		if t.opt.Color && a.word != "" {
			first = shade + a.word + off + first[len(a.word):]
		}
		t.fold(first, wide+2, join(a.says, "; "))
	}
	return true
}

// hidden says what the policy hides.
func (t *textWriter) hidden() {
	if p := t.r.hiddenText(); p != nil {
		t.section()
		t.wrap("", 0, p)
	}
}

// cautions stand under the last command.
func (t *textWriter) cautions(underCommand bool) {
	if len(t.r.Cautions) > 0 && !underCommand {
		t.section()
	}
	for _, c := range t.r.Cautions {
		t.line("caution: " + diag.Clean(c))
	}
}

// why writes the commands that explain the worst cells, and says whether there
// are any.
func (t *textWriter) why() bool {
	list := t.r.whyCommands(t.opt.Call)
	if len(list) == 0 {
		return false
	}
	t.section()
	for _, c := range list {
		t.line(c)
	}
	return true
}

func width(s string) int { return utf8.RuneCountInString(s) }

func pad(s string, n int) string { return s + strings.Repeat(" ", max(0, n-width(s))) }

func padLeft(s string, n int) string { return strings.Repeat(" ", max(0, n-width(s))) + s }
