package syntax

import (
	"strconv"
	"strings"

	"fettle/lang/diag"
	"fettle/lang/source"
)

// The numbers of a grid, and what stands where a number should.

// numbers appends numbers (and, among cells, `_`) parted by spaces. Of commas and
// semicolons only a line's first is reported: what has one has many.
func (g *gridReader) numbers(out []Num, from, to int, cells bool) []Num {
	s := g.f.Text
	var first *diag.Diagnostic
	more := 0
	for i := from; i < to; {
		for i < to && isBlank(s[i]) {
			i++
		}
		j := i
		for j < to && !isBlank(s[j]) {
			j++
		}
		if i == j {
			break
		}
		n := Num{From: i, To: j}
		if cells && j == i+1 && s[i] == '_' {
			n.Blank = true
		} else if v, ok := Float(s[i:j]); ok {
			n.Value = v
		} else {
			g.bad++
			parted := strings.ContainsAny(s[i:j], ",;")
			if !parted || first == nil {
				d := g.badNumber(i, j, cells)
				if parted {
					first = d
				}
			} else {
				more++
			}
		}
		out = append(out, n)
		i = j
	}
	if more > 0 {
		first.Note(source.Span{}, "and %s more on this line", strconv.Itoa(more))
	}
	return out
}

func (g *gridReader) badNumber(from, to int, cells bool) *diag.Diagnostic {
	word := g.f.Text[from:to]
	d := g.fail("E206", from, to, "`%s` is not a number", clip(word))
	bare := strings.TrimRight(word, ",;")
	_, isNumber := Float(bare)
	switch dot := strings.Replace(word, ",", ".", 1); {
	case bare != word && (isNumber || cells && bare == "_"):
		d.Message = "`" + clip(word) + "` ends with `" + word[len(bare):] + "`, and cells are parted by spaces alone"
		d.Suggest(g.span(from+len(bare), to), "", "leave it out")
	case parted(word):
		d.Message = "`" + clip(word) + "` is several cells, and they are parted by spaces alone"
		apart := strings.NewReplacer(",", " ", ";", " ").Replace(word)
		d.Suggest(g.span(from, to), apart, "write `%s`", clip(apart))
	case strings.Contains(word, ","):
		d.Message = "`" + clip(word) + "` has a comma: a decimal point is meant, or a second cell"
		if _, ok := Float(dot); ok {
			d.Suggest(g.span(from, to), dot, "if it is a decimal comma, write `%s`", dot)
		}
	case strings.HasPrefix(word, "."):
		d.Suggest(g.span(from, to), "0"+word, "write `0%s`: a dot has digits on both sides", word)
	case strings.HasSuffix(word, "."):
		d.Suggest(g.span(from, to), word+"0", "write `%s0`: a dot has digits on both sides", word)
	case cells && strings.Trim(word, "_-?x") == "":
		d.Suggest(g.span(from, to), "_", "write `_` for a cell that shall be filled in")
	case strings.ContainsAny(word, "\u2212\u2013"):
		if plain := strings.NewReplacer("\u2212", "-", "\u2013", "-").Replace(word); isFloat(plain) {
			d.Message = "`" + clip(word) + "` has a printer's minus"
			d.Suggest(g.span(from, to), plain, "write `%s`", plain)
		}
	case strings.ContainsAny(word, "\u00a0\u2009\u202f\u200b\ufeff"):
		d.Message = "`" + clip(word) + "` has a space in it that isn't a plain one"
		d.Hint("type the spaces between the cells anew")
	default:
		if n := numberStart(word); n > 0 && (isLetter(word[n]) || word[n] == '%' || word[n] == '[') && !(word[n]|0x20 == 'e' && (n+1 == len(word) || !isLetter(word[n+1]))) {
			d.Message = "`" + clip(word) + "` has a unit: a grid is numbers alone"
			d.Hint("the cells are in the map's unit, the breakpoints in the axis's")
		} else if isLetter(word[0]) {
			d.Hint("a grid is numbers alone, parted by spaces; the cells are in the map's unit")
		}
	}
	return d
}

// parted says whether a word is numbers between semicolons, or between several
// commas, so that no decimal comma can be meant.
func parted(word string) bool {
	if !strings.Contains(word, ";") && strings.Count(word, ",") < 2 {
		return false
	}
	for _, part := range strings.FieldsFunc(word, func(r rune) bool { return r == ',' || r == ';' }) {
		if !isFloat(part) && part != "_" {
			return false
		}
	}
	return true
}

func isFloat(s string) bool { _, ok := Float(s); return ok }

// numberStart measures the number that a word begins with; 0 if it is all of
// it, or none.
func numberStart(word string) int {
	for n := len(word) - 1; n > 0; n-- {
		if isFloat(word[:n]) {
			return n
		}
	}
	return 0
}

// Float reads a plain signed number: digits, a dot between digits, an exponent.
// Nothing else is a number: no hex, no "inf", no separators.
func Float(s string) (float64, bool) {
	i, n := 0, len(s)
	neg := false
	if i < n && (s[i] == '+' || s[i] == '-') {
		neg = s[i] == '-'
		i++
	}
	start, mant, digits := i, uint64(0), 0
	for i < n && isDigit(s[i]) {
		mant = mant*10 + uint64(s[i]-'0')
		i++
		digits++
	}
	if digits == 0 {
		return 0, false
	}
	frac := 0
	if i < n && s[i] == '.' {
		i++
		for i < n && isDigit(s[i]) {
			mant = mant*10 + uint64(s[i]-'0')
			i++
			frac++
		}
		if frac == 0 {
			return 0, false
		}
	}
	if i == n && digits+frac <= 15 && frac <= 22 {
		// Both parts are exact in a float64, so one division rounds once.
		v := float64(mant) / pow10[frac]
		if neg {
			v = -v
		}
		return v, true
	}
	if i < n {
		if s[i] != 'e' && s[i] != 'E' {
			return 0, false
		}
		i++
		if i < n && (s[i] == '+' || s[i] == '-') {
			i++
		}
		k := i
		for i < n && isDigit(s[i]) {
			i++
		}
		if i == k || i != n {
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(s[start:], 64)
	if err != nil {
		return 0, false
	}
	if neg {
		v = -v
	}
	return v, true
}

var pow10 = [23]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}
