package target

import (
	"math"
	"slices"

	"fettle/compiler/eval"
	"fettle/compiler/grid"
	"fettle/compiler/limit"
	"fettle/compiler/plan"
)

// Kept is an outcome that is brought up to date with its result, and what its limits
// were judged with. It is nobody else's.
type Kept struct {
	*Outcome
	looks []*Looked
}

// Looked is limits judged on written tables, with the maps that they read.
type Looked struct {
	Program  *eval.Program
	Limits   *limit.Checker
	Result   *eval.Result
	Verdicts []*limit.Verdict
	Anew     []bool // by map: those that are computed, of tables
}

// Update brings a look up to date in which some maps, those marked, are others now:
// as in the list. It marks the maps that changed by that in their place; false where
// the look is to be taken anew.
type Update func(look int, l *Looked, maps []grid.Table, changed []bool) bool

// Again makes the tables again of an outcome whose result was brought up to date,
// where the maps marked changed. Tables of other maps stay, and so do the limits if
// nothing changed that they read.
func (m *Maker) Again(t *plan.Tune, k *Kept, changed []bool, update Update) {
	before := k.Outcome
	o := &Outcome{Target: m.Target, Result: before.Result}
	k.Outcome = o
	fits, same := true, before.Fault == nil && before.Limits != nil
	other := make([]bool, len(m.Target.Tables))
	for i, spec := range m.Target.Tables {
		one := before.Tables[i]
		if k := spec.Map.Index; changed[k] {
			one = m.table(i, &o.Result.Maps[k])
			other[i] = !sameTable(one, before.Tables[i])
			same = same && !other[i]
		}
		o.Tables = append(o.Tables, one)
		fits = fits && one.Misfit == nil
	}
	for i, read := range m.reads().maps {
		same = same && !(read && changed[i])
	}
	switch {
	case fits && same:
		o.rounds, o.Limits = before.rounds, before.Limits
	case !fits || !m.looksAgain(t, k, other, changed, update):
		k.looks = nil
		if fits {
			m.plainly(t, o, eval.Options{})
		}
	}
}

// looksAgain takes the looks again that read what changed; other marks the tables
// that did. False where a map can't be computed.
func (m *Maker) looksAgain(t *plan.Tune, k *Kept, other, changed []bool, update Update) bool {
	o, written := k.Outcome, k.written()
	if k.looks == nil {
		k.looks = make([]*Looked, len(m.parts()))
	}
	maps, moved := make([]grid.Table, len(changed)), make([]bool, len(changed))
	for i, read := range m.reads().maps {
		if read {
			maps[i], moved[i] = o.Result.Maps[i], changed[i]
		}
	}
	for n, l := range m.parts() {
		in := make([]bool, len(maps))
		for i, known := range l.known {
			if l.placed[i] {
				maps[i], moved[i] = written[l.tables[i]], other[l.tables[i]]
			}
			in[i] = known && l.needed[i] && !l.anew[i] && moved[i]
		}
		have := k.looks[n]
		stays := have != nil && !slices.Contains(in, true) && !slices.ContainsFunc(l.chosen, func(k int) bool { return other[k] })
		if !stays && (have == nil || len(l.chosen) > 0 || !update(n, have, maps, in)) {
			fixed := l.fixed(maps)
			with := l.programs(m.p, written, fixed)
			have = &Looked{Program: with.p, Limits: with.limits, Anew: l.anew}
			have.Result = with.p.Tune(Mix(m.p.Check, t, m.Target), eval.Options{Fixed: fixed, Need: l.known})
			if have.Result.Fault != nil {
				o.rounds = nil
				return false
			}
			have.Verdicts = with.limits.Tune(t, have.Result, false)
			k.looks[n] = have
			copy(in, l.anew)
		}
		for i, known := range l.known {
			switch {
			case l.anew[i]:
				maps[i], moved[i] = have.Result.Maps[i], in[i]
			case known:
				have.Result.Maps[i] = maps[i]
			}
		}
		o.round(l.round, len(m.p.Check.Limits), have.Verdicts, have.Result)
	}
	o.Limits = worst(o.rounds)
	return true
}

// sameTable says whether two tables are written alike.
func sameTable(a, b *Table) bool {
	return a == b || b.Misfit == nil && a.Misfit == nil && bits(a.Exact.Rows, b.Exact.Rows) && bits(a.Exact.Cols, b.Exact.Cols) && bits(a.Cells, b.Cells)
}

// Alike is what a tune's outcome depends on beside the cells that it is computed of:
// tunes that are alike have one outcome. False where a tune is like no other.
func (m *Maker) Alike(t *plan.Tune) (key []uint64, ok bool) {
	if len(m.Target.LeavesOut) == 0 {
		return nil, false
	}
	if key, ok = m.p.Numbers(Mix(m.p.Check, t, m.Target)); !ok {
		return nil, false
	}
	for i, read := range m.reads().givens {
		if read {
			key = append(key, math.Float64bits(t.Values[i]))
		}
	}
	for _, s := range t.Trims {
		key = append(key, uint64(s.Index))
	}
	return key, true
}

// Stale says whether a target's programs hold a base of one of the maps marked.
func (m *Maker) Stale(changed []bool) bool {
	for i, anew := range m.reads().anew {
		if anew && changed[i] {
			return true
		}
	}
	return false
}
