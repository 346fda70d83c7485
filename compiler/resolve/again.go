package resolve

import (
	"io/fs"
	"maps"
	"slices"
	"strings"

	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// Again gathers a workspace that was gathered before without a word to say about
// it, if no more changed since than the texts of its CSV files and cells in the
// grids of its sources; nil if more did, or if there is something to say.
func Again(before *Program, fsys fs.FS) *Program {
	errs := &diag.List{}
	p := *before
	p.Files = slices.Clone(before.Files)
	state := map[string]int{}
	for i, old := range before.Files {
		state[old.Source.Name] = read
		f, err := source.ReadText(fsys, old.Source.Name)
		if err != nil {
			return nil
		}
		if f.Text == old.Source.Text {
			continue
		}
		tree := parse(f, errs)
		if errs.Len() > 0 || !OnlyGrids(old, tree) {
			return nil
		}
		p.Files[i] = tree
		p.replace(before, old, tree)
	}
	if !p.readCSVs(before, fsys, errs) {
		return nil
	}
	l := &loader{fsys: fsys, errs: errs, state: state, p: &p}
	l.strays()
	if errs.Len() > 0 {
		return nil
	}
	return &p
}

// OnlyGrids says whether two trees of a file differ in nothing but what stands for
// numbers in grids of maps, with each character of the rest in its place.
func OnlyGrids(old, new *syntax.File) bool {
	a, b := old.Source.Text, new.Source.Text
	if old.Source.Name != new.Source.Name || len(a) != len(b) || len(old.Decls) != len(new.Decls) {
		return false
	}
	at := 0
	for _, d := range old.Decls {
		m, ok := d.(*syntax.Map)
		if !ok || m.Body == nil || m.Body.From < at {
			continue
		}
		from, to := m.Body.From, m.Body.To()
		if a[at:from] != b[at:from] {
			return false
		}
		for i := from; i < to; i++ {
			if a[i] != b[i] && (!inNumber(a[i]) || !inNumber(b[i])) {
				return false
			}
		}
		at = to
	}
	return a[at:] == b[at:]
}

func inNumber(c byte) bool { return strings.IndexByte("0123456789.-_ ", c) >= 0 }

// replace puts a file's new declarations in the place of the old ones.
func (p *Program) replace(before *Program, old, new *syntax.File) {
	if p.Root == before.Root {
		root := *before.Root
		root.Table = maps.Clone(root.Table)
		p.Root, p.Decls = &root, slices.Clone(before.Decls)
	}
	if p.MainFile == old.Source {
		p.MainFile = new.Source
	}
	by := make(map[syntax.Decl]syntax.Decl, len(old.Decls))
	for i, d := range old.Decls {
		by[d] = new.Decls[i]
	}
	for i, d := range p.Decls {
		if other, ok := by[d]; ok {
			p.Decls[i] = other
			if name := d.Header().Name.Text; p.Root.Table[name] == d {
				p.Root.Table[name] = other
			}
		}
	}
}

// readCSVs reads the CSV files again; false where one can't be read.
func (p *Program) readCSVs(before *Program, fsys fs.FS, errs *diag.List) bool {
	for _, name := range slices.Sorted(maps.Keys(before.CSVs)) {
		f, err := source.ReadText(fsys, name)
		if err != nil {
			return false
		}
		if f.Text == before.CSVs[name].Text {
			continue
		}
		if syntax.Conflicts(f, errs) {
			return false
		}
		p.CSVs = maps.Clone(p.CSVs)
		p.CSVs[name] = same(f)
	}
	return true
}
