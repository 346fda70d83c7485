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
	at    *place        // that cell
}

// jump is a cell that the script can show.
type jump struct {
	Tune     int
	Map      string
	Row, Col int
}

// alarmSet is the alarms of a kind.
type alarmSet struct {
	Open, More []alarm
	MoreText   string
}

// alarmWords are the words of alarms by those of a terminal, and whether a signer
// has to stop at them.
var alarmWords = map[string]struct {
	word string
	stop bool
}{
	"FAILS":    {"Fails", true},
	"EASED":    {"Asks less", true},
	"GUARD":    {"Guards less", true},
	"LOOK":     {"Sticks out", true},
	"ALTERED":  {"Worded otherwise", true},
	"UNPROVED": {"Not proved", true},
	"WORSE":    {"Worse", true},
	"WARNS":    {"Warns", false},
	"NEAR":     {"Near", false},
}

// alarms are the alarms by kind, the worst kind first; of each kind so many in the
// open as a terminal shows.
func (v *viewer) alarms(cut *cuts) []alarmSet {
	var out []alarmSet
	for _, kind := range v.r.Alarms() {
		set := alarmSet{MoreText: kind.More}
		for _, a := range kind.List {
			x := alarm{Stop: true, Word: upper(strings.ToLower(kind.Word))}
			if known, ok := alarmWords[kind.Word]; ok {
				x.Word, x.Stop = known.word, known.stop
			}
			if len(a.Says) > 0 {
				x.What, x.Facts = a.Says[0], a.Says[1:]
			}
			switch {
			case a.Margin != nil:
				x.jumpTo(v.limitCell(a.Margin))
			case a.Spike != nil:
				x.jumpTo(v.spikeCell(a.Spike))
			}
			set.Open = append(set.Open, x)
		}
		set.More, set.Open = set.Open[kind.Open:], set.Open[:kind.Open]
		set.More = capped(set.More, mostRows, "alarms", cut)
		out = append(out, set)
	}
	return out
}

// place is a cell of a map of a tune that differs.
type place struct {
	entry    *review.Entry
	m        *diff.MapDiff
	row, col int
}

func (a *alarm) jumpTo(at *place, tune int) {
	if at == nil {
		return
	}
	a.Jump = &jump{tune, at.m.Map, at.row, at.col}
	a.Near = nearby(at.m, at.row, at.col)
	a.at = at
}

func (v *viewer) spikeCell(s *review.Spike) (*place, int) {
	if m := v.entryMap(s.Entry, s.Map); m != nil {
		if row, col, ok := cellAt(m.Diff, s.AtArgs); ok {
			return &place{s.Entry, m.Diff, row, col}, v.place[s.Entry]
		}
	}
	return nil, 0
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

// limitCell finds the cell at which a limit is at its worst, in a map that the
// limit names: one whose cell there changes if there is any, else the first that
// differs elsewhere.
func (v *viewer) limitCell(m *review.Margin) (at *place, tune int) {
	state := m.After
	if m.AsItWas != nil {
		state = m.AsItWas
	}
	e := m.Entry
	if e == nil {
		e = v.named[m.Tune]
	}
	if e == nil || state == nil || e.NewT == nil || m.Proof { // a proof is of other conditions
		return nil, 0
	}
	side := e.Pair.New
	for _, l := range e.NewT.Limits {
		if l.Limit.Name != m.Name || side.Program == nil {
			continue
		}
		for _, i := range l.Limit.Maps {
			em := v.entryMap(e, side.Program.Check.Maps[i].Name)
			if em == nil {
				continue
			}
			row, col, ok := cellAt(em.Diff, state.AtArgs)
			if !ok {
				continue
			}
			if at == nil || changeAt(at.m, at.row, at.col) == 0 && changeAt(em.Diff, row, col) != 0 {
				at = &place{e, em.Diff, row, col}
			}
		}
	}
	return at, v.place[e]
}

func changeAt(m *diff.MapDiff, row, col int) float64 {
	for _, c := range m.Cells {
		if c.Row == row && c.Col == col {
			return c.Change
		}
	}
	return 0
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
