package history

import (
	"fmt"
	"io"
	"strings"

	"fettle/compiler/check"
	"fettle/lang/diag"
	"fettle/lang/unit"
)

// TextOptions says how a log is printed.
type TextOptions struct {
	Color bool
	Width int    // of the terminal; 0: as wide as it comes
	Call  string // how fettle was called, for the command at the end
}

// rowText is what is written from more than the row holds.
type rowText struct {
	change, share string
	since         string
	at            []string // the place, as `why` takes it there
}

const (
	mostParts = 3 // that are named in a row
	mostFault = 100
)

// Text prints a log for a person: a line a commit, in columns. Where a line
// would be too wide for the terminal, what did it goes to a line of its own.
// Everything that came from the source or from git is cleaned of what a terminal
// would obey.
func (l *Log) Text(w io.Writer, opt TextOptions) error {
	t := &textWriter{opt: opt}
	t.head(l)
	t.rows(l)
	t.end(l)
	_, err := io.WriteString(w, t.b.String())
	return err
}

type textWriter struct {
	b   strings.Builder
	opt TextOptions
}

func (t *textWriter) line(format string, args ...any) {
	t.b.WriteString(strings.TrimRight(fmt.Sprintf(format, args...), " "))
	t.b.WriteByte('\n')
}

func (t *textWriter) style(code, s string) string {
	if !t.opt.Color || s == "" {
		return s
	}
	return "\x1b[" + code + "m" + s + "\x1b[0m"
}

func (t *textWriter) bold(s string) string { return t.style("1", s) }
func (t *textWriter) dim(s string) string  { return t.style("2", s) }

// head says which cell it is, and what it is now.
func (t *textWriter) head(l *Log) {
	name := l.Map
	if l.Unit != "" {
		name += " [" + l.Unit + "]"
	}
	var at []string
	for _, a := range l.At {
		at = append(at, check.OnAxis(a.Axis, a.Unit, a.Value))
	}
	now := "not there now"
	switch {
	case l.fails:
		now = "can't be told, since the source doesn't compile"
	case l.Fault != "":
		now = "can't be told, since the tune can't be computed"
	case l.Now != nil:
		now = unit.With(l.Now.Printed, l.Now.Unit)
	}
	t.line("%s of %s at %s: %s", diag.Clean(name), diag.Clean(l.Tune), diag.Clean(strings.Join(at, ", ")), t.bold(diag.Clean(now)))
	for i, a := range l.At {
		if a.Held {
			t.line("  %s is beyond the map's breakpoints, which hold their edge", diag.Clean(at[i]))
		}
	}
}

// valueWidths are the columns within what a changed value is told in.
type valueWidths struct{ before, after, change, share int }

func (v *valueWidths) take(r *Row) {
	if r.Kind != Changed {
		return
	}
	before, after := r.values()
	v.before, v.after = max(v.before, diag.Width(before)), max(v.after, diag.Width(after))
	v.change, v.share = max(v.change, diag.Width(r.text.change)), max(v.share, diag.Width(r.text.share))
}

// values are the value before and after, with one unit where it is the same.
func (r *Row) values() (before, after string) {
	before, after = r.Before.Printed, diag.Clean(unit.With(r.After.Printed, r.After.Unit))
	if r.Before.Unit != r.After.Unit {
		before = diag.Clean(unit.With(before, r.Before.Unit))
	}
	return before, after
}

// what tells what became of the value.
func (r *Row) what(wide valueWidths) string {
	text := func(v *Value) string { return diag.Clean(unit.With(v.Printed, v.Unit)) }
	switch r.Kind {
	case Changed:
		before, after := r.values()
		s := padLeft(before, wide.before) + " → " + padLeft(after, wide.after)
		s += "  " + padLeft(r.text.change, wide.change)
		if wide.share > 0 {
			s += "  " + padLeft(r.text.share, wide.share)
		}
		return s
	case First:
		return "first here: " + text(r.After)
	case Again:
		return "here again: " + text(r.After)
	case New:
		return "not here before: " + text(r.After)
	case Cut:
		return "as far back as this clone goes: " + text(r.After)
	case Gone:
		return "not here any more: was " + text(r.Before)
	case Renamed:
		return "was called " + diag.Clean(r.Before.Tune)
	}
	if r.Errors > 0 {
		return "doesn't compile"
	}
	return "can't be computed"
}

// by tells which elements did it, or why.
func (r *Row) by() string {
	var out []string
	if r.Kind == Changed {
		out = append(out, r.did())
	}
	switch {
	case r.Kind == Broken:
		out = append(out, cut(diag.Clean(faultText(r.Errors, r.Place, r.Why)), mostFault))
	case r.Why != "" && r.Place != "":
		out = append(out, diag.Clean(r.Why+" ("+r.Place+")"))
	case r.Why != "":
		out = append(out, diag.Clean(r.Why))
	}
	if n := len(r.Over); n > 0 {
		between := diag.Counted(n, "commit") + " between " + are(n) + " broken"
		if r.Since != "" {
			out = append(out, "since "+r.text.since+", as "+between)
		} else {
			out = append(out, "the "+diag.Counted(n, "commit")+" before "+are(n)+" broken")
		}
	}
	for _, m := range r.Merged {
		if m.Value != nil {
			out = append(out, "a merge: "+diag.Clean(unit.With(m.Value.Printed, m.Value.Unit))+" on the other side")
		}
	}
	return strings.Join(out, "; ")
}

// did names the elements with the largest parts.
func (r *Row) did() string {
	var list []string
	for i, p := range r.Parts {
		if i == mostParts && len(r.Parts) > mostParts+1 {
			list = append(list, fmt.Sprintf("and %d more", len(r.Parts)-mostParts))
			break
		}
		list = append(list, diag.Clean(p.Name)+" "+p.text)
	}
	return strings.Join(list, ", ")
}

// end says what was left out, and which command says more.
func (t *textWriter) end(l *Log) {
	if len(l.Rows) == 0 {
		t.line("nothing is told of it: it isn't in any commit")
	}
	if l.Shallow {
		t.line("\nthis clone is shallow, so the history ends here; `git fetch --unshallow` gets the rest")
	}
	if l.Left > 0 {
		t.line("\nthere may be more in the %s before, which --max leaves out", diag.Counted(l.Left, "commit"))
	}
	if cmd := l.WhyCommand(t.opt.Call); cmd != "" {
		t.line("\nthe chain before the newest change: %s", cmd)
	}
	for i, s := range l.Cautions {
		if i == 0 {
			t.line("")
		}
		t.line("caution: %s", diag.Clean(s))
	}
}

// WhyCommand asks for the chain of the cell before its newest change; "" where
// there is none, or no shell would take its words as they are.
func (l *Log) WhyCommand(call string) string {
	for _, r := range l.Rows {
		if r.Kind != Changed {
			continue
		}
		words := append([]string{r.text.since + ":" + r.Before.Tune, l.Map}, r.text.at...)
		if call == "" {
			call = "fettle"
		}
		for _, x := range words {
			if strings.Trim(x, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_./=+-,:") != "" {
				return ""
			}
		}
		return call + " why " + strings.Join(words, " ")
	}
	return ""
}

func are(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}
