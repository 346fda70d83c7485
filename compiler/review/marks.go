package review

import (
	"slices"
	"strconv"
	"strings"

	"fettle/lang/diag"
)

// shownLine is a line of a hunk as it is shown, with its sign.
func shownLine(l string) string { return diag.Clean(strings.ReplaceAll(l, "\t", "    ")) }

// Marks says for each line of a hunk which parts of it differ from the line that
// it takes the place of, or that takes its place: from and to, in characters of
// the line as it is shown. Lines that were written anew have none.
func (h *Hunk) Marks() [][][2]int {
	out := make([][][2]int, len(h.Lines))
	for _, p := range h.counterparts() {
		out[p[0]], out[p[1]] = unlike(shownLine(h.Lines[p[0]]), shownLine(h.Lines[p[1]]))
	}
	return out
}

// counterparts pairs lines that were taken out with those that were put in their
// place: in order where there are as many, else by their first cell.
func (h *Hunk) counterparts() (out [][2]int) {
	for i := 0; i < len(h.Lines); {
		var gone, come []int
		for ; i < len(h.Lines) && h.Lines[i] != "" && h.Lines[i][0] != ' ' && (h.Lines[i][0] != '-' || come == nil); i++ {
			switch h.Lines[i][0] {
			case '-':
				gone = append(gone, i)
			case '+':
				come = append(come, i)
			}
		}
		if gone == nil && come == nil {
			i++
			continue
		}
		if len(gone) == len(come) {
			for k := range gone {
				out = append(out, [2]int{gone[k], come[k]})
			}
			continue
		}
		for _, g := range gone {
			for k, c := range come {
				if firstCell(h.Lines[g]) == firstCell(h.Lines[c]) {
					out = append(out, [2]int{g, c})
					come = slices.Delete(come, k, k+1)
					break
				}
			}
		}
	}
	return out
}

func firstCell(line string) string {
	first, _, _ := strings.Cut(line[1:], ",")
	return strings.TrimSpace(first)
}

// unlike compares two lines cell by cell, or word by word. Lines of which more
// differs than stays are written anew.
func unlike(a, b string) (inA, inB [][2]int) {
	x, y := cellsOf(a), cellsOf(b)
	if len(x) != len(y) {
		return nil, nil
	}
	same := 0
	for i := range x {
		if x[i].text == y[i].text {
			same++
			continue
		}
		inA, inB = append(inA, x[i].at), append(inB, y[i].at)
	}
	if same < len(inA) {
		return nil, nil
	}
	return inA, inB
}

// lineCell is a cell of a line with its place.
type lineCell struct {
	text string
	at   [2]int
}

// cellsOf parts a line, after its sign, at commas if it has two or more, else at
// blanks.
func cellsOf(line string) (out []lineCell) {
	commas := strings.Count(line, ",") >= 2
	r := []rune(line)
	from := -1
	end := func(to int) {
		if from >= 0 {
			out = append(out, lineCell{string(r[from:to]), [2]int{from, to}})
		}
		from = -1
	}
	for i := 1; i < len(r); i++ {
		switch {
		case commas && r[i] == ',':
			if from < 0 { // an empty cell is told by the comma behind it
				out = append(out, lineCell{"", [2]int{i, i + 1}})
			}
			end(i)
		case !commas && (r[i] == ' ' || r[i] == '|'):
			end(i)
		case r[i] != ' ' && from < 0:
			from = i
		}
	}
	if commas && from < 0 {
		from = len(r)
	}
	end(len(r))
	return out
}

// isRow says whether a line is a row of a table, in which a cell is hard to find.
func isRow(line string) bool {
	n := 0
	for _, c := range cellsOf(line) {
		if _, err := strconv.ParseFloat(c.text, 64); err == nil {
			n++
		}
	}
	if strings.Contains(line, ",") {
		return n >= 3
	}
	return n >= 5
}

// carets is a line that points at the marked parts of the line above; "" where
// that is no row.
func carets(line string, marks [][2]int) string {
	if len(marks) == 0 || !isRow(line) {
		return ""
	}
	var b strings.Builder
	at := 0
	for _, m := range marks {
		b.WriteString(strings.Repeat(" ", m[0]-at) + strings.Repeat("^", max(1, m[1]-m[0])))
		at = max(m[1], m[0]+1)
	}
	return b.String()
}
