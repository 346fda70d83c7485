package live

import (
	"slices"
	"strings"

	"fettle/compiler/check"
	"fettle/compiler/grid"
	"fettle/compiler/plan"
	"fettle/compiler/workbook"
	"fettle/lang/formula"
)

// listConditions writes what the tune has for each given. A yes/no is 1 or 0.
func (b *builder) listConditions() {
	s := b.conditions
	s.heading("Conditions of "+b.about.Name, "a row of a catalogue by its name; yes is 1 and no is 0")
	s.row++
	s.cells(head, "condition", "value", "unit", "what it is")
	for i, g := range b.p.Givens {
		b.given = append(b.given, s.row)
		x := b.env.Values[i]
		switch g.Kind {
		case check.Choice:
			s.Text(s.row, 2, plan.Text(g, x), plain)
			s.Text(s.row, 3, "of "+g.Catalog.Name, plain)
		case check.Switch:
			s.Number(s.row, 2, x, plain)
			s.Text(s.row, 3, "yes/no", plain)
		default:
			s.Number(s.row, 2, x, plain)
			s.Text(s.row, 3, g.Unit.Text, plain)
		}
		s.cells(plain, g.Name, "", "", strings.ReplaceAll(g.Doc, "\n", " "))
	}
	s.row++
}

// listRules says of every rule whether it applies, by formula.
func (b *builder) listRules() {
	s := b.conditions
	s.cells(head, "rule", "applies", "sheet", "when")
	for _, r := range b.p.Rules {
		name := "left out"
		if b.applied[r] {
			name = b.rules[r].Name
		}
		when := "always"
		t := term{"1", atom, 1}
		if r.When != nil {
			when = oneLine(r.When.Span)
			x := b.expr(nil, nil, b.values)
			x.prepare(r.When)
			x.s = s // the cell stands here, what it needs on the sheet of values
			t = asNumber(x.term(r.When, 0, 0), r.When)
		}
		s.Formula(s.row, 2, t.text, t.val, plain)
		s.cells(plain, r.Name, "", name, when)
	}
	var out []string
	for _, l := range b.about.LeftOut {
		out = append(out, l.Name+": "+l.Reason)
	}
	if s.row++; len(out) > 0 {
		s.text("Why the others were left out when this was compiled", bold)
		for _, line := range out {
			s.text(line, plain)
		}
	}
}

// listCatalogs writes every catalogue of the source, and those that a given
// takes its rows from.
func (b *builder) listCatalogs() {
	s := b.catalogs
	s.heading("Catalogues and curves", "")
	list := slices.Clone(b.p.Catalogs)
	for _, g := range b.p.Givens {
		if g.Catalog != nil && !slices.Contains(list, g.Catalog) {
			list = append(list, g.Catalog)
		}
	}
	for _, c := range list {
		s.row++
		s.text("catalogue "+c.Name, bold)
		heads := []string{"name"}
		for _, col := range c.Cols {
			heads = append(heads, grid.AxisHead{Name: col.Name, Unit: col.Unit.Text}.String())
		}
		s.cells(head, heads...)
		b.catalog[c] = s.row
		for r, name := range c.Rows {
			for k, x := range c.Values[r] {
				s.Number(s.row, k+2, x, plain)
			}
			s.text(name, plain)
		}
	}
}

// curve gives the two columns of a curve's points, which are written when they
// are first needed.
func (b *builder) curve(c *formula.Curve) *block {
	if k, ok := b.curves[c]; ok {
		return k
	}
	s := b.catalogs
	s.row++
	s.text("curve "+c.Name, bold)
	s.cells(head, "at", "value")
	k := &block{s: s, row: s.row, col: 1, nr: len(c.X), nc: 2}
	for i := range c.X {
		s.Number(s.row, 1, c.X[i], plain)
		s.Number(s.row, 2, c.Y[i], plain)
		k.vals = append(k.vals, c.X[i], c.Y[i])
		s.row++
	}
	b.curves[c] = k
	return k
}

// givenCell names the cell of a given's value.
func (b *builder) givenCell(from *sheet, g int) string {
	return on(b.conditions, from) + fixed(b.given[g], 2)
}

// columnOf is the value of a catalogue's column in the row that a given is.
func (b *builder) columnOf(from *sheet, g, col int) term {
	c := b.p.Givens[g].Catalog
	first := b.catalog[c]
	last := first + len(c.Rows) - 1
	area := func(col int) string { return on(b.catalogs, from) + fixed(first, col) + ":" + fixed(last, col) }
	return term{"INDEX(" + area(col+2) + ",MATCH(" + b.givenCell(from, g) + "," + area(1) + ",0))", atom, b.env.Column(g, col)}
}

// catalogCell finds the cell of a fixed value that is named in the source, as
// in fuels.pump98.stoich.
func (b *builder) catalogCell(from *sheet, n *formula.Node) (term, bool) {
	if n.Span.IsZero() {
		return term{}, false
	}
	path := strings.Split(n.Span.Text(), ".")
	if len(path) < 3 {
		return term{}, false
	}
	path = path[len(path)-3:]
	for _, c := range b.p.Catalogs {
		row, col := c.Row(path[1]), c.Col(path[2])
		if c.Name == path[0] && row >= 0 && col >= 0 && c.Values[row][col] == n.Val && b.catalog[c] > 0 {
			return term{on(b.catalogs, from) + workbook.Ref(b.catalog[c]+row, col+2), atom, n.Val}, true
		}
	}
	return term{}, false
}
