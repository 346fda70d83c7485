package format

import (
	"strings"
	"unicode/utf8"

	"fettle/lang/syntax"
)

// cell is a part of a line that is padded to its column.
type cell struct {
	text  string
	right bool // set to the right of its column
}

// text writes words with their gaps.
func text(words []word) string {
	var b strings.Builder
	for i, w := range words {
		if w.gap && i > 0 {
			b.WriteByte(' ')
		}
		b.WriteString(w.Text)
	}
	return b.String()
}

// alignRuns sets the columns of adjacent one-line declarations of one keyword.
func alignRuns(lines []*line) {
	for i := 0; i < len(lines); {
		ln := lines[i]
		run := []*line{ln}
		for i++; i < len(lines) && ln.block == 0 && ln.kind != "" && lines[i].kind == ln.kind && !lines[i].blank; i++ {
			run = append(run, lines[i])
		}
		if ln.words != nil {
			pad(run)
		}
	}
}

// alignBlocks sets the columns of each block's statements, each kind by itself.
func alignBlocks(lines []*line) {
	for i := 0; i < len(lines); {
		block := lines[i].block
		if block == 0 {
			i++
			continue
		}
		var kinds []string
		of := map[string][]*line{}
		for ; i < len(lines) && (lines[i].block == block || lines[i].block == 0 && lines[i].indent > 0); i++ {
			ln := lines[i]
			if ln.block == 0 || cut(ln) == nil {
				continue
			}
			kind := ln.kind
			if first := ln.words[0].Token; is(first, "trim") || is(first, "jump") {
				kind = first.Text
			}
			if of[kind] == nil {
				kinds = append(kinds, kind)
			}
			of[kind] = append(of[kind], ln)
		}
		for _, k := range kinds {
			pad(of[k])
		}
	}
}

// alignNotes sets the comments behind adjacent lines in one column.
func alignNotes(lines []*line) {
	for i := 0; i < len(lines); {
		at, from := 0, i
		for ; i < len(lines) && lines[i].note != "" && lines[i].noteAt == 0 && (i == from || !lines[i].blank); i++ {
			at = max(at, lines[i].width()+beforeNote)
		}
		for _, ln := range lines[from:i] {
			ln.noteAt = at
		}
		if i == from {
			i++
		}
	}
}

// pad writes the texts of lines whose cells stand in common columns. A column
// that is empty in every line takes no room.
func pad(lines []*line) {
	rows := make([][]cell, len(lines))
	var widths []int
	for i, ln := range lines {
		rows[i] = cut(ln)
		if len(lines) == 1 || rows[i] == nil {
			rows[i] = []cell{{text: text(ln.words)}}
		}
		for j, c := range rows[i] {
			if j == len(widths) {
				widths = append(widths, 0)
			}
			if j < len(rows[i])-1 { // what follows the last column needs no column
				widths[j] = max(widths[j], utf8.RuneCountInString(c.text))
			}
		}
	}
	for i, ln := range lines {
		var b strings.Builder
		for j, c := range rows[i] {
			if widths[j] == 0 && c.text == "" {
				continue
			}
			if b.Len() > 0 {
				b.WriteByte(' ')
			}
			fill := widths[j] - utf8.RuneCountInString(c.text)
			if c.right {
				spaces(&b, fill)
				fill = 0
			}
			b.WriteString(c.text)
			spaces(&b, fill)
		}
		ln.text = strings.TrimRight(b.String(), " ")
	}
}

// cut parts a line's words into its columns; nil if it has none.
func cut(ln *line) []cell {
	ws := ln.words
	switch ln.kind {
	case "axis":
		return parts(ws, 2, after(ws, 2))
	case "given":
		value := find(ws, 2, "=", "within")
		return parts(ws, 2, value, find(ws, value, "within"))
	case "let":
		return parts(ws, 2, find(ws, 2, "="))
	case "region":
		return parts(ws, 2)
	case "limit":
		return parts(ws, 3)
	case "map":
		unit := after(ws, 2)
		source := find(ws, unit, "like", "from")
		return parts(ws, 2, unit, source, find(ws, source, "="))
	case "setting":
		if is(ws[0].Token, "trim") {
			return adjustment(ws, 2)
		}
		return parts(ws, 1)
	case "adjustment":
		return adjustment(ws, 1)
	case "allowance":
		return parts(ws, 2)
	case "table":
		if is(ws[0].Token, "table") {
			return table(ws)
		}
	case "slot":
		switch {
		case is(ws[0].Token, "jump"):
			return parts(ws, 2)
		case ws[0].Kind == syntax.Number:
			return parts(ws, 1)
		}
	case "expectation":
		if i := find(ws, 0, "==", "!=", "<", ">", "<=", ">="); i < len(ws) {
			return parts(ws, i)
		}
	}
	return nil
}

// adjustment is a map, its operator set to the right, and the rest.
func adjustment(ws []word, op int) []cell {
	out := parts(ws, op, op+1)
	out[1].right = true
	return out
}

// table is a target's table: its name, its map, its clauses in the order in which
// they are usual. In another order it has no columns.
func table(ws []word) []cell {
	at, last := []int{2}, 0
	for _, clause := range []string{"as", "step", "offset", "at"} {
		i := find(ws, 4, clause)
		if i < len(ws) {
			if i < last {
				return nil
			}
			last = i
		}
		at = append(at, i)
	}
	for i := len(at) - 1; i > 1; i-- { // a clause that is missing takes no words
		at[i-1] = min(at[i-1], at[i])
	}
	return parts(ws, at...)
}

// parts cuts words before each of the places.
func parts(ws []word, at ...int) []cell {
	var out []cell
	from := 0
	for _, to := range append(at, len(ws)) {
		to = max(from, min(to, len(ws)))
		out = append(out, cell{text: text(ws[from:to])})
		from = to
	}
	return out
}

// after is the place behind the unit that may stand at a place.
func after(ws []word, i int) int {
	if i < len(ws) && strings.HasPrefix(ws[i].Text, "[") {
		return i + 1
	}
	return i
}

// find is the place of the first of some signs or words outside parentheses,
// or the end.
func find(ws []word, i int, any ...string) int {
	depth := 0
	for ; i < len(ws); i++ {
		switch t := ws[i].Token; {
		case is(t, "("):
			depth++
		case is(t, ")"):
			depth--
		case depth == 0:
			for _, a := range any {
				if is(t, a) {
					return i
				}
			}
		}
	}
	return len(ws)
}
