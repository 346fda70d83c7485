package diag

import (
	"fmt"
	"io"
	"strings"

	"fettle/lang/source"
)

// TextOptions says how diagnostics are written for a reader.
type TextOptions struct {
	Color bool
	Width int    // of the terminal, in columns; 0 is 100
	See   string // a command that explains a code, as "fettle help"; "" says nothing of it
}

// Text writes diagnostics for a reader: each with its place, its line with the
// fault marked, second places and the way out; then how many there are. Of
// errors, and of warnings, at most MaxShown are written out.
//
// Colours only repeat what the words and the marks say, and are told apart by
// everyone: red for errors, yellow for warnings, blue for places.
func Text(w io.Writer, items []*Diagnostic, opt TextOptions) {
	if len(items) == 0 {
		return
	}
	if opt.Width <= 0 {
		opt.Width = 100
	}
	p := &printer{opt: opt, width: max(opt.Width, 40)}
	all, written := map[Severity]int{}, map[Severity]int{}
	explained := map[string]bool{}
	for _, d := range items {
		s := d.Severity
		all[s]++
		if over := written[s] - MaxShown; over >= 0 && (d.Code != "E410" || over >= maxLate) {
			continue
		}
		written[s]++
		p.diagnostic(d)
		if opt.See != "" && !explained[d.Code] {
			explained[d.Code] = true
			p.printf("  see: %s %s\n", opt.See, d.Code)
		}
		p.printf("\n")
	}
	for _, s := range []Severity{Error, Warning} {
		if more := all[s] - written[s]; more > 0 {
			p.printf("… and %s\n", Counted(more, "more "+s.String()))
		}
	}
	p.printf("%s\n", Summary(all[Error], all[Warning]))
	io.WriteString(w, p.out.String())
}

// Summary reads "3 errors, 1 warning".
func Summary(errors, warnings int) string {
	switch {
	case warnings == 0:
		return Counted(errors, "error")
	case errors == 0:
		return Counted(warnings, "warning")
	}
	return Counted(errors, "error") + ", " + Counted(warnings, "warning")
}

// Counted reads "1 error" or "3 errors".
func Counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// maxLate is how many bounds that were passed are told however many errors stand
// before them, since they say why the rest may be missing.
const maxLate = 5

type printer struct {
	opt   TextOptions
	width int
	out   strings.Builder
}

func (p *printer) printf(format string, args ...any) { fmt.Fprintf(&p.out, format, args...) }

// The styles, as the numbers of a terminal's colours.
const (
	red    = "1;31"
	yellow = "1;33"
	blue   = "1;34"
	bold   = "1"
)

func (p *printer) style(style, s string) string {
	if !p.opt.Color || s == "" {
		return s
	}
	return "\x1b[" + style + "m" + s + "\x1b[0m"
}

func (p *printer) diagnostic(d *Diagnostic) {
	style := red
	if d.Severity == Warning {
		style = yellow
	}
	p.printf("%s %s\n", p.style(style, d.Severity.String()+" "+d.Code+":"), p.style(bold, Clean(d.Message)))
	beside := ""
	if f := d.Fix; f != nil && f.Span.File == d.Span.File && !f.Span.IsZero() && f.Span.Line() == d.Span.Line() {
		beside = Clean(f.Text)
	}
	told := p.place(d.Span, style, beside)
	for _, n := range d.Notes {
		p.printf("  %s %s\n", p.style(blue, "note:"), Clean(n.Text))
		p.place(n.Span, blue, "")
	}
	if d.Fix != nil && d.Fix.Text != "" && !told {
		p.printf("  %s %s\n", p.style(bold, "hint:"), Clean(d.Fix.Text))
	}
}

// place shows where a span is. Beside the marks stands what to write there, if
// there is room for it; told says that there was.
func (p *printer) place(s source.Span, style, beside string) (told bool) {
	if s.IsZero() {
		return false
	}
	line, col := s.File.Pos(s.From)
	p.printf("  %s\n", p.style(blue, fmt.Sprintf("%s:%d:%d", Clean(s.File.Name), line, col)))
	gutter := max(4, len(fmt.Sprint(line)))
	room := p.width - gutter - 4
	ex := excerptOf(s, room)
	p.printf(" %s %s\n", p.style(blue, fmt.Sprintf("%*d |", gutter, line)), ex.text)
	p.printf(" %s %s%s", p.style(blue, fmt.Sprintf("%*s |", gutter, "")), strings.Repeat(" ", ex.indent), p.style(style, strings.Repeat("^", ex.marks)))
	if ex.lastLine > 0 {
		p.printf(" … to line %d", ex.lastLine)
	} else if beside != "" && ex.indent+ex.marks+1+textWidth(beside) <= room {
		p.printf(" %s", beside)
		told = true
	}
	p.printf("\n")
	return told
}

// Width is how many columns a text takes on a terminal, cleaned.
func Width(s string) int { return textWidth(s) }

func textWidth(s string) int {
	n := 0
	for _, c := range cells(s, false) {
		n += c.wide
	}
	return n
}
