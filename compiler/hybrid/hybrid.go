// Package hybrid builds the programs that stand between two: with some of the
// declarations new and the others old. They are what a change between two
// sources is attributed with.
//
// How it goes. Both programs are taken apart into elements that differ: axes,
// the base of maps, rows of catalogues, values, functions, curves and regions,
// givens, rules and their order, clamps. What only the new program declares
// beside rules and clamps is put in from the start, and what only the old one
// declares stays to the end: neither alters a cell as long as nothing reads it.
// Hybrid n has the first n elements new; it is gathered from the declarations
// themselves and checked as any source is, so that whatever a source can say can
// be attributed. A hybrid that doesn't check (a rule that reads what another
// element brings) says why, and its element is told together with the next.
//
// A tune is carried over into a hybrid by the names of its givens and the trims
// of its variants; the trims of both sides stand in every hybrid.
//
// In: two check.Programs. Out: elements, and for each the lowered program that
// has it and all before it new. Imported by diff.
package hybrid

import (
	"sync"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// The kinds of element.
const (
	Axis    = "axis"
	Base    = "base"
	Formula = "formula"
	Row     = "row"     // of a catalogue
	Catalog = "catalog" // as a whole, where rows can't be told apart
	Value   = "value"
	Func    = "function"
	Curve   = "curve"
	Region  = "region"
	Given   = "given"
	Rule    = "rule"
	Clamp   = "clamp"
	Order   = "order" // of the rules, or of the clamps
)

// Element is a part of the source that differs between two programs.
type Element struct {
	Kind    string
	Name    string // of the declaration; "fuels.e10" for a row
	Places  [2]source.Span
	Text    [2]string // on one line each; "" on a side that doesn't have it
	Why     string    // what of it differs
	Maps    []string  // that a rule adjusts
	PlaceIn map[string][2]source.Span
	apply   func(*state)
}

// Steps are the elements between two programs, in the order in which they are
// replaced.
type Steps struct {
	Old, New *check.Program
	Elements []*Element
	start    *state
	programs []*program
	trims    [2]map[*check.Step]trimAt
}

// program is a hybrid, made when it is first asked for.
type program struct {
	once sync.Once
	eval *eval.Program
	err  error
}

// Between takes two checked programs apart.
func Between(old, new *check.Program) *Steps {
	s := &Steps{Old: old, New: new}
	d := &differ{steps: s, old: sideOf(old), new: sideOf(new)}
	s.start = d.begin()
	d.axes()
	d.maps()
	d.catalogs()
	d.named(Value, func(x syntax.Decl) bool { _, ok := x.(*syntax.Let); return ok })
	d.named(Func, func(x syntax.Decl) bool { _, ok := x.(*syntax.Fn); return ok })
	d.named(Curve, func(x syntax.Decl) bool { _, ok := x.(*syntax.Curve); return ok })
	d.named(Region, func(x syntax.Decl) bool { _, ok := x.(*syntax.Region); return ok })
	d.givens()
	d.listed(Rule, "the order of the rules", isRule)
	d.listed(Clamp, "the order of the clamps", isClamp)
	s.programs = make([]*program, len(s.Elements)+1)
	for i := range s.programs {
		s.programs[i] = &program{}
	}
	return s
}

// Program gives the hybrid with the first n elements new, or why it doesn't
// check. Safe for several goroutines.
func (s *Steps) Program(n int) (*eval.Program, error) {
	p := s.programs[n]
	p.once.Do(func() {
		st := s.start.clone()
		for _, e := range s.Elements[:n] {
			e.apply(st)
		}
		p.eval, p.err = st.compile()
	})
	return p.eval, p.err
}

// side is a program's declarations by name.
type side struct {
	p      *check.Program
	decls  []syntax.Decl // those that a hybrid can hold, in order
	byName map[string]syntax.Decl
}

func sideOf(p *check.Program) *side {
	s := &side{p: p, byName: map[string]syntax.Decl{}}
	for _, d := range p.Resolved.Decls {
		name := d.Header().Name.Text
		if p.Resolved.Root.Table[name] != d || !holds(d) {
			continue
		}
		s.decls = append(s.decls, d)
		s.byName[name] = d
	}
	return s
}

// holds says whether a declaration can matter to a cell. Variants come in by
// their trims alone.
func holds(d syntax.Decl) bool {
	switch d.(type) {
	case *syntax.Axis, *syntax.Map, *syntax.Catalog, *syntax.Let, *syntax.Fn, *syntax.Curve, *syntax.Region, *syntax.Given, *syntax.Rule:
		return true
	}
	return isClamp(d)
}

func isRule(d syntax.Decl) bool { _, ok := d.(*syntax.Rule); return ok }

func isClamp(d syntax.Decl) bool {
	l, ok := d.(*syntax.Limit)
	return ok && l.Else != nil && l.Else.Text == "clamp"
}

// differ finds the elements.
type differ struct {
	steps    *Steps
	old, new *side
}

func (d *differ) add(e *Element) { d.steps.Elements = append(d.steps.Elements, e) }

// slot makes the element of a declaration that is replaced as a whole.
func (d *differ) slot(kind, name string) *Element {
	a, b := d.old.byName[name], d.new.byName[name]
	e := &Element{Kind: kind, Name: name, Places: [2]source.Span{spanOf(a), spanOf(b)}, Text: [2]string{oneLine(a), oneLine(b)}}
	e.Why = changeText(a, b)
	e.apply = func(s *state) { s.put(name, b) }
	return e
}

func spanOf(d syntax.Decl) source.Span {
	if d == nil {
		return source.Span{}
	}
	return d.Header().Span
}

// both lists the names that both sides declare and of which the new declaration
// is of the kind asked for, in the order of the new side.
func (d *differ) both(is func(syntax.Decl) bool) []string {
	var out []string
	for _, x := range d.new.decls {
		name := x.Header().Name.Text
		if old := d.old.byName[name]; old != nil && is(x) {
			out = append(out, name)
		}
	}
	return out
}

// named finds declarations whose text differs.
func (d *differ) named(kind string, is func(syntax.Decl) bool) {
	for _, name := range d.both(is) {
		if normal(d.old.byName[name]) != normal(d.new.byName[name]) {
			d.add(d.slot(kind, name))
		}
	}
}

func (d *differ) axes() {
	d.named(Axis, func(x syntax.Decl) bool { _, ok := x.(*syntax.Axis); return ok })
}

// givens finds those whose kind or unit differs. A default or a range is a
// matter of each tune's conditions, and simply taken over.
func (d *differ) givens() {
	for _, name := range d.both(func(x syntax.Decl) bool { _, ok := x.(*syntax.Given); return ok }) {
		a, isGiven := d.old.byName[name].(*syntax.Given)
		b := d.new.byName[name].(*syntax.Given)
		old, new := givenOf(d.old.p, name), givenOf(d.new.p, name)
		if isGiven && old != nil && new != nil && old.Kind == new.Kind && old.Unit.Text == new.Unit.Text && sameName(a.Catalog, b.Catalog) {
			d.steps.start.put(name, b)
			continue
		}
		d.add(d.slot(Given, name))
	}
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

// listed finds rules or clamps that differ, came or went, and whether their
// order did.
func (d *differ) listed(kind, order string, is func(syntax.Decl) bool) {
	a, b := namesOf(d.old.decls, is), namesOf(d.new.decls, is)
	for _, name := range merged(a, b) {
		x, y := d.old.byName[name], d.new.byName[name]
		if x != nil && y != nil && (normal(x) == normal(y) || !is(y)) {
			continue // what became something else was replaced as that
		}
		e := d.slot(kind, name)
		e.Maps, e.PlaceIn = adjusted(x, y)
		if y == nil {
			e.apply = func(s *state) { s.drop(name) }
		}
		d.add(e)
	}
	if ordered := inBoth(a, b); len(ordered[0]) > 0 && !equal(ordered[0], ordered[1]) {
		e := &Element{Kind: Order, Name: order, Why: movedText(ordered[0], ordered[1])}
		e.Places = [2]source.Span{spanOf(d.old.byName[ordered[0][0]]), spanOf(d.new.byName[ordered[1][0]])}
		e.apply = func(s *state) { s.arrange(d.new.decls, is) }
		d.add(e)
	}
}

func namesOf(decls []syntax.Decl, is func(syntax.Decl) bool) []string {
	var out []string
	for _, x := range decls {
		if is(x) {
			out = append(out, x.Header().Name.Text)
		}
	}
	return out
}

// inBoth keeps of two lists what both hold, each in its order.
func inBoth(a, b []string) (out [2][]string) {
	in := func(list []string) map[string]bool {
		m := map[string]bool{}
		for _, x := range list {
			m[x] = true
		}
		return m
	}
	inA, inB := in(a), in(b)
	for _, x := range a {
		if inB[x] {
			out[0] = append(out[0], x)
		}
	}
	for _, x := range b {
		if inA[x] {
			out[1] = append(out[1], x)
		}
	}
	return out
}

func equal(a, b []string) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// merged puts two lists in one: the first in its order, and what only the second
// has after what stands before it there.
func merged(a, b []string) []string {
	inA := map[string]bool{}
	for _, x := range a {
		inA[x] = true
	}
	after := map[string][]string{}
	last := ""
	for _, x := range b {
		if inA[x] {
			last = x
		} else {
			after[last] = append(after[last], x)
		}
	}
	out := append([]string{}, after[""]...)
	for _, x := range a {
		out = append(append(out, x), after[x]...)
	}
	return out
}
