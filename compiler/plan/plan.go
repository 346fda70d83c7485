// Package plan expands the declared variants into tunes: what each is called,
// its conditions, and the trims that it carries.
//
// How it goes. A matrix is the product of its settings in written order, less
// the combinations that an `except` names; a variant `from` another starts at
// that one's conditions and trims. A variant is expanded after the one it comes
// from. The size of a matrix is worked out before it is expanded.
//
// In: check.Program. Out: a Plan, in the order of the source. Imported by eval
// and the stages after it.
package plan

import (
	"encoding/binary"
	"fmt"
	"math"
	"strings"

	"fettle/compiler/check"
	"fettle/lang/diag"
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/syntax"
	"fettle/lang/work"
)

// MaxTunes is the most combinations that a workspace may span.
const MaxTunes = 100_000

// Tune is one tune: a point in the space of conditions.
type Tune struct {
	Index   int
	Name    string
	Values  []float64 // by given
	Set     []bool    // which givens the variant sets itself or by way of `from`
	Trims   []*check.Step
	From    string
	Variant *check.Variant
	own     Conditions // in the program that it is a tune of
}

// Excluded is a combination that a matrix leaves out.
type Excluded struct {
	Name   string
	Clause check.Except
}

// Plan is every tune of a workspace.
type Plan struct {
	Program  *check.Program
	Tunes    []*Tune
	Excluded []Excluded
	Bundles  []*Bundle // those whose tunes are all known, in the order of the source
	byName   map[string]*Tune
	out      map[string]Excluded
}

// Find gives a tune by its name.
func (p *Plan) Find(name string) *Tune { return p.byName[name] }

// Out gives the clause that left a combination out.
func (p *Plan) Out(name string) (Excluded, bool) { e, ok := p.out[name]; return e, ok }

// Names lists the tunes' names.
func (p *Plan) Names() []string {
	out := make([]string, len(p.Tunes))
	for i, t := range p.Tunes {
		out[i] = t.Name
	}
	return out
}

// Run expands a checked program's variants.
func Run(prog *check.Program, errs *diag.List) *Plan {
	x := &expander{prog: prog, errs: errs, deep: map[string]int{}, decls: map[string]*check.Variant{}, state: map[string]int{}, made: map[string][]*Tune{}, fails: map[string]bool{},
		p: &Plan{Program: prog, byName: map[string]*Tune{}, out: map[string]Excluded{}}}
	for _, v := range prog.Variants {
		x.decls[v.Name] = v
	}
	x.sizes()
	for _, v := range prog.Variants {
		x.expand(v)
	}
	for _, v := range prog.Variants { // the order of the source, whatever came from what
		for _, t := range x.made[v.Name] {
			t.Index, t.own = len(x.p.Tunes), Conditions{prog, t.Values}
			x.p.Tunes = append(x.p.Tunes, t)
		}
	}
	x.same()
	x.folders()
	x.checkPatterns()
	x.bundles()
	return x.p
}

type expander struct {
	prog  *check.Program
	errs  *diag.List
	decls map[string]*check.Variant
	state map[string]int // 1: being expanded, 2: done
	made  map[string][]*Tune
	fails map[string]bool // variants whose tunes can't be told
	total int
	stack int
	steps int            // of what tells combinations and patterns apart, so far
	deep  map[string]int // how many variants a variant comes from
	p     *Plan
}

// maxDeep bounds variants that come from each other in a row.
const maxDeep = 1000

// spend counts steps before they are done; false, and said once, if they are too many.
func (x *expander) spend(times, steps int, at source.Span) bool {
	most := work.Most(work.Compare)
	before := x.steps
	if steps > 0 && times > most/steps {
		x.steps = most + 1
	} else {
		x.steps = min(x.steps+times*steps, most+1)
	}
	if x.steps > most && before <= most {
		x.errs.Add("E410", at, "to tell the workspace's combinations and patterns apart takes over %d steps, the most that are done", most).
			Hint("leave combinations out with fewer `except`s, or name tunes instead of patterns; %s", work.Hint)
	}
	return x.steps <= most
}

func (x *expander) expand(v *check.Variant) {
	if x.state[v.Name] == 2 {
		return
	}
	if v.Broken {
		x.state[v.Name], x.fails[v.Name] = 2, true
		return
	}
	x.state[v.Name] = 1
	x.stack++
	defer func() { x.stack-- }()
	defer func() { x.state[v.Name] = 2 }()
	start := &Tune{Values: make([]float64, len(x.prog.Givens)), Set: make([]bool, len(x.prog.Givens))}
	for i, g := range x.prog.Givens {
		start.Values[i] = g.Default
	}
	if v.From != "" {
		from := x.from(v)
		if from == nil {
			x.fails[v.Name] = true
			return
		}
		copy(start.Values, from.Values)
		copy(start.Set, from.Set)
		start.Trims = append(start.Trims, from.Trims...)
		start.From = from.Name
	}
	start.Trims = append(start.Trims[:len(start.Trims):len(start.Trims)], v.Trims...)
	start.Variant = v
	if !v.Matrix {
		for _, s := range v.Settings {
			start.Values[s.Given], start.Set[s.Given] = s.Values[0].Value, true
		}
		start.Name = v.Name
		x.add(v, start, v.Span)
		return
	}
	x.matrix(v, start)
}

// sizes works out what the matrices span, before one is expanded.
func (x *expander) sizes() {
	most := work.Most(MaxTunes)
	for _, v := range x.prog.Variants {
		if v.Broken {
			continue
		}
		n := combinations(v, most)
		before := x.total
		if x.total = min(x.total+n, most+1); x.total <= most || before > most {
			continue
		}
		d := x.errs.Add("E815", v.Span, "matrix `%s` spans more than %d combinations", v.Name, most)
		if n <= most {
			d.Message = fmt.Sprintf("with `%s` the variants of the workspace span more than %d combinations", v.Name, most)
		}
		d.Hint("drop values that no one rides with; %s", work.Hint)
	}
}

// combinations counts what a variant spans, up to one more than the most.
func combinations(v *check.Variant, most int) int {
	n := 1
	if v.Matrix {
		for _, s := range v.Settings {
			if n > most/max(1, len(s.Values)) {
				return most + 1
			}
			n *= len(s.Values)
		}
	}
	return n
}

// from finds the tune that a variant starts at.
func (x *expander) from(v *check.Variant) *Tune {
	base, _, _ := strings.Cut(v.From, "/")
	owner := x.decls[base]
	if owner != nil && x.state[base] == 1 {
		d := x.errs.Add("E812", v.FromSpan, "`%s` comes from itself, by way of `%s`", v.Name, v.From).Hint("a variant starts at another one that stands on its own")
		if v.Name == base {
			d.Message = "`" + v.Name + "` comes from itself"
		}
		return nil
	}
	if owner != nil {
		if x.stack <= maxDeep {
			x.expand(owner)
		}
		if x.deep[v.Name] = x.deep[base] + 1; x.deep[v.Name] > maxDeep || x.stack > maxDeep {
			x.errs.Add("E410", v.FromSpan, "variants come from each other in a row of over %d, the most that are followed", maxDeep).Hint("let some of them start at the same one")
			return nil
		}
	}
	if t := x.p.byName[v.From]; t != nil {
		return t
	}
	if x.fails[base] || x.prog.Resolved.Root.Partial && owner == nil {
		return nil // reported where it was told
	}
	if out, ok := x.p.out[v.From]; ok {
		x.errs.Add("E813", v.FromSpan, "`%s` is left out of its matrix", v.From).Note(out.Clause.Span, "by this `except`")
		return nil
	}
	if x.errs.Many() {
		x.errs.Add("E814", v.FromSpan, "there is no variant `%s`", v.From)
		return nil
	}
	var names []string
	for name := range x.p.byName {
		names = append(names, name)
	}
	for _, other := range x.prog.Variants {
		if !other.Matrix && other != v && x.p.byName[other.Name] == nil {
			names = append(names, other.Name)
		}
	}
	sortStrings(names)
	d := x.errs.Add("E814", v.FromSpan, "there is no variant `%s`", v.From)
	if near := diag.Nearest(v.From, names); near != "" {
		d.Suggest(v.FromSpan, near, "did you mean `%s`?", near)
	} else if owner != nil && owner.Matrix {
		d.Hint("`%s` is a matrix: name one of its members, as `fettle list` shows them", base)
	}
	return nil
}

func (x *expander) matrix(v *check.Variant, start *Tune) {
	if x.total > work.Most(MaxTunes) {
		x.fails[v.Name] = true // and nothing is expanded that is thrown away again
		return
	}
	n, steps := combinations(v, work.Most(MaxTunes)), 0
	for _, e := range v.Excepts {
		steps += 1 + e.Cond.Size()
	}
	if !x.spend(n, steps, v.Span) {
		x.fails[v.Name] = true
		return
	}
	at := make([]int, len(v.Settings))
	env := &Conditions{Program: x.prog}
	for {
		t := &Tune{Values: append([]float64(nil), start.Values...), Set: append([]bool(nil), start.Set...), Trims: start.Trims, From: start.From, Variant: v}
		texts := make([]string, len(at))
		for i, s := range v.Settings {
			t.Values[s.Given], t.Set[s.Given] = s.Values[at[i]].Value, true
			texts[i] = s.Values[at[i]].Text
		}
		t.Name = v.Name
		if len(texts) > 0 {
			t.Name += "/" + strings.Join(texts, "-")
		}
		env.Values = t.Values
		if clause, out := x.excluded(v, env); out {
			ex := Excluded{t.Name, clause}
			x.p.Excluded = append(x.p.Excluded, ex)
			x.p.out[t.Name] = ex
		} else {
			x.add(v, t, v.Span)
		}
		i := len(at) - 1
		for ; i >= 0; i-- {
			if at[i]++; at[i] < len(v.Settings[i].Values) {
				break
			}
			at[i] = 0
		}
		if i < 0 {
			break
		}
	}
	if len(x.made[v.Name]) == 0 && !x.fails[v.Name] {
		x.fails[v.Name] = true
		d := x.errs.Add("E816", v.Span, "matrix `%s` leaves every combination out", v.Name).Hint("loosen an `except`")
		for _, e := range v.Excepts {
			d.Note(e.Span, "left out by this")
		}
	}
}

func (x *expander) excluded(v *check.Variant, env *Conditions) (check.Except, bool) {
	for _, e := range v.Excepts {
		yes, err := formula.Decide(e.Cond, env)
		if err != nil {
			if !x.fails[v.Name] {
				x.errs.Add("E817", e.Span, "this `except` can't be decided: %v", err)
			}
			x.fails[v.Name] = true
			return e, true
		}
		if yes {
			return e, true
		}
	}
	return check.Except{}, false
}

func (x *expander) add(v *check.Variant, t *Tune, span source.Span) {
	if first := x.p.byName[t.Name]; first != nil {
		x.errs.Add("E818", span, "two tunes are called `%s`", t.Name).Note(first.Variant.Span, "the other comes from here").
			Hint("write the values so that their names differ")
		return
	}
	x.p.byName[t.Name] = t
	x.made[v.Name] = append(x.made[v.Name], t)
}

// same warns of tunes that are alike in conditions and trims.
func (x *expander) same() {
	if x.errs.HasErrors() {
		return // what tells them apart may be among what couldn't be read
	}
	seen := make(map[string]*Tune, len(x.p.Tunes))
	var key []byte
	for _, t := range x.p.Tunes {
		key = key[:0]
		for _, v := range t.Values {
			key = binary.LittleEndian.AppendUint64(key, math.Float64bits(v+0)) // no zero below zero
		}
		for _, s := range t.Trims {
			key = binary.LittleEndian.AppendUint64(key, uint64(s.Index))
		}
		if first, ok := seen[string(key)]; ok {
			x.errs.Add("W003", t.Variant.Span, "`%s` is the same tune as `%s`: the same conditions and trims", t.Name, first.Name).
				Note(first.Variant.Span, "`%s` comes from here", first.Name)
			continue
		}
		seen[string(key)] = t
	}
}

// checkPatterns looks that every check's `with` names some tune.
func (x *expander) checkPatterns() {
	for _, k := range x.prog.Checks {
		if x.p.byName[k.With] != nil {
			continue
		}
		if !x.spend(len(x.p.Tunes), 8, k.WithAt) {
			return
		}
		found := false
		for _, t := range x.p.Tunes {
			if Match(k.With, t.Name) {
				found = true
				break
			}
		}
		base, _, _ := strings.Cut(k.With, "/")
		if found || x.fails[base] || len(x.fails) > 0 && strings.ContainsAny(base, "*?") || x.prog.Resolved.Root.Partial {
			continue
		}
		d := x.errs.Add("E811", k.WithAt, "`%s` names no tune", k.With)
		if out, ok := x.p.out[k.With]; ok {
			d.Note(out.Clause.Span, "it is left out by this `except`")
			continue
		}
		if x.errs.Many() {
			continue
		}
		names := x.p.Names()
		for _, v := range x.prog.Variants {
			if v.Matrix {
				names = append(names, v.Name)
			}
		}
		if near := diag.Nearest(k.With, names); near != "" {
			d.Suggest(k.WithAt, near, "did you mean `%s`?", near)
		} else {
			d.Hint("name a variant, or a pattern that some match, as `fettle list` shows them")
		}
	}
}

// Match says whether a tune's name matches a pattern: `*` stands for any text,
// `?` for one character; a matrix's name alone stands for its members.
func Match(pattern, name string) bool {
	if pattern == name || strings.HasPrefix(name, pattern+"/") {
		return true
	}
	return glob(pattern, name)
}

// glob matches without backing up more than one star, so it is never slow.
func glob(p, s string) bool {
	star, mark := -1, 0
	i, j := 0, 0
	for j < len(s) {
		switch {
		case i < len(p) && (p[i] == '?' || p[i] == s[j]) && p[i] != '*':
			i++
			j++
		case i < len(p) && p[i] == '*':
			star, mark = i, j
			i++
		case star >= 0:
			mark++
			i, j = star+1, mark
		default:
			return false
		}
	}
	for i < len(p) && p[i] == '*' {
		i++
	}
	return i == len(p)
}

// Where compiles a filter over the givens, as `--where` takes it.
func (p *Plan) Where(text string, errs *diag.List) func(*Tune) bool {
	f := source.New("--where", text)
	e := syntax.ParseExpr(f, errs)
	if e == nil || errs.HasErrors() {
		return nil
	}
	v := formula.Compile(e, formula.Context{Scope: p.Program.Scope, Givens: true, What: "`--where`", Use: "it sees the conditions of a tune only"}, errs)
	if v == nil {
		return nil
	}
	if v.Node.Type.Kind != formula.YesNo {
		errs.Add("E320", e.Span, "`--where` needs a yes/no").Hint("compare it: `altitude > 500 m`")
		return nil
	}
	return func(t *Tune) bool {
		yes, err := formula.Decide(v.Node, &Conditions{p.Program, t.Values})
		return err == nil && yes
	}
}
