package review

import (
	"path"
	"slices"
	"strings"

	"fettle/compiler/check"
	"fettle/compiler/limit"
)

// What is read of folders that build wrote beside their tables: which tunes it
// couldn't write, which files were edited since, and the cautions.

// unbuilt tells of a tune that build wrote on one side and failed to write on the
// other, with its reason; nil where it failed on both, or only the old side has
// it. One that failed is no tune that came or went.
func unbuilt(name string, old, new *member) *Margin {
	a, b := old.failed(), new.failed()
	state := func(failed string) *State {
		if failed == "" {
			return &State{Word: limit.Holds.String()}
		}
		return &State{Word: notBuilt, Problem: strings.TrimPrefix(failed, "failed: ")}
	}
	m := &Margin{Fault: true, Mode: check.Fail.String(), Tune: name, Tunes: []string{name}, Before: state(a), After: state(b)}
	switch {
	case b != "" && old.has():
		m.Kind = NewlyFails
	case b != "" && a == "":
		m.Kind, m.Added, m.Before = NewlyFails, true, nil
	case a != "" && new.has():
		m.Kind = Recovered
	default:
		return nil
	}
	m.Text = [2]string{strings.TrimPrefix(a, "failed: "), strings.TrimPrefix(b, "failed: ")} // each reason on its own
	return m
}

// noteUnbuilt counts a tune that can't be compared, since it wasn't built.
func (r *Review) noteUnbuilt(m *Margin) {
	if !m.Added {
		r.Counts.Pairs++
	}
	side := 0
	if m.Kind == NewlyFails {
		side = 1
	}
	r.Counts.Failed[side]++
}

// edited lists the tables that aren't what build wrote.
func (r *Review) edited(old, new *Side) {
	for i, s := range []*Side{old, new} {
		for _, t := range s.Tables {
			for _, file := range t.Edited {
				if s.Origin.Operand != "" {
					file = path.Join(strings.ReplaceAll(s.Origin.Operand, "\\", "/"), file)
				}
				r.Edited = append(r.Edited, Edited{File: file, Tune: t.Name, New: i == 1})
			}
		}
	}
}

// tell says which table was edited.
func (e Edited) tell() []phrase {
	side := words("old")
	if e.New {
		side = "new"
	}
	return []phrase{say("%s was edited after it was built", e.File), say("it is on the %s side, and isn't what its source makes", side)}
}

// caution gathers the cautions of the new side. One that only the old side has is
// gone, and isn't told as if it held; but loose tables have none to go by.
func (r *Review) caution(old, new *Side) {
	add := func(list []string) {
		for _, c := range list {
			if !slices.Contains(r.Cautions, c) {
				r.Cautions = append(r.Cautions, c)
			}
		}
	}
	for _, s := range []*Side{new, old} {
		if s.Program != nil {
			add(s.Program.Cautions)
		}
		for _, t := range s.Tables {
			add(t.Cautions)
		}
		if s.Program != nil || len(r.Cautions) > 0 {
			return
		}
	}
}
