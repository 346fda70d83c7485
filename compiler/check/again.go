package check

import (
	"maps"
	"math"
	"slices"

	"fettle/compiler/grid"
	"fettle/compiler/resolve"
	"fettle/lang/diag"
	"fettle/lang/formula"
	"fettle/lang/syntax"
)

// What tuners change most is cells of a CSV file, and a cell's value decides
// nothing about names, units, shapes or orders. So a workspace of which nothing
// else changed isn't checked again: its program is the one before with other
// bases.

// Again is the program of a workspace that differs from one that was checked
// before, without a word to say about it, in cells of the CSV files of maps at
// most; nil if more changed, or if there is something to say.
func Again(before *Program, rp *resolve.Program) *Program {
	if !slices.Equal(before.Resolved.Files, rp.Files) {
		return nil
	}
	bases, ok := Bases(before, rp)
	if !ok {
		return nil
	}
	p := before.copyOf(rp)
	c := before.again(rp)
	c.p, p.Scope = p, c.root
	for _, b := range bases {
		b.Put(p)
	}
	return p
}

// again is a checker that knows what was checked before.
func (p *Program) again(rp *resolve.Program) *checker {
	c := &checker{p: &Program{Resolved: rp, Axes: p.Axes}, errs: &diag.List{}, modules: map[string]*scope{}, catalogs: map[*syntax.Catalog]*formula.Catalog{}, ready: true}
	c.root = c.newScope(rp.Root)
	c.root.symbols = maps.Clone(p.symbols)
	for _, m := range rp.Modules {
		c.modules[m.Module] = c.newScope(m)
	}
	return c
}

// Base is a map's base that was read again.
type Base struct {
	Map  int
	Base grid.Table
	read *Map
}

// Put gives the map of a program its base.
func (b *Base) Put(p *Program) {
	m := p.Maps[b.Map]
	m.Base, m.Given, m.From, m.Places, m.Span, m.decl = b.Base, b.read.Given, b.read.From, b.read.Places, b.read.Span, b.read.decl
}

// Bases reads the bases again whose texts changed since a workspace was checked
// without a word to say about it. False if more changed than cells, or if there is
// something to say.
func Bases(before *Program, rp *resolve.Program) ([]Base, bool) {
	csvs, ok := changedCSVs(before, rp)
	if !ok {
		return nil, false
	}
	grids, ok := changedGrids(before.Resolved, rp)
	if !ok {
		return nil, false
	}
	var out []Base
	c := before.again(rp)
	for _, m := range before.Maps {
		read := &Map{Name: m.Name, Unit: m.Unit, Span: m.Span, decl: m.decl}
		file := m.decl.File
		switch md := grids[m.Name]; {
		case md != nil && md.Body.Text != m.decl.Body.Text:
			read.Span, read.decl = md.Span, md
			if g := syntax.ReadGrid(md.Span.File, *md.Body, c.errs); g == nil || !c.gridOf(read, g) {
				return nil, false
			}
		case file != nil && csvs[resolve.FileName(file.Span.File, file.Value)]:
			if !c.csvGrid(read, file) {
				return nil, false
			}
		default:
			continue
		}
		if c.errs.Len() > 0 || !slices.Equal(read.Axes, m.Axes) || !sameBits(read.Base.Rows, m.Base.Rows) || !sameBits(read.Base.Cols, m.Base.Cols) {
			return nil, false
		}
		out = append(out, Base{m.Index, read.Base, read})
	}
	return out, true
}

// changedGrids gives the maps of changed files that have grids in place; false if
// more changed in a file than such grids.
func changedGrids(old, new *resolve.Program) (map[string]*syntax.Map, bool) {
	if len(old.Files) != len(new.Files) {
		return nil, false
	}
	grids := map[string]*syntax.Map{}
	for i, f := range new.Files {
		if f == old.Files[i] {
			continue
		}
		if !resolve.OnlyGrids(old.Files[i], f) {
			return nil, false
		}
		for _, d := range f.Decls {
			if m, ok := d.(*syntax.Map); ok && m.Body != nil {
				grids[m.Name.Text] = m
			}
		}
	}
	return grids, true
}

// changedCSVs names the CSV files that changed; false if one is new or gone, or of
// a catalogue.
func changedCSVs(before *Program, rp *resolve.Program) (map[string]bool, bool) {
	old := before.Resolved
	if before.symbols == nil || len(old.CSVs) != len(rp.CSVs) {
		return nil, false
	}
	changed := map[string]bool{}
	for name, f := range rp.CSVs {
		was, ok := old.CSVs[name]
		if !ok {
			return nil, false
		}
		changed[name] = was != f // resolve gives a text that it has seen as the same file
	}
	for _, d := range rp.Decls {
		if cat, ok := d.(*syntax.Catalog); ok && cat.File != nil && changed[resolve.FileName(cat.File.Span.File, cat.File.Value)] {
			return nil, false
		}
	}
	return changed, true
}

func sameBits(a, b []float64) bool {
	return slices.EqualFunc(a, b, func(x, y float64) bool { return math.Float64bits(x) == math.Float64bits(y) })
}

// copyOf is the program with maps of its own, and whatever points at maps.
func (p *Program) copyOf(rp *resolve.Program) *Program {
	out := *p
	out.Resolved = rp
	out.Maps = each(p.Maps)
	out.Rules = each(p.Rules)
	out.Limits = each(p.Limits)
	out.Variants = each(p.Variants)
	out.Targets = each(p.Targets)
	out.Bundles = each(p.Bundles)
	mapOf := func(m *Map) *Map {
		if m == nil {
			return nil
		}
		return out.Maps[m.Index]
	}
	ruleOf := func(r *Rule) *Rule {
		if r == nil {
			return nil
		}
		return out.Rules[r.Index]
	}
	steps := map[*Step]*Step{}
	stepsOf := func(list []*Step) []*Step {
		list = slices.Clone(list)
		for i, s := range list {
			if steps[s] == nil {
				one := *s
				one.Map, one.Rule = mapOf(s.Map), ruleOf(s.Rule)
				steps[s] = &one
			}
			list[i] = steps[s]
		}
		return list
	}
	allowed := func(list []Allowance) []Allowance {
		list = slices.Clone(list)
		for i := range list {
			list[i].Map = mapOf(list[i].Map)
		}
		return list
	}
	for _, m := range out.Maps {
		m.Like, m.Steps, m.Clamps = mapOf(m.Like), stepsOf(m.Steps), slices.Clone(m.Clamps)
		for i, l := range m.Clamps {
			m.Clamps[i] = out.Limits[l.Index]
		}
	}
	for _, r := range out.Rules {
		r.Steps = stepsOf(r.Steps)
	}
	for _, l := range out.Limits {
		l.Clamped = mapOf(l.Clamped)
	}
	for _, v := range out.Variants {
		v.Trims = stepsOf(v.Trims)
	}
	for _, t := range out.Targets {
		t.LeavesOut, t.Tables = slices.Clone(t.LeavesOut), each(t.Tables)
		for i, r := range t.LeavesOut {
			t.LeavesOut[i] = ruleOf(r)
		}
		for _, one := range t.Tables {
			one.Map = mapOf(one.Map)
		}
	}
	for _, b := range out.Bundles {
		if b.Target != nil {
			b.Target = out.Targets[b.Target.Index]
		}
		b.Jumps = allowed(b.Jumps)
	}
	out.Allow = allowed(p.Allow)
	return &out
}

// each copies what a list points at.
func each[T any](list []*T) []*T {
	if list == nil {
		return nil
	}
	out := make([]*T, len(list))
	for i, x := range list {
		one := *x
		out[i] = &one
	}
	return out
}
