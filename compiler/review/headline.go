package review

import "slices"

// headline is what is compared, what came out, and how many tunes it is about.
func (r *Review) headline() []phrase {
	verdict := r.verdictText()
	if list := r.toLookAt(); len(list) > 0 {
		verdict = say("%s: %s", verdict, join(list, ", "))
	}
	return append([]phrase{r.sides(), verdict}, r.countsText()...)
}

// toLookAt counts what may be unsafe.
func (r *Review) toLookAt() []phrase {
	var out []phrase
	count := func(n int, one, many string) {
		if n > 0 {
			out = append(out, say("%s", counted(n, one, many)))
		}
	}
	each := func(one, many string, kinds ...string) {
		list := r.kind(kinds...)
		if len(list) == 0 {
			return
		}
		n := amount(list)
		text := say("%s %s", n, words(many))
		if p := n.plain(); p == "1 limit" || p == "1 check" || p == "1 tune" {
			text = say("%s %s", n, words(one))
		}
		out = append(out, text)
	}
	each("newly fails", "newly fail", NewlyFails)
	each("asks less", "ask less", Loosened, GoneLimit, Lapsed)
	count(len(r.Guards), "guard is weaker", "guards are weaker")
	each("is worded otherwise", "are worded otherwise", Reworded)
	each("is no longer proved", "are no longer proved", Unproved)
	cells := 0
	for _, s := range r.Spikes {
		cells += max(1, s.Cells)
	}
	count(cells, "cell sticks out", "cells stick out")
	each("is worse", "are worse", Worse)
	each("newly warns", "newly warn", NewlyWarns)
	each("is newly near", "are newly near", NewlyNear)
	return out
}

// sides says what is compared.
func (r *Review) sides() phrase {
	if r.oneText() && r.Only != nil {
		return say("%s → %s", r.Only.Pair.Old.Name, r.Only.Pair.New.Name)
	}
	if r.oneText() && r.Old.Operand != "" && r.New.Operand != "" {
		return say("%s → %s", r.Old.Operand, r.New.Operand)
	}
	return say("%s → %s", r.Old.Title, r.New.Title)
}

// oneText says whether both sides are tunes computed from one text.
func (r *Review) oneText() bool {
	return r.Old.Digest != "" && r.Old.Digest == r.New.Digest && !r.Old.built() && !r.New.built()
}

// built says whether a side is tables that are read, not computed.
func (o Origin) built() bool { return o.Kind == KindFolder || o.Kind == KindFile }

// verdictText is the verdict in words.
func (r *Review) verdictText() phrase {
	every := say("every cell of %s is as it was", tunes(r.Counts.Pairs))
	if r.Counts.Pairs == 1 {
		every = say("every cell is as it was")
	}
	same := r.Counts.Pairs == r.Counts.Same
	if r.Verdict == Refactoring && r.provedOtherwise() || r.Verdict == Failing && r.provedOtherwise() {
		return say("different text, same tables in the tunes' own conditions, but not in all others: %s", every)
	}
	var out phrase
	switch r.Verdict {
	case AllSame:
		return say("same text, same tables: %s", every)
	case Weakened:
		if len(r.Guards)+len(r.kind(Loosened, GoneLimit, Lapsed, Unproved)) == 0 {
			return say("different text, same tables, held to something else: %s", every)
		}
		return say("different text, same tables, held to less: %s", every)
	case Failing:
		return say("different text, same tables, held to more: %s", every)
	case Refactoring:
		return say("different text, same tables: a refactoring, %s", every)
	case OutsideText:
		out = r.outsideText()
	case TablesOnly:
		if same && r.Counts.Renamed+r.Counts.OldOnly+r.Counts.NewOnly == 0 {
			return say("same tables: %s", every)
		}
		out = say("different tables")
	default:
		if same && r.Counts.Pairs > 0 {
			return say("different text, other tunes: every cell of the %s on both sides is as it was", tunes(r.Counts.Pairs))
		}
		out = say("different text, different tables")
	}
	if r.Counts.Differ > 0 && !r.Differs() {
		return say("%s, all within the policy", out)
	}
	return out
}

// provedOtherwise says whether something else could be proved than before, of limits
// that ask the same: then maps differ in conditions that are no tune's.
func (r *Review) provedOtherwise() bool {
	return slices.ContainsFunc(r.Limits, func(m *Margin) bool {
		return m.Proof && m.Before != nil && m.After != nil && sameWords(m.Text[0], m.Text[1])
	})
}

// outsideText says why tables of one text differ.
func (r *Review) outsideText() phrase {
	a, b := r.Old.Compiler, r.New.Compiler
	switch {
	case r.oneText(), r.Only != nil && r.Only.Pair.Old.Name != r.Only.Pair.New.Name:
		return say("different tunes of one text")
	case a != "" && b != "" && a != b:
		return say("same text, different tables: another compiler made them (%s, and %s now)", a, b)
	case a != "" && b != "":
		return say("same text, different tables: they were edited after they were built")
	}
	return say("same text, different tables: another compiler made them, or they were edited")
}

// broken is how many pairs can't be compared, since a side can't be computed.
func (c Counts) broken() int { return c.Pairs - c.Same - c.Differ }

// countsText is the numbers of tunes.
func (r *Review) countsText() []phrase {
	c := r.Counts
	var list []phrase
	differ := say("%s differ", c.Differ)
	if c.Differ == c.Pairs && c.Pairs > 1 {
		differ = say("all differ")
	}
	if c.Differ == 1 {
		differ = say("1 differs")
	}
	if n := r.Hidden.Tunes; n > 0 {
		differ = say("%s (%s within the policy alone)", differ, n)
	}
	same := say("%s the same", c.Same)
	if c.Same == c.Pairs && c.Pairs > 1 {
		same = say("all the same")
	}
	for _, x := range []struct {
		n    int
		text phrase
	}{
		{c.Differ, differ}, {c.Same, same},
		{c.broken(), say("%s can't be compared", c.broken())},
		{c.NewOnly, say("%s added", c.NewOnly)}, {c.OldOnly, say("%s removed", c.OldOnly)}, {c.Renamed, say("%s renamed", c.Renamed)},
	} {
		if x.n > 0 {
			list = append(list, x.text)
		}
	}
	var out []phrase
	if len(list) > 0 {
		out = append(out, say("%s compared: %s", tunes(c.Pairs), join(list, ", ")))
	} else {
		out = append(out, say("no tune on either side"))
	}
	return out
}

// hiddenText says what the policy hides; nil if there is none.
func (r *Review) hiddenText() phrase {
	h := r.Hidden
	if len(h.Policy) == 0 && h.Cells == 0 {
		return nil
	}
	out := say("hidden by the policy")
	if len(h.Policy) > 0 {
		out = say("%s %s", out, some(h.Policy, mostLone))
	}
	if h.From != "" {
		out = say("%s (%s)", out, h.From)
	}
	if h.Cells == 0 {
		return say("%s: nothing", out)
	}
	out = say("%s: %s", out, counted(h.Cells, "cell", "cells"))
	if h.Tunes > 0 {
		out = say("%s, %s wholly", out, tunes(h.Tunes))
	}
	return out
}

// Headline is the verdict and the counts on one line.
func (r *Review) Headline() string {
	out := r.verdictText().plain()
	for _, p := range r.countsText() {
		out += "; " + p.plain()
	}
	return out
}
