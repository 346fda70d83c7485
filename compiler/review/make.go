package review

import (
	"fmt"
	"runtime"
	"sync"

	"fettle/compiler/diff"
	"fettle/compiler/plan"
)

// Options says how two sides are compared.
type Options struct {
	Policy     Policy   // nil: nothing is allowed
	PolicyText []string // as people read it
	PolicyFrom string
	PolicyNote string                 // that the two sides have other policies
	Attribute  Attribution            // nil: changes aren't attributed
	Changed    func() []*diff.Element // what differs between the sources, whether it moves a cell or not; nil where that is not known
	Prove      int                    // how much work is put into proving a limit over its range; 0: what the sides put into it
	Workers    int                    // 0: as many as there are processors
	Step       func()                 // called after each pair, from one goroutine at a time
	Stop       <-chan struct{}
	single     bool   // one pair alone is compared
	names      *names // that changed
}

// Attribution attributes the changes of a compared pair.
type Attribution func(p *diff.Pair)

// ErrStopped says that a comparison was stopped.
var ErrStopped = fmt.Errorf("stopped")

// Make compares two sides.
func Make(old, new *Side, opt Options) (*Review, error) {
	r := &Review{Old: old.Origin, New: new.Origin}
	opt.names = namesOf(old.Program, new.Program)
	r.names = opt.names
	jobs, lone, all := pairUp(old, new)
	for _, m := range all {
		r.noteUnbuilt(m)
	}
	opt.single = len(jobs) == 1 && len(lone.old)+len(lone.new)+len(all) == 0
	if !lone.judge(old, new, opt) {
		return nil, ErrStopped
	}
	jobs = append(jobs, lone.renamed(old, new)...)
	found := make([]*compared, len(jobs))
	if !each(len(jobs), opt, func(i int) { found[i] = compare(old, new, jobs[i], opt) }) {
		return nil, ErrStopped
	}
	for _, c := range found {
		if c.job.renamed {
			r.Renamed = append(r.Renamed, Rename{c.job.oldName(), c.job.newName(), c.pair == nil || c.pair.Differs()})
		}
		if c.job.renamed && c.pair != nil && !c.pair.Differs() {
			all = append(all, c.margins...) // its cells are counted as renamed
			continue
		}
		r.Counts.Pairs++
		for i, j := range []*Judged{c.old, c.new} {
			if j != nil && j.Fails {
				r.Counts.Failed[i]++
			}
		}
		all = append(all, c.margins...)
		if c.pair == nil {
			continue
		}
		for _, m := range c.pair.Maps {
			r.Counts.Looked += m.Total
			r.Counts.Cells += len(m.Cells)
		}
		if !c.pair.Differs() {
			if opt.single {
				r.Only = newEntry(c, opt.Policy)
			}
			r.Counts.Same++
			continue
		}
		r.Counts.Differ++
		e := c.entry
		if opt.single {
			r.Only = e
		}
		hidden := 0
		for _, m := range e.Maps {
			hidden += m.Hidden
		}
		r.Hidden.Cells += hidden
		if e.Worst == nil && !e.odd() {
			r.Hidden.Tunes++
			r.Allowed = append(r.Allowed, e)
		} else {
			r.Counts.Beyond++
		}
		if e.Worst != nil || e.odd() || len(e.Limits) > 0 {
			r.Entries = append(r.Entries, e)
		}
	}
	r.Hidden.Policy, r.Hidden.From = opt.PolicyText, opt.PolicyFrom
	lone.only(r, old, new)
	r.Counts.Renamed, r.Counts.OldOnly, r.Counts.NewOnly = len(r.Renamed), len(r.OldOnly), len(r.NewOnly)
	added, ok := lone.examine(r, old, new, jobs, opt)
	if !ok {
		return nil, ErrStopped
	}
	all = append(all, added...)
	r.Verdict = r.verdict()
	r.arrange(old, new, opt, all, found)
	r.Notes = append(r.Notes, r.oddNotes()...)
	r.Notes = append(r.Notes, opt.names.notes()...)
	if opt.PolicyNote != "" {
		r.Notes = append(r.Notes, opt.PolicyNote)
	}
	r.caution(old, new)
	r.edited(old, new)
	return r, nil
}

// compared is a pair as it was found.
type compared struct {
	job      job
	name     string
	pair     *diff.Pair // nil where a side can't be computed
	old, new *Judged    // nil for tables
	margins  []*Margin
	entry    *Entry // of a pair that differs
}

func compare(old, new *Side, j job, opt Options) *compared {
	c := &compared{job: j, name: j.name}
	a, b := j.oldTables, j.newTables
	if j.old != nil {
		if c.old = j.oldJudged; c.old == nil {
			c.old = old.Judge(j.old)
		}
		a = c.old.Side
	}
	if j.new != nil {
		if c.new = j.newJudged; c.new == nil {
			c.new = new.Judge(j.new)
		}
		b = c.new.Side
	}
	c.margins = margins(c, old, opt.names)
	for _, j := range []*Judged{c.old, c.new} {
		if j != nil {
			j.Everywhere = nil // it holds all that was computed
		}
	}
	if a == nil || b == nil {
		return c
	}
	c.pair = opt.names.compareNamed(a, b)
	if (c.pair.Differs() || opt.single) && opt.Attribute != nil && c.old != nil && c.new != nil {
		opt.Attribute(c.pair)
	}
	if c.pair.Differs() {
		c.entry = newEntry(c, opt.Policy)
		return c
	}
	c.old, c.new = c.old.light(), c.new.light()
	return c
}

// light drops what an equal pair has no more use for.
func (j *Judged) light() *Judged {
	if j == nil {
		return nil
	}
	return &Judged{Tune: j.Tune, Fault: j.Fault, Fails: j.Fails}
}

// oddNotes tells of maps without a cell to show: in how many tunes, and why.
func (r *Review) oddNotes() []string {
	var out []string
	n := map[string]int{}
	for _, e := range r.Entries {
		for _, m := range e.Maps {
			odd := m.Diff.Odd()
			if odd == "" {
				continue
			}
			text := "map `" + m.Diff.Map + "`: " + odd
			if n[text]++; n[text] == 1 {
				out = append(out, text)
			}
		}
	}
	for i, text := range out {
		out[i] = fmt.Sprintf("%s, in %s", text, tunes(n[text]))
	}
	return out
}

// odd says that an entry has something to tell beside cells.
func (e *Entry) odd() bool {
	for _, m := range e.Maps {
		if m.Diff.Odd() != "" {
			return true
		}
	}
	return len(e.Pair.OldOnly)+len(e.Pair.NewOnly) > 0
}

func newEntry(c *compared, policy Policy) *Entry {
	e := &Entry{Pair: c.pair, Name: c.name, OldT: c.old, NewT: c.new}
	for _, m := range c.margins {
		m.Entry = e
	}
	e.Limits = c.margins
	for _, m := range c.pair.Maps {
		if !m.Differs() {
			continue
		}
		em := &EntryMap{Diff: m}
		allows := policy != nil && !e.otherUnit(m.Map)
		for i, cell := range m.Cells {
			if allows && policy.Within(m.Map, cell.Old, cell.New) {
				em.Hidden++
			} else {
				em.Shown = append(em.Shown, i)
			}
		}
		e.Maps = append(e.Maps, em)
	}
	e.settle()
	return e
}

// otherUnit says whether a map is in another unit on the new side: what is
// allowed there, in its unit, says nothing of values in the old one.
func (e *Entry) otherUnit(name string) bool {
	unit := [2]string{}
	for i, s := range []*diff.Side{e.Pair.Old, e.Pair.New} {
		for _, t := range s.Tables {
			if t.Map == name && t.HasUnit {
				unit[i] = t.Unit
			}
		}
	}
	return unit[0] != unit[1] && unit[0] != "" && unit[1] != ""
}

// each runs a function for 0..n-1 on all processors.
func each(n int, opt Options, f func(int)) bool {
	workers := opt.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	next := make(chan int)
	var wg sync.WaitGroup
	var mu sync.Mutex
	for range max(1, min(workers, n)) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := range next {
				f(i)
				if opt.Step != nil {
					mu.Lock()
					opt.Step()
					mu.Unlock()
				}
			}
		}()
	}
	whole := true
loop:
	for i := range n {
		select {
		case <-opt.Stop:
			whole = false
			break loop
		case next <- i:
		}
	}
	close(next)
	wg.Wait()
	return whole
}

func (r *Review) verdict() Verdict {
	same := r.Counts.Differ == 0 && r.Counts.Pairs == r.Counts.Same && len(r.OldOnly)+len(r.NewOnly)+len(r.Renamed) == 0
	switch {
	case r.Old.Digest == "" || r.New.Digest == "":
		return TablesOnly
	case r.Old.Digest == r.New.Digest && same:
		return AllSame
	case r.Old.Digest == r.New.Digest:
		return OutsideText
	case same:
		return Refactoring
	}
	return Changed
}

// Differs says whether a cell differs beyond what is allowed, a tune is on one
// side only, or a limit newly fails, isn't proved any more or asks less than it did, or something else
// guards less: what a reviewer has to look at.
func (r *Review) Differs() bool {
	if r.Counts.Beyond > 0 || len(r.OldOnly)+len(r.NewOnly)+len(r.Renamed) > 0 || r.Counts.Pairs > r.Counts.Same+r.Counts.Differ {
		return true
	}
	if len(r.Guards) > 0 {
		return true
	}
	for _, m := range r.Limits {
		if m.Kind == NewlyFails || m.Kind == Unproved || m.Weakens() && !r.oneText() {
			return true
		}
	}
	return false
}

// job is two tunes, or two sets of tables, to be compared.
type job struct {
	name                 string
	old, new             *plan.Tune
	oldTables, newTables *diff.Side
	oldJudged, newJudged *Judged // where they were judged already
	renamed              bool    // it is one tune under two names
}

func (j *job) oldName() string { return loneName(j.old, j.oldTables) }

func (j *job) newName() string { return loneName(j.new, j.newTables) }

func loneName(t *plan.Tune, tables *diff.Side) string {
	return (&loneTune{tune: t, tables: tables}).name()
}
