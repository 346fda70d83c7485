package merge_test

import (
	"maps"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"fettle/lang/format"
	"fettle/lang/source"
)

// plainTable is a table by row and column.
type plainTable struct {
	kind       string // "grid", "catalogue", "csv grid", "csv catalogue"
	head       string // of a declaration, with its brace
	corner     string
	rows, cols []string
	labels     map[string]string // how a column is headed
	cells      map[[2]string]string
}

func (p *plainTable) clone() *plainTable {
	q := *p
	q.rows, q.cols, q.labels, q.cells = slices.Clone(p.rows), slices.Clone(p.cols), maps.Clone(p.labels), maps.Clone(p.cells)
	return &q
}

func (p *plainTable) grid() bool { return strings.HasSuffix(p.kind, "grid") }

// value is a cell as it counts: a number by its size, a blank, or a text.
func value(s string) string {
	s = strings.TrimSpace(s)
	if v, err := strconv.ParseFloat(s, 64); err == nil && !math.IsInf(v, 0) && !math.IsNaN(v) {
		return strconv.FormatFloat(v, 'e', -1, 64)
	}
	if s == "_" {
		return ""
	}
	return s
}

var declared = regexp.MustCompile(`(?ms)^((map|curve|catalog) \w+[^\n{]*\{)[^\n]*\n(.*?)^\}`)

// plainTables finds the tables of a text.
func plainTables(name, text string) []*plainTable {
	if strings.HasSuffix(name, ".csv") {
		return []*plainTable{plainCSV(text)}
	}
	var out []*plainTable
	for _, m := range declared.FindAllStringSubmatch(text, -1) {
		p := &plainTable{kind: "grid", head: m[1], labels: map[string]string{}, cells: map[[2]string]string{}}
		if m[2] == "catalog" {
			p.kind = "catalogue"
		}
		for _, line := range strings.Split(m[3], "\n") {
			line, _, _ = strings.Cut(line, "#")
			if strings.TrimSpace(line) == "" {
				continue
			}
			first, rest, _ := strings.Cut(line, "|")
			fields := strings.Fields(rest)
			if p.kind == "catalogue" {
				fields = strings.Split(rest, "|")
			}
			p.line(strings.TrimSpace(first), fields)
		}
		out = append(out, p)
	}
	return out
}

// plainCSV reads a CSV text without line ends in its cells.
func plainCSV(text string) *plainTable {
	p := &plainTable{kind: "csv catalogue", labels: map[string]string{}, cells: map[[2]string]string{}}
	for _, line := range strings.Split(strings.TrimSpace(text), "\n") {
		var fields []string
		quoted, cell := false, ""
		for _, c := range strings.TrimSuffix(line, "\r") + "," {
			switch {
			case c == '"':
				quoted = !quoted
			case c == ',' && !quoted:
				fields, cell = append(fields, cell), ""
			default:
				cell += string(c)
			}
		}
		if p.corner == "" && strings.TrimSpace(fields[0]) != "name" {
			p.kind = "csv grid"
		}
		p.line(fields[0], fields[1:])
	}
	return p
}

func (p *plainTable) line(first string, fields []string) {
	if p.corner == "" {
		p.corner = first
		for _, f := range fields {
			f = strings.TrimSpace(f)
			key := value(f)
			if !p.grid() {
				key = strings.TrimSpace(strings.Split(f, "[")[0])
			}
			p.cols = append(p.cols, key)
			p.labels[key] = f
		}
		return
	}
	key := strings.TrimSpace(first)
	if p.grid() {
		key = value(first)
	}
	p.rows = append(p.rows, key)
	p.labels["row "+key] = strings.TrimSpace(first)
	for i, f := range fields {
		p.cells[[2]string{key, p.cols[i]}] = strings.TrimSpace(f)
	}
}

// text writes a table.
func (p *plainTable) text() string {
	var b strings.Builder
	quote := func(s string) string {
		if strings.Contains(s, ",") {
			return `"` + s + `"`
		}
		return s
	}
	line := func(first string, cells []string) {
		switch {
		case strings.HasPrefix(p.kind, "csv"):
			b.WriteString(quote(first))
			for _, c := range cells {
				b.WriteString("," + quote(c))
			}
		case p.grid():
			b.WriteString("  " + first + " | " + strings.Join(cells, " "))
		default:
			b.WriteString("  " + first + " | " + strings.Join(cells, " | "))
		}
		b.WriteString("\n")
	}
	if p.head != "" {
		b.WriteString(p.head + "\n")
	}
	var heads []string
	for _, c := range p.cols {
		heads = append(heads, p.labels[c])
	}
	line(p.corner, heads)
	for _, r := range p.rows {
		var cells []string
		for _, c := range p.cols {
			cell := p.cells[[2]string{r, c}]
			if cell == "" && p.kind == "grid" {
				cell = "_"
			}
			cells = append(cells, cell)
		}
		line(p.labels["row "+r], cells)
	}
	if p.head == "" {
		return b.String()
	}
	b.WriteString("}\n")
	out, errs := format.Source(source.New("x.fettle", b.String()))
	if errs.HasErrors() {
		panic(errs.Sorted()[0].Message + "\n" + b.String())
	}
	return out
}
