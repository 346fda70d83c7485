package review

// What follows tells a page in the words of the other writers. Every text is
// plain: what came from a source is spelled out where a terminal would obey it,
// and may hold any markup.

// Says tells of a limit or check that is an alarm, first what it is, then what
// there is to know of it.
func (m *Margin) Says(of *Review) []string {
	many := *of
	many.Only = nil // so that the tune is named
	r := &many
	switch m.Kind {
	case NewlyFails, NewlyWarns:
		return texts(r.past(m, m.Kind))
	case Worse:
		return texts(r.past(m, "is worse"))
	case Loosened, GoneLimit, Lapsed, Reworded:
		return texts(r.eased(m))
	}
	return texts(r.near(m))
}

// AlarmKind is the reasons of one kind for which a change may be unsafe, the worst
// first.
type AlarmKind struct {
	Word string
	List []Alarm
	Open int    // how many are told in the open
	More string // what says that there are others
}

// Alarm is one of them: first what it is, then what there is to know of it, and
// what it is about.
type Alarm struct {
	Says   []string
	Margin *Margin // nil for none
	Spike  *Spike  // the same
}

// Alarms are all of them, the worst kind first.
func (r *Review) Alarms() []AlarmKind {
	var out []AlarmKind
	kinds := r.alarmKinds()
	for k, open := range allot(kinds) {
		kind := kinds[k]
		if kind.n == 0 {
			continue
		}
		x := AlarmKind{Word: kind.word, Open: open}
		if kind.n > open {
			x.More = kind.more(kind.n - open).plain()
		}
		for i := range kind.n {
			var a Alarm
			if kind.of != nil {
				a.Margin, a.Spike = kind.of(i)
			}
			if a.Margin != nil {
				a.Says = a.Margin.Says(r)
			} else {
				a.Says = texts(kind.tell(i))
			}
			x.List = append(x.List, a)
		}
		out = append(out, x)
	}
	return out
}

// ToLookAt counts what may be unsafe: "2 limits newly fail".
func (r *Review) ToLookAt() []string { return texts(r.toLookAt()) }

// AllClear says that what would be an alarm was looked for; "" where there is
// one, or none was looked for.
func (r *Review) AllClear() string { return r.allClear().plain() }

// VerdictText is the verdict in words.
func (r *Review) VerdictText() string { return r.verdictText().plain() }

// SidesText says what is compared: "HEAD~1 (3f2c1d0a) → the work tree".
func (r *Review) SidesText() string { return r.sides().plain() }

// Lone tells of the tunes that have no counterpart of their name.
func (r *Review) Lone() []string {
	var out []string
	for _, l := range r.loneLists() {
		for i := range l.n {
			out = append(out, l.word+": "+l.text(i).plain())
		}
	}
	return out
}

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

// Says tells of a guard that is weaker.
func (g *Guard) Says() []string { return texts(g.tell()) }
