package review

import (
	"math"
	"slices"
	"sort"

	"fettle/compiler/check"
	"fettle/compiler/diff"
	"fettle/compiler/limit"
	"fettle/lang/formula"
	"fettle/lang/source"
)

// kinds are the kinds of Margin in the order in which they are told.
var kinds = []string{NewlyFails, Loosened, GoneLimit, Lapsed, Reworded, Unproved, Worse, NewlyWarns, NewlyNear, Closer, NewLimit, Tightened, Farther, Recovered}

// Weakens says that a tune is held to less than before: a reviewer has to know of
// it even where no cell differs.
func (m *Margin) Weakens() bool {
	return m.Kind == Loosened || m.Kind == GoneLimit || m.Kind == Lapsed || m.Kind == Reworded
}

// rank is a kind's place in the order. A proof that was lost or whose room shrank
// comes before all. All that asks less stands together.
func (m *Margin) rank() int {
	if m.Proof && slices.Contains([]string{NewlyFails, Unproved, Worse, NewlyWarns, NewlyNear, Closer}, m.Kind) {
		return slices.Index(kinds, m.Kind) - len(kinds)
	}
	if m.Kind == GoneLimit || m.Kind == Lapsed {
		return slices.Index(kinds, Loosened)
	}
	return slices.Index(kinds, m.Kind)
}

// broken says how bad the new side is by what a limit was: 2 where it would fail,
// 1 where it would warn or be capped.
func (m *Margin) broken() int {
	switch w := m.AsItWas; {
	case w == nil:
	case w.Word == limit.Fails.String():
		return 2
	case w.Word == limit.Warns.String(), w.Word == limit.Clamped.String():
		return 1
	}
	return 0
}

// distance is how far away a limit's bound moved, as a part of it. One that isn't
// looked at any more moved without end; what asks all tunes for the same, not at
// all.
func (m *Margin) distance() float64 {
	switch {
	case m.Alike && m.Kind != GoneLimit:
		return 0
	case m.Kind == GoneLimit, m.Kind == Lapsed, m.Unlooked > 0:
		return math.Inf(1)
	case m.Moved != nil:
		return m.Moved.share
	}
	return 0
}

// less says which of two limits of one rank is told first. Of those that ask less
// it is what the new side doesn't hold by what was asked, then by how far the
// bound moved; of all others the one with the least room.
func (m *Margin) less(o *Margin) bool {
	if m.Weakens() && m.Kind != Reworded {
		a, b := m.broken(), o.broken()
		switch {
		case a != b:
			return a > b
		case a == 0 && m.distance() != o.distance():
			return m.distance() > o.distance()
		}
	}
	return m.room() < o.room()
}

// telling is the state that says how bad a change is.
func (m *Margin) telling() *State {
	switch {
	case m.AsItWas != nil && m.Weakens():
		return m.AsItWas
	case m.After != nil:
		return m.After
	}
	return m.Before
}

// room is how much of its bound is left, to put limits in an order: the least
// first. What can't be looked at comes before all.
func (m *Margin) room() float64 {
	s := m.telling()
	switch {
	case s == nil:
		return math.Inf(1)
	case s.Problem != "":
		return math.Inf(-1)
	case s.HasMargin && s.Whole && s.Bound == 0:
		return s.Margin
	case s.HasMargin:
		return roomOf(s.Margin, s.Value, s.Bound)
	case s.HasValues:
		return roomOf(s.away, s.Value, s.Bound)
	case s.Cells > 0 || s.Word == limit.Fails.String():
		return 0
	}
	return math.Inf(1)
}

// gather makes one Margin a limit and kind of those of all pairs. Where a limit
// asks some tunes for less or for more, those of which it asks the same aren't
// told.
func gather(all []*Margin) []*Margin {
	type key struct {
		kind  string
		check bool
		proof bool
		name  string
		text  [2]string
	}
	type name struct {
		check bool
		name  string
	}
	byKey := map[key]*Margin{}
	told := map[name]bool{}
	lapsed := map[name]int{}
	for _, m := range all {
		if !m.Alike && (m.Weakens() || m.Kind == Tightened) {
			told[name{m.Check, m.Name}] = true
		}
		if m.Kind == Lapsed && !m.Check {
			lapsed[name{m.Check, m.Name}]++
		}
	}
	var out []*Margin
	for _, m := range all {
		if m.Alike && told[name{m.Check, m.Name}] && (m.Weakens() || m.Kind == Tightened) {
			continue
		}
		k := key{m.Kind, m.Check, m.Proof, m.Name, m.Text}
		g := byKey[k]
		if g == nil {
			one := *m
			one.Tunes, one.Breaks, one.Unlooked = nil, 0, 0
			g = &one
			byKey[k] = g
			out = append(out, g)
		} else if m.room() < g.room() {
			sum := *g
			*g = *m
			g.Added = sum.Added
			g.Tunes, g.Breaks, g.Unlooked = sum.Tunes, sum.Breaks, sum.Unlooked
			if g.Moved == nil {
				g.Moved = sum.Moved
			}
		}
		g.Breaks += m.Breaks
		g.Added = g.Added && m.Added
		g.Unlooked += m.Unlooked
		if m.Tune != "" { // some tune was compared that it looks at
			g.Tunes = append(g.Tunes, m.Tune)
		}
	}
	for _, m := range out {
		if !m.Check && (m.Kind == Loosened || m.Kind == Reworded) {
			m.Unlooked += lapsed[name{m.Check, m.Name}]
		}
	}
	sortMargins(out)
	return out
}

// sortMargins puts the limits of one pair, or of all, in the order in which they
// are told.
func sortMargins(list []*Margin) {
	sort.SliceStable(list, func(i, j int) bool {
		if a, b := list[i].rank(), list[j].rank(); a != b {
			return a < b
		}
		return list[i].less(list[j])
	})
}

// blame says what pushed a limit to where it is now: the element of the change
// with the largest part towards the bound, at the limit's cell or, where that
// one is the same as before, beside it; the limit itself where it is new or asks more.
// Where changes aren't attributed it is what took the cell past its bound in
// the new tune, whether that is new or not.
func (m *Margin) blame() {
	v := m.new
	if m.Check && (m.Kind == NewlyFails || m.Kind == Worse) {
		m.blameCheck()
	}
	if m.Check || m.Proof || v == nil || m.Kind != NewlyFails && m.Kind != NewlyWarns && m.Kind != NewlyNear && m.Kind != Worse {
		return
	}
	if m.Entry != nil && m.blameChange() {
		return
	}
	if m.AsItWas != nil || m.Text[0] != m.Text[1] && (m.old != nil || m.Before == nil) {
		m.By, m.ByAt = "limit "+m.Name, m.Place[1]
		return
	}
	if b := v.Blame; b != nil {
		push := b.Pushes[b.Main]
		m.By, m.ByAt = push.Name, pushPlace(push)
	}
}

// blameChange looks for an element of the change; false where none moves what
// the limit looks at.
func (m *Margin) blameChange() bool {
	v, p := m.new, m.Entry.NewT.program()
	for _, i := range v.Limit.Maps {
		d, row, col := m.Entry.placeIn(p, i, v)
		if d == nil {
			continue
		}
		towards := 0.0 // either way is bad
		if bareMap(v.Limit) == i {
			towards = math.Copysign(1, v.Bound-v.Value)
			if v.State != limit.Holds {
				towards = -towards
			}
		}
		var part *diff.Part
		most := 0.0
		for k, c := range d.Cells {
			if here := c.Row == row && c.Col == col; !here && (towards != 0 || max(abs(c.Row-row), abs(c.Col-col)) > 1) {
				continue
			}
			if p := largestPart(d, k, towards); p != nil && abs(p.Exact[k]) > most {
				part, most = p, abs(p.Exact[k])
			}
		}
		if part != nil {
			m.By, m.ByAt = part.Element.Name, part.Element.PlaceIn(d.Map)
			return true
		}
	}
	return false
}

// placeIn finds a limit's worst cell on a map that differs; no map where it has
// no such cell.
func (e *Entry) placeIn(p *check.Program, mapIndex int, v *limit.Verdict) (d *diff.MapDiff, row, col int) {
	axes := v.Limit.Axes
	if v.State == limit.Clamped {
		axes = v.Limit.Clamped.Axes
	}
	for _, m := range e.Pair.Maps {
		if m.Map == p.Maps[mapIndex].Name && m.Problem == "" {
			d = m
		}
	}
	if d == nil || len(v.At) != len(axes) {
		return nil, -1, -1
	}
	on := func(a diff.Axis) int {
		for k, i := range axes {
			if p.Axes[i].Name == a.Name && p.Axes[i].Unit.Text == a.Unit {
				return slices.Index(a.Points, v.At[k])
			}
		}
		return -1
	}
	col = on(d.Cols)
	if d.Rows.Points != nil {
		row = on(d.Rows)
	}
	if row < 0 || col < 0 {
		return nil, -1, -1
	}
	return d, row, col
}

// bareMap is the one map that a limit bounds, or -1.
func bareMap(l *check.Limit) int {
	found := -1
	var look func(n *formula.Node)
	look = func(n *formula.Node) {
		if n = formula.Plain(n); n.Op == formula.And {
			look(n.Kids[0])
			look(n.Kids[1])
			return
		}
		for _, k := range n.Kids {
			if k = formula.Plain(k); k.Op == formula.MapHere && len(l.Maps) == 1 {
				found = k.A
			}
		}
	}
	look(l.Cond)
	return found
}

// largestPart is the part that moved a cell most; towards is 1 for up, -1 for
// down, 0 for either way. Nil where no part did.
func largestPart(d *diff.MapDiff, cell int, towards float64) *diff.Part {
	var out *diff.Part
	most := 0.0
	for _, p := range d.Parts {
		x := p.Exact[cell]
		if towards == 0 {
			x = abs(x)
		} else {
			x *= towards
		}
		if x > most {
			out, most = p, x
		}
	}
	return out
}

// pushPlace is where the element of a push stands; the base stands nowhere.
func pushPlace(push limit.Push) (at source.Span) {
	switch {
	case push.Rule != nil:
		at = push.Rule.Span
	case push.Step != nil:
		at = push.Step.Span
	case push.Clamp != nil:
		at = push.Clamp.Span
	}
	return at
}
