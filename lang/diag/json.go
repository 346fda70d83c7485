package diag

import (
	"bytes"
	_ "embed"
	"encoding/json"
	"strings"
	"unicode/utf8"

	"fettle/lang/source"
)

// SchemaName is the form of Report, with its version.
const SchemaName = "fettle/diagnostics/1"

// Schema is the JSON Schema (draft 2020-12) of Report.
//
//go:embed schema/diagnostics.schema.json
var Schema []byte

// Report is a list of diagnostics as JSON.
type Report struct {
	Schema      string     `json:"schema"`
	Diagnostics []JSONItem `json:"diagnostics"`
	Errors      int        `json:"errors"`
	Warnings    int        `json:"warnings"`
}

// JSONItem is one diagnostic. One about a whole workspace has no place.
type JSONItem struct {
	Code     string `json:"code"`
	Severity string `json:"severity"`
	Message  string `json:"message"`
	*JSONPlace
	Notes []JSONNote `json:"notes"`
	Fix   *JSONFix   `json:"fix,omitempty"`
}

// JSONPlace is a span: from its first character to the one after its last.
type JSONPlace struct {
	File string  `json:"file"`
	From JSONPos `json:"from"`
	To   JSONPos `json:"to"`
}

// JSONPos is a place in a file. Line and column count from 1, columns in
// characters; the offset counts bytes from 0.
type JSONPos struct {
	Line   int `json:"line"`
	Column int `json:"column"`
	Offset int `json:"offset"`
}

// JSONNote is a second thing to say, with its place if it has one.
type JSONNote struct {
	Text string `json:"text"`
	*JSONPlace
}

// JSONFix is a way out. With a place it is exact: replace would mend the fault
// there; without one it is advice.
type JSONFix struct {
	Text    string  `json:"text"`
	Replace *string `json:"replace,omitempty"`
	*JSONPlace
}

// NewReport puts diagnostics in the form that is written as JSON. Unlike the
// text, it leaves none out.
func NewReport(items []*Diagnostic) *Report {
	r := &Report{Schema: SchemaName, Diagnostics: []JSONItem{}}
	var at places
	for _, d := range items {
		if d.Severity == Warning {
			r.Warnings++
		} else {
			r.Errors++
		}
		it := JSONItem{Code: d.Code, Severity: d.Severity.String(), Message: d.Message, JSONPlace: at.of(d.Span), Notes: []JSONNote{}}
		for _, n := range d.Notes {
			it.Notes = append(it.Notes, JSONNote{n.Text, at.of(n.Span)})
		}
		if d.Fix != nil {
			it.Fix = &JSONFix{Text: d.Fix.Text, JSONPlace: at.of(d.Fix.Span)}
			if it.Fix.JSONPlace != nil {
				it.Fix.Replace = &d.Fix.Replace
			}
		}
		r.Diagnostics = append(r.Diagnostics, it)
	}
	return r
}

// places gives places as JSON. It remembers the last one, since thousands of
// faults on one long line would each count the line's characters anew.
type places struct {
	file *source.File
	last JSONPos
}

func (p *places) of(s source.Span) *JSONPlace {
	if s.IsZero() {
		return nil
	}
	return &JSONPlace{s.File.Name, p.at(s.File, s.From), p.at(s.File, s.To)}
}

func (p *places) at(f *source.File, off int) JSONPos {
	off = max(0, min(off, len(f.Text)))
	if p.file == f && off >= p.last.Offset && p.last.Column > 1 {
		if between := f.Text[p.last.Offset:off]; !strings.Contains(between, "\n") {
			p.last.Column += utf8.RuneCountInString(between)
			p.last.Offset = off
			return p.last
		}
	}
	line, col := f.Pos(off)
	p.file, p.last = f, JSONPos{line, col, off}
	return p.last
}

// JSON writes diagnostics as a JSON text that Schema describes.
func JSON(items []*Diagnostic) []byte {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	// Strings and numbers alone: there is nothing in a Report that can't be written.
	_ = enc.Encode(NewReport(items))
	return b.Bytes()
}
