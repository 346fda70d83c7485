package library

import (
	"fmt"
	"io"
	"sort"
	"strings"

	"fettle/compiler/resolve"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// Page is the documentation of one module.
type Page struct {
	Module  string  `json:"module"`
	Summary string  `json:"summary"`
	Entries []Entry `json:"entries"`
}

// Entry is one function, value, curve or catalogue of a module.
type Entry struct {
	Name      string   `json:"name"` // air.density
	Kind      string   `json:"kind"`
	Signature string   `json:"signature"` // as declared, without the body
	Text      string   `json:"text"`
	Sources   []string `json:"sources"`
	Examples  []string `json:"examples"` // "EXPR = VALUE UNIT"
	Rows      []string `json:"rows"`     // of a catalogue or curve, as written
}

// Pages makes the pages of all modules, sorted by name, from their sources.
func (l *Library) Pages() []Page {
	var out []Page
	for _, m := range l.resolved.Modules {
		out = append(out, pageOf(m))
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Module < out[j].Module })
	return out
}

func pageOf(m *resolve.Names) Page {
	p := Page{Module: m.Module, Entries: []Entry{}}
	for _, name := range m.Order {
		h := m.Table[name].Header()
		if p.Summary == "" && h.Span.File != nil {
			p.Summary = summary(h.Span.File)
		}
		p.Entries = append(p.Entries, entryOf(m.Module, m.Table[name]))
	}
	return p
}

// summary is the comment at a module's top, when a blank line parts it from the
// first declaration.
func summary(f *source.File) string {
	var lines []string
	for i := 1; i <= f.LineCount(); i++ {
		text, ok := strings.CutPrefix(f.LineText(i), "#")
		if !ok {
			if strings.TrimSpace(f.LineText(i)) == "" {
				return strings.Join(lines, " ")
			}
			return ""
		}
		lines = append(lines, strings.TrimSpace(text))
	}
	return strings.Join(lines, " ")
}

func entryOf(module string, d syntax.Decl) Entry {
	h := d.Header()
	e := Entry{Name: module + "." + h.Name.Text, Kind: strings.SplitN(resolve.What(h.Keyword), " ", 2)[1], Signature: signature(module, d), Sources: []string{}, Examples: []string{}, Rows: rowsOf(d)}
	var text []string
	for _, line := range strings.Split(h.Doc, "\n") {
		line = strings.TrimSpace(line)
		if s, ok := strings.CutPrefix(line, "source:"); ok {
			e.Sources = append(e.Sources, strings.TrimSpace(s))
		} else if s, ok := strings.CutPrefix(line, "example:"); ok {
			e.Examples = append(e.Examples, strings.TrimSpace(s))
		} else if n := len(e.Sources); n > 0 && line != "" {
			e.Sources[n-1] += " " + line // a source goes on over lines
		} else {
			text = append(text, line)
		}
	}
	e.Text = strings.TrimSpace(strings.Join(text, "\n"))
	return e
}

// rowsOf gives the lines of a catalogue or curve.
func rowsOf(d syntax.Decl) []string {
	var body *syntax.Token
	switch d := d.(type) {
	case *syntax.Catalog:
		body = d.Body
	case *syntax.Curve:
		body = d.Body
	}
	out := []string{}
	if body != nil {
		for _, line := range syntax.BodyLines(d.Header().Span.File, *body) {
			out = append(out, line.Text())
		}
	}
	return out
}

// signature is a declaration up to its body.
func signature(module string, d syntax.Decl) string {
	h := d.Header()
	text := source.OneLine(h.Span.Text())
	end := len(text)
	depth := 0
	for i := 0; i < len(text); i++ {
		switch text[i] {
		case '(', '[':
			depth++
		case ')', ']':
			depth--
		case '=', '{':
			if depth == 0 {
				end = i
				i = len(text)
			}
		}
	}
	text = strings.TrimSpace(strings.TrimPrefix(text[:end], h.Keyword))
	text = strings.NewReplacer("( ", "(", " )", ")").Replace(text) // one that went on over lines
	if c, ok := d.(*syntax.Catalog); ok && c.Body != nil {
		body := syntax.BodyLines(h.Span.File, *c.Body)
		if len(body) > 0 {
			text += ": " + strings.Join(strings.Fields(body[0].Text()), " ")
		}
	}
	if l, ok := d.(*syntax.Let); ok && l.Body != nil {
		text += " = " + source.OneLine(l.Body.Span.Text())
	}
	return module + "." + text
}

// Find gives the pages that a name asks for: all (""), a module's, or one entry
// ("air.density").
func Find(pages []Page, name string) []Page {
	if name == "" {
		return pages
	}
	var out []Page
	for _, p := range pages {
		if p.Module == name {
			return []Page{p}
		}
		one := Page{Module: p.Module, Summary: p.Summary}
		for _, e := range p.Entries {
			if e.Name == name || strings.TrimPrefix(e.Name, p.Module+".") == name {
				one.Entries = append(one.Entries, e)
			}
		}
		if len(one.Entries) > 0 {
			out = append(out, one)
		}
	}
	return out
}

// Text prints pages for a terminal; brief prints a line an entry.
func Text(w io.Writer, pages []Page, brief bool) {
	for i, p := range pages {
		if i > 0 {
			fmt.Fprintln(w)
		}
		fmt.Fprintf(w, "%s\n", p.Module)
		if p.Summary != "" {
			fmt.Fprintf(w, "  %s\n", p.Summary)
		}
		for _, e := range p.Entries {
			if brief {
				fmt.Fprintf(w, "    %s\n", e.Signature)
				continue
			}
			fmt.Fprintf(w, "\n  %s   (%s)\n", e.Signature, e.Kind)
			for _, line := range strings.Split(e.Text, "\n") {
				if line != "" {
					fmt.Fprintf(w, "    %s\n", line)
				}
			}
			for _, s := range e.Rows {
				fmt.Fprintf(w, "    %s\n", s)
			}
			for _, s := range e.Examples {
				fmt.Fprintf(w, "    example: %s\n", s)
			}
			for _, s := range e.Sources {
				fmt.Fprintf(w, "    source: %s\n", s)
			}
		}
	}
}

// Markdown prints pages as Markdown.
func Markdown(w io.Writer, pages []Page) {
	fmt.Fprintf(w, "# The standard library\n\nMade from the sources in `stdlib` by `fettle doc --md`.\n")
	for _, p := range pages {
		fmt.Fprintf(w, "\n## %s\n\n", p.Module)
		if p.Summary != "" {
			fmt.Fprintf(w, "%s\n", escape(p.Summary))
		}
		for _, e := range p.Entries {
			fmt.Fprintf(w, "\n### `%s`\n\n", e.Signature)
			if e.Text != "" {
				fmt.Fprintf(w, "%s\n\n", escape(e.Text))
			}
			if len(e.Rows) > 0 {
				fmt.Fprintf(w, "```\n%s\n```\n\n", strings.Join(e.Rows, "\n"))
			}
			for _, s := range e.Examples {
				fmt.Fprintf(w, "- Example: `%s`\n", s)
			}
			for _, s := range e.Sources {
				fmt.Fprintf(w, "- Source: %s\n", escape(s))
			}
		}
	}
}

// escape keeps a comment's text from being taken for markup.
func escape(s string) string {
	return strings.NewReplacer("*", `\*`, "_", `\_`, "<", "&lt;", "|", `\|`).Replace(s)
}
