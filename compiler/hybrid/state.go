package hybrid

import (
	"errors"
	"strings"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/resolve"
	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// state is a set of declarations on its way from the old program to the new.
type state struct {
	order   []string // of all declarations
	decls   map[string]syntax.Decl
	modules [2]*resolve.Program
	csvs    map[string]*source.File
	trims   []syntax.Decl
}

func (s *state) clone() *state {
	c := *s
	c.order = append([]string(nil), s.order...)
	c.decls = make(map[string]syntax.Decl, len(s.decls))
	for k, v := range s.decls {
		c.decls[k] = v
	}
	return &c
}

func (s *state) put(name string, d syntax.Decl) { s.decls[name] = d }

func (s *state) drop(name string) { delete(s.decls, name) }

// arrange brings declarations of a kind into the order of a list; the others
// keep their places.
func (s *state) arrange(list []syntax.Decl, is func(syntax.Decl) bool) {
	var want []string
	for _, d := range list {
		if name := d.Header().Name.Text; is(d) && s.decls[name] != nil {
			want = append(want, name)
		}
	}
	in := map[string]bool{}
	for _, name := range want {
		in[name] = true
	}
	k := 0
	for i, name := range s.order {
		if in[name] {
			s.order[i] = want[k]
			k++
		}
	}
}

// begin is the old program with what only the new one declares put in, but for
// rules and clamps.
func (d *differ) begin() *state {
	s := &state{decls: map[string]syntax.Decl{}, csvs: map[string]*source.File{}, modules: [2]*resolve.Program{d.old.p.Resolved, d.new.p.Resolved}}
	all := func(syntax.Decl) bool { return true }
	s.order = merged(namesOf(d.old.decls, all), namesOf(d.new.decls, all))
	for i, side := range []*side{d.new, d.old} { // the old one's stand where both have a name
		for _, x := range side.decls {
			if i == 0 && (isRule(x) || isClamp(x)) {
				continue
			}
			s.decls[x.Header().Name.Text] = x
		}
	}
	d.readable(s)
	d.trims(s)
	return s
}

// readable gives each CSV file of either side a name of its own, where the two
// sides have files of one name with different texts.
func (d *differ) readable(s *state) {
	for name, f := range d.new.p.Resolved.CSVs {
		s.csvs[name] = f
	}
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
		name := x.Header().Name.Text
		if s.decls[name] == x {
			s.decls[name] = y
		}
		d.old.decls[i], d.old.byName[name] = y, y
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

// compile checks the declarations as a source of their own and lowers them.
func (s *state) compile() (*eval.Program, error) {
	root := &resolve.Names{Table: map[string]syntax.Decl{}, Modules: map[string]*resolve.Names{}, UsedAt: map[string]source.Span{}}
	rp := &resolve.Program{Root: root, CSVs: s.csvs}
	seen := map[string]bool{}
	for i := len(s.modules) - 1; i >= 0; i-- { // both sides read the one library
		for name, m := range s.modules[i].Root.Modules {
			root.Modules[name], root.UsedAt[name] = m, s.modules[i].Root.UsedAt[name]
		}
		for _, m := range s.modules[i].Modules {
			if !seen[m.Module] {
				seen[m.Module] = true
				rp.Modules = append(rp.Modules, m)
			}
		}
	}
	take := func(d syntax.Decl) {
		name := d.Header().Name.Text
		rp.Decls = append(rp.Decls, d)
		root.Table[name] = d
		root.Order = append(root.Order, name)
	}
	for _, name := range s.order {
		if d := s.decls[name]; d != nil {
			take(d)
		}
	}
	for _, d := range s.trims {
		take(d)
	}
	errs := &diag.List{}
	p := check.Run(rp, errs)
	if errs.HasErrors() {
		for _, e := range errs.Sorted() {
			if e.Severity == diag.Error {
				place := ""
				if !e.Span.IsZero() {
					place = " (" + e.Span.String() + ")"
				}
				return nil, errors.New(strings.TrimSuffix(e.Message, ".") + place)
			}
		}
	}
	return eval.Lower(p), nil
}
