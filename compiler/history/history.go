// Package history tells how one cell came to be what it is: each commit that
// changed its value, by how much, by which element of the source, who and when.
//
// How it goes. The commits that touched the workspace's folder are walked from
// the work tree back, a commit before those that it comes from. At each the
// source is compiled, the one tune computed and the place looked up, on whatever
// breakpoints the map has there. Sources are compiled ahead on all processors,
// and none whose texts are those of one that was compiled already (load.go).
//
// A value is compared with that of the commit before, as printed. Where branches
// were merged and the value is after it as it was on one of them, only that one
// is followed, since the other has no part in what the value is now; so a merge
// is told only where it made a value that no branch had, and is compared with its
// first parent. A commit whose source doesn't compile, or whose tune can't be
// computed, is told and stepped over: the change is then the one between the good
// commits around it. A tune that isn't there is looked for under another name
// with the same tables, and followed under that one.
//
// Where the value changed, the change is attributed as diff does it between two
// programs (parts.go).
//
// In: a repository, the work tree, a tune, a map and a place. Out: a Log, written
// as text for a terminal or as JSON. Imported by cmd.
package history

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"fettle/compiler/check"
	"fettle/compiler/explain"
	"fettle/compiler/git"
	"fettle/compiler/plan"
	"fettle/lang/diag"
)

// Question says which cell's history is asked for, and where it is looked for.
type Question struct {
	Repo     *git.Repo
	WorkTree fs.FS  // the workspace's folder as it stands
	Tune     string // its name, or a pattern that one tune has
	Map      string
	At       []string            // as `why` takes it
	Max      int                 // how many rows are told at most; 0: all
	Step     func(looked, n int) // told of each commit that is looked at; may be nil
}

// Faults are mistakes in the place that was asked for, or in a source without
// which nothing can be told.
type Faults struct {
	What  string // whose they are
	Diags *diag.List
}

func (f *Faults) Error() string { return f.What }

// Of tells the history of a cell, newest first.
func Of(q Question) (*Log, error) {
	list, err := q.Repo.History(nil, 0)
	if err != nil && !errors.Is(err, git.ErrNoCommit) {
		return nil, err
	}
	w := &walk{q: q, list: list, index: map[string]int{}, named: map[int]string{}, told: map[int]string{}, states: map[stateKey]*state{}}
	for i, c := range list {
		w.index[c.Hash] = i
	}
	w.load = newLoader(q, list)
	if err := w.find(); err != nil {
		return nil, err
	}
	if err := w.run(); err != nil {
		return nil, err
	}
	return w.log, nil
}

// find finds the tune, the map and the place: in the work tree, or in the newest
// commit that has them.
func (w *walk) find() error {
	var first *compiled // the newest source that compiles
	var broken error
	for i := workTree; i < len(w.list); i++ {
		src, err := w.load.get(i)
		switch {
		case err != nil:
			return err
		case src.faults != nil:
			if broken == nil {
				broken = &Faults{w.title(i) + " doesn't compile", src.faults}
			}
			continue
		case src.w == nil: // the workspace isn't there
			continue
		}
		if first == nil {
			first = src
		}
		t, err := tuneOf(src, w.q.Tune)
		if err != nil {
			return err
		}
		m := mapOf(src.w.Program, w.q.Map)
		if t == nil || m == nil {
			continue
		}
		return w.ask(src, t, m)
	}
	switch {
	case first != nil:
		return w.nothing(first)
	case broken != nil:
		return broken
	}
	return errors.New("there is no source here, nor in any commit")
}

// tuneOf finds the tune that a name or pattern means; nil where there is none.
func tuneOf(src *compiled, name string) (*plan.Tune, error) {
	if t := src.w.Plan.Find(name); t != nil {
		return t, nil
	}
	tunes, _ := src.w.Select([]string{name}, nil)
	switch len(tunes) {
	case 0:
		return nil, nil
	case 1:
		return tunes[0], nil
	}
	return nil, fmt.Errorf("%s matches %d tunes, and one is wanted: %s, %s, …", name, len(tunes), tunes[0].Name, tunes[1].Name)
}

func mapOf(p *check.Program, name string) *check.Map {
	for _, m := range p.Maps {
		if m.Name == name {
			return m
		}
	}
	return nil
}

// ask reads the place that was asked for.
func (w *walk) ask(src *compiled, t *plan.Tune, m *check.Map) error {
	p, errs := src.w.Program, &diag.List{}
	at, err := explain.Place(p, m, w.q.At, errs)
	if errs.HasErrors() {
		return &Faults{"the place can't be read", errs}
	}
	if err != nil {
		return err
	}
	w.cell = &cell{mapName: m.Name}
	w.tune = t.Name
	w.log = &Log{Schema: SchemaName, Tune: t.Name, Map: m.Name, Unit: m.Unit.Text, Rows: []*Row{}, Cautions: append([]string{}, p.Cautions...)}
	for i, a := range m.Axes {
		w.cell.axes = append(w.cell.axes, axisAt{p.Axes[a].Name, p.Axes[a].Unit, at[i]})
		w.log.At = append(w.log.At, explain.Coord{Axis: p.Axes[a].Name, Value: at[i], Unit: p.Axes[a].Unit.Text})
	}
	points := [][]float64{m.Base.Cols}
	if len(m.Axes) == 2 {
		points = [][]float64{m.Base.Rows, m.Base.Cols}
	}
	for i, list := range points {
		w.log.At[i].Held = at[i] < list[0] || at[i] > list[len(list)-1]
	}
	return nil
}

// nothing says that no commit has the tune or the map, and what is near.
func (w *walk) nothing(src *compiled) error {
	nowhere := ""
	if n := len(w.list); n > 0 {
		nowhere = fmt.Sprintf(", nor was in the %s before", diag.Counted(n, "commit"))
	}
	names := src.w.Plan.Names()
	if t, _ := tuneOf(src, w.q.Tune); t == nil {
		if out, ok := src.w.Plan.Out(w.q.Tune); ok {
			return fmt.Errorf("%s is left out by `except %s` (%s)", w.q.Tune, out.Clause.Text, out.Clause.Span)
		}
		return fmt.Errorf("no tune is called %s%s%s", w.q.Tune, nowhere, meant(w.q.Tune, names, "; `fettle list` names the tunes"))
	}
	names = nil
	for _, m := range src.w.Program.Maps {
		names = append(names, m.Name)
	}
	return fmt.Errorf("no map is called %s%s%s", w.q.Map, nowhere, meant(w.q.Map, names, "; there are: "+strings.Join(names, ", ")))
}

func meant(name string, names []string, otherwise string) string {
	if near := diag.Nearest(name, names); near != "" {
		return ": did you mean " + near + "?"
	}
	return otherwise
}
