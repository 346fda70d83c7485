package importer

import (
	"slices"
	"strings"

	"fettle/lang/source"
)

// delimiter is a way in which cells are parted.
type delimiter struct {
	name string
	sign byte // 0: by spaces
	wide bool // by two spaces or more
	bar  bool // by spaces, a bar behind the first column, as the language writes grids
}

// delimiters in the order in which they are preferred, all else being equal.
var delimiters = []delimiter{
	{name: "tabs", sign: '\t'},
	{name: "semicolons", sign: ';'},
	{name: "grid", bar: true},
	{name: "bars", sign: '|'},
	{name: "commas", sign: ','},
	{name: "wide spaces", wide: true},
	{name: "spaces"},
}

// Delimiters lists what a flag may name.
func Delimiters() []string {
	var out []string
	for _, d := range delimiters {
		out = append(out, d.name)
	}
	return out
}

// said is how a delimiter is called in a sentence.
func (d delimiter) said() string {
	switch {
	case d.bar:
		return "spaces with a bar behind the first column"
	case d.wide:
		return "two spaces or more"
	}
	return d.name
}

// field is a cell's text with its bytes in the file.
type field struct {
	text     string
	from, to int
	quoted   bool
	open     bool // its quote is never closed
}

// split chooses the delimiter and cuts the text into cells.
func (j *job) split() bool {
	d := j.delimiter()
	j.dial.Delimiter = d.said()
	text, count := j.file.Text, 0
	// Counted before cells are made: quotes alone can make fewer of them.
	if d.sign != 0 && !strings.Contains(text, `"`) && strings.Count(text, string(d.sign)) > MaxCells {
		return j.refuse("the file has over %d cells, the most that is read", MaxCells)
	}
	for pos := 0; pos < len(text); {
		var fields []field
		fields, pos = d.record(text, pos)
		if count += len(fields); count > MaxCells {
			return j.refuse("the file has over %d cells, the most that is read", MaxCells)
		}
		row := make([]cell, len(fields))
		for i, f := range fields {
			row[i] = cell{text: f.text, span: source.Span{File: j.file, From: f.from, To: f.to}, row: len(j.rows) + 1, col: i + 1, quoted: f.quoted}
			if f.open {
				j.fault("E901", row[i], "a quote is opened and never closed").Hint("close the quote, or leave it out")
				return false
			}
		}
		j.rows = append(j.rows, row)
	}
	return true
}

// sample is how many lines are looked at to choose a delimiter.
const sample = 200

// sampled is how many bytes are, so that one endless line isn't cut in many ways.
const sampled = 1 << 20

// delimiter chooses by the share of lines that have the usual number of cells,
// and the share of their cells that are numbers or blank.
func (j *job) delimiter() delimiter {
	best, top := delimiters[len(delimiters)-1], 0.0
	for _, d := range delimiters {
		if j.opt.Delimiter == d.name {
			return d
		}
		if score := d.score(j.file.Text); score > top {
			best, top = d, score
		}
	}
	return best
}

func (d delimiter) score(text string) float64 {
	var rows [][]field
	lines := 0
	if len(text) > sampled {
		text = text[:sampled]
	}
	for pos := 0; pos < len(text) && lines < sample; lines++ {
		var fields []field
		if fields, pos = d.record(text, pos); len(fields) == 0 || len(fields) == 1 && fields[0].text == "" {
			continue
		}
		rows = append(rows, fields)
	}
	usual := usualWidth(rows, func(r []field) int { return len(r) })
	if usual < 2 {
		return 0
	}
	like, numbers, all := 0, 0, 0
	for _, r := range rows {
		if len(r) != usual {
			continue
		}
		like++
		for _, f := range r {
			all++
			if f.text == "" || f.text == "_" || looksNumber(f.text) {
				numbers++
			}
		}
	}
	return float64(like) / float64(len(rows)) * (1 + float64(numbers)/float64(all))
}

// usualWidth is the width that most rows have; of two, the larger.
func usualWidth[R any](rows []R, width func(R) int) int {
	widths := make([]int, len(rows))
	for i, r := range rows {
		widths[i] = width(r)
	}
	slices.Sort(widths)
	usual, most, run := 0, 0, 0
	for i, w := range widths {
		if run++; i > 0 && widths[i-1] != w {
			run = 1
		}
		if run >= most {
			usual, most = w, run
		}
	}
	return usual
}

// record reads the cells of one line, and gives the place of the next.
func (d delimiter) record(text string, pos int) ([]field, int) {
	if d.sign != 0 {
		return d.signed(text, pos)
	}
	end, next := len(text), len(text)
	if n := strings.IndexByte(text[pos:], '\n'); n >= 0 {
		end, next = pos+n, pos+n+1
	}
	if !d.bar {
		return d.spaced(text, pos, end), next
	}
	n := strings.IndexByte(text[pos:end], '|')
	if n < 0 || strings.Count(text[pos:end], "|") != 1 {
		return []field{trimmed(text, pos, end)}, next
	}
	return append([]field{trimmed(text, pos, pos+n)}, d.spaced(text, pos+n+1, end)...), next
}

func trimmed(text string, from, to int) field {
	for from < to && isSpace(text[from]) {
		from++
	}
	for to > from && isSpace(text[to-1]) {
		to--
	}
	return field{text: text[from:to], from: from, to: to}
}

func isSpace(c byte) bool { return c == ' ' || c == '\t' }

// signed reads cells parted by a sign. A cell that begins with a quote runs to
// the next single one, over line ends too; a quote elsewhere is a sign of inches.
func (d delimiter) signed(text string, pos int) ([]field, int) {
	var out []field
	for {
		start := pos
		for start < len(text) && isSpace(text[start]) && text[start] != d.sign {
			start++
		}
		if start < len(text) && text[start] == '"' {
			f, after := quoted(text, start)
			pos = d.end(text, after)
			if rest := trimmed(text, after, pos); rest.text != "" {
				f.text, f.to = f.text+rest.text, rest.to
			}
			out = append(out, f)
		} else {
			end := d.end(text, pos)
			out, pos = append(out, trimmed(text, pos, end)), end
		}
		if pos == len(text) || text[pos] == '\n' {
			return out, pos + 1
		}
		pos++
	}
}

// end is where a cell that isn't in quotes ends.
func (d delimiter) end(text string, pos int) int {
	for pos < len(text) && text[pos] != d.sign && text[pos] != '\n' {
		pos++
	}
	return pos
}

func quoted(text string, start int) (field, int) {
	f := field{from: start, quoted: true}
	var b strings.Builder
	pos := start + 1
	for {
		n := strings.IndexByte(text[pos:], '"')
		if n < 0 {
			f.open, f.to = true, min(start+1, len(text))
			f.text = strings.TrimSpace(b.String() + text[pos:])
			return f, len(text)
		}
		b.WriteString(text[pos : pos+n])
		if pos += n + 1; pos < len(text) && text[pos] == '"' {
			b.WriteByte('"')
			pos++
			continue
		}
		f.text, f.to = strings.TrimSpace(b.String()), pos
		return f, pos
	}
}

// spaced reads cells parted by spaces. A unit in brackets, a per cent sign and
// the \ between two axes belong to the words beside them.
func (d delimiter) spaced(text string, pos, end int) []field {
	var out []field
	if d.wide && pos < end && strings.HasPrefix(text[pos:end], "  ") {
		out = append(out, field{from: pos, to: pos}) // a blank corner
	}
	joined := false
	for pos < end {
		if isSpace(text[pos]) {
			pos++
			continue
		}
		f := d.word(text, pos, end)
		pos = max(f.to, pos+1)
		n := len(out) - 1
		belongs := n >= 0 && out[n].text != "" && !f.quoted && !d.wide &&
			(joined || f.text == `\` || f.text == "%" || strings.ContainsRune("[(", rune(f.text[0])))
		joined = f.text == `\` || strings.HasSuffix(f.text, `\`)
		if belongs {
			out[n].text, out[n].to = text[out[n].from:f.to], f.to
			continue
		}
		out = append(out, f)
	}
	return out
}

// longest is the longest unit in brackets that is looked for.
const longest = 300

// word reads one cell that is parted by spaces.
func (d delimiter) word(text string, pos, end int) field {
	if text[pos] == '"' {
		if f, after := quoted(text[:end], pos); !f.open && f.text != "" {
			f.to = after
			return f
		}
	}
	to, depth := pos, 0
	for ; to < end; to++ {
		c := text[to]
		switch {
		case c == '[' || c == '(':
			depth++
		case c == ']' || c == ')':
			depth--
		}
		if to-pos > longest && depth > 0 {
			break
		}
		gap := isSpace(c) && (!d.wide || c == '\t' || to+1 == end || text[to+1] == ' ')
		if gap && depth <= 0 {
			break
		}
	}
	if depth > 0 { // never closed: it was no bracket
		to = pos
		for to < end && !isSpace(text[to]) {
			to++
		}
	}
	return field{text: text[pos:to], from: pos, to: to}
}
