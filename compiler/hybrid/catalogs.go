package hybrid

import (
	"strings"

	"fettle/compiler/check"
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// catalogs finds the rows that differ. What only one side has, rows and columns,
// is kept from the start to the end; where that can't be (a cell that neither
// side has), or a column's kind or unit differs, the catalogue is replaced as a
// whole.
func (d *differ) catalogs() {
	for _, name := range d.both(func(x syntax.Decl) bool { _, ok := x.(*syntax.Catalog); return ok }) {
		a, b := catalogOf(d.old.p, name), catalogOf(d.new.p, name)
		if a == nil || b == nil {
			d.add(d.slot(Catalog, name))
			continue
		}
		mix := &mixture{decl: d.new.byName[name].(*syntax.Catalog), a: a, b: b}
		if !mix.join() {
			e := d.slot(Catalog, name)
			e.Why = "other columns or rows"
			d.add(e)
			continue
		}
		if len(mix.changed) == 0 && len(a.Rows) == len(b.Rows) && len(mix.cols) == len(b.Cols) && len(a.Cols) == len(b.Cols) {
			d.steps.start.put(name, d.new.byName[name])
			continue
		}
		d.steps.start.put(name, mix.make(0))
		for i, row := range mix.changed {
			decl := mix.make(i + 1)
			why, at := mix.why(row)
			d.add(&Element{Kind: Row, Name: name + "." + row, Places: at, Why: why,
				Text:  [2]string{rowText(a, row), rowText(b, row)},
				apply: func(s *state) { s.put(name, decl) }})
		}
	}
}

func catalogOf(p *check.Program, name string) *formula.Catalog {
	for _, c := range p.Catalogs {
		if c.Name == name && p.Resolved.Root.Table[name] != nil {
			return c
		}
	}
	return nil
}

// mixture is two catalogues in one.
type mixture struct {
	decl    *syntax.Catalog
	a, b    *formula.Catalog
	cols    []formula.Column
	rows    []string
	changed []string // rows of both with other cells
}

// join works out the columns and rows of both; false where they can't be told
// apart row by row.
func (m *mixture) join() bool {
	m.cols = append(m.cols, m.b.Cols...)
	for _, c := range m.a.Cols {
		j := m.b.Col(c.Name)
		switch {
		case j < 0:
			m.cols = append(m.cols, c)
		case m.b.Cols[j].Kind != c.Kind || m.b.Cols[j].Unit.Text != c.Unit.Text:
			return false
		}
	}
	m.rows = append(m.rows, m.b.Rows...)
	for _, r := range m.a.Rows {
		if m.b.Row(r) < 0 {
			m.rows = append(m.rows, r)
		}
	}
	for _, r := range m.rows {
		differs := false
		for _, c := range m.cols {
			x, inA := cell(m.a, r, c.Name)
			y, inB := cell(m.b, r, c.Name)
			if !inA && !inB {
				return false
			}
			differs = differs || inA && inB && x != y
		}
		if differs {
			m.changed = append(m.changed, r)
		}
	}
	return true
}

// content is what a cell of a catalogue says.
type content struct {
	value float64
	text  string // of a text column
}

func cell(c *formula.Catalog, row, col string) (content, bool) {
	i, j := c.Row(row), c.Col(col)
	if i < 0 || j < 0 {
		return content{}, false
	}
	out := content{value: c.Values[i][j]}
	if c.Cols[j].Kind == formula.TextCol {
		out.text = c.Texts[i][j]
	}
	return out, true
}

// make writes the catalogue with the first n changed rows new.
func (m *mixture) make(n int) *syntax.Catalog {
	isNew := map[string]bool{}
	for _, r := range m.changed[:n] {
		isNew[r] = true
	}
	isChanged := map[string]bool{}
	for _, r := range m.changed {
		isChanged[r] = true
	}
	var b strings.Builder
	b.WriteString("\nname")
	for _, c := range m.cols {
		b.WriteString(" | " + c.Name)
		switch {
		case c.Kind == formula.TextCol:
			b.WriteString(" [text]")
		case c.Kind == formula.YesNoCol:
			b.WriteString(" [yes/no]")
		case c.Unit.Text != "":
			b.WriteString(" [" + c.Unit.Text + "]")
		}
	}
	for _, r := range m.rows {
		b.WriteString("\n" + r)
		first, second := m.a, m.b
		if isNew[r] || !isChanged[r] {
			first, second = m.b, m.a
		}
		for _, c := range m.cols {
			from := first
			if from.Row(r) < 0 || from.Col(c.Name) < 0 {
				from = second
			}
			b.WriteString(" | " + written(from.Texts[from.Row(r)][from.Col(c.Name)], c.Kind))
		}
	}
	b.WriteByte('\n')
	text := b.String()
	out := *m.decl
	out.File = nil
	out.Body = &syntax.Token{Kind: syntax.Body, Text: text}
	out.Span = source.Span{File: source.New(m.decl.Span.File.Name, text), From: 0, To: len(text)}
	return &out
}

// written is a cell as a catalogue in place has it.
func written(text string, kind formula.ColKind) string {
	if kind == formula.TextCol {
		return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", " ", "\r", " ").Replace(text) + `"`
	}
	return text
}

// why says which cells of a row differ, and where they stand.
func (m *mixture) why(row string) (string, [2]source.Span) {
	var out []string
	i, j := m.a.Row(row), m.b.Row(row)
	at := [2]source.Span{m.a.NameAt[i], m.b.NameAt[j]}
	for k, c := range m.b.Cols {
		l := m.a.Col(c.Name)
		x, inA := cell(m.a, row, c.Name)
		y, _ := cell(m.b, row, c.Name)
		if !inA || x == y {
			continue
		}
		if len(out) == 0 {
			at = [2]source.Span{m.a.Places[i][l], m.b.Places[j][k]}
		}
		out = append(out, c.Name+" "+source.OneLine(m.a.Texts[i][l])+" → "+source.OneLine(m.b.Texts[j][k]))
	}
	return strings.Join(out, ", "), at
}

func rowText(c *formula.Catalog, row string) string {
	out := []string{row}
	for _, t := range c.Texts[c.Row(row)] {
		out = append(out, source.OneLine(t))
	}
	return strings.Join(out, " | ")
}
