package syntax

import (
	"strings"

	"fettle/lang/diag"
	"fettle/lang/source"
)

// TableBody is the body of a catalogue as written: a line of column heads, then
// a line a row, cells parted by bars.
type TableBody struct {
	Heads   []HeadCell
	Rows    [][]TableCell
	Partial bool // rows were left out for their faults
}

// TableCell is one cell's text with its place; quotes are undone.
type TableCell struct {
	Text   string
	Quoted bool
	Span   source.Span
}

// escapes undoes those of a quoted text.
var escapes = strings.NewReplacer(`\"`, `"`, `\\`, `\`)

// ReadTable reads a catalogue's body. Nil if there is no head line.
func ReadTable(f *source.File, body Token, errs *diag.List) *TableBody {
	lines := bodyLines(f, body)
	if len(lines) == 0 {
		at := source.Span{File: f, From: max(0, body.From-1), To: body.From}
		errs.Add("E211", at, "this catalogue has no rows").Hint("begin with its columns: `name | density [kg/m^3]`")
		return nil
	}
	out := &TableBody{}
	g := &gridReader{f: f, errs: errs}
	for i, ln := range lines {
		var row []TableCell
		for _, c := range splitBars(f.Text, ln) {
			from, to := trim(f.Text, c.from, c.to)
			if from == to {
				from, to = c.from, max(c.to, c.from)
				to = max(from, min(to, ln.to))
			}
			cell := TableCell{Text: strings.TrimSpace(f.Text[from:to]), Span: g.span(from, to)}
			if n := len(cell.Text); n >= 2 && cell.Text[0] == '"' && cell.Text[n-1] == '"' {
				cell.Text, cell.Quoted = escapes.Replace(cell.Text[1:n-1]), true
			}
			row = append(row, cell)
		}
		if i == 0 {
			if g.barForgotten(row[0]) {
				return nil
			}
			for _, c := range row {
				out.Heads = append(out.Heads, g.headCell(c.Span.From, c.Span.To))
			}
			continue
		}
		if len(row) != len(out.Heads) {
			d := errs.Add("E212", g.span(ln.from, ln.to), "this row has %s, the catalogue has %s", count(len(row), "cell"), count(len(out.Heads), "column"))
			d.Note(out.Heads[0].Name.Span, "the columns stand here")
			if n := len(row); n == len(out.Heads)+1 && row[n-1].Text == "" {
				d.Hint("leave out the bar at the end")
			}
			out.Partial = true
			continue
		}
		out.Rows = append(out.Rows, row)
	}
	return out
}

// barForgotten finds the head of a second column in the first, `name`.
func (g *gridReader) barForgotten(head TableCell) bool {
	rest, ok := strings.CutPrefix(head.Text, "name")
	if ok && rest != "" && (rest[0] == ',' || rest[0] == ';') {
		at := g.span(head.Span.From+len("name"), head.Span.From+len("name")+1)
		g.errs.Add("E212", at, "the cells of a catalogue are parted by `|`").Suggest(at, " |", "write `|`")
		return true
	}
	if !ok || rest == "" || !isBlank(rest[0]) || strings.TrimSpace(rest)[0] == '[' {
		return false
	}
	gap := g.span(head.Span.From+len("name"), head.Span.To-len(strings.TrimSpace(rest)))
	g.errs.Add("E212", head.Span, "a `|` is missing between `name` and `%s`", clip(strings.TrimSpace(rest))).Suggest(gap, " | ", "write `name | %s`", clip(strings.TrimSpace(rest)))
	return true
}

// splitBars cuts a line at its bars, minding quotes.
func splitBars(s string, ln line) []line {
	var out []line
	from, quoted := ln.from, false
	for i := ln.from; i < ln.to; i++ {
		switch {
		case s[i] == '\\' && quoted:
			i++
		case s[i] == '"':
			quoted = !quoted
		case s[i] == '|' && !quoted:
			out = append(out, line{from, i})
			from = i + 1
		}
	}
	return append(out, line{from, ln.to})
}
