package review

import (
	"fettle/compiler/check"
	"fettle/compiler/limit"
	"fettle/lang/source"
)

// checks pairs the expectations of both sides: by their block's title and their
// text, then those left over of a block in order, which were reworded.
func (f *marginFinder) checks() {
	type key struct{ title, text string }
	byText, byTitle := map[key][]*limit.Outcome{}, map[string][]*limit.Outcome{}
	keyOf := func(o *limit.Outcome) key { return key{o.Check.Title, source.OneLine(o.Expect.Text)} }
	for _, o := range f.c.old.Checks {
		byText[keyOf(o)] = append(byText[keyOf(o)], o)
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
			byTitle[o.Check.Title] = append(byTitle[o.Check.Title], o)
		}
	}
	for _, o := range f.c.new.Checks {
		if list := byTitle[o.Check.Title]; partner[o] == nil && len(list) > 0 {
			partner[o], taken[list[0]] = list[0], true
			byTitle[o.Check.Title] = list[1:]
		}
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
	m := &Margin{Check: true, Mode: check.Fail.String()}
	for i, o := range []*limit.Outcome{a, b} {
		if o == nil {
			continue
		}
		m.Name, m.Text[i], m.Place[i] = o.Check.Title, source.OneLine(o.Expect.Text), o.Expect.Span
	}
	if a != nil {
		m.Before = stateOfCheck(a)
	}
	if b != nil {
		m.After = stateOfCheck(b)
	}
	// Another tune has other checks: that is no change of them.
	otherTune := f.c.old.Tune.Name != f.c.new.Tune.Name
	switch {
	case b != nil && !b.OK && (a == nil || a.OK):
		m.Kind = NewlyFails
	case a == nil && !otherTune:
		m.Kind = NewLimit
	case a == nil:
	case b == nil && otherTune:
	case b == nil:
		m.Kind = GoneLimit
		if hasCheck(f.c.new.program(), a.Check.Title) {
			m.Kind = Lapsed
		}
	case m.Text[0] != m.Text[1]:
		m.Kind = Reworded
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
	if o.HasValues && o.Problem == "" {
		s.HasValues, s.Value, s.Bound, s.Unit = true, o.Got, o.Want, o.Unit.Text
	}
	return s
}
