package session

import (
	"math"
	"slices"

	"fettle/compiler"
	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/grid"
	"fettle/compiler/limit"
	"fettle/compiler/target"
)

// tune is what is kept of a tune.
type tune struct {
	o      *compiler.Outcome
	counts []int   // of the last reach by rows: how many cells each step changed in them
	of     *reach  // that these are of
	kinds  []*kind // by target: whose outcome it has; nil where it has its own
	own    []target.Kept
}

// worker is the memory of one goroutine.
type worker struct {
	rows, whole eval.Result
	fixed       map[int]grid.Table
	changed     []bool // by map, in the tune at hand
	capped      bool   // a clamp caps cells where it didn't, or none any more
	todo        limit.Todo
	done        int     // maps computed
	inner       *worker // for a look at tables
}

// update brings every tune up to date after an edit.
func (s *Session) update(r *reach, bases []check.Base) {
	p := s.w.Program
	s.sort()
	if r.rows != nil && slices.ContainsFunc(s.tunes, func(t *tune) bool { return t.of != r }) {
		r.rows.rebase(p)
		s.parallel(len(s.tunes), func(w *worker, i int) { w.count(r, s.tunes[i]) })
	}
	put(p, bases)
	if r.rows != nil {
		r.rows.rebase(p)
	}
	s.renew(r)
	// What is alike first: a tune takes its tables from it.
	s.parallel(len(s.kinds), func(w *worker, i int) { w.kind(r, s, s.kinds[i]) })
	s.parallel(len(s.tunes), func(w *worker, i int) { w.tune(r, s, s.tunes[i]) })
	for _, t := range s.tunes {
		if t.of != r {
			t.of = nil // the cells of those rows may be others now
		}
	}
	for _, w := range s.workers {
		s.done, w.done = s.done+w.done, 0
	}
}

// tune brings one tune up to date.
func (w *worker) tune(r *reach, s *Session, t *tune) {
	o, c := t.o, s.w.Limits()
	mix := eval.Mix{All: o.Tune.Conditions(s.w.Program), Trims: o.Tune.Trims}
	if o.Result.Fault != nil || !w.maps(r, t, o.Result, mix) {
		*o, t.of = *s.w.Tune(o.Tune, s.options()), nil
		clear(t.own)
		t.take()
		w.done += len(s.w.Program.Maps)
		return
	}
	if !slices.Contains(w.changed, true) {
		t.take()
		return
	}
	explain := w.dirty(r, o.Limits) || w.capped // blame names each clamp that caps
	w.todo.Expects = r.expects
	if c.Again(o.Tune, o.Result, &w.todo, o.Limits, o.Checks) || explain {
		c.Explain(o.Tune, o.Result, o.Limits)
	}
	for i, k := range t.kinds {
		if k == nil {
			t.own[i].Outcome = o.Targets[i]
			s.w.Makers()[i].Again(o.Tune, &t.own[i], w.changed, w.look(r, s, o.Tune, o.Result, mix))
			o.Targets[i] = t.own[i].Outcome
		}
	}
	t.take()
}

// dirty marks the limits that read a map that changed, and says whether what failed
// or warned is to be explained again.
func (w *worker) dirty(r *reach, verdicts []*limit.Verdict) (explain bool) {
	w.todo.Limits, w.todo.Parts = w.todo.Limits[:0], w.todo.Parts[:0]
	for i := range r.reading {
		l := &r.reading[i]
		w.todo.Limits = append(w.todo.Limits, slices.ContainsFunc(l.reads, func(m int) bool { return w.changed[m] }))
		w.todo.Parts = append(w.todo.Parts, l.part)
		if st := verdicts[i].State; l.depends && (st == limit.Fails || st == limit.Warns) {
			explain = true
		}
	}
	return explain
}

// maps brings the maps of a result up to date and marks those that changed. False
// where one can't be computed.
func (w *worker) maps(r *reach, t *tune, res *eval.Result, mix eval.Mix) bool {
	w.changed, w.capped = append(w.changed[:0], make([]bool, len(res.Maps))...), false
	if r.only != nil {
		copy(w.changed, r.edited)
	}
	if r.rows != nil {
		if !w.byRows(r.rows, res, mix, t != nil) {
			return false
		}
		if t != nil {
			for k, i := range r.rows.steps {
				now := w.rows.Steps[i].Changed
				res.Steps[i].Changed += now - t.counts[k]
				t.counts[k] = now
			}
		}
		for _, i := range r.rows.maps {
			w.changed[i] = replace(r.rows.part(&res.Maps[i]), w.rows.Maps[i].Cells)
		}
	}
	for _, g := range r.stages {
		if !g.edited && !slices.Contains(w.changed, true) {
			continue // nothing came of the edit
		}
		w.fix(res, g.reads)
		r.eval.TuneInto(&w.whole, mix, eval.Options{Fixed: w.fixed, Need: g.needs, Count: t != nil, Thrown: t != nil})
		if w.whole.Fault != nil {
			return false
		}
		w.merge(r.p, g.maps, res)
	}
	return true
}

// byRows computes the edited rows of maps.
func (w *worker) byRows(r *rows, res *eval.Result, mix eval.Mix, count bool) bool {
	w.fix(res, r.reads)
	r.p.TuneInto(&w.rows, mix, eval.Options{Fixed: w.fixed, Need: r.need, Count: count})
	w.done += len(r.maps)
	return w.rows.Fault == nil
}

// fix puts maps as they are in the place of those that aren't computed.
func (w *worker) fix(res *eval.Result, maps []int) {
	if w.fixed == nil {
		w.fixed = map[int]grid.Table{}
	}
	clear(w.fixed)
	for _, i := range maps {
		w.fixed[i] = res.Maps[i]
	}
}

// merge takes over maps that were computed whole.
func (w *worker) merge(p *check.Program, list []bool, res *eval.Result) {
	for i, in := range list {
		if !in {
			continue
		}
		w.done++
		w.changed[i] = replace(res.Maps[i].Cells, w.whole.Maps[i].Cells)
		m := p.Maps[i]
		for _, s := range stepsOf(p, m) {
			res.Steps[s.Index] = w.whole.Steps[s.Index]
		}
		for _, l := range m.Clamps {
			now, was := &w.whole.Clamps[l.Index], &res.Clamps[l.Index]
			w.changed[i] = w.changed[i] || now.Cells != was.Cells || now.At != was.At || !same([]float64{now.Worst, now.Before}, []float64{was.Worst, was.Before})
			w.capped = w.capped || (now.Cells > 0) != (was.Cells > 0)
			*was = *now
		}
	}
	if len(res.Thrown)+len(w.whole.Thrown) == 0 {
		return
	}
	var thrown []eval.Thrown
	for _, i := range p.Order {
		from := res.Thrown
		if list[i] {
			from = w.whole.Thrown
		}
		for _, t := range from {
			if t.Later.Map.Index == i {
				thrown = append(thrown, t)
			}
		}
	}
	res.Thrown = thrown
}

// replace copies cells and says whether any of them changed.
func replace(to, from []float64) bool {
	for i, x := range from {
		if math.Float64bits(x) != math.Float64bits(to[i]) {
			copy(to[i:], from[i:])
			return true
		}
	}
	return false
}

// count finds how many cells of the edited rows each step changed, before the edit.
func (w *worker) count(r *reach, t *tune) {
	res := t.o.Result
	if t.of == r || res.Fault != nil {
		return
	}
	mix := eval.Mix{All: t.o.Tune.Conditions(r.p), Trims: t.o.Tune.Trims}
	t.counts, t.of = make([]int, len(r.rows.steps)), r
	if w.byRows(r.rows, res, mix, true) {
		for k, i := range r.rows.steps {
			t.counts[k] = w.rows.Steps[i].Changed
		}
	}
}
