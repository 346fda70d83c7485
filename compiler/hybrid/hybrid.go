// Package hybrid builds the programs that stand between two: with some of the
// declarations new and the others old. They are what a change between two
// sources is attributed with.
//
// How it goes. Both programs are taken apart into elements that differ: axes,
// the base of maps, rows of catalogues, values, functions, curves and regions,
// givens, rules and their order, clamps. Hybrid n has the first n elements new.
// It is gathered from the declarations themselves, of both sides, and checked as
// any source is, so that whatever a source can say can be attributed. Only what
// the maps of both sides, the rules, clamps and trims read is gathered (reads.go):
// what one side alone declares alters nothing until something reads it, and
// can't stand in the way before. An element whose hybrid doesn't check (a rule
// that reads what another element brings) is put off until it does, or told
// together with those that it needs (together.go).
//
// A tune is carried over into a hybrid by the names of its givens (tune.go); the
// trims of both sides stand in every hybrid (trims.go).
//
// In: two check.Programs. Out: elements, and for each the lowered program that
// has it and all before it new. Imported by diff.
package hybrid

import (
	"sync"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/plan"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// The kinds of element.
const (
	Axis     = "axis"
	Base     = "base"
	Formula  = "formula"
	Row      = "row"     // of a catalogue
	Catalog  = "catalog" // as a whole, where rows can't be told apart
	Value    = "value"
	Func     = "function"
	Curve    = "curve"
	Region   = "region"
	Given    = "given"
	Rule     = "rule"
	Clamp    = "clamp"
	Order    = "order"    // of the rules, or of the clamps
	Together = "together" // several that no program has one by one
)

// Element is a part of the source that differs between two programs.
type Element struct {
	Kind    string
	Name    string // of the declaration; "fuels.e10" for a row
	Places  [2]source.Span
	Text    [2]string // on one line each; "" on a side that doesn't have it
	Why     string    // what of it differs; of Together, why they are
	PlaceIn map[string][2]source.Span
	Members []*Element // of Together
	names   []string   // of the declarations that it replaces
	reach   reach
	apply   func(*state)
}

// Steps are the elements between two programs, in the order in which they are
// replaced.
type Steps struct {
	Old, New *check.Program
	Elements []*Element
	start    *state
	hybrids  []*Hybrid // one more than elements
	trims    [2]map[*check.Step]string
	renamed  map[string]string // givens of one side by the names of the other
}

// Hybrid is a program between two.
type Hybrid struct {
	Check *check.Program
	Err   error             // why it doesn't check; Check is nil then
	lost  map[string]string // trims that don't check in it, and why
	once  sync.Once
	eval  *eval.Program
	idle  sync.Pool // of *eval.Result, whose memory is used again
}

// Eval gives the hybrid for computing. Safe for several goroutines.
func (h *Hybrid) Eval() *eval.Program {
	h.once.Do(func() { h.eval = eval.Lower(h.Check) })
	return h.eval
}

// Compute computes a tune of the hybrid. What comes out may be given back (Done)
// once nothing of it is in use any more.
func (h *Hybrid) Compute(t *plan.Tune) *eval.Result {
	res, ok := h.idle.Get().(*eval.Result)
	if !ok {
		res = &eval.Result{}
	}
	h.Eval().TuneInto(res, eval.Pure(h.Check, t), eval.Options{})
	return res
}

// Done takes a result's memory back.
func (h *Hybrid) Done(res *eval.Result) { h.idle.Put(res) }

// At gives the hybrid with the first n elements new.
func (s *Steps) At(n int) *Hybrid { return s.hybrids[n] }

// Between takes two checked programs apart.
func Between(old, new *check.Program) *Steps {
	s := &Steps{Old: old, New: new, renamed: map[string]string{}}
	f := facts{}
	d := &differ{steps: s, facts: f, old: sideOf(old, f), new: sideOf(new, f)}
	d.begin()
	d.named(Axis, func(x syntax.Decl) bool { _, ok := x.(*syntax.Axis); return ok })
	d.maps()
	d.catalogs()
	d.named(Value, func(x syntax.Decl) bool { _, ok := x.(*syntax.Let); return ok })
	d.named(Func, func(x syntax.Decl) bool { _, ok := x.(*syntax.Fn); return ok })
	d.named(Curve, func(x syntax.Decl) bool { _, ok := x.(*syntax.Curve); return ok })
	d.named(Region, func(x syntax.Decl) bool { _, ok := x.(*syntax.Region); return ok })
	d.givens()
	d.listed(Rule, "the order of the rules", isRule)
	d.listed(Clamp, "the order of the clamps", isClamp)
	s.settle()
	d.reaches()
	return s
}

// side is a program's declarations by name.
type side struct {
	p      *check.Program
	decls  []syntax.Decl // those that a hybrid can hold, in order
	byName map[string]syntax.Decl
}

func sideOf(p *check.Program, f facts) *side {
	s := &side{p: p, byName: map[string]syntax.Decl{}}
	for _, d := range p.Resolved.Decls {
		name := d.Header().Name.Text
		if p.Resolved.Root.Table[name] != d || !holds(d) {
			continue
		}
		s.decls = append(s.decls, d)
		s.byName[name] = d
		f.take(d)
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

func isMap(d syntax.Decl) bool { _, ok := d.(*syntax.Map); return ok }

func isClamp(d syntax.Decl) bool {
	l, ok := d.(*syntax.Limit)
	return ok && l.Else != nil && l.Else.Text == "clamp"
}

// differ finds the elements.
type differ struct {
	steps    *Steps
	facts    facts
	old, new *side
}

func (d *differ) add(e *Element) { d.steps.Elements = append(d.steps.Elements, e) }

// same says whether two declarations say the same.
func (d *differ) same(a, b syntax.Decl) bool { return d.facts.of(a).normal == d.facts.of(b).normal }

// slot makes the element of a declaration that is replaced as a whole.
func (d *differ) slot(kind, name string) *Element {
	a, b := d.old.byName[name], d.new.byName[name]
	e := &Element{Kind: kind, Name: name, Places: [2]source.Span{spanOf(a), spanOf(b)}, Text: [2]string{oneLine(a), oneLine(b)}, names: []string{name}}
	e.Why = changeText(a, b)
	e.apply = func(s *state) { s.put(name, b) }
	if b == nil {
		e.apply = func(s *state) { s.drop(name) }
	}
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
		if !d.same(d.old.byName[name], d.new.byName[name]) {
			d.add(d.slot(kind, name))
		}
	}
}
