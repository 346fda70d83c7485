package review

// tell says what sticks out, by how much, what those around it did, and what did
// it.
func (s *Spike) tell(r *Review) []phrase {
	if s.Cells > 0 {
		return s.tellPatch(r)
	}
	n := numbers(s.Old, s.New)
	if m := s.Entry.find(s.Map); m != nil {
		n = []string{m.Diff.ValueText(s.Old), m.Diff.ValueText(s.New)}
	}
	what := say("%s at %s: %s (%s)%s", s.Map, s.At, fromTo(n[0], n[1], s.Unit), s.changeText(s.Change, s.Share), s.inText(r))
	return append([]phrase{what, s.aroundText("its neighbours")}, s.causeText(r)...)
}

// tellPatch says which cells were moved together, by how much, what those around
// them did, and what did it.
func (s *Spike) tellPatch(r *Review) []phrase {
	by := say("%s", s.changeText(s.Change, s.Share))
	if least := s.changeText(s.Least, s.LeastShare); least != s.changeText(s.Change, s.Share) {
		by = say("%s to %s", by, least)
	}
	out := []phrase{say("%s of %s, %s: %s%s", counted(s.Cells, "cell", "cells"), s.Map, s.At, by, s.inText(r)), s.aroundText("those around them")}
	return append(out, s.causeText(r)...)
}

// changeText is a change as people read it.
func (s *Spike) changeText(amount, share float64) any {
	if m := s.Entry.find(s.Map); m != nil {
		return m.changeOf(amount, share, s.HasShare)
	}
	return quantity(signed(numbers(amount)[0]), changeUnit(s.Unit))
}

// inText says in how many tunes; nil where one pair is compared.
func (s *Spike) inText(r *Review) phrase {
	switch {
	case r.Only != nil:
		return nil
	case len(s.Tunes) > 1:
		return say(" in %s", tunes(len(s.Tunes)))
	}
	return say(" in %s", s.Tune)
}

// aroundText says what the cells around did.
func (s *Spike) aroundText(who words) phrase {
	switch {
	case s.Neighbours == 0:
		return say("%s didn't move", who)
	case s.HasShare:
		return say("%s moved by %s at most", who, figure(percentSize(s.Neighbours)))
	}
	return say("%s moved by %s at most", who, quantity(numbers(s.Neighbours)[0], changeUnit(s.Unit)))
}

// causeText says what did it, and which maps show it too.
func (s *Spike) causeText(r *Review) []phrase {
	var out []phrase
	if s.By != nil {
		by := say("by %s", r.named(s.By, s.Map))
		if w := Cause(s.By); w != "" {
			by = say("%s: %s", by, w)
		}
		out = append(out, by)
	}
	if len(s.Also) > 0 {
		out = append(out, say("it shows in %s too", some(s.Also, 3)))
	}
	return out
}
