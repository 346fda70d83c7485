package hybrid

import (
	"maps"

	"fettle/compiler/resolve"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// state is a set of declarations on its way from the old program to the new.
type state struct {
	order   []string // of all names but those of rules and clamps
	rules   []string // in the order in which they act, whether they are there or not
	clamps  []string
	decls   map[string]syntax.Decl
	rows    map[string]bool // rows of catalogues that are new already
	shared  []string        // maps of both sides
	modules [2]*resolve.Program
	csvs    map[string]*source.File
	trims   []*standIn
	facts   facts
}

func (s *state) clone() *state {
	c := *s
	c.decls, c.rows = maps.Clone(s.decls), maps.Clone(s.rows)
	return &c
}

func (s *state) put(name string, d syntax.Decl) { s.decls[name] = unbounded(d) }

func (s *state) drop(name string) { delete(s.decls, name) }

// begin is the old program with what only the new one declares, but for rules
// and clamps.
func (d *differ) begin() {
	s := &state{decls: map[string]syntax.Decl{}, rows: map[string]bool{}, csvs: map[string]*source.File{},
		modules: [2]*resolve.Program{d.old.p.Resolved, d.new.p.Resolved}, facts: d.facts}
	d.steps.start = s
	d.readable()
	others := func(x syntax.Decl) bool { return !isRule(x) && !isClamp(x) }
	s.order = merged(namesOf(d.old.decls, others), namesOf(d.new.decls, others))
	s.rules = d.inOrder(isRule)
	s.clamps = d.inOrder(isClamp)
	for _, x := range d.new.decls {
		if others(x) {
			s.put(x.Header().Name.Text, x)
		}
	}
	for _, x := range d.old.decls { // these stand where both have a name
		s.put(x.Header().Name.Text, x)
	}
	for _, name := range d.both(isMap) {
		if isMap(d.old.byName[name]) {
			s.shared = append(s.shared, name)
		}
	}
	d.trims()
}

// inOrder lists the rules or clamps of both sides in the old order.
func (d *differ) inOrder(is func(syntax.Decl) bool) []string {
	a, b := namesOf(d.old.decls, is), namesOf(d.new.decls, is)
	renamed := d.renames(d.old.decls, d.new.decls, is)
	for old, new := range renamed {
		for i, name := range b {
			if name == new {
				b[i] = old
			}
		}
	}
	return d.withRenamed(merged(a, b), renamed)
}

// readable gives each CSV file of either side a name of its own, where the two
// sides have files of one name with different texts.
func (d *differ) readable() {
	s := d.steps.start
	maps.Copy(s.csvs, d.new.p.Resolved.CSVs)
	for name, f := range d.old.p.Resolved.CSVs {
		if other := s.csvs[name]; other != nil && other.Text != f.Text {
			name = oldFile + name
		}
		s.csvs[name] = f
	}
	for i, x := range d.old.decls {
		y := withFile(x, func(t syntax.Text) syntax.Text {
			name := resolve.FileName(t.Span.File, t.Value)
			if _, ok := s.csvs[oldFile+name]; ok {
				t.Value = oldFile + name
			}
			return t
		})
		d.old.decls[i], d.old.byName[x.Header().Name.Text] = y, y
	}
}

// oldFile marks the name of a file of the old side; a name that begins with a
// slash is taken as it stands.
const oldFile = "/old/"

// withFile gives a map or catalogue that is read from a file another file name.
func withFile(d syntax.Decl, name func(syntax.Text) syntax.Text) syntax.Decl {
	switch d := d.(type) {
	case *syntax.Map:
		if d.File != nil {
			c, t := *d, name(*d.File)
			c.File = &t
			return &c
		}
	case *syntax.Catalog:
		if d.File != nil {
			c, t := *d, name(*d.File)
			c.File = &t
			return &c
		}
	}
	return d
}
