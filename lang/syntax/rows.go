package syntax

import (
	"strconv"
	"strings"

	"fettle/lang/diag"
	"fettle/lang/source"
)

// Grid is the body of a map as written: axes, breakpoints and cells. It keeps
// the byte place of every cell, so that a fault and a chain can point at it.
type Grid struct {
	RowAxis, ColAxis HeadCell // RowAxis.Name is empty for a map over one axis
	Cols             []Num
	Rows             []Num // empty for a map over one axis
	Cells            []Num // row-major; Blank where `_` stands
	Span             source.Span
}

// HeadCell is a name with an optional unit.
type HeadCell struct {
	Name Name
	Unit *UnitRef
}

// Num is a number of a table with its place.
type Num struct {
	Value    float64
	From, To int
	Blank    bool
}

// Span places the number.
func (n Num) Span(f *source.File) source.Span { return source.Span{File: f, From: n.From, To: n.To} }

// line is one line of a body without its comment.
type line struct {
	from, to int
}

func bodyLines(f *source.File, body Token) []line {
	var out []line
	at := body.From
	for at < body.To() {
		end := strings.IndexByte(f.Text[at:body.To()], '\n')
		next := body.To()
		if end >= 0 {
			next = at + end + 1
			end += at
		} else {
			end = next
		}
		from, to := at, end
		quoted := false
		for i := from; i < to; i++ {
			switch c := f.Text[i]; {
			case c == '\\' && quoted:
				i++
			case c == '"':
				quoted = !quoted
			case c == '#' && !quoted:
				to = i
			}
		}
		from, to = trim(f.Text, from, to)
		if from < to {
			out = append(out, line{from, to})
		}
		at = next
	}
	return out
}

func trim(s string, from, to int) (int, int) {
	for from < to && isBlank(s[from]) {
		from++
	}
	for to > from && isBlank(s[to-1]) {
		to--
	}
	return from, to
}

func isBlank(c byte) bool { return c == ' ' || c == '\t' || c == '\r' }

// ReadGrid reads a map's body. Nil if the head line can't be read.
func ReadGrid(f *source.File, body Token, errs *diag.List) *Grid {
	g := &gridReader{f: f, errs: errs}
	lines := bodyLines(f, body)
	span := source.Span{File: f, From: body.From, To: body.To()}
	if len(lines) == 0 {
		at := source.Span{File: f, From: max(0, body.From-1), To: body.From}
		errs.Add("E201", at, "this map has no cells").Hint("begin with its axes and breakpoints: `throttle \\ rpm | 3000 5000`")
		return nil
	}
	out := &Grid{Span: span}
	if !g.head(lines[0], out) {
		return nil
	}
	if len(lines) == 1 {
		errs.Add("E201", out.ColAxis.Name.Span, "this map has breakpoints but no cells").Hint("add a line for each row: `0 | 1.1 1.2`")
		return nil
	}
	for _, ln := range lines[1:] {
		g.row(ln, out)
	}
	if g.failed {
		return nil
	}
	return out
}

type gridReader struct {
	f      *source.File
	errs   *diag.List
	failed bool
	bad    int // words that should be numbers
}

func (g *gridReader) span(from, to int) source.Span {
	return source.Span{File: g.f, From: from, To: to}
}

func (g *gridReader) fail(code string, from, to int, format string, args ...any) *diag.Diagnostic {
	g.failed = true
	return g.errs.Add(code, g.span(from, to), format, args...)
}

// bar finds the one | of a line.
func (g *gridReader) bar(ln line) (int, bool) {
	text := g.f.Text[ln.from:ln.to]
	i := strings.IndexByte(text, '|')
	if i < 0 {
		g.fail("E202", ln.from, ln.to, "this line of the grid has no `|`").
			Hint("a bar stands between the axis and the cells: `50 | 4.1 4.9`")
		return 0, false
	}
	if j := strings.IndexByte(text[i+1:], '|'); j >= 0 {
		g.fail("E202", ln.from+i+1+j, ln.from+i+2+j, "a second `|` in this line of the grid").
			Hint("cells are parted by spaces; only one bar stands in a line")
		return 0, false
	}
	return ln.from + i, true
}

func (g *gridReader) head(ln line, out *Grid) bool {
	at, ok := g.bar(ln)
	if !ok {
		return false
	}
	from, to := trim(g.f.Text, ln.from, at)
	if !g.axesParted(from, to) {
		return false
	}
	if i := strings.IndexByte(g.f.Text[from:to], '\\'); i >= 0 {
		out.RowAxis = g.headCell(from, from+i)
		from += i + 1
	}
	out.ColAxis = g.headCell(from, to)
	if out.ColAxis.Name.Text == "" {
		g.fail("E203", ln.from, at, "the grid's first line names no axis").
			Hint("write the rows' axis, `\\`, the columns' axis: `throttle \\ rpm |`")
		return false
	}
	out.Cols = g.numbers(at+1, ln.to, false)
	if len(out.Cols) == 0 && !g.failed {
		g.fail("E201", at, at+1, "no breakpoints stand after this `|`")
	}
	g.ascending(out.Cols, "column")
	return len(out.Cols) > 0
}

// axesParted looks at what stands between the axes of a grid's head: one `\`.
func (g *gridReader) axesParted(from, to int) bool {
	text := g.f.Text[from:to]
	switch i := strings.IndexByte(text, '\\'); {
	case i >= 0:
		if j := strings.IndexByte(text[i+1:], '\\'); j >= 0 {
			g.fail("E203", from+i+1+j, to, "a grid has one axis or two, and this is a third").Hint("write a map for each of its values")
			return false
		}
		return true
	default:
		bare := text // without its units
		for k := strings.IndexByte(bare, '['); k >= 0; k = strings.IndexByte(bare, '[') {
			end := strings.IndexByte(bare[k:], ']')
			if end < 0 {
				return true // headCell reports it
			}
			bare = bare[:k] + strings.Repeat("_", end+1) + bare[k+end+1:]
		}
		k := strings.IndexAny(bare, "/,;:")
		if k < 0 {
			return true
		}
		g.fail("E203", from+k, from+k+1, "the two axes of a grid are parted by `\\`").
			Suggest(g.span(from+k, from+k+1), "\\", "write `\\`: the rows' axis, then the columns'")
		return false
	}
}

func (g *gridReader) headCell(from, to int) HeadCell {
	from, to = trim(g.f.Text, from, to)
	var h HeadCell
	if i := strings.IndexByte(g.f.Text[from:to], '['); i >= 0 {
		end := to
		if g.f.Text[to-1] == ']' {
			end--
		} else if strings.IndexByte(g.f.Text[from+i:to], ']') < 0 {
			g.fail("E103", from+i, from+i+1, "this `[` is never closed").Suggest(g.span(to, to), "]", "write `%s]`", g.f.Text[from+i:to])
		}
		h.Unit = &UnitRef{g.f.Text[from+i+1 : end], g.span(from+i+1, end)}
		_, to = trim(g.f.Text, from, from+i)
	}
	h.Name = Name{g.f.Text[from:to], g.span(from, to)}
	return h
}

func (g *gridReader) row(ln line, out *Grid) {
	at, ok := g.bar(ln)
	if !ok {
		return
	}
	from, to := trim(g.f.Text, ln.from, at)
	if out.RowAxis.Name.Text == "" {
		if from < to {
			g.fail("E203", from, to, "`%s` stands before the `|`, but this map has one axis", clip(g.f.Text[from:to])).
				Hint("name the rows' axis in the first line: `throttle \\ %s |`", out.ColAxis.Name.Text)
			return
		}
		if len(out.Cells) > 0 {
			g.fail("E204", ln.from, ln.to, "a map over one axis has one line of cells, and this is a second")
			return
		}
	} else {
		at := g.numbers(from, to, false)
		if len(at) != 1 {
			if !g.failed || from == to {
				g.fail("E203", ln.from, max(to, ln.from+1), "this row needs one breakpoint of `%s` before its `|`", out.RowAxis.Name.Text)
			}
			return
		}
		if n := len(out.Rows); n > 0 && at[0].Value <= out.Rows[n-1].Value {
			g.descending(out.Rows[n-1], at[0], "row")
		}
		out.Rows = append(out.Rows, at[0])
	}
	before := g.bad
	cells := g.numbers(at+1, ln.to, true)
	if len(cells) != len(out.Cols) && g.bad == before { // a slip in a cell may look like two cells
		g.ragged(ln, cells, out)
	}
	out.Cells = append(out.Cells, cells...)
}

// ragged reports a row with too many cells, at the first that is one too many,
// or with too few.
func (g *gridReader) ragged(ln line, cells []Num, out *Grid) {
	from, to := ln.from, ln.to
	if len(cells) > len(out.Cols) {
		from, to = cells[len(out.Cols)].From, cells[len(cells)-1].To
	}
	d := g.fail("E204", from, to, "this row has %s, the map has %s", count(len(cells), "cell"), count(len(out.Cols), "column")).
		Note(out.Cols[0].Span(g.f).Join(out.Cols[len(out.Cols)-1].Span(g.f)), "the columns")
	if len(cells) < len(out.Cols) {
		d.Hint("write `_` for a cell that shall be filled in")
	}
}

func count(n int, what string) string {
	s := strconv.Itoa(n) + " " + what
	if n != 1 {
		s += "s"
	}
	return s
}

func (g *gridReader) ascending(nums []Num, what string) {
	for i := 1; i < len(nums); i++ {
		if nums[i].Value <= nums[i-1].Value {
			g.descending(nums[i-1], nums[i], what)
		}
	}
}

func (g *gridReader) descending(a, b Num, what string) {
	if a.Value == b.Value {
		g.fail("E205", b.From, b.To, "the %s breakpoint %s stands twice", what, g.f.Text[b.From:b.To]).Note(g.span(a.From, a.To), "the first")
		return
	}
	g.fail("E205", b.From, b.To, "the %s breakpoint %s comes after %s: breakpoints ascend", what, g.f.Text[b.From:b.To], g.f.Text[a.From:a.To]).
		Note(g.span(a.From, a.To), "the one before")
}

// numbers reads numbers (and, among cells, `_`) parted by spaces. Of commas and
// semicolons only a line's first is reported: what has one has many.
func (g *gridReader) numbers(from, to int, cells bool) []Num {
	var out []Num
	if cells {
		out = make([]Num, 0, (to-from)/6+1)
	}
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
