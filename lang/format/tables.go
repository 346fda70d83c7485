package format

import (
	"strconv"
	"strings"
	"unicode/utf8"

	"fettle/lang/source"
	"fettle/lang/syntax"
)

// A grid's cells are all as wide as each other: room for wholeWidth characters
// of sign and digits (more, where that leaves no room for a breakpoint of
// pointWidth digits), then for the point and the decimals of the map's step
// (without a step: for the most decimals of any cell). Only a longer number or
// breakpoint widens the grid. So a cell that is edited within that room leaves
// every other line as it was, and a version control shows one line. Numbers
// stand at their decimal point, `_` where the units digit would, breakpoints at
// the right end of their column.
const (
	wholeWidth = 4
	pointWidth = 5
)

// grid lays out the lines of a map's body; decimals is -1 without a step.
func grid(spans []source.Span, decimals int) []string {
	heads := make([]string, len(spans))
	rows := make([][]string, len(spans))
	headWidth, whole, rest := 0, wholeWidth, 0
	if decimals > 0 {
		rest = 1 + decimals
	}
	for i, s := range spans {
		before, behind, _ := strings.Cut(s.Text(), "|")
		heads[i] = strings.Trim(before, blanks)
		if i == 0 {
			heads[i] = gridHead(before)
		}
		headWidth = max(headWidth, utf8.RuneCountInString(heads[i]))
		rows[i] = strings.FieldsFunc(behind, isBlank)
		if i > 0 {
			for _, c := range rows[i] {
				w, r := splitNumber(c)
				whole, rest = max(whole, len(w)), max(rest, len(r))
			}
		}
	}
	whole = max(whole, pointWidth-rest)
	if len(rows) > 0 {
		for _, c := range rows[0] {
			whole = max(whole, len(c)-rest)
		}
	}
	out := make([]string, len(spans))
	for i := range spans {
		var b strings.Builder
		b.WriteString(heads[i])
		spaces(&b, headWidth-utf8.RuneCountInString(heads[i]))
		b.WriteString(" |")
		for _, c := range rows[i] {
			if i == 0 {
				spaces(&b, 1+whole+rest-len(c))
				b.WriteString(c)
				continue
			}
			w, r := splitNumber(c)
			spaces(&b, 1+whole-len(w))
			b.WriteString(c)
			spaces(&b, rest-len(r))
		}
		out[i] = b.String()
	}
	return out
}

// gridHead writes the axes of a grid.
func gridHead(s string) string {
	if row, col, two := strings.Cut(s, `\`); two && !strings.Contains(s, `"`) {
		return strings.Trim(headCell(row)+` \ `+headCell(col), " ")
	}
	return headCell(s)
}

// headCell writes a name and its unit. What stands in quotes is no name, and
// left for the compiler to explain.
func headCell(s string) string {
	s = strings.Trim(s, blanks)
	if i := strings.IndexByte(s, '['); i > 0 && !strings.Contains(s, `"`) {
		return strings.TrimRight(s[:i], blanks) + " " + s[i:]
	}
	return s
}

// catalogue lays out the lines of a catalogue's body: its columns as wide as
// their widest cell, text to the left, columns of numbers to the right and at
// their decimal point.
func catalogue(spans []source.Span) []string {
	rows := make([][]string, len(spans))
	for i, s := range spans {
		for _, c := range syntax.SplitBars(s) {
			rows[i] = append(rows[i], c.Text())
		}
	}
	out := make([]string, len(spans))
	for j := range rows[0] {
		column := make([]string, len(rows))
		for i, r := range rows {
			column[i] = r[j]
		}
		column[0] = headCell(column[0])
		numbers := j > 0 && alignPoints(column[1:])
		width := 0
		for _, c := range column {
			width = max(width, utf8.RuneCountInString(c))
		}
		for i, c := range column {
			if j > 0 {
				out[i] += " | "
			}
			fill := strings.Repeat(" ", width-utf8.RuneCountInString(c))
			if numbers && i > 0 {
				out[i] += fill + c
			} else {
				out[i] += c + fill
			}
		}
	}
	return out
}

// alignPoints pads a column of numbers behind, so that set to the right their
// decimal points stand under each other. It says whether all are numbers.
func alignPoints(column []string) bool {
	rest := 0
	for _, c := range column {
		if _, number := syntax.Float(c); !number && c != "" {
			return false
		}
		_, r := splitNumber(c)
		rest = max(rest, len(r))
	}
	for i, c := range column {
		_, r := splitNumber(c)
		column[i] += strings.Repeat(" ", rest-len(r))
	}
	return true
}

// splitNumber parts a number behind its units digit.
func splitNumber(s string) (whole, rest string) {
	i := 0
	for i < len(s) && (i == 0 && (s[i] == '-' || s[i] == '+' || s[i] == '_') || s[i] >= '0' && s[i] <= '9') {
		i++
	}
	return s[:i], s[i:]
}

// stepDecimals is how many decimals the step of a map has, -1 if none is
// written that says so.
func stepDecimals(toks []syntax.Token) int {
	const most = 12 // a finer step says nothing about how cells are written
	for i := 2; i+1 < len(toks) && toks[i].Kind != syntax.Body; i++ {
		if !is(toks[i], "to") || toks[i+1].Kind != syntax.Number {
			continue
		}
		mantissa, exponent, _ := strings.Cut(strings.ToLower(toks[i+1].Text), "e")
		_, decimals, _ := strings.Cut(mantissa, ".")
		shift, _ := strconv.Atoi(exponent)
		if n := len(decimals) - shift; n <= most && shift > -1000 {
			return max(0, n)
		}
	}
	return -1
}

const blanks = " \t\r"

func isBlank(r rune) bool { return strings.ContainsRune(blanks, r) }
