package diff

import (
	"slices"
	"sync"

	"fettle/compiler/eval"
	"fettle/compiler/hybrid"
	"fettle/compiler/plan"
	"fettle/lang/source"
)

// Programs attributes changes between the tunes of two programs, such as those
// of two revisions. The elements of the source come first, in the order of
// package hybrid, with the old tune's conditions and trims; then trims, then
// givens, on the last hybrid. It may be used by many goroutines.
type Programs struct {
	old, new *eval.Program
	steps    *hybrid.Steps
	elements []*Element
	mu       sync.Mutex
	trims    map[[2]string]*Element
}

// Between prepares the attribution between two programs.
func Between(old, new *eval.Program) *Programs {
	b := &Programs{old: old, new: new, steps: hybrid.Between(old.Check, new.Check), trims: map[[2]string]*Element{}}
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
	hybrid.Axis:     {KindAxis, "axis "},
	hybrid.Base:     {KindBase, "base of "},
	hybrid.Formula:  {KindFormula, "formula of "},
	hybrid.Row:      {KindRow, "row "},
	hybrid.Catalog:  {KindCatalog, "catalogue "},
	hybrid.Value:    {KindValue, "value "},
	hybrid.Func:     {KindFunction, "function "},
	hybrid.Curve:    {KindCurve, "curve "},
	hybrid.Region:   {KindRegion, "region "},
	hybrid.Given:    {KindGiven, "given "},
	hybrid.Rule:     {KindRule, "rule "},
	hybrid.Clamp:    {KindClamp, "limit "},
	hybrid.Order:    {KindOrder, ""},
	hybrid.Together: {KindTogether, ""},
}

func elementOf(h *hybrid.Element) *Element {
	if h.Kind == hybrid.Together {
		var members []*Element
		for _, m := range h.Members {
			members = append(members, elementOf(m))
		}
		return together(members, h.Why)
	}
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
	c := b.between(p.Old, p.New)
	attribute(p, c)
	for _, x := range c.computed { // parts have values of their own
		x.by.Done(x.res)
	}
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
	moved     bool       // the trims' order is an element
	givens    []string   // of the given elements
	idles     []bool     // by the source's elements: nothing that applies reads it
	last      []*Table   // the tables with lastN elements new
	lastN     int
	lastFault string
	computed  []computed
}

// computed is a tune as a hybrid gave it.
type computed struct {
	by  *hybrid.Hybrid
	res *eval.Result
}

func (b *Programs) between(old, new *Side) *twoPrograms {
	c := &twoPrograms{b: b, old: old, new: new, source: len(b.elements), last: old.Tables, idles: make([]bool, len(b.elements))}
	for i := range c.idles {
		c.idles[i] = b.steps.Idle(i, hybrid.OldSide, old.Tune)
	}
	c.list = append(c.list, b.elements...)
	c.trimElements()
	c.givenElements()
	// Whatever else there is: nothing, if the elements are all that there is.
	c.list = append(c.list, restOfSource)
	return c
}

var restOfSource = &Element{Kind: KindRest, Name: "the rest of the source", Applies: InBoth, Why: "what isn't told apart"}

// elements implements change.
func (c *twoPrograms) elements() []*Element { return c.list }

// idle implements change: an element that nothing reads which applies to the
// tune, such as a rule that doesn't apply, needs no mention.
func (c *twoPrograms) idle(e *Element) bool {
	if e.Kind == KindRest {
		return false
	}
	i := slices.Index(c.b.elements, e)
	return i < 0 || !c.idles[i]
}

// with implements change.
func (c *twoPrograms) with(n int) ([]*Table, string) {
	switch {
	case n == 0:
		return c.old.Tables, ""
	case n == len(c.list):
		return c.new.Tables, ""
	case n == c.lastN+1 && n <= c.source && c.idles[n-1]:
	default:
		c.last, c.lastFault = c.compute(n)
	}
	c.lastN = n
	return c.last, c.lastFault
}

func (c *twoPrograms) compute(n int) ([]*Table, string) {
	h := c.b.steps.At(min(n, c.source))
	if h.Err != nil {
		return nil, h.Err.Error()
	}
	t, err := c.tune(h, n)
	if err != nil {
		return nil, err.Error()
	}
	res := h.Compute(t)
	c.computed = append(c.computed, computed{h, res})
	if res.Fault != nil {
		return nil, faultText(res.Fault)
	}
	return tablesOf(h.Eval(), res), ""
}

// tune is the tune with the first n elements new, in a hybrid.
func (c *twoPrograms) tune(h *hybrid.Hybrid, n int) (*plan.Tune, error) {
	steps := c.b.steps
	if n -= c.source; n <= 0 {
		return steps.Tune(h, hybrid.OldSide, c.old.Tune)
	}
	trims, err := c.trimsWith(h, n)
	if err != nil {
		return nil, err
	}
	t := &plan.Tune{Name: c.old.Tune.Name, Values: make([]float64, len(h.Check.Givens)), Trims: trims}
	replaced := c.givens[:max(0, min(n-c.trimCount(), len(c.givens)))]
	for i, g := range h.Check.Givens {
		if slices.Contains(replaced, g.Name) {
			t.Values[i], _ = steps.Value(g, hybrid.NewSide, c.new.Tune.Values)
		} else {
			t.Values[i], _ = steps.Value(g, hybrid.OldSide, c.old.Tune.Values)
		}
	}
	return t, nil
}
