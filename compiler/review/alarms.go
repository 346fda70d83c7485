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
	mostAlarms = 6
)

// alarmKind is alarms of one kind, worst first.
type alarmKind struct {
	word string
	n    int
	more func(n int) phrase
	tell func(i int) []phrase
	of   func(i int) (*Margin, *Spike) // what one is about; nil where that is neither
}

// alarms are the reasons for which a change may be unsafe, worst first: tunes
// that can't be computed any more and limits that newly fail, limits that ask
// less, what else guards less, cells that stick out, limits that are worded
// otherwise, that are no longer proved, that fail by more, that newly warn, and that are newly near.
func (r *Review) alarms() []alarm {
	kinds := r.alarmKinds()
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

// alarmKinds are the kinds of alarm, each with all that there are of it.
func (r *Review) alarmKinds() []alarmKind {
	limits := func(word, what string, list []*Margin, text func(m *Margin) []phrase) alarmKind {
		return alarmKind{
			word: word, n: len(list),
			more: func(n int) phrase {
				left := list[len(list)-n:]
				out := say("… and %s more %s", amount(left), words(what))
				if left[0].Weakens() { // any of them may be the one that matters
					out = say("%s: %s", out, rest(left))
				}
				return out
			},
			tell: func(i int) []phrase { return text(list[i]) },
			of:   func(i int) (*Margin, *Spike) { return list[i], nil },
		}
	}
	spikes := alarmKind{
		word: "LOOK", n: len(r.Spikes),
		more: func(n int) phrase { return say("… and %s more stick out", counted(n, "cell", "cells")) },
		tell: func(i int) []phrase { return r.Spikes[i].tell(r) },
		of:   func(i int) (*Margin, *Spike) { return nil, r.Spikes[i] },
	}
	guards := alarmKind{
		word: "GUARD", n: len(r.Guards),
		more: func(n int) phrase {
			var left []phrase
			for _, g := range r.Guards[len(r.Guards)-n:] {
				left = append(left, g.brief())
			}
			return say("… and %s more: %s", counted(n, "guard", "guards"), join(left, ", "))
		},
		tell: func(i int) []phrase { return r.Guards[i].tell() },
	}
	edited := alarmKind{
		word: "EDITED", n: len(r.Edited),
		more: func(n int) phrase { return say("… and %s more edited", counted(n, "table", "tables")) },
		tell: func(i int) []phrase { return r.Edited[i].tell() },
	}
	return []alarmKind{
		limits("FAILS", "newly fail", r.kind(NewlyFails), func(m *Margin) []phrase { return r.past(m, "newly fails") }),
		edited,
		limits("EASED", "ask less", r.kind(Loosened, GoneLimit, Lapsed), r.eased),
		guards,
		spikes,
		limits("ALTERED", "are worded otherwise", r.kind(Reworded), r.eased),
		limits("UNPROVED", "are no longer proved", r.kind(Unproved), func(m *Margin) []phrase { return r.past(m, "is no longer proved") }),
		limits("WORSE", "fail or warn by more", r.kind(Worse), func(m *Margin) []phrase { return r.past(m, "is worse") }),
		limits("WARNS", "newly warn", r.kind(NewlyWarns), func(m *Margin) []phrase { return r.past(m, "newly warns") }),
		limits("NEAR", "are newly near", r.kind(NewlyNear), r.near),
	}
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
	case m.Proof && m.Kind != Unproved:
		return say("the proof of limit %s", m.Name)
	}
	return say("limit %s", m.Name)
}

// in says in how many tunes, and which is the worst; nothing where a single pair
// is compared.
func (r *Review) in(m *Margin) phrase {
	switch {
	case r.Only != nil || len(m.Tunes) == 0:
		return nil
	case len(m.Tunes) > 1:
		return say(" in %s, worst %s", tunes(len(m.Tunes)), m.Tune)
	}
	if m.Added {
		return say(" in %s, which is new", m.Tune)
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
		what := words("can't be computed any more")
		switch {
		case a != nil && a.Word == notBuilt:
			what = "failed to build"
		case m.Added:
			what = "can't be computed"
		}
		out := []phrase{say("%s %s", tunes(len(m.Tunes)), what)}
		if len(m.Tunes) == 1 {
			out = []phrase{say("%s %s", m.Tune, what)}
		} else {
			out = append(out, say("first %s", m.Tune))
		}
		if a != nil && a.Problem != "" {
			out = append(out, say("%s", a.Problem))
		}
		return out
	}
	if m.Added {
		what = strings.TrimPrefix(what, "newly ")
	}
	out := []phrase{say("%s %s%s", m.title(), words(what), r.in(m))}
	if a != nil {
		out = append(out, m.pastText(a)...)
	}
	verb := words("pushed over")
	if m.Kind == Worse {
		verb = "pushed there"
	}
	if by := r.pushedBy(m, verb); by != nil {
		out = append(out, by)
	}
	if at := places(m.Place); at != nil && m.Check {
		out = append(out, say("the check stands in %s", at))
	}
	return out
}

// pushedBy says what brought a limit where it is, with what changed in that; nil
// where it isn't known.
func (r *Review) pushedBy(m *Margin, verb words) phrase {
	if m.By == "" {
		return nil
	}
	by := say("%s by %s", verb, m.By)
	if !m.ByAt.IsZero() {
		by = say("%s, %s", by, m.ByAt.String())
	}
	for _, c := range r.Elements {
		if c.Name == m.By && c.Why != "" && (slices.Contains(c.Places[:], m.ByAt) || r.oneCalled(m.By)) {
			return say("%s: %s", by, clipMiddle(c.Why))
		}
	}
	return by
}

// oneCalled says whether just one element that changed has a name.
func (r *Review) oneCalled(name string) bool {
	n := 0
	for _, c := range r.Elements {
		if c.Name == name {
			n++
		}
	}
	return n == 1
}

// pastText is by how much a limit doesn't hold.
func (m *Margin) pastText(a *State) []phrase {
	switch {
	case a.Certain != "":
		out := []phrase{say("%s", words(a.Certain))}
		if a.Problem != "" {
			out = append(out, say("%s", words(a.Problem)))
		}
		return out
	case a.Problem != "":
		return []phrase{say("%s", a.Problem)}
	case a.HasValues:
		n := numbers(a.Value, a.Bound)
		return []phrase{say("%s%s, where %s is expected", quantity(n[0], a.Unit), a.at(), a.expected(n[1]))}
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
	what := words("is newly near")
	if m.Added {
		what = "is near"
	}
	out := []phrase{say("%s %s%s", m.title(), what, r.in(m))}
	if a := m.After; a != nil && a.HasMargin && m.Proof {
		out = append(out, say("%s, of what is certain everywhere in its range", m.marginText()))
	} else if a != nil && a.HasMargin {
		out = append(out, say("%s of a bound of %s%s", m.marginText(), quantity(numbers(a.Bound)[0], a.Unit), a.at()))
	}
	if by := r.pushedBy(m, "brought there"); by != nil {
		out = append(out, by)
	}
	return out
}
