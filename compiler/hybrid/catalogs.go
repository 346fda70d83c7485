package hybrid

import (
	"strings"

	"fettle/compiler/check"
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// catalogs finds the rows that differ. Rows and columns that only one side has
// are kept from the start to the end. Where a column's kind or unit differs, the
// catalogue is replaced as a whole.
func (d *differ) catalogs() {
	for _, name := range d.both(func(x syntax.Decl) bool { _, ok := x.(*syntax.Catalog); return ok }) {
		a, b := catalogOf(d.old.p, name), catalogOf(d.new.p, name)
		mix := &mixture{decl: d.new.byName[name].(*syntax.Catalog), a: a, b: b}
		if other := mix.join(); other != "" {
			d.whole(name, other)
			continue
		}
		d.steps.start.put(name, mix.make(nil))
		for _, row := range mix.changed {
			why, at := mix.why(row)
			key := name + "." + row
			d.add(&Element{Kind: Row, Name: key, Places: at, Why: why, Text: [2]string{rowText(a, row), rowText(b, row)}, names: []string{name},
				apply: func(s *state) {
					s.rows[key] = true
					s.put(name, mix.make(s.rows))
				}})
		}
	}
}

// whole is the element of a catalogue that is replaced as a whole, with the
// givens that choose from it.
func (d *differ) whole(name, why string) {
	e := d.slot(Catalog, name)
	if why != "" {
		e.Why = why
	}
	put := e.apply
	givens := d.chosenFrom(name)
	e.names = append(e.names, givens...)
	e.apply = func(s *state) {
		put(s)
		for _, g := range givens {
			s.put(g, d.new.byName[g])
		}
	}
	d.add(e)
}

// catalogOf finds a workspace's catalogue; nil where the name is something
// else's.
func catalogOf(p *check.Program, name string) *formula.Catalog {
	decl, ok := p.Resolved.Root.Table[name].(*syntax.Catalog)
	for _, c := range p.Catalogs {
		if ok && c.Span == decl.Name.Span { // a module may have one of the same name
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

// join works out the columns and rows of both; or says why they can't be told
// apart row by row.
func (m *mixture) join() (other string) {
	if m.a == nil {
		return "a catalogue now"
	}
	m.cols = append(m.cols, m.b.Cols...)
	for _, c := range m.a.Cols {
		j := m.b.Col(c.Name)
		switch {
		case j < 0:
			m.cols = append(m.cols, c)
		case m.b.Cols[j].Kind != c.Kind || m.b.Cols[j].Unit.Text != c.Unit.Text:
			return "column " + c.Name + " in " + colText(m.b.Cols[j]) + " (was in " + colText(c) + ")"
		}
	}
	m.rows = append(m.rows, m.b.Rows...)
	for _, r := range m.a.Rows {
		if m.b.Row(r) < 0 {
			m.rows = append(m.rows, r)
		}
	}
	for _, r := range m.rows {
		if why, _ := m.why(r); why != "" {
			m.changed = append(m.changed, r)
		}
	}
	return ""
}

func colText(c formula.Column) string {
	switch {
	case c.Kind == formula.TextCol:
		return "[text]"
	case c.Kind == formula.YesNoCol:
		return "[yes/no]"
	case c.Unit.Text == "":
		return "plain numbers"
	}
	return "[" + c.Unit.Text + "]"
}

// make writes the catalogue with some of the changed rows new.
func (m *mixture) make(isNew map[string]bool) *syntax.Catalog {
	changed := map[string]bool{}
	for _, r := range m.changed {
		changed[r] = true
	}
	var b strings.Builder
	b.WriteString("\nname")
	for _, c := range m.cols {
		b.WriteString(" | " + c.Name)
		if c.Kind != formula.NumberCol || c.Unit.Text != "" {
			b.WriteString(" " + colText(c))
		}
	}
	for _, r := range m.rows {
		b.WriteString("\n" + r)
		first, second := m.a, m.b
		if isNew[m.decl.Name.Text+"."+r] || !changed[r] {
			first, second = m.b, m.a
		}
		for _, c := range m.cols {
			b.WriteString(" | " + written(m.text(first, second, r, c.Name), c.Kind))
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

// text is a cell of the first side that has it. Where neither does, in a row of
// the new side and a column of the old one, nothing reads it, and any cell of
// the column will do.
func (m *mixture) text(first, second *formula.Catalog, row, col string) string {
	for _, from := range []*formula.Catalog{first, second} {
		if i, j := from.Row(row), from.Col(col); i >= 0 && j >= 0 {
			return from.Texts[i][j]
		}
	}
	for _, from := range []*formula.Catalog{first, second} {
		if j := from.Col(col); j >= 0 {
			return from.Texts[0][j]
		}
	}
	return ""
}

// written is a cell as a catalogue in place has it.
func written(text string, kind formula.ColKind) string {
	if kind == formula.TextCol {
		return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", " ", "\r", " ").Replace(text) + `"`
	}
	return text
}

// why says which cells of a row that both sides have differ, and where they
// stand; "" for none. What is text is for people, and no cell reads it.
func (m *mixture) why(row string) (string, [2]source.Span) {
	var out []string
	i, j := m.a.Row(row), m.b.Row(row)
	if i < 0 || j < 0 {
		return "", [2]source.Span{}
	}
	at := [2]source.Span{m.a.NameAt[i], m.b.NameAt[j]}
	for k, c := range m.b.Cols {
		l := m.a.Col(c.Name)
		if l < 0 || c.Kind == formula.TextCol || m.a.Values[i][l] == m.b.Values[j][k] {
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
