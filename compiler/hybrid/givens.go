package hybrid

import (
	"fettle/compiler/check"
	"fettle/lang/syntax"
)

func isGiven(d syntax.Decl) bool { _, ok := d.(*syntax.Given); return ok }

// givens finds those whose kind or unit differs. A default or a range is a
// matter of each tune's conditions: it is no element, and no hybrid looks at it.
func (d *differ) givens() {
	for _, name := range d.both(isGiven) {
		if !d.sameGiven(name) {
			d.add(d.slot(Given, name))
		}
	}
	for old, new := range d.renames(d.old.decls, d.new.decls, isGiven) {
		d.steps.renamed[old], d.steps.renamed[new] = new, old
	}
}

func (d *differ) sameGiven(name string) bool {
	a, ok := d.old.byName[name].(*syntax.Given)
	b, too := d.new.byName[name].(*syntax.Given)
	old, new := givenOf(d.old.p, name), givenOf(d.new.p, name)
	return ok && too && old != nil && new != nil && old.Kind == new.Kind && old.Unit.Text == new.Unit.Text && sameName(a.Catalog, b.Catalog)
}

func sameName(a, b *syntax.Name) bool {
	return (a == nil) == (b == nil) && (a == nil || a.Text == b.Text)
}

func givenOf(p *check.Program, name string) *check.Given {
	for _, g := range p.Givens {
		if g.Name == name {
			return g
		}
	}
	return nil
}

// unbounded is a given without its range, which a tune's value of the other side
// may lie outside of.
func unbounded(d syntax.Decl) syntax.Decl {
	g, ok := d.(*syntax.Given)
	if !ok || g.Within == nil {
		return d
	}
	c := *g
	c.Within = nil
	return &c
}

// chosenFrom lists the new side's givens that choose from a catalogue and are no
// elements of their own: where a catalogue is replaced as a whole they go with
// it, since a default names one of its rows.
func (d *differ) chosenFrom(catalog string) []string {
	var out []string
	for _, x := range d.new.decls {
		if g, ok := x.(*syntax.Given); ok && g.Catalog != nil && g.Catalog.Text == catalog && d.sameGiven(g.Name.Text) {
			out = append(out, g.Name.Text)
		}
	}
	return out
}
