// Package diag holds what the compiler has to say about a source: errors and
// warnings as values, with a stable code, a span, a message in a tuner's words,
// notes that point at second places, and a fix where there is one.
//
// How it goes. A stage adds items to a List as it meets faults; Sorted puts
// them in order of place and drops second errors at the same place. Text writes
// them for a reader, with the source line under each; JSON for programs, after
// the schema beside it. The table of codes says what each code means.
//
// In: spans of package source. Out: sorted lists, as text or JSON. Every stage
// may import it; it imports only source, and x/text for the width of letters.
package diag

import (
	"fmt"
	"sort"
	"unicode/utf8"

	"fettle/lang/source"
)

// Severity tells an error, which stops everything, from a warning.
type Severity int

// The severities, worst first.
const (
	Error Severity = iota
	Warning
)

func (s Severity) String() string {
	if s == Warning {
		return "warning"
	}
	return "error"
}

// Note is a second thing to say, with its own place if it has one.
type Note struct {
	Span source.Span
	Text string
}

// Fix is a replacement that would mend the fault: put Replace where Span is.
type Fix struct {
	Span    source.Span
	Replace string
	Text    string // "did you mean `pipes`?"
}

// Diagnostic is one fault.
type Diagnostic struct {
	Code     string // a key of the table of codes
	Severity Severity
	Span     source.Span
	Message  string
	Notes    []Note
	Fix      *Fix
}

// List collects diagnostics; its methods return the new item for chaining.
type List struct {
	items []*Diagnostic
	clean int // so many of the first are no errors
}

// maxKept bounds a list, so that a hostile source can't fill the memory with
// errors; nobody reads that many. The last one kept says so.
const maxKept = 20_000

// many is after how many diagnostics nobody is helped by a near spelling, which
// takes a look at every name.
const many = 200

// The most that one diagnostic says.
const (
	maxText  = 1000 // bytes of a message, note or hint
	maxNotes = 50
)

// MaxShown is how many errors one run reports before it stops counting aloud.
const MaxShown = 200

// Add puts one diagnostic on the list. The severity comes from the code.
func (l *List) Add(code string, span source.Span, format string, args ...any) *Diagnostic {
	d := &Diagnostic{Code: code, Severity: severityOf(code), Span: span, Message: short(fmt.Sprintf(format, args...))}
	switch n := len(l.items); {
	case n < maxKept-1:
		l.items = append(l.items, d)
	case n == maxKept-1:
		l.items = append(l.items, &Diagnostic{Code: "E410", Severity: Error, Span: span,
			Message: fmt.Sprintf("this is number %d of what is said of this workspace, and the most that is kept", maxKept),
			Fix:     &Fix{Text: "mend those before it; what comes behind isn't told"}})
	}
	return d
}

// Many says that the list is so long that another near spelling helps no one.
func (l *List) Many() bool { return len(l.items) >= many }

// short keeps both ends of a text that is too long to be read.
func short(s string) string {
	if len(s) <= maxText {
		return s
	}
	cut := func(i int) int {
		for i > 0 && i < len(s) && !utf8.RuneStart(s[i]) {
			i--
		}
		return i
	}
	return s[:cut(maxText/2)] + " … " + s[cut(len(s)-maxText/2+5):]
}

// Note adds a note at a place (or at none, with a zero span).
func (d *Diagnostic) Note(span source.Span, format string, args ...any) *Diagnostic {
	if len(d.Notes) < maxNotes {
		d.Notes = append(d.Notes, Note{span, short(fmt.Sprintf(format, args...))})
	}
	return d
}

// Suggest adds a replacement of the given place, with the words that offer it.
func (d *Diagnostic) Suggest(span source.Span, replace, format string, args ...any) *Diagnostic {
	d.Fix = &Fix{span, replace, short(fmt.Sprintf(format, args...))}
	return d
}

// Hint adds advice that is no exact replacement.
func (d *Diagnostic) Hint(format string, args ...any) *Diagnostic {
	d.Fix = &Fix{Text: short(fmt.Sprintf(format, args...))}
	return d
}

// Last is the newest item, or nil.
func (l *List) Last() *Diagnostic {
	if len(l.items) == 0 {
		return nil
	}
	return l.items[len(l.items)-1]
}

// Merge appends another list.
func (l *List) Merge(o *List) {
	if o != nil {
		l.items = append(l.items, o.items[:min(len(o.items), max(0, maxKept-len(l.items)))]...)
	}
}

// HasErrors says whether any item is an error.
func (l *List) HasErrors() bool {
	for l.clean < len(l.items) && l.items[l.clean].Severity != Error {
		l.clean++
	}
	return l.clean < len(l.items)
}

// Count counts the items of one severity.
func (l *List) Count(s Severity) int {
	n := 0
	for _, d := range l.items {
		if d.Severity == s {
			n++
		}
	}
	return n
}

// Len is the number of items.
func (l *List) Len() int { return len(l.items) }

// Since gives the items that were added after the first n.
func (l *List) Since(n int) []*Diagnostic { return l.items[n:] }

// Sorted gives the items by file, place and code; a second error that starts
// at the same place as an earlier one is dropped, since one fault often trips
// two checks.
func (l *List) Sorted() []*Diagnostic {
	out := append([]*Diagnostic(nil), l.items...)
	sort.SliceStable(out, func(i, j int) bool {
		a, b := out[i], out[j]
		if an, bn := fileName(a), fileName(b); an != bn {
			return an < bn
		}
		if a.Span.From != b.Span.From {
			return a.Span.From < b.Span.From
		}
		if a.Severity != b.Severity {
			return a.Severity < b.Severity
		}
		return false
	})
	kept := out[:0]
	for _, d := range out {
		if n := len(kept); n > 0 && d.Span.File != nil {
			p := kept[n-1]
			if p.Span.File == d.Span.File && p.Span.From == d.Span.From && p.Severity == Error && (d.Severity == Error || p.Code == d.Code) {
				continue
			}
			if p.Code == d.Code && p.Span == d.Span && p.Message == d.Message {
				continue
			}
		}
		kept = append(kept, d)
	}
	return kept
}

func fileName(d *Diagnostic) string {
	if d.Span.File == nil {
		return ""
	}
	return d.Span.File.Name
}
