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
	out := make([]line, 0, strings.Count(body.Text, "\n")+1)
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
		if strings.IndexByte(f.Text[from:to], '#') >= 0 {
			to = beforeComment(f.Text, from, to)
		}
		from, to = trim(f.Text, from, to)
		if from < to {
			out = append(out, line{from, to})
		}
		at = next
	}
	return out
}

// beforeComment is where a line's comment begins, or its end.
func beforeComment(s string, from, to int) int {
	quoted := false
	for i := from; i < to; i++ {
		switch c := s[i]; {
		case c == '\\' && quoted:
			i++
		case c == '"':
			quoted = !quoted
		case c == '#' && !quoted:
			return i
		}
	}
	return to
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
	g.headBad = g.bad > 0
	// No more cells than the text has room for.
	out.Cells = make([]Num, 0, min((len(lines)-1)*len(out.Cols), len(body.Text)/2+1))
	for _, ln := range lines[1:] {
		g.row(ln, out)
	}
	g.ragged(out)
	if g.failed {
		return nil
	}
	return out
}

type gridReader struct {
	f       *source.File
	errs    *diag.List
	failed  bool
	bad     int  // words that should be numbers
	headBad bool // some of them among the columns' breakpoints
	uneven  []unevenRow
}

// unevenRow is a row with another number of cells than there are columns.
type unevenRow struct {
	ln    line
	cells []Num
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
	out.Cols = g.numbers(nil, at+1, ln.to, false)
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
		at := g.numbers(nil, from, to, false)
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
	n := len(out.Cells)
	out.Cells = g.numbers(out.Cells, at+1, ln.to, true)
	cells := out.Cells[n:]
	if len(cells) != len(out.Cols) && g.bad == before && !g.headBad { // a slip in a cell may look like two cells
		g.failed = true
		g.uneven = append(g.uneven, unevenRow{ln, cells})
	}
}

// ragged reports rows with too many cells, at the first that is one too many,
// or with too few. If all rows are uneven alike, a column is missing, or there
// is one too many.
func (g *gridReader) ragged(out *Grid) {
	cols := out.Cols[0].Span(g.f).Join(out.Cols[len(out.Cols)-1].Span(g.f))
	same := len(g.uneven) > 1 && len(g.uneven) == len(out.Rows)
	for _, r := range g.uneven {
		same = same && len(r.cells) == len(g.uneven[0].cells)
	}
	if same {
		g.errs.Add("E204", cols, "there are %s, and every row has %s", count(len(out.Cols), "column"), count(len(g.uneven[0].cells), "cell")).
			Hint("one breakpoint is missing here, or one is too many")
		return
	}
	for _, r := range g.uneven {
		from, to := r.ln.from, r.ln.to
		if len(r.cells) > len(out.Cols) {
			from, to = r.cells[len(out.Cols)].From, r.cells[len(r.cells)-1].To
		}
		d := g.errs.Add("E204", g.span(from, to), "this row has %s, the map has %s", count(len(r.cells), "cell"), count(len(out.Cols), "column")).
			Note(cols, "the columns")
		if len(r.cells) < len(out.Cols) {
			d.Hint("write `_` for a cell that shall be filled in")
		}
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
