// Package randomly makes random sources that are well formed, for tests that say
// something of every program: that two evaluators agree, that a change of layout
// changes no cell.
//
// How it goes. A source is made a declaration at a time, each of what was declared
// before it: axes, catalogues, givens, curves, values, functions, maps, regions,
// rules, limits, variants, checks (ground.go, maps.go, rules.go, tunes.go). Every
// expression is made for the kind of quantity that its place wants (kinds.go,
// expr.go, yesno.go), so that units fit by themselves; which names it may use
// follows from the place. Maps read only maps that were declared before them, so
// there are no circles. Every choice is drawn from rapid, the plainest first, so a
// program that fails a test is shrunk to a small one. What a tune makes of it is
// another matter: divisions by zero, ranges the wrong way round and arguments
// out of their range of validity are welcome, since a fault is an answer too.
//
// A few sources are refused all the same, for a fixed part that has no value: see
// Refusals.
//
// In: a *rapid.T. Out: a Program, whose text may be written with other names, in
// another order or in parts. Imports nothing of ours; imported by tests.
package randomly

import (
	"strings"

	"pgregory.net/rapid"
)

// Options narrow the programs.
type Options struct {
	// Exact leaves out what has no exact answer in fractions: exp, log, powers and
	// roots.
	Exact bool
}

// Program is a random source.
type Program struct {
	Decls []*Decl
}

// Decl is one declaration. Names stand in its text between marks.
type Decl struct {
	Keyword string
	text    string
	Rule    *Rule // for a rule, in place of the text
	Ordered bool  // rules and limits, which act in the order written
}

// Rule is a rule by its parts.
type Rule struct {
	head string // up to its adjustments
	Adj  []*Adjustment
}

// Adjustment is one adjustment of a rule.
type Adjustment struct {
	Map      string // as it is declared
	Axes     []string
	op       string
	amount   string
	Over     []string
	where    string
	Elsewise bool // it reads its own map elsewhere, so that its cells depend on each other
}

// Refusals are the codes of errors that a well-formed source may earn by a fixed
// part without a value, which no grammar foretells.
var Refusals = map[string]bool{
	"E330": true, // a fixed calculation without a value
	"E502": true, // a fixed range that ends before it begins
	"E816": true, // an `except` that leaves everything out
	"E817": true, // an `except` that compares what has no value
}

// Make draws a program.
func Make(t *rapid.T, opt Options) *Program {
	// Inside a generator of its own, so that a failure is told by the program and not
	// by a thousand draws.
	return rapid.Custom(func(t *rapid.T) *Program { return draw(t, opt) }).Draw(t, "program")
}

// GoString is how rapid shows a program.
func (p *Program) GoString() string { return "\n" + p.Text() }

func draw(t *rapid.T, opt Options) *Program {
	g := &gen{t: t, opt: opt, p: &Program{}}
	g.ground()
	g.theMaps()
	g.theRegions()
	g.theRules()
	g.theLimits()
	g.theTunes()
	g.theChecks()
	return g.p
}

// Naming gives the name that a declared name is to be written by.
type Naming func(string) string

// AsDeclared leaves names as they are.
func AsDeclared(name string) string { return name }

const opens, closes = "‹", "›"

// Mark marks a name in a declaration's text.
func Mark(name string) string { return opens + name + closes }

// Plainly writes a text with its names.
func plainly(text string, naming Naming) string {
	var b strings.Builder
	for {
		before, rest, found := strings.Cut(text, opens)
		b.WriteString(before)
		if !found {
			return b.String()
		}
		name, after, _ := strings.Cut(rest, closes)
		b.WriteString(naming(name))
		text = after
	}
}

// Text is the whole source in one file.
func (p *Program) Text() string { return Write(p.Decls, AsDeclared) }

// Write writes declarations, by the names that naming gives: first what they use,
// as the language wants it.
func Write(decls []*Decl, naming Naming) string {
	var uses, others strings.Builder
	for _, d := range decls {
		b := &others
		if d.Keyword == "use" {
			b = &uses
		}
		b.WriteString(plainly(d.Text(), naming) + "\n")
	}
	return uses.String() + others.String()
}

// Text is a declaration's text, with its names marked.
func (d *Decl) Text() string {
	if d.Rule == nil {
		return d.text
	}
	var b strings.Builder
	b.WriteString(d.Rule.head + " {\n")
	for _, a := range d.Rule.Adj {
		b.WriteString("  " + a.text() + "\n")
	}
	b.WriteString("}")
	return b.String()
}

func (a *Adjustment) text() string {
	s := Mark(a.Map) + " " + a.op + " " + a.amount
	if len(a.Over) > 0 {
		s += " over " + strings.Join(a.Over, ", ")
	}
	if a.where != "" {
		s += " where " + a.where
	}
	return s
}

// gen is a program in the making.
type gen struct {
	t   *rapid.T
	opt Options
	p   *Program

	modules  bool // the library is there
	axes     []axis
	catalogs []catalog
	givens   []given
	lets     []let
	fns      []fn
	curves   []curve
	maps     []tmap
	regions  []region
	variants []string // names of single tunes, marked as they are to be written
	families []string // names of matrices
}

func (g *gen) add(keyword, text string) *Decl {
	d := &Decl{Keyword: keyword, text: text, Ordered: keyword == "limit"}
	g.p.Decls = append(g.p.Decls, d)
	return d
}

// n draws a number; the least is the plainest.
func (g *gen) n(lo, hi int) int {
	if hi <= lo {
		return lo
	}
	return rapid.IntRange(lo, hi).Draw(g.t, "n")
}

// once in so many times it is true.
func (g *gen) once(in int) bool { return g.n(0, in-1) == in-1 }

func pick[T any](g *gen, list []T) T { return list[g.n(0, len(list)-1)] }

// one of several texts, the first of which is the plainest.
func (g *gen) one(list ...string) string { return pick(g, list) }
