package diff

import (
	"slices"
	"strings"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/plan"
	"fettle/lang/formula"
	"fettle/lang/source"
)

// oneProgram is the change from one tune of a program to another: the elements
// are the program's, and what differs is the conditions that each is computed
// with, and which trims there are.
//
// The order: each map's formula in the order of the source, each rule with all
// its adjustments, each trim, each clamp. (A grid's cells are the same in both.)
// An element that depends on no given that differs computes the same with either
// side's conditions, so replacing it changes nothing: it is left out, and what
// comes of the rest is the same to the bit.
type oneProgram struct {
	p        *eval.Program
	old, new *plan.Conditions
	final    *eval.Result
	labels   [2]string
	differ   []bool        // by given
	trims    []*check.Step // of both, in order
	sides    map[*check.Step]string
	list     []*Element
	rank     map[any]int // of a *check.Map, *check.Rule, trim's *check.Step or *check.Limit
}

func twoTunes(p *eval.Program, old, new *plan.Tune, final *eval.Result, labels [2]string) *oneProgram {
	c := &oneProgram{p: p, old: old.Conditions(p.Check), new: new.Conditions(p.Check), final: final, labels: labels,
		differ: make([]bool, len(p.Check.Givens)), sides: map[*check.Step]string{}, rank: map[any]int{}}
	for i := range c.differ {
		c.differ[i] = old.Values[i] != new.Values[i]
	}
	c.joinTrims(old.Trims, new.Trims)
	for _, m := range p.Check.Maps {
		if m.Formula != nil {
			c.add(m, &Element{Kind: KindFormula, Name: "formula of " + m.Name, Place: m.Span, Applies: InBoth}, nil, "", m.Formula)
		}
	}
	for _, r := range p.Check.Rules {
		c.rule(r)
	}
	for _, s := range c.trims {
		c.trim(s)
	}
	for _, l := range p.Check.Limits {
		if l.Mode == check.Clamp {
			c.add(l, &Element{Kind: KindClamp, Name: "limit " + l.Name, Place: l.Span}, l.When, "", l.Lo, l.Hi, l.Where)
		}
	}
	return c
}

// joinTrims puts the trims of two tunes in one order: those that both came with,
// then the old one's own, then the new one's. What two tunes share is where
// both lists begin, since a `from` puts the other's trims before one's own.
func (c *oneProgram) joinTrims(old, new []*check.Step) {
	for _, s := range old {
		c.trims = append(c.trims, s)
		c.sides[s] = InOld
		if slices.Contains(new, s) {
			c.sides[s] = InBoth
		}
	}
	for _, s := range new {
		if c.sides[s] == "" {
			c.trims = append(c.trims, s)
			c.sides[s] = InNew
		}
	}
}

// add puts an element on the list if it depends on a given that differs.
func (c *oneProgram) add(key any, e *Element, when *formula.Node, whenText string, nodes ...*formula.Node) bool {
	var bits formula.Bits
	for _, n := range append(nodes, when) {
		if n != nil {
			bits |= n.Givens
		}
	}
	if e.Conditions = c.conditions(bits); len(e.Conditions) == 0 {
		return false
	}
	if e.Applies == "" {
		e.Applies = c.applies(when)
	}
	e.Why = c.why(e, when, whenText)
	c.rank[key] = len(c.list)
	c.list = append(c.list, e)
	return true
}

func (c *oneProgram) rule(r *check.Rule) {
	var all []*formula.Node
	e := &Element{Kind: KindRule, Name: "rule " + r.Name, Place: r.Span, places: map[string]source.Span{}}
	acting := map[string][]*check.Step{} // adjustments of a map that depend on what differs
	for _, s := range r.Steps {
		nodes := stepNodes(s)
		all = append(all, nodes...)
		if r.When != nil && c.touched(r.When.Givens) || slices.ContainsFunc(nodes, func(n *formula.Node) bool { return c.touched(n.Givens) }) {
			acting[s.Map.Name] = append(acting[s.Map.Name], s)
		}
	}
	for name, steps := range acting {
		if len(steps) == 1 {
			e.places[name] = steps[0].Span
		}
	}
	c.add(r, e, r.When, r.WhenText, all...)
}

func (c *oneProgram) trim(s *check.Step) {
	e := &Element{Kind: KindTrim, Name: "trim of " + ownerOf(c.p.Check, s), Place: s.Span, Applies: c.sides[s]}
	if c.sides[s] == InBoth {
		c.add(s, e, nil, "", stepNodes(s)...)
		return
	}
	text := strings.Join(strings.Fields(s.Span.Text()), " ")
	e.Why = c.in(c.sides[s]) + ": " + strings.TrimPrefix(text, "trim ")
	c.rank[s] = len(c.list)
	c.list = append(c.list, e)
}

func stepNodes(s *check.Step) []*formula.Node {
	var out []*formula.Node
	take := func(list ...*formula.Node) {
		for _, n := range list {
			if n != nil {
				out = append(out, n)
			}
		}
	}
	take(s.Amount, s.Where)
	for _, w := range s.Over {
		take(w.Lo, w.Hi, w.Feather)
	}
	return out
}

func (c *oneProgram) touched(bits formula.Bits) bool { return len(c.conditions(bits)) > 0 }

// conditions lists the givens of a set that differ.
func (c *oneProgram) conditions(bits formula.Bits) []ConditionDiff {
	var out []ConditionDiff
	for i, g := range c.p.Check.Givens {
		if c.differ[i] && bits.Has(i) {
			out = append(out, ConditionDiff{g.Name, plan.Text(g, c.old.Values[i]), plan.Text(g, c.new.Values[i])})
		}
	}
	return out
}

// applies decides a `when` on both sides.
func (c *oneProgram) applies(when *formula.Node) string {
	if when == nil {
		return InBoth
	}
	// Both sides have been computed, so neither can fail.
	old, _ := formula.Decide(when, c.old)
	new, _ := formula.Decide(when, c.new)
	switch {
	case old && new:
		return InBoth
	case old:
		return InOld
	case new:
		return InNew
	}
	return InNone
}

func (c *oneProgram) in(side string) string {
	if side == InOld {
		return "in " + c.labels[0] + " only"
	}
	return "in " + c.labels[1] + " only"
}

// why says what of an element's inputs differs.
func (c *oneProgram) why(e *Element, when *formula.Node, whenText string) string {
	if e.Applies == InBoth || e.Applies == InNone || when == nil {
		return conditionsText(e.Conditions)
	}
	if whenText == "" {
		whenText = strings.Join(strings.Fields(when.Span.Text()), " ")
	}
	out := "applies " + c.in(e.Applies) + ": when " + whenText
	var extra []ConditionDiff
	for _, d := range c.conditions(when.Givens) {
		words := strings.FieldsFunc(whenText, func(r rune) bool { return strings.ContainsRune(" ()", r) })
		says := d.Old == "yes" || d.Old == "no" || slices.Contains(words, d.Old) || slices.Contains(words, d.New)
		if !says {
			extra = append(extra, d)
		}
	}
	if len(extra) > 0 {
		out += " (" + conditionsText(extra) + ")"
	}
	return out
}

func conditionsText(list []ConditionDiff) string {
	var out []string
	for _, d := range list {
		out = append(out, d.Text())
	}
	return strings.Join(out, ", ")
}

// Text reads "altitude: 0 m → 1000 m".
func (d ConditionDiff) Text() string {
	side := func(s string) string {
		if s == "" {
			return "none"
		}
		return s
	}
	return d.Name + ": " + side(d.Old) + " → " + side(d.New)
}

// elements implements change.
func (c *oneProgram) elements() []*Element { return c.list }

// idle implements change.
func (c *oneProgram) idle(*Element) bool { return true }

// with implements change.
func (c *oneProgram) with(n int) ([]*Table, string) {
	res := c.final
	if n < len(c.list) {
		res = c.p.Tune(c.mix(n), eval.Options{})
	}
	if res.Fault != nil {
		return nil, faultText(res.Fault)
	}
	return tablesOf(c.p, res), ""
}

// faultText says why a tune can't be computed.
func faultText(f *eval.Fault) string {
	return "map `" + f.Map.Name + "` can't be computed (" + f.Span.String() + ": " + f.Reason + ")"
}

// mix computes the first n elements with the new conditions, the others with
// the old ones.
func (c *oneProgram) mix(n int) eval.Mix {
	pick := func(key any) *plan.Conditions {
		if at, ok := c.rank[key]; ok && at < n {
			return c.new
		}
		return c.old
	}
	return eval.Mix{
		Base:  func(m *check.Map) *plan.Conditions { return pick(m) },
		Clamp: func(l *check.Limit) *plan.Conditions { return pick(l) },
		Trims: c.trims,
		Step: func(s *check.Step) *plan.Conditions {
			if s.Rule != nil {
				return pick(s.Rule)
			}
			env := pick(s)
			if side := c.sides[s]; side == InOld && env == c.new || side == InNew && env == c.old {
				return nil
			}
			return env
		},
	}
}
