package diff

import (
	"slices"
	"sync"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/hybrid"
	"fettle/compiler/plan"
	"fettle/lang/formula"
	"fettle/lang/source"
)

// Programs attributes changes between the tunes of two programs, such as those
// of two revisions. The elements of the source come first, in the order of
// package hybrid, with the old tune's conditions and trims; then trims, then
// givens, on the new program. It may be used by many goroutines.
type Programs struct {
	old, new *eval.Program
	steps    *hybrid.Steps
	elements []*Element
	mu       sync.Mutex
	trims    map[[2]string]*Element
	rules    map[*check.Program]map[string]*check.Rule
}

// Between prepares the attribution between two programs.
func Between(old, new *eval.Program) *Programs {
	b := &Programs{old: old, new: new, steps: hybrid.Between(old.Check, new.Check), trims: map[[2]string]*Element{}, rules: map[*check.Program]map[string]*check.Rule{}}
	for _, h := range b.steps.Elements {
		b.elements = append(b.elements, elementOf(h))
	}
	return b
}

// Elements lists what differs between the sources, whether it moves a cell or
// not; trims and givens are found tune by tune.
func (b *Programs) Elements() []*Element { return b.elements }

// named is how an element of each kind is called.
var named = map[string]struct{ kind, words string }{
	hybrid.Axis:    {KindAxis, "axis "},
	hybrid.Base:    {KindBase, "base of "},
	hybrid.Formula: {KindFormula, "formula of "},
	hybrid.Row:     {KindRow, "row "},
	hybrid.Catalog: {KindCatalog, "catalogue "},
	hybrid.Value:   {KindValue, "value "},
	hybrid.Func:    {KindFunction, "function "},
	hybrid.Curve:   {KindCurve, "curve "},
	hybrid.Region:  {KindRegion, "region "},
	hybrid.Given:   {KindGiven, "given "},
	hybrid.Rule:    {KindRule, "rule "},
	hybrid.Clamp:   {KindClamp, "limit "},
	hybrid.Order:   {KindOrder, ""},
}

func elementOf(h *hybrid.Element) *Element {
	n := named[h.Kind]
	e := &Element{Kind: n.kind, Name: n.words + h.Name, Places: h.Places, Place: later(h.Places), Text: h.Text, Why: h.Why, Applies: InBoth, places: map[string]source.Span{}}
	switch {
	case h.Places[0].IsZero():
		e.Applies = InNew
	case h.Places[1].IsZero():
		e.Applies = InOld
	}
	for name, at := range h.PlaceIn {
		e.places[name] = later(at)
	}
	return e
}

// later is the place on the new side, or on the old one of what is gone.
func later(at [2]source.Span) source.Span {
	if at[1].IsZero() {
		return at[0]
	}
	return at[1]
}

// Attribute attributes the changes of a pair of tunes, the old one of the old
// program and the new one of the new.
func (b *Programs) Attribute(p *Pair) {
	attribute(p, b.between(p.Old, p.New))
	noteClamps(p)
}

// twoPrograms is the change from a tune of one program to a tune of another.
type twoPrograms struct {
	b         *Programs
	old, new  *Side
	list      []*Element
	source    int        // how many of them are the source's
	trims     []trimPart // of both sides, in order
	owners    []string   // of the trim elements
	givens    []string   // of the given elements
	last      []*Table   // the tables with lastN elements new
	lastN     int
	lastFault string
}

// trimPart is a trim of one side, or of both.
type trimPart struct {
	old, new *check.Step
	owner    string
}

func (b *Programs) between(old, new *Side) *twoPrograms {
	c := &twoPrograms{b: b, old: old, new: new, source: len(b.elements), last: old.Tables}
	c.list = append(c.list, b.elements...)
	c.trimElements()
	c.givenElements()
	// Whatever else there is: nothing, if the elements are all that there is.
	c.list = append(c.list, restOfSource)
	return c
}

var restOfSource = &Element{Kind: KindRest, Name: "the rest of the source", Applies: InBoth, Why: "what isn't told apart"}

// trimElements finds the trims that only one side has, by the variant that they
// stand in.
func (c *twoPrograms) trimElements() {
	var added []trimPart
	for _, n := range c.new.Tune.Trims {
		i := slices.IndexFunc(c.old.Tune.Trims, func(o *check.Step) bool { return c.b.steps.SameTrim(o, n) })
		if i < 0 {
			added = append(added, trimPart{new: n, owner: ownerOf(c.b.new.Check, n)})
		}
	}
	for _, o := range c.old.Tune.Trims {
		t := trimPart{old: o, owner: ownerOf(c.b.old.Check, o)}
		if i := slices.IndexFunc(c.new.Tune.Trims, func(n *check.Step) bool { return c.b.steps.SameTrim(o, n) }); i >= 0 {
			t.new = c.new.Tune.Trims[i]
		}
		c.trims = append(c.trims, t)
	}
	c.trims = append(c.trims, added...)
	for _, t := range c.trims {
		if t.old != nil && t.new != nil || slices.Contains(c.owners, t.owner) {
			continue
		}
		c.owners = append(c.owners, t.owner)
		c.list = append(c.list, c.b.trimElement(t.owner, c.trims))
	}
}

// trimElement is the one element of a variant's trims, for all its tunes.
func (b *Programs) trimElement(owner string, trims []trimPart) *Element {
	e := &Element{Kind: KindTrim, Name: "trim of " + owner, Applies: InBoth, places: map[string]source.Span{}}
	for _, t := range trims {
		if t.owner != owner || t.old != nil && t.new != nil {
			continue
		}
		for i, s := range []*check.Step{t.old, t.new} {
			if s == nil {
				continue
			}
			if e.Places[i].IsZero() {
				e.Places[i] = s.Span
			} else {
				e.Text[i] += "; "
			}
			e.Text[i] += source.OneLine(s.Span.Text())
			e.places[s.Map.Name] = s.Span
		}
	}
	e.Place = later(e.Places)
	switch {
	case e.Text[0] == "":
		e.Applies, e.Why = InNew, e.Text[1]+" (new)"
	case e.Text[1] == "":
		e.Applies, e.Why = InOld, e.Text[0]+" (taken out)"
	default:
		e.Why = e.Text[1] + " (was " + e.Text[0] + ")"
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	key := [2]string{owner, e.Why}
	if b.trims[key] == nil {
		b.trims[key] = e
	}
	return b.trims[key]
}

// ownerOf names the variant that a trim stands in.
func ownerOf(p *check.Program, s *check.Step) string {
	for _, v := range p.Variants {
		if slices.Contains(v.Trims, s) {
			return v.Name
		}
	}
	return s.Map.Name
}

// givenElements finds the conditions that differ.
func (c *twoPrograms) givenElements() {
	p := c.b.new.Check
	for i, g := range p.Givens {
		was, has := hybrid.GivenValue(p, g, c.b.old.Check, c.old.Tune.Values)
		now := c.new.Tune.Values[i]
		if was == now {
			continue
		}
		before := "none"
		e := &Element{Kind: KindGiven, Name: "given " + g.Name, Applies: InBoth}
		for k, old := range c.b.old.Check.Givens {
			if old.Name == g.Name {
				before = plan.Text(old, c.old.Tune.Values[k])
				e.Places[0] = settingAt(c.b.old.Check, c.old.Tune, k)
			}
		}
		if !has {
			before += " (the default " + plan.Text(g, was) + " counts)"
		}
		e.Places[1] = settingAt(p, c.new.Tune, i)
		e.Place = e.Places[1]
		e.Why = before + " → " + plan.Text(g, now)
		e.Conditions = []ConditionDiff{{g.Name, before, plan.Text(g, now)}}
		c.givens = append(c.givens, g.Name)
		c.list = append(c.list, e)
	}
}

// settingAt is where a tune's value of a given is written: in its variant or
// one that it comes from, else at the default.
func settingAt(p *check.Program, t *plan.Tune, given int) source.Span {
	for v := t.Variant; v != nil; {
		for _, s := range v.Settings {
			if s.Given != given {
				continue
			}
			for _, at := range s.Values {
				if at.Value == t.Values[given] && !at.Span.IsZero() {
					return at.Span
				}
			}
			return s.Span
		}
		v = variantOf(p, v.From)
	}
	return p.Givens[given].Span
}

// variantOf finds the variant that a tune's name comes from.
func variantOf(p *check.Program, tune string) *check.Variant {
	for _, v := range p.Variants {
		if tune != "" && plan.Match(v.Name, tune) {
			return v
		}
	}
	return nil
}

// elements implements change.
func (c *twoPrograms) elements() []*Element { return c.list }

// idle implements change: a rule that doesn't apply needs no mention.
func (c *twoPrograms) idle(e *Element) bool {
	if e.Kind == KindRest {
		return false
	}
	i := slices.Index(c.b.elements, e)
	return i < 0 || !c.skips(i)
}

// with implements change.
func (c *twoPrograms) with(n int) ([]*Table, string) {
	switch {
	case n == 0:
		return c.old.Tables, ""
	case n == len(c.list):
		return c.new.Tables, ""
	case n == c.lastN+1 && n <= c.source && c.skips(n-1):
	default:
		c.last, c.lastFault = c.compute(n)
	}
	c.lastN = n
	return c.last, c.lastFault
}

func (c *twoPrograms) compute(n int) ([]*Table, string) {
	p, err := c.b.steps.Program(min(n, c.source))
	if err != nil {
		return nil, err.Error()
	}
	res := p.Tune(eval.Pure(p.Check, c.tune(p.Check, n)), eval.Options{})
	if res.Fault != nil {
		return nil, faultText(res.Fault)
	}
	return tablesOf(p, res), ""
}

// tune is the tune with the first n elements new, in a hybrid.
func (c *twoPrograms) tune(p *check.Program, n int) *plan.Tune {
	t := c.b.steps.Tune(p, hybrid.OldSide, c.old.Tune)
	if n <= c.source {
		return t
	}
	n -= c.source
	if n >= len(c.owners) {
		t.Trims = c.b.steps.Trims(p, hybrid.NewSide, c.new.Tune.Trims)
	} else {
		t.Trims = nil
		for _, part := range c.trims {
			replaced := slices.Contains(c.owners[:n], part.owner)
			switch {
			case part.new != nil && (part.old != nil || replaced):
				t.Trims = append(t.Trims, c.b.steps.Trims(p, hybrid.NewSide, []*check.Step{part.new})...)
			case part.new == nil && !replaced:
				t.Trims = append(t.Trims, c.b.steps.Trims(p, hybrid.OldSide, []*check.Step{part.old})...)
			}
		}
	}
	for _, name := range c.givens[:max(0, min(n-len(c.owners), len(c.givens)))] {
		for i, g := range p.Givens {
			if g.Name == name {
				t.Values[i], _ = hybrid.GivenValue(p, g, c.b.new.Check, c.new.Tune.Values)
			}
		}
	}
	return t
}

// skips says whether an element is a rule that applies neither as it was nor as
// it is now, so that nothing has to be computed anew.
func (c *twoPrograms) skips(i int) bool {
	h := c.b.steps.Elements[i]
	if h.Kind != hybrid.Rule {
		return false
	}
	for n := i; n <= i+1; n++ {
		p, err := c.b.steps.Program(n)
		if err != nil {
			return false
		}
		r := c.b.rule(p.Check, h.Name)
		if r == nil {
			continue
		}
		if r.When == nil {
			return false
		}
		yes, err := formula.Decide(r.When, c.tune(p.Check, n).Conditions(p.Check))
		if err != nil || yes {
			return false
		}
	}
	return true
}

// rule finds a rule of a hybrid by its name.
func (b *Programs) rule(p *check.Program, name string) *check.Rule {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.rules[p] == nil {
		b.rules[p] = map[string]*check.Rule{}
		for _, r := range p.Rules {
			b.rules[p][r.Name] = r
		}
	}
	return b.rules[p][name]
}
