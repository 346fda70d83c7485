package review

import "strings"

// stretch is the hunks of the text that cause the same changes.
type stretch struct {
	head  phrase
	hunks []placedHunk
}

type placedHunk struct {
	file phrase
	hunk Hunk
}

// title names a file, with its old name if it has another.
func (f *SourceDiff) title() phrase {
	if f.OldName != "" && f.OldName != f.Name {
		return say("%s (was %s)", f.Name, f.OldName)
	}
	return say("%s", f.Name)
}

// stretches puts hunks under what they cause: in the order of the changes, those
// that move no cell last.
func (r *Review) stretches() []stretch {
	byKey := map[string]*stretch{}
	var keys []string
	at := map[string]int{}
	rank := func(h Hunk) int { // of the first change that it causes
		best := len(r.Elements)
		for i, c := range r.Elements {
			for _, name := range h.By {
				if c.Name == name && i < best {
					best = i
				}
			}
		}
		return best
	}
	for _, f := range r.Sources {
		for _, h := range f.Hunks {
			key := strings.Join(h.By, "\n")
			s := byKey[key]
			if s == nil {
				s = &stretch{head: r.causes(h.By)}
				byKey[key] = s
				keys = append(keys, key)
				at[key] = rank(h)
				if len(h.By) == 0 {
					at[key] = len(r.Elements) + 1
				}
			}
			s.hunks = append(s.hunks, placedHunk{f.title(), h})
		}
	}
	var out []stretch
	for i := range len(r.Elements) + 2 {
		for _, k := range keys {
			if at[k] == i {
				out = append(out, *byKey[k])
			}
		}
	}
	return out
}

// causes is the head of a stretch: the changes that it causes and what comes of
// them.
func (r *Review) causes(names []string) phrase {
	if len(names) == 0 {
		return say("moves no cell")
	}
	var list []phrase
	for i, n := range names {
		if i == mostBy && len(names) > mostBy+1 {
			list = append(list, say("and %s more", len(names)-i))
			break
		}
		p := say("%s", n)
		for _, c := range r.Elements {
			if c.Name == n {
				p = say("%s   %s", p, r.comes(c))
				break
			}
		}
		list = append(list, p)
	}
	return join(list, "; ")
}

// comes is what comes of a change: in how many tunes, and the range of its worst
// group.
func (r *Review) comes(c *Change) phrase {
	if c.Tunes == 0 {
		return say("moves no cell")
	}
	out := say("%s", tunes(c.Tunes))
	for _, g := range r.Groups {
		for _, m := range g.Maps {
			for _, e := range m.By {
				if e == c.Element || c.is(e) || e.Name == c.Name && e.Kind == c.Kind {
					return say("%s, %s", out, g.effect(m))
				}
			}
		}
	}
	return out
}
