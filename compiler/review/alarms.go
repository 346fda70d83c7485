package review

import (
	"slices"
	"strings"
)

// alarm is something that a reader has to look at before all else.
type alarm struct {
	word string // "" of a line that counts what isn't told
	says []phrase
}

// How many alarms are told one by one: so many of a kind, and so many in all, or
// one of each kind, so that the first screen has room for each.
const (
	mostOfKind = 3
	mostAlarms = 5
)

// alarmKind is alarms of one kind, worst first.
type alarmKind struct {
	word string
	n    int
	more func(n int) phrase
	tell func(i int) []phrase
}

// alarms are the reasons for which a change may be unsafe, worst first: tunes
// that can't be computed any more and limits that newly fail, limits that ask
// less, cells that stick out, limits that newly warn, and that are newly near.
func (r *Review) alarms() []alarm {
	limits := func(word, what string, list []*Margin, text func(m *Margin) []phrase) alarmKind {
		return alarmKind{word, len(list), func(n int) phrase { return say("… and %s more "+what, counted(n, "limit", "limits")) }, func(i int) []phrase { return text(list[i]) }}
	}
	kinds := []alarmKind{
		limits("FAILS", "newly fail", r.kind(NewlyFails), func(m *Margin) []phrase { return r.past(m, "newly fails") }),
		limits("EASED", "ask less", r.kind(Loosened, GoneLimit, Lapsed), r.eased),
		{"LOOK", len(r.Spikes), func(n int) phrase { return say("… and %s more stick out", counted(n, "cell", "cells")) }, func(i int) []phrase { return r.Spikes[i].tell(r) }},
		limits("ALTERED", "are worded otherwise", r.kind(Reworded), r.eased),
		limits("WARNS", "newly warn", r.kind(NewlyWarns), func(m *Margin) []phrase { return r.past(m, "newly warns") }),
		limits("NEAR", "are newly near", r.kind(NewlyNear), r.near),
	}
	var out []alarm
	for k, shown := range allot(kinds) {
		kind := kinds[k]
		for i := range shown {
			out = append(out, alarm{kind.word, kind.tell(i)})
		}
		if n := kind.n - shown; n > 0 {
			out = append(out, alarm{"", []phrase{kind.more(n)}})
		}
	}
	return out
}

// allot says how many of each kind are told: one, and what room is left for the
// worst kinds. A line that counts one more would take as much room as that one.
func allot(kinds []alarmKind) []int {
	shown := make([]int, len(kinds))
	left := mostAlarms
	for i, k := range kinds {
		shown[i] = min(k.n, 1)
		left -= shown[i]
	}
	for i, k := range kinds {
		more := min(k.n-shown[i], mostOfKind-1, left)
		if more > 0 {
			shown[i] += more
			left -= more
		}
		if k.n == shown[i]+1 {
			shown[i]++
		}
	}
	return shown
}

// allClear says that what would be an alarm was looked for; nil where it wasn't,
// or where there is one.
func (r *Review) allClear() phrase {
	switch {
	case r.Counts.Differ == 0:
		return nil
	case r.Old.built() || r.New.built():
		return say("no cell sticks out of its neighbours; limits aren't compared, since tables don't hold them")
	}
	return say("no limit newly fails, warns or is newly near, none was eased, and no cell sticks out of its neighbours")
}

// kind is the limits of some kinds of change, in order.
func (r *Review) kind(kinds ...string) []*Margin {
	var out []*Margin
	for _, m := range r.Limits {
		if slices.Contains(kinds, m.Kind) {
			out = append(out, m)
		}
	}
	return out
}

// title names a limit or a check.
func (m *Margin) title() phrase {
	switch {
	case m.Check:
		return say(`check "%s"`, m.Name)
	case m.Fault:
		return say("tune %s", m.Tune)
	}
	return say("limit %s", m.Name)
}

// in says in how many tunes, and which is the worst; nothing where a single pair
// is compared.
func (r *Review) in(m *Margin) phrase {
	switch {
	case r.Only != nil:
		return nil
	case len(m.Tunes) > 1:
		return say(" in %s, worst %s", tunes(len(m.Tunes)), m.Tune)
	}
	return say(" in %s", m.Tune)
}

// at says where a state is the worst; nil where that isn't a cell.
func (s *State) at() phrase {
	if s.At == "" {
		return nil
	}
	return say(" at %s", s.At)
}

// past tells of a limit that doesn't hold any more.
func (r *Review) past(m *Margin, what string) []phrase {
	a := m.After
	if m.Fault {
		out := []phrase{say("%s can't be computed any more", tunes(len(m.Tunes)))}
		if len(m.Tunes) == 1 {
			out = []phrase{say("%s can't be computed any more", m.Tune)}
		} else {
			out = append(out, say("first %s", m.Tune))
		}
		if a != nil && a.Problem != "" {
			out = append(out, say("%s", a.Problem))
		}
		return out
	}
	out := []phrase{say("%s %s%s", m.title(), words(what), r.in(m))}
	if a != nil {
		out = append(out, m.pastText(a)...)
	}
	if m.By != "" {
		by := say("pushed over by %s", m.By)
		if !m.ByAt.IsZero() {
			by = say("%s, %s", by, m.ByAt.String())
		}
		out = append(out, by)
	}
	return out
}

// pastText is by how much a limit doesn't hold.
func (m *Margin) pastText(a *State) []phrase {
	switch {
	case a.Problem != "":
		return []phrase{say("%s", a.Problem)}
	case a.HasValues:
		n := numbers(a.Value, a.Bound)
		return []phrase{say("%s%s, where %s is expected", quantity(n[0], a.Unit), a.at(), quantity(n[1], a.Unit))}
	case a.HasMargin:
		n := numbers(a.Value, a.Bound)
		out := []phrase{say("%s%s, past its bound of %s", quantity(n[0], a.Unit), a.at(), quantity(n[1], a.Unit))}
		if m.Before != nil && m.Before.HasMargin {
			out = append(out, m.marginText())
		}
		return out
	case a.At != "":
		return []phrase{say("first%s", a.at())}
	}
	return nil
}

// marginText is "margin +1.2 → -1.1 points", or the margin alone where there is
// none to compare with.
func (m *Margin) marginText() phrase {
	a, b := m.After, m.Before
	if b != nil && b.HasMargin {
		old, new := marginPair(b.Margin, a.Margin)
		return say("margin %s", fromTo(old, new, changeUnit(a.Unit)))
	}
	return say("margin %s", quantity(signed(numbers(a.Margin)[0]), changeUnit(a.Unit)))
}

// near tells of a limit whose margin is nearly gone.
func (r *Review) near(m *Margin) []phrase {
	out := []phrase{say("%s is newly near%s", m.title(), r.in(m))}
	if a := m.After; a != nil && a.HasMargin {
		out = append(out, say("%s of a bound of %s%s", m.marginText(), quantity(numbers(a.Bound)[0], a.Unit), a.at()))
	}
	return out
}

// eased tells of a limit that asks less than it did, or may.
func (r *Review) eased(m *Margin) []phrase {
	var out []phrase
	switch m.Kind {
	case GoneLimit:
		out = append(out, say("%s is gone, which said %s", m.title(), m.Text[0]))
	case Lapsed:
		out = append(out, say("%s applies no longer%s", m.title(), r.in(m)))
	case Reworded:
		out = append(out, say("%s now says %s, and said %s", m.title(), m.Text[1], m.Text[0]))
	default:
		out = append(out, say("%s was loosened to %s from %s", m.title(), m.Text[1], m.Text[0]))
	}
	if w := m.AsItWas; w != nil && (w.Word == "fails" || w.Word == "warns") {
		text := say("as it was it would %s%s", words(strings.TrimSuffix(w.Word, "s")), r.in(m))
		if w.HasMargin {
			n := numbers(w.Value, w.Bound)
			text = say("%s: %s%s, past %s", text, quantity(n[0], w.Unit), w.at(), quantity(n[1], w.Unit))
		}
		out = append(out, text)
	}
	if at := places(m.Place); at != nil && m.Kind != Lapsed {
		out = append(out, at)
	}
	return out
}

// tell says what sticks out, by how much, and what did it.
func (s *Spike) tell(r *Review) []phrase {
	m := s.Entry.find(s.Map)
	n := numbers(s.Old, s.New)
	change := quantity(signed(numbers(s.Change)[0]), changeUnit(s.Unit))
	around := say("its neighbours moved by %s at most", quantity(numbers(s.Neighbours)[0], changeUnit(s.Unit)))
	if m != nil {
		n = []string{m.Diff.ValueText(s.Old), m.Diff.ValueText(s.New)}
		change = m.changeOf(s.Change, s.Share, s.HasShare)
	}
	if s.HasShare {
		change = m.changeOf(s.Change, s.Share, true)
		around = say("its neighbours moved by %s at most", figure(percentSize(s.Neighbours)))
	}
	if s.Neighbours == 0 {
		around = say("its neighbours didn't move")
	}
	in := say(" in %s", s.Tune)
	switch {
	case r.Only != nil:
		in = nil
	case len(s.Tunes) > 1:
		in = say(" in %s", tunes(len(s.Tunes)))
	}
	out := []phrase{say("%s at %s: %s (%s)%s", s.Map, s.At, fromTo(n[0], n[1], s.Unit), change, in), around}
	if s.By != nil {
		by := say("by %s", r.named(s.By, s.Map))
		if w := s.By.Why; w != "" && len(w) <= mostWhy {
			by = say("%s: %s", by, w)
		}
		out = append(out, by)
	}
	if len(s.Also) > 0 {
		out = append(out, say("it shows in %s too", some(s.Also, 3)))
	}
	return out
}
