package review

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"

	"fettle/compiler/diff"
	"fettle/compiler/limit"
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
	Workers    int                    // 0: as many as there are processors
	Step       func()                 // called after each pair, from one goroutine at a time
	Stop       <-chan struct{}
	single     bool // one pair alone is compared
}

// Attribution attributes the changes of a compared pair.
type Attribution func(p *diff.Pair)

// ErrStopped says that a comparison was stopped.
var ErrStopped = fmt.Errorf("stopped")

// Make compares two sides.
func Make(old, new *Side, opt Options) (*Review, error) {
	r := &Review{Old: old.Origin, New: new.Origin}
	jobs, lone := pairUp(old, new)
	found := make([]*compared, len(jobs))
	opt.single = len(jobs) == 1 && len(lone.old)+len(lone.new) == 0
	if !each(len(jobs), opt, func(i int) { found[i] = compare(old, new, jobs[i], opt) }) {
		return nil, ErrStopped
	}
	var all []*Margin
	for _, c := range found {
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
		e := newEntry(c, opt.Policy)
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
		} else {
			r.Counts.Beyond++
		}
		if e.Worst != nil || e.odd() || len(e.Limits) > 0 {
			r.Entries = append(r.Entries, e)
		}
	}
	r.Hidden.Policy, r.Hidden.From = opt.PolicyText, opt.PolicyFrom
	r.pairRenamed(old, new, lone)
	r.Verdict = r.verdict()
	r.arrange(old, new, opt, all, found)
	r.Notes = append(r.Notes, r.oddNotes()...)
	if opt.PolicyNote != "" {
		r.Notes = append(r.Notes, opt.PolicyNote)
	}
	r.caution(old, new)
	return r, nil
}

// compared is a pair as it was found.
type compared struct {
	job      job
	name     string
	pair     *diff.Pair // nil where a side can't be computed
	old, new *Judged    // nil for tables
	margins  []*Margin
}

func compare(old, new *Side, j job, opt Options) *compared {
	c := &compared{job: j, name: j.name}
	a, b := j.oldTables, j.newTables
	if j.old != nil {
		c.old = old.Judge(j.old)
		a = c.old.Side
	}
	if j.new != nil {
		c.new = new.Judge(j.new)
		b = c.new.Side
	}
	c.margins = margins(c)
	if a == nil || b == nil {
		return c
	}
	c.pair = diff.Compare(a, b)
	if (c.pair.Differs() || opt.single) && opt.Attribute != nil && c.old != nil && c.new != nil {
		opt.Attribute(c.pair)
	}
	if c.pair.Differs() {
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
		for i, cell := range m.Cells {
			if policy != nil && !e.otherUnit(m.Map) && policy.Within(m.Map, cell.Old, cell.New) {
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
// side only, or a limit newly fails or asks less than it did: what a reviewer has
// to look at.
func (r *Review) Differs() bool {
	if r.Counts.Beyond > 0 || len(r.OldOnly)+len(r.NewOnly)+len(r.Renamed) > 0 || r.Counts.Pairs > r.Counts.Same+r.Counts.Differ {
		return true
	}
	for _, m := range r.Limits {
		if m.Kind == NewlyFails || m.Weakens() && !r.oneText() {
			return true
		}
	}
	return false
}

// pairRenamed finds tunes that have the same cells under another name, and keeps
// the rest of those that only one side has.
func (r *Review) pairRenamed(old, new *Side, l lone) {
	prints := map[[sha256.Size]byte][]int{}
	for i, t := range l.old {
		if p, ok := old.print(t); ok {
			prints[p] = append(prints[p], i)
		}
	}
	gone := make([]bool, len(l.old))
	for _, t := range l.new {
		p, ok := new.print(t)
		if list := prints[p]; ok && len(list) > 0 {
			gone[list[0]] = true
			r.Renamed = append(r.Renamed, Rename{l.old[list[0]].name(), t.name()})
			prints[p] = list[1:]
			continue
		}
		why := t.why
		if t.tune != nil {
			if j := new.Judge(t.tune); j.Fails {
				why = j.whyFails()
				r.Counts.Failed[1]++
			}
		}
		r.NewOnly = append(r.NewOnly, diff.Lone{Name: t.name(), Why: why})
	}
	for i, t := range l.old {
		if !gone[i] {
			r.OldOnly = append(r.OldOnly, diff.Lone{Name: t.name(), Why: t.why})
		}
	}
	r.Counts.Renamed, r.Counts.OldOnly, r.Counts.NewOnly = len(r.Renamed), len(r.OldOnly), len(r.NewOnly)
}

// whyFails says in short why build doesn't write a tune.
func (j *Judged) whyFails() string {
	var out []string
	if j.Fault != "" {
		out = append(out, j.Fault)
	}
	for _, v := range j.Limits {
		if v.State == limit.Fails {
			out = append(out, "limit "+v.Limit.Name)
		}
	}
	for _, c := range j.Checks {
		if !c.OK {
			out = append(out, "check "+c.Check.Title)
		}
	}
	return "fails: " + strings.Join(slices.Compact(out), ", ")
}

// print is a digest of a tune's tables as printed.
func (s *Side) print(t loneTune) (out [sha256.Size]byte, ok bool) {
	side := t.tables
	if t.tune != nil {
		side = s.Judge(t.tune).Side
	}
	if side == nil {
		return out, false
	}
	h := sha256.New()
	number := func(x float64) {
		var b [8]byte
		binary.LittleEndian.PutUint64(b[:], math.Float64bits(x))
		h.Write(b[:])
	}
	for _, m := range side.Tables {
		fmt.Fprintf(h, "%q %q %q %q %d %d\n", m.Map, m.Unit, m.Rows.Name, m.Cols.Name, len(m.Rows.Points), len(m.Cols.Points))
		for _, list := range [][]float64{m.Rows.Points, m.Cols.Points, m.Cells} {
			for _, x := range list {
				number(x)
			}
		}
	}
	return [sha256.Size]byte(h.Sum(nil)), true
}

func (r *Review) caution(old, new *Side) {
	seen := map[string]bool{}
	for _, s := range []*Side{new, old} {
		if s.Program == nil {
			continue
		}
		for _, c := range s.Program.Cautions {
			if !seen[c] {
				seen[c] = true
				r.Cautions = append(r.Cautions, c)
			}
		}
	}
}

// job is two tunes, or two sets of tables, to be compared.
type job struct {
	name                 string
	old, new             *plan.Tune
	oldTables, newTables *diff.Side
}
