package page

import (
	"html/template"
	"slices"
	"strconv"
	"strings"

	"fettle/compiler/diff"
	"fettle/compiler/review"
)

// alarm is something that has to be seen before anything else.
type alarm struct {
	Stop  bool   // a tune would be unsafe, or not be written
	Word  string // what kind it is
	What  string
	Facts []string
	Jump  *jump
	Near  template.HTML // the cells around, where it is about one
}

// jump is a cell that the script can show.
type jump struct {
	Tune     int
	Map      string
	Row, Col int
}

// words of alarms, and of a limit that asks less.
const (
	failsWord   = "Fails"
	easedWord   = "Asks less"
	alteredWord = "Worded otherwise"
	sticksWord  = "Sticks out"
	warnsWord   = "Warns"
	nearWord    = "Near"
)

// alarmKinds are the kinds of alarm, the worst first.
func (v *viewer) alarmKinds() [][]alarm {
	var fails, eased, spikes, watch []alarm
	for _, m := range v.r.Limits {
		switch m.Kind {
		case review.NewlyFails:
			fails = append(fails, v.marginAlarm(m, failsWord, true))
		case review.Loosened, review.GoneLimit, review.Lapsed:
			eased = append(eased, v.marginAlarm(m, easedWord, true))
		case review.Reworded:
			eased = append(eased, v.marginAlarm(m, alteredWord, true))
		case review.NewlyWarns:
			watch = append(watch, v.marginAlarm(m, warnsWord, false))
		case review.NewlyNear:
			watch = append(watch, v.marginAlarm(m, nearWord, false))
		}
	}
	for _, s := range v.r.Spikes {
		spikes = append(spikes, v.spikeAlarm(s))
	}
	return [][]alarm{fails, eased, spikes, watch}
}

// shownAlarms is how many alarms stand in the open; the rest are folded.
const shownAlarms = 8

// alarms gives the worst of each kind that a signer has to stop at, then the next
// of each, so that many of one kind never hide one of another; and last what is
// only to be watched.
func alarms(kinds [][]alarm) (shown, more []alarm) {
	var all []alarm
	stops, watch := kinds[:len(kinds)-1], kinds[len(kinds)-1]
	for i, any := 0, true; any; i++ {
		any = false
		for _, list := range stops {
			if i < len(list) {
				all, any = append(all, list[i]), true
			}
		}
	}
	all = append(all, watch...)
	n := min(shownAlarms, len(all))
	return all[:n], all[n:]
}

func said(a *alarm, says []string) {
	if len(says) > 0 {
		a.What, a.Facts = says[0], says[1:]
	}
}

func (v *viewer) marginAlarm(m *review.Margin, word string, stop bool) alarm {
	a := alarm{Stop: stop, Word: word}
	said(&a, m.Says())
	a.Jump, a.Near = v.limitJump(m)
	return a
}

func (v *viewer) spikeAlarm(s *review.Spike) alarm {
	a := alarm{Stop: true, Word: sticksWord}
	said(&a, s.Says(v.r))
	if m := v.entryMap(s.Entry, s.Map); m != nil {
		if row, col, ok := cellAt(m.Diff, s.AtArgs); ok {
			a.Jump = &jump{v.place[s.Entry], s.Map, row, col}
			a.Near = nearby(m.Diff, row, col)
		}
	}
	return a
}

func (v *viewer) entryMap(e *review.Entry, name string) *review.EntryMap {
	if e == nil {
		return nil
	}
	for _, m := range e.Maps {
		if m.Diff.Map == name && m.Diff.Problem == "" {
			return m
		}
	}
	return nil
}

// limitJump finds the cell at which a limit is at its worst, in a map that the
// limit names and that differs.
func (v *viewer) limitJump(m *review.Margin) (*jump, template.HTML) {
	state := m.After
	if m.AsItWas != nil {
		state = m.AsItWas
	}
	if m.Entry == nil || state == nil || m.Entry.NewT == nil {
		return nil, ""
	}
	side := m.Entry.Pair.New
	for _, l := range m.Entry.NewT.Limits {
		if l.Limit.Name != m.Name || side.Program == nil {
			continue
		}
		for _, i := range l.Limit.Maps {
			em := v.entryMap(m.Entry, side.Program.Check.Maps[i].Name)
			if em == nil {
				continue
			}
			if row, col, ok := cellAt(em.Diff, state.AtArgs); ok {
				return &jump{v.place[m.Entry], em.Diff.Map, row, col}, nearby(em.Diff, row, col)
			}
		}
	}
	return nil, ""
}

// cellAt finds the cell of a map that is told as `why` takes it.
func cellAt(m *diff.MapDiff, args []string) (row, col int, ok bool) {
	row, col = -1, -1
	for _, arg := range args {
		name, text, _ := strings.Cut(arg, "=")
		x, err := strconv.ParseFloat(text, 64)
		if err != nil {
			return 0, 0, false
		}
		if name == m.Rows.Name && m.Rows.Points != nil {
			row = slices.Index(m.Rows.Points, x)
		}
		if name == m.Cols.Name {
			col = slices.Index(m.Cols.Points, x)
		}
	}
	if m.Rows.Points == nil {
		row = 0
	}
	return row, col, row >= 0 && col >= 0
}
