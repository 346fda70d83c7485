package review

import (
	"math"
	"slices"

	"fettle/compiler/check"
	"fettle/compiler/grid"
	"fettle/compiler/limit"
	"fettle/lang/unit"
)

// When a margin is small: under 2 % of its bound, or under a tenth of what it
// was. Common practice, no source.
const (
	nearShare = 0.02
	nearFall  = 0.1
)

// sixDigits is what values of a limit may differ by and still read the same, as
// a part of their size.
const sixDigits = 5e-7

// margins tells how the limits and checks of a pair changed. What is the same on
// both sides isn't told.
func margins(c *compared, oldSide *Side, n *names) []*Margin {
	if c.old == nil || c.new == nil {
		return nil
	}
	m := &marginFinder{c: c, oldSide: oldSide, names: n, sameConditions: sameConditions(c)}
	m.sameValues = m.sameConditions && sameValues(c)
	old, new := c.old.Fault, c.new.Fault
	switch {
	case old != "" && new != "":
		return nil
	case new != "":
		m.fault(NewlyFails)
		return m.out
	case old != "":
		m.fault(Recovered)
		for _, v := range c.new.Limits {
			if v.State == limit.Fails {
				m.limit(nil, v)
			}
		}
		return m.out
	}
	m.limits()
	m.proofs()
	m.checks()
	return m.out
}

// marginFinder goes through a pair.
type marginFinder struct {
	c              *compared
	oldSide        *Side
	sameConditions bool
	sameValues     bool
	names          *names
	byOld          map[string]*limit.Verdict // the new tables by the old limits; nil until that is asked for
	out            []*Margin
}

// byOldLimit judges the new side's tables by one of the old side's limits; nil
// where that can't be done.
func (f *marginFinder) byOldLimit(name string) *limit.Verdict {
	if f.byOld == nil {
		f.byOld = map[string]*limit.Verdict{}
		if f.oldSide.ByLimits != nil && f.c.new.Side != nil {
			for _, v := range f.oldSide.ByLimits(f.c.new.Side) {
				f.byOld[v.Limit.Name] = v
			}
		}
	}
	return f.byOld[name]
}

// judgedAsItWas puts in what the new side would be by an old limit.
func (f *marginFinder) judgedAsItWas(m *Margin) {
	if v := f.byOldLimit(m.Name); v != nil && v.State != limit.NotHere {
		m.AsItWas = stateOf(f.c.old.program(), v)
		if badness(v) > 0 {
			m.Breaks = 1
		}
	}
}

func (f *marginFinder) add(m *Margin) {
	m.Tune, m.Tunes = f.c.name, []string{f.c.name}
	f.out = append(f.out, m)
}

// fault tells of a tune that can be computed on one side only.
func (f *marginFinder) fault(kind string) {
	state := func(fault string) *State {
		if fault == "" {
			return &State{Word: limit.Holds.String()}
		}
		return &State{Word: cantCompute, Problem: fault}
	}
	f.add(&Margin{Kind: kind, Fault: true, Mode: check.Fail.String(), Before: state(f.c.old.Fault), After: state(f.c.new.Fault)})
}

const cantCompute = "can't be computed"

// limits pairs the limits of both sides by name.
func (f *marginFinder) limits() {
	old := map[string]*limit.Verdict{}
	for _, v := range f.c.old.Limits {
		old[now(f.names.limits, v.Limit.Name)] = v
	}
	seen := map[string]bool{}
	for _, v := range f.c.new.Limits {
		seen[v.Limit.Name] = true
		f.limit(old[v.Limit.Name], v)
	}
	for _, v := range f.c.old.Limits {
		if !seen[now(f.names.limits, v.Limit.Name)] {
			f.limit(v, nil)
		}
	}
}

// limit tells how one limit changed. Either verdict may be nil.
func (f *marginFinder) limit(a, b *limit.Verdict) {
	said := f.names.said.of(limitOf(a), limitOf(b), f.names)
	m := &Margin{old: a, new: b, Text: said.text}
	for i, v := range []*limit.Verdict{a, b} {
		if v != nil {
			m.Name, m.Mode, m.Place[i] = v.Limit.Name, v.Limit.Mode.String(), v.Limit.Span
		}
	}
	if lookedAt(a) && !lookedAt(b) {
		m.Unlooked = 1
	}
	switch {
	case a == nil && b.State == limit.NotHere, b == nil && a.State == limit.NotHere:
		return // in this tune nobody misses it
	case a == nil:
		m.Kind = NewLimit
		if badness(b) > 0 {
			m.Kind = worse(badness(b))
		}
	case b == nil:
		m.Kind = GoneLimit
		f.judgedAsItWas(m)
	default:
		m.Kind = f.kind(m, a, b, said)
	}
	if m.Kind == "" {
		return
	}
	old, new := f.c.old, f.c.new
	if a != nil {
		m.Before = stateOf(old.program(), a)
	} else if old.Fault != "" {
		m.Before = &State{Word: cantCompute, Problem: old.Fault}
	}
	if b != nil {
		m.After = stateOf(new.program(), b)
	}
	f.add(m)
}

// kind says what became of a limit that both sides have; "" for nothing.
func (f *marginFinder) kind(m *Margin, a, b *limit.Verdict, said *limitPair) string {
	was, is := badness(a), badness(b)
	m.asks = f.asked(m, a, b, said)
	asks := m.asks
	switch {
	case is == 2 && was < 2:
		return NewlyFails
	case asks == Loosened, asks == Reworded && !m.Alike:
		return asks
	case b.State == limit.NotHere && a.State != limit.NotHere:
		return Lapsed
	case is > was:
		return worse(is)
	case is < was:
		return Recovered
	case b.State == limit.NotHere:
		return ""
	case a.State == limit.NotHere:
		return NewLimit
	}
	kind := moved(a, b)
	if asks != "" && kind != NewlyNear && kind != Worse {
		return asks
	}
	return kind
}

// badness is how bad a limit's outcome is: 2 where nothing may be written, 1
// where there is something to know.
func badness(v *limit.Verdict) int {
	switch v.State {
	case limit.Fails:
		return 2
	case limit.Warns, limit.Clamped:
		return 1
	}
	return 0
}

func worse(badness int) string {
	if badness == 2 {
		return NewlyFails
	}
	return NewlyWarns
}

// asked says whether a limit asks less of this tune than it did (Loosened), or
// more, or whether that can't be seen (Reworded); "" where it asks the same. A
// limit can ask less without another word in it: where its bound is a value
// that was changed, or is looked up in a row that was. One that was reworded and asks
// this tune for the same is marked as alike: it may ask others for something else.
func (f *marginFinder) asked(m *Margin, a, b *limit.Verdict, said *limitPair) string {
	reworded := said.reworded
	if a.Limit != b.Limit && a.State != limit.NotHere && narrowed(f.c.old.program(), a.Limit, f.c.new.program(), b.Limit) {
		return Loosened // it is proved over less than it was
	}
	if a.Limit == b.Limit || !reworded && !f.sameConditions || a.State == limit.NotHere {
		return ""
	}
	if said.same && f.sameValues && b.State != limit.NotHere {
		return "" // its bounds come to the same in every cell
	}
	var x limit.Against
	if sameAxes(f.c.old.program(), a.Limit, f.c.new.program(), b.Limit) {
		var whole *limit.Verdict // of what it looks at no longer
		if all := f.c.new.Everywhere; all != nil && (b.State == limit.NotHere || b.Limit.Where != nil) {
			whole = all(b.Limit)
		}
		x = limit.Compare(a, b, whole)
	}
	gone := b.State == limit.NotHere
	strict := strictness(b.Limit.Mode) - strictness(a.Limit.Mode)
	if !reworded && !gone && b.Limit.Where != nil && b.Limit.Where.Maps != 0 {
		x.Fewer, x.More = 0, 0 // its cells follow the maps
	}
	eased, tighter := strict < 0 || x.Eased+x.Fewer > 0, strict > 0 || x.Tighter+x.More > 0
	if eased || tighter || gone {
		m.Moved = movedOf(f.c.new.program(), b.Limit, x.Furthest)
		if x.AsItWas != nil {
			m.AsItWas = stateOf(f.c.new.program(), x.AsItWas)
			if badness(x.AsItWas) > 0 {
				m.Breaks = 1
			}
			m.AsItWas.At, m.AsItWas.AtArgs = placeOf(f.c.new.program(), b.Limit.Axes, x.AsItWas.At)
		}
	}
	switch {
	case gone && !reworded:
		return ""
	case eased, gone:
		return Loosened
	case reworded && narrower(a.Limit, b.Limit):
		m.Alike = true
		return Loosened
	case reworded && !x.Known:
		if f.judgedAsItWas(m); m.Breaks > 0 && badness(b) == 0 {
			return Loosened
		}
		return Reworded
	case tighter, reworded && narrower(b.Limit, a.Limit), narrowed(f.c.new.program(), b.Limit, f.c.old.program(), a.Limit):
		return Tightened
	case reworded:
		m.Alike = true
		return Reworded
	}
	return ""
}

// movedOf puts a bound that moved in words.
func movedOf(p *check.Program, l *check.Limit, x *limit.Moved) *Moved {
	if x == nil {
		return nil
	}
	out := &Moved{Was: x.Was, Is: x.Is, Unit: x.Unit.Text, share: x.Share}
	out.At, out.AtArgs = placeOf(p, l.Axes, x.At)
	return out
}

// strictness puts the modes in an order.
func strictness(m check.Mode) int {
	return map[check.Mode]int{check.Warn: 0, check.Clamp: 1, check.Fail: 2}[m]
}

func sameAxes(p *check.Program, a *check.Limit, q *check.Program, b *check.Limit) bool {
	return slices.EqualFunc(a.Axes, b.Axes, func(i, j int) bool {
		x, y := p.Axes[i], q.Axes[j]
		return x.Name == y.Name && x.Unit.Same(y.Unit)
	})
}

// moved says where a margin went.
func moved(a, b *limit.Verdict) string {
	way := 0
	before, after := a.Margin, b.Margin
	if a.HasMargin && b.HasMargin {
		size := math.Max(abs(b.Value), abs(b.Bound))
		if conv, err := unit.NewConv(a.Unit.Difference(), b.Unit.Difference()); err == nil {
			before = conv.Apply(before)
		} else { // another of its comparisons is the nearest now: by their shares
			before, after, size = roomOf(a.Margin, a.Value, a.Bound), roomOf(b.Margin, b.Value, b.Bound), 1
		}
		if abs(after-before) > sixDigits*size {
			way = 1
			if after < before {
				way = -1
			}
		}
	}
	if way == 0 && badness(b) > 0 {
		way = a.Bad - b.Bad
	}
	switch {
	case way == 0:
		return ""
	case way > 0:
		return Farther
	}
	if b.State == limit.Holds {
		near := roomOf(b.Margin, b.Value, b.Bound) < nearShare && roomOf(a.Margin, a.Value, a.Bound) >= nearShare
		if near || after < nearFall*before {
			return NewlyNear
		}
	}
	if badness(b) > 0 {
		return Worse
	}
	return Closer
}

// roomOf is a margin as a part of its bound; of what is bounded, where the bound
// is 0.
func roomOf(margin, value, bound float64) float64 {
	size := abs(bound)
	if size == 0 {
		size = abs(value)
	}
	if size == 0 {
		return 0
	}
	return margin / size
}

// stateOf puts a verdict in words and numbers.
func stateOf(p *check.Program, v *limit.Verdict) *State {
	s := &State{Word: v.State.String(), Cells: v.Bad, Looked: v.Cells, Problem: v.Problem}
	if v.State == limit.NotHere {
		return &State{Word: "doesn't apply"}
	}
	if v.At != nil && (v.HasMargin || v.Bad > 0) {
		axes := v.Limit.Axes
		if v.State == limit.Clamped {
			axes = v.Limit.Clamped.Axes
		}
		if len(axes) == len(v.At) {
			s.At, s.AtArgs = placeOf(p, axes, v.At)
		}
	}
	if v.HasMargin {
		s.HasMargin, s.Margin, s.Value, s.Bound, s.Unit = true, v.Margin, v.Value, v.Bound, v.Unit.Text
	}
	return s
}

func placeOf(p *check.Program, axes []int, at []float64) (text string, args []string) {
	for i, x := range at {
		args = append(args, p.Axes[axes[i]].Name+"="+grid.Exact(x))
	}
	return p.PlaceText(axes, at), args
}

// program is what a judged tune was computed by.
func (j *Judged) program() *check.Program {
	if j == nil || j.Side == nil || j.Side.Program == nil {
		return nil
	}
	return j.Side.Program.Check
}
