package review

import (
	"math"
	"slices"
	"sync"

	"fettle/compiler/check"
	"fettle/compiler/limit"
	"fettle/lang/formula"
	"fettle/lang/source"
)

// limitPairs keeps what is worked out once of the limits and checks of two programs,
// for all pairs of tunes. It may be used by many goroutines.
type limitPairs struct {
	old, new *check.Program
	mu       sync.Mutex
	made     map[[2]*check.Limit]*limitPair
	expected map[*check.Expect]string
}

// limitPair is a limit of the old side and the one of the new side that it is
// compared with; either may be missing.
type limitPair struct {
	text     [2]string // with the names that maps have on the new side
	reworded bool
	same     bool // its words are the same and so is all that they stand for, but for maps
}

func (k *limitPairs) of(a, b *check.Limit, n *names) *limitPair {
	k.mu.Lock()
	defer k.mu.Unlock()
	key := [2]*check.Limit{a, b}
	if p := k.made[key]; p != nil {
		return p
	}
	p := &limitPair{}
	if a != nil {
		p.text[0] = n.inText(limitText(a))
	}
	if b != nil {
		p.text[1] = limitText(b)
	}
	p.reworded = !sameWords(p.text[0], p.text[1])
	if a != nil && b != nil && k.old != nil && k.new != nil && !p.reworded {
		s := sameness{old: k.old, new: k.new, found: map[[2]*formula.Node]bool{}}
		p.same = a.Mode == b.Mode && s.nodes(a.Cond, b.Cond) && s.nodes(a.Where, b.Where) && s.nodes(a.When, b.When)
	}
	if k.made == nil {
		k.made = map[[2]*check.Limit]*limitPair{}
	}
	k.made[key] = p
	return p
}

// limitText is a limit on one line, as it is written after its name.
func limitText(l *check.Limit) string {
	out := source.OneLine(l.Text)
	if l.Where != nil {
		out += " where " + source.OneLine(l.Where.Span.Text())
	}
	if l.When != nil {
		out += " when " + source.OneLine(l.When.Span.Text())
	}
	if l.For != nil {
		out += " for " + l.ForText
	}
	if l.Mode != check.Fail {
		out += " else " + l.Mode.String()
	}
	return out
}

func limitOf(v *limit.Verdict) *check.Limit {
	if v == nil {
		return nil
	}
	return v.Limit
}

// expect is an expectation on one line.
func (k *limitPairs) expect(e *check.Expect) string {
	k.mu.Lock()
	defer k.mu.Unlock()
	text, ok := k.expected[e]
	if !ok {
		text = source.OneLine(e.Text)
		if k.expected == nil {
			k.expected = map[*check.Expect]string{}
		}
		k.expected[e] = text
	}
	return text
}

// sameConditions says whether the two tunes of a pair are at the same
// conditions, so that a bound that differs was changed in the source.
func sameConditions(c *compared) bool {
	return c.old.Side != nil && c.new.Side != nil && slices.Equal(c.old.Side.Conditions, c.new.Side.Conditions)
}

// sameValues says whether the same conditions are the same to the bit.
func sameValues(c *compared) bool {
	p, q := c.old.program(), c.new.program()
	if p == nil || q == nil {
		return false
	}
	for i, x := range c.old.Tune.Values {
		if k := p.Givens[i].Kind; k != q.Givens[i].Kind || k != check.Choice && x != c.new.Tune.Values[i] {
			return false
		}
	}
	return true
}

// sameness compares expressions of two programs.
type sameness struct {
	old, new *check.Program
	found    map[[2]*formula.Node]bool
}

// nodes says whether two expressions come to the same at the same conditions and
// coordinates, given the same values of the maps that they read.
func (s *sameness) nodes(a, b *formula.Node) bool {
	if a == nil || b == nil {
		return a == b
	}
	a, b = formula.Strip(a), formula.Strip(b)
	key := [2]*formula.Node{a, b}
	if same, ok := s.found[key]; ok {
		return same
	}
	same := a.Op == b.Op && a.Type.Kind == b.Type.Kind && a.Type.Unit.Same(b.Type.Unit) && math.Float64bits(a.Val) == math.Float64bits(b.Val) &&
		a.Conv == b.Conv && s.leaf(a, b) && slices.EqualFunc(a.Kids, b.Kids, s.nodes)
	s.found[key] = same
	return same
}

// leaf compares what two nodes of one operation name.
func (s *sameness) leaf(a, b *formula.Node) bool {
	switch a.Op {
	case formula.AxisVal:
		return s.axis(a.A, b.A)
	case formula.GivenVal, formula.GivenYes, formula.GivenCol, formula.GivenIs:
		return s.given(a, b)
	case formula.MapHere, formula.MapAt:
		return s.old.Maps[a.A].Name == s.new.Maps[b.A].Name
	case formula.StepOf:
		return s.old.Maps[a.A].Name == s.new.Maps[b.A].Name && s.axis(a.B, b.B)
	case formula.Within:
		return a.Range.Lo == b.Range.Lo && a.Range.Hi == b.Range.Hi
	case formula.CurveAt:
		return slices.Equal(a.Curve.X, b.Curve.X) && slices.Equal(a.Curve.Y, b.Curve.Y)
	}
	return true
}

func (s *sameness) axis(i, j int) bool {
	x, y := s.old.Axes[i], s.new.Axes[j]
	return x.Name == y.Name && x.Unit.Same(y.Unit)
}

// given compares a given, and of a catalogue what is read of the row that it
// chooses.
func (s *sameness) given(a, b *formula.Node) bool {
	x, y := s.old.Givens[a.A], s.new.Givens[b.A]
	if x.Name != y.Name || x.Kind != y.Kind || !x.Unit.Same(y.Unit) {
		return false
	}
	switch a.Op {
	case formula.GivenIs:
		return x.Catalog.Rows[a.B] == y.Catalog.Rows[b.B]
	case formula.GivenCol:
		if !slices.Equal(x.Catalog.Rows, y.Catalog.Rows) {
			return false
		}
		for i := range x.Catalog.Rows {
			if x.Catalog.Values[i][a.B] != y.Catalog.Values[i][b.B] {
				return false
			}
		}
	}
	return true
}
