package review

// What follows tells a page in the words of the other writers. Every text is
// plain: what came from a source is spelled out where a terminal would obey it,
// and may hold any markup.

// Says tells of a limit or check that is an alarm, first what it is, then what
// there is to know of it.
func (m *Margin) Says() []string {
	r := &Review{} // of many tunes, so that they are named
	switch m.Kind {
	case NewlyFails, NewlyWarns:
		return texts(r.past(m, m.Kind))
	case Loosened, GoneLimit, Lapsed, Reworded:
		return texts(r.eased(m))
	}
	return texts(r.near(m))
}

// Says tells of a cell that sticks out.
func (s *Spike) Says(r *Review) []string { return texts(s.tell(r)) }

// ToLookAt counts what may be unsafe: "2 limits newly fail".
func (r *Review) ToLookAt() []string { return texts(r.toLookAt()) }

// AllClear says that what would be an alarm was looked for; "" where there is
// one, or none was looked for.
func (r *Review) AllClear() string { return r.allClear().plain() }

// VerdictText is the verdict in words.
func (r *Review) VerdictText() string { return r.verdictText().plain() }

// SidesText says what is compared: "HEAD~1 (3f2c1d0a) → the work tree".
func (r *Review) SidesText() string { return r.sides().plain() }

// HiddenText says what the policy hides; "" if there is none.
func (r *Review) HiddenText() string { return r.hiddenText().plain() }

// Row is a limit's line in the table of margins: what became of it, its name,
// its margin before and after, the cell, the tunes, where it is written.
func (m *Margin) Row() (kind, name, before, after, at, tunes, place string) {
	r := m.row()
	return r.kind.plain(), r.name.plain(), r.before.plain(), r.after.plain(), r.at.plain(), r.tunes.plain(), r.place.plain()
}

func texts(list []phrase) []string {
	out := make([]string, len(list))
	for i, p := range list {
		out[i] = p.plain()
	}
	return out
}
