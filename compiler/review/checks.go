package review

import (
	"math"
	"slices"

	"fettle/compiler/check"
	"fettle/compiler/limit"
	"fettle/lang/formula"
	"fettle/lang/unit"
)

// checks pairs the expectations of both sides: by their block's title and their
// text, then those left over of a block, which were reworded: those that expect
// something of the same, then the rest in order.
func (f *marginFinder) checks() {
	type key struct{ title, text string }
	byText, byTitle := map[key][]*limit.Outcome{}, map[string][]*limit.Outcome{}
	keyOf := func(o *limit.Outcome) key { return key{o.Check.Title, f.names.said.expect(o.Expect)} }
	wasOf := func(o *limit.Outcome) key {
		return key{now(f.names.checks, o.Check.Title), f.names.inText(f.names.said.expect(o.Expect))}
	}
	for _, o := range f.c.old.Checks {
		byText[wasOf(o)] = append(byText[wasOf(o)], o)
	}
	partner := map[*limit.Outcome]*limit.Outcome{}
	taken := map[*limit.Outcome]bool{}
	for _, o := range f.c.new.Checks {
		if list := byText[keyOf(o)]; len(list) > 0 {
			partner[o], taken[list[0]] = list[0], true
			byText[keyOf(o)] = list[1:]
		}
	}
	for _, o := range f.c.old.Checks {
		if !taken[o] {
			byTitle[wasOf(o).title] = append(byTitle[wasOf(o).title], o)
		}
	}
	for _, same := range []bool{true, false} {
		for _, o := range f.c.new.Checks {
			list := byTitle[o.Check.Title]
			k := slices.IndexFunc(list, func(x *limit.Outcome) bool { return !same || expectsOf(x) == expectsOf(o) })
			if partner[o] == nil && k >= 0 {
				partner[o], taken[list[k]] = list[k], true
				byTitle[o.Check.Title] = slices.Delete(slices.Clone(list), k, k+1)
			}
		}
	}
	for _, o := range f.c.new.Checks {
		f.check(partner[o], o)
	}
	for _, o := range f.c.old.Checks {
		if !taken[o] {
			f.check(o, nil)
		}
	}
}

// check tells how one expectation changed. Either outcome may be nil.
func (f *marginFinder) check(a, b *limit.Outcome) {
	m := &Margin{Check: true, Mode: check.Fail.String(), outcome: b}
	for i, o := range []*limit.Outcome{a, b} {
		if o == nil {
			continue
		}
		m.Name, m.Text[i], m.Place[i] = o.Check.Title, f.names.said.expect(o.Expect), o.Expect.Span
	}
	m.Text[0] = f.names.inText(m.Text[0])
	if a != nil {
		m.Before = stateOfCheck(a)
	}
	if b != nil {
		m.After = stateOfCheck(b)
	}
	// Another tune has other checks: that is no change of them.
	otherTune := f.c.old.Tune.Name != f.c.new.Tune.Name && !f.c.job.renamed
	switch {
	case b != nil && !b.OK && (a == nil || a.OK):
		m.Kind = NewlyFails
		if a != nil && !sameWords(m.Text[0], m.Text[1]) {
			m.asks = f.expects(m, a, b)
		}
	case a == nil && !otherTune:
		m.Kind = NewLimit
	case a == nil:
	case b == nil && otherTune:
	case b == nil:
		m.Kind = GoneLimit
		if hasCheck(f.c.new.program(), a.Check.Title) {
			m.Kind = Lapsed
		}
	case !sameWords(m.Text[0], m.Text[1]):
		m.asks = f.expects(m, a, b)
		m.Kind = m.asks
	case !a.OK && !b.OK && worseBy(a, b):
		m.Kind = Worse
	case !a.OK && b.OK:
		m.Kind = Recovered
	}
	if m.Kind != "" {
		f.add(m)
	}
}

// hasCheck says whether a program still has a block of a title, for other tunes.
func hasCheck(p *check.Program, title string) bool {
	for _, c := range p.Checks {
		if c.Title == title {
			return true
		}
	}
	return false
}

func stateOfCheck(o *limit.Outcome) *State {
	s := &State{Word: limit.Holds.String(), Problem: o.Problem}
	if !o.OK {
		s.Word = limit.Fails.String()
	}
	if o.Compared && o.Problem == "" {
		s.HasValues, s.Value, s.Bound, s.Unit, s.away = true, o.Got, o.Want, o.Unit.Text, o.Away(o.Got)
		if o.Op != formula.Eq {
			s.Op = o.Op.String()
		}
	}
	return s
}

// expectsOf is what an expectation is about, by its text; the whole of one that
// doesn't compare.
func expectsOf(o *limit.Outcome) string {
	if n := formula.Strip(o.Expect.Cond); o.Compared {
		return spelled(n.Kids[0].Span.Text())
	}
	return spelled(o.Expect.Text)
}

// expects says whether an expectation that was reworded asks less than it did, and
// judges the new value by what it was. That can't be seen of one that is about
// something else.
func (f *marginFinder) expects(m *Margin, a, b *limit.Outcome) string {
	if !a.Compared || !b.Compared || a.Problem+b.Problem != "" || expectsOf(a) != expectsOf(b) {
		return Reworded
	}
	conv, err := unit.NewConv(b.Unit, a.Unit)
	if err != nil {
		return Reworded
	}
	was, got := *a, conv.Apply(b.Got)
	was.Got, was.OK = got, a.Holds(got)
	m.AsItWas = stateOfCheck(&was)
	if !was.OK {
		m.Breaks = 1
	}
	all, no := false, false
	if a.Unit.Same(b.Unit) {
		all, no = b.Against(a)
	}
	switch {
	case all && no && was.OK: // only spelled otherwise
		m.Alike = true
		return Reworded
	case !was.OK && b.OK, all:
		return Loosened
	case no:
		return Tightened
	}
	return Reworded
}

// worseBy says whether a value is further from what is expected than before.
func worseBy(a, b *limit.Outcome) bool {
	return a.Compared && b.Compared && a.Unit.Same(b.Unit) && a.Away(a.Got)-b.Away(b.Got) > sixDigits*math.Max(abs(b.Got), abs(b.Want))
}
