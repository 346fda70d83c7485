package review

import (
	"fmt"
	"slices"
	"sort"
)

// arrange works out what is told over all pairs.
func (r *Review) arrange(old, new *Side, opt Options, all []*Margin, found []*compared) {
	for _, m := range all {
		m.blame()
	}
	r.findSpikes(opt)
	r.keep()
	for _, e := range r.Entries {
		sortMargins(e.Limits)
	}
	r.Limits = gather(append(all, r.unsaid(old, new, all)...))
	r.order()
	r.group()
	r.elements(opt, found)
	r.due(old, new)
	r.findGuards(old, new)
	r.Verdict = r.heldTo()
	r.sources(old, new)
	r.note()
}

// keep leaves out the entries of which there is nothing to tell beside a limit
// that moved: that stands among the limits.
func (r *Review) keep() {
	kept := r.Entries[:0]
	for _, e := range r.Entries {
		if e.Worst != nil || e.odd() || e.newlyFails() {
			kept = append(kept, e)
			r.Allowed = slices.DeleteFunc(r.Allowed, func(x *Entry) bool { return x == e })
			continue
		}
		for _, m := range e.Limits {
			m.Entry = nil
		}
	}
	r.Entries = kept
}

func (e *Entry) newlyFails() bool {
	for _, m := range e.Limits {
		if m.Kind == NewlyFails {
			return true
		}
	}
	return false
}

// order puts the entries in order: those with a newly failing limit, then those
// with a spike, then the rest, each by their worst change.
func (r *Review) order() {
	spiked := map[*Entry]bool{}
	byName := map[string]*Entry{}
	for _, e := range r.Entries {
		byName[e.Name] = e
	}
	for _, s := range r.Spikes {
		for _, name := range s.Tunes {
			spiked[byName[name]] = true
		}
	}
	type place struct {
		class        int
		size, weight float64
	}
	at := make(map[*Entry]place, len(r.Entries))
	all := flows{}
	for _, e := range r.Entries {
		p := place{2, e.size(all.of(e.NewT.program())), e.weight()}
		switch {
		case e.newlyFails():
			p.class = 0
		case spiked[e]:
			p.class = 1
		}
		at[e] = p
	}
	sort.SliceStable(r.Entries, func(i, j int) bool {
		a, b := at[r.Entries[i]], at[r.Entries[j]]
		if a.class != b.class {
			return a.class < b.class
		}
		if a.size != b.size {
			return a.size > b.size
		}
		return a.weight > b.weight
	})
}

// note says what a reader has to know beside the differences.
func (r *Review) note() {
	for i, side := range []string{"old", "new"} {
		switch n := r.Counts.Failed[i]; {
		case n == 1:
			r.Notes = append(r.Notes, "1 tune fails on the "+side+" side")
		case n > 1:
			r.Notes = append(r.Notes, fmt.Sprintf("%d tunes fail on the %s side", n, side))
		}
	}
}
