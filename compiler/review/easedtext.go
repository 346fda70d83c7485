package review

import (
	"slices"

	"fettle/compiler/grid"
	"fettle/compiler/limit"
	"fettle/lang/syntax"
)

// eased tells of a limit that asks less than it did, or may.
func (r *Review) eased(m *Margin) []phrase {
	var out []phrase
	same := sameWords(m.Text[0], m.Text[1])
	switch {
	case m.Kind == GoneLimit:
		out = append(out, say("%s is gone, which said %s", m.title(), m.Text[0]))
	case m.Kind == Lapsed:
		out = append(out, say("%s applies no longer%s", m.title(), r.in(m)))
	case m.Kind == Reworded && same:
		out = append(out, say("%s reads what changed: %s", m.title(), m.Text[1]))
	case m.Kind == Reworded:
		out = append(out, say("%s now says %s, and said %s", m.title(), m.Text[1], m.Text[0]))
	case same:
		out = append(out, say("%s asks less than it did: %s", m.title(), m.Text[1]))
	default:
		out = append(out, say("%s was loosened to %s from %s", m.title(), m.Text[1], m.Text[0]))
	}
	if m.Alike && m.Kind != GoneLimit {
		out = append(out, say("it asks the same of the tunes compared"))
	}
	if was := r.asItWas(m); was != nil {
		out = append(out, was)
	}
	if m.Moved != nil && (same || m.broken() == 0 && !m.saysBound()) {
		out = append(out, m.Moved.text(r, m))
	}
	for i, c := range m.Due {
		if i == mostBy && len(m.Due) > mostBy+1 {
			out = append(out, say("and by %s more", len(m.Due)-i))
			break
		}
		by := say("by %s", c.Name)
		if c.Why != "" {
			by = say("%s: %s", by, clipMiddle(c.Why))
		}
		if at := places(c.Places); at != nil {
			by = say("%s, %s", by, at)
		}
		out = append(out, by)
	}
	if m.Unlooked > 0 && m.Kind != Lapsed && m.Kind != GoneLimit && r.Only == nil {
		out = append(out, say("it looks no longer at %s", tunes(m.Unlooked)))
	}
	if at := places(m.Place); at != nil && len(m.Due) == 0 {
		out = append(out, at)
	}
	return out
}

// asItWas says what the new side would be by what a limit was; nil where it would
// hold, or that isn't known.
func (r *Review) asItWas(m *Margin) phrase {
	w := m.AsItWas
	if m.broken() == 0 {
		return nil
	}
	verb := map[string]words{limit.Fails.String(): "fail", limit.Warns.String(): "warn", limit.Clamped.String(): "be capped"}[w.Word]
	in := r.in(m)
	if n := max(1, m.Breaks); r.Only == nil && len(m.Tunes) > 1 {
		in = say(" in %s of %s, worst %s", n, tunes(len(m.Tunes)), m.Tune)
		if n == len(m.Tunes) {
			in = say(" in %s, worst %s", tunes(n), m.Tune)
		}
	}
	text := say("as it was it would %s%s", verb, in)
	switch n := numbers(w.Value, w.Bound); {
	case w.HasMargin:
		return say("%s: %s%s, past %s", text, quantity(n[0], w.Unit), w.at(), quantity(n[1], w.Unit))
	case w.HasValues:
		return say("%s: %s%s, where %s is expected", text, quantity(n[0], w.Unit), w.at(), w.expected(n[1]))
	}
	return text
}

// saysBound says whether a limit's text names the bound that moved.
func (m *Margin) saysBound() bool {
	return slices.ContainsFunc(tokensOf(m.Text[1]), func(t syntax.Token) bool { return t.Kind == syntax.Number && t.Text == grid.Exact(m.Moved.Is) })
}

// expected is what a check asks for: "15.8 mg", ">= 9 mg".
func (s *State) expected(number string) any {
	if s.Op != "" {
		number = s.Op + " " + number
	}
	return quantity(number, s.Unit)
}

// text says from where to where a bound moved.
func (x *Moved) text(r *Review, m *Margin) phrase {
	n := numbers(x.Was, x.Is)
	out := say("its bound went from %s to %s", figure(n[0]), quantity(n[1], x.Unit))
	if x.At != "" {
		out = say("%s at %s", out, x.At)
	}
	if len(m.Tunes) > 1 && r.Only == nil && m.broken() == 0 {
		out = say("%s, in %s", out, tunes(len(m.Tunes)))
	}
	return out
}

// brief is a limit that asks less, in a few words: "pump 240 → 300 g/min".
func (m *Margin) brief() phrase {
	name := say("%s", m.Name)
	if m.Check {
		name = say(`"%s"`, m.Name)
	}
	switch {
	case m.Fault:
		return say("%s", m.Tune)
	case m.Kind == GoneLimit:
		return say("%s is gone", name)
	case m.Kind == Lapsed:
		return say("%s applies no longer", name)
	case m.Moved != nil:
		n := numbers(m.Moved.Was, m.Moved.Is)
		return say("%s %s", name, fromTo(n[0], n[1], m.Moved.Unit))
	case m.Check && m.AsItWas != nil && m.After != nil && m.AsItWas.HasValues && m.After.HasValues && m.AsItWas.Bound != m.After.Bound:
		n := numbers(m.AsItWas.Bound, m.After.Bound)
		return say("%s %s", name, fromTo(n[0], n[1], m.After.Unit))
	}
	return name
}

// mostRest is how many characters name what isn't told one by one, so that the
// first screen has room for other alarms.
const mostRest = 700

// rest names what isn't told one by one, each once.
func rest(list []*Margin) phrase {
	var out []phrase
	seen := map[string]bool{}
	used := 0
	for _, m := range list {
		p := m.brief()
		text := p.plain()
		if seen[text] {
			continue
		}
		seen[text] = true
		if used += width(text); used <= mostRest || len(out) == 0 {
			out = append(out, p)
		}
	}
	if n := len(seen) - len(out); n > 0 {
		out = append(out, say("and %s more", n))
	}
	return join(out, ", ")
}

// amount counts limits, checks and tunes, each once: "2 limits and 1 check".
func amount(list []*Margin) phrase {
	n := [3]int{}
	seen := map[string]bool{}
	for _, m := range list {
		key, kind := m.Name, 0
		switch {
		case m.Check:
			key, kind = "check "+m.Name, 1
		case m.Fault:
			key, kind = "tune "+m.Tune, 2
		}
		if !seen[key] {
			seen[key] = true
			n[kind]++
		}
	}
	var out []phrase
	if n[0] > 0 {
		out = append(out, say("%s", counted(n[0], "limit", "limits")))
	}
	if n[1] > 0 {
		out = append(out, say("%s", counted(n[1], "check", "checks")))
	}
	if n[2] > 0 {
		out = append(out, say("%s", counted(n[2], "tune", "tunes")))
	}
	return join(out, " and ")
}
