// Package session checks a workspace again and again in one process, and computes
// after an edit only what depends on it.
//
// How it goes. The first check is a whole one, and all of it is kept: the maps of
// every tune, the verdicts, the expected values, the tables for the targets. If
// then no more changed than cells of bases, in a CSV file or a grid of a source, a
// plan of what they can change is made (reach.go), which holds for all tunes and for
// as long as the same rows of the same maps are edited. By it each tune is brought up
// to date in place (update.go): the maps that depend on the cells, by the edited rows
// alone where every reading on the way stays in its row (rows.go); of what reads a
// map that really changed, bit for bit, the limits, again by rows where that settles
// them, and the expected values. What a target leaves out makes tunes alike: one
// outcome is kept for all of a kind (alike.go). Whatever else changed, all is done
// anew.
//
// What comes out is what a fresh check gives; a test holds it to that. It stands in
// memory that is used again: it is good until the next check.
//
// In: a workspace's files. Out: outcomes of every tune. Imports the compiler;
// imported by whoever stays alive.
package session

import (
	"io/fs"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"fettle/compiler"
	"fettle/compiler/check"
	"fettle/compiler/resolve"
	"fettle/lang/diag"
)

// Session keeps what is known of a workspace from one check to the next. It is for
// one goroutine at a time.
type Session struct {
	w       *compiler.Workspace // of which this session alone has the program
	tunes   []*tune
	kinds   []*kind
	sorted  bool // kinds are known
	main    *engine
	looks   sync.Map // the engines of looks at tables, by their programs
	workers []*worker
	told    *diag.List // what opening had to say
	done    int
}

// Checked is what a check found.
type Checked struct {
	Workspace *compiler.Workspace
	Outcomes  []*compiler.Outcome // of every tune, in their order; none where the source has errors
	Maps, All int                 // how many maps were computed, some of them by a few rows, and how many a whole check computes
}

// Check checks the workspace as it is now.
func (s *Session) Check(fsys fs.FS) *Checked {
	s.done = 0
	if !s.again(fsys) {
		s.whole(fsys)
	}
	out := &Checked{Workspace: s.w, Maps: s.done, All: s.all()}
	for _, t := range s.tunes {
		out.Outcomes = append(out.Outcomes, t.o)
	}
	return out
}

// all is how many maps a whole check computes, beside those for limits on tables.
func (s *Session) all() int {
	each := 1
	for _, t := range s.w.Program.Targets {
		if len(t.LeavesOut) > 0 {
			each++
		}
	}
	return each * len(s.tunes) * len(s.w.Program.Maps)
}

func (s *Session) options() compiler.RunOptions {
	return compiler.RunOptions{Survey: true, Targets: s.w.Program.Targets}
}

// whole does everything anew.
func (s *Session) whole(fsys fs.FS) {
	*s = Session{w: compiler.OpenAlone(fsys)}
	s.told = copied(s.w.Diags) // whoever is given the workspace may add to it
	if s.w.Diags.HasErrors() {
		return
	}
	s.main = &engine{p: s.w.Program, eval: s.w.Eval(), limits: s.w.Limits()}
	s.w.Run(s.w.Plan.Tunes, s.options(), func(o *compiler.Outcome) {
		s.tunes = append(s.tunes, &tune{o: o})
	})
	s.done = s.all()
}

// again brings what is known up to date; false if more changed than cells.
func (s *Session) again(fsys fs.FS) bool {
	if s.w == nil || s.told.HasErrors() || slices.ContainsFunc(s.told.Since(0), ofFolder) {
		return false
	}
	rp := resolve.Again(s.w.Resolved, fsys)
	if rp == nil {
		return false
	}
	bases, ok := check.Bases(s.w.Program, rp)
	if !ok {
		return false
	}
	s.w.Resolved, s.w.Program.Resolved = rp, rp
	s.w.Diags = copied(s.told)
	if r := s.main.editOf(bases); r != nil {
		s.update(r, bases)
	} else {
		put(s.w.Program, bases)
	}
	return true
}

func copied(l *diag.List) *diag.List {
	out := &diag.List{}
	out.Merge(l)
	return out
}

// ofFolder says whether a diagnostic is about other files that lie there, which may
// be gone the next time.
func ofFolder(d *diag.Diagnostic) bool { return d.Code == "W013" }

func put(p *check.Program, bases []check.Base) {
	for i := range bases {
		bases[i].Put(p)
	}
}

// parallel calls a function for each of n things, on all processors.
func (s *Session) parallel(n int, do func(w *worker, i int)) {
	for len(s.workers) < runtime.GOMAXPROCS(0) {
		s.workers = append(s.workers, &worker{})
	}
	var next atomic.Int64
	var all sync.WaitGroup
	for _, w := range s.workers {
		all.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				do(w, i)
			}
		})
	}
	all.Wait()
}

// same says whether numbers are the same, bit for bit.
func same(a, b []float64) bool {
	return slices.EqualFunc(a, b, func(x, y float64) bool { return math.Float64bits(x) == math.Float64bits(y) })
}
