package session

import (
	"encoding/binary"
	"slices"

	"fettle/compiler"
	"fettle/compiler/eval"
	"fettle/compiler/grid"
	"fettle/compiler/plan"
	"fettle/compiler/target"
)

// Tunes that differ only in what a target's controller compensates have one outcome
// for it. Whether they do is decided by all that conditions give to what is computed
// (target.Alike), so it holds over any bases.

// kind is tunes that have one outcome for a target.
type kind struct {
	target int
	of     *compiler.Outcome // of one of them
	target.Kept
}

// sort finds out which tunes are of a kind, once.
func (s *Session) sort() {
	if s.sorted {
		return
	}
	s.sorted = true
	for _, t := range s.tunes {
		t.kinds, t.own = make([]*kind, len(s.w.Makers())), make([]target.Kept, len(s.w.Makers()))
	}
	for i, m := range s.w.Makers() {
		if len(m.Target.LeavesOut) == 0 {
			continue // each has an outcome of its own, of the result that it has anyway
		}
		known := map[string]*kind{}
		for _, t := range s.tunes {
			list, alike := m.Alike(t.o.Tune)
			key := text(list)
			k := known[key]
			if k == nil || !alike {
				k = &kind{target: i, of: t.o}
				if t.o.Result.Fault == nil {
					k.Outcome = t.o.Targets[i]
					part(k.Result, t.o.Result)
				} else {
					k.Outcome = m.Tune(t.o.Tune, nil, eval.Options{})
				}
				s.kinds = append(s.kinds, k)
				if alike {
					known[key] = k
				}
			}
			t.kinds[i] = k
		}
	}
}

// part gives a result memory of its own for the maps that it has from another.
func part(res, from *eval.Result) {
	for i := range res.Maps {
		if c := res.Maps[i].Cells; len(c) > 0 && &c[0] == &from.Maps[i].Cells[0] {
			res.Maps[i].Cells = slices.Clone(c)
		}
	}
}

func text(list []uint64) string {
	var b []byte
	for _, x := range list {
		b = binary.LittleEndian.AppendUint64(b, x)
	}
	return string(b)
}

// kind brings the outcome of a kind up to date.
func (w *worker) kind(r *reach, s *Session, k *kind) {
	m := s.w.Makers()[k.target]
	mix := target.Mix(s.w.Program, k.of.Tune, m.Target)
	if k.Result.Fault != nil || !w.maps(r, nil, k.Result, mix) {
		k.Kept = target.Kept{Outcome: m.Tune(k.of.Tune, nil, eval.Options{})}
		w.done += len(s.w.Program.Maps)
		return
	}
	m.Again(k.of.Tune, &k.Kept, w.changed, w.look(r, s, k.of.Tune, k.Result, mix))
}

// look brings a look at tables up to date by the rows that changed in them.
func (w *worker) look(r *reach, s *Session, t *plan.Tune, res *eval.Result, mix eval.Mix) target.Update {
	if w.inner == nil {
		w.inner = &worker{}
	}
	return func(_ int, l *target.Looked, maps []grid.Table, changed []bool) bool {
		e := s.engineOf(l)
		at := newEdit(e.p)
		for i, in := range changed {
			if !in {
				continue
			}
			was, is := &l.Result.Maps[i], &maps[i]
			switch from, to := changedRows(was, is); {
			case &was.Cells[0] != &is.Cells[0]:
				at.add(e.p.Maps[i], from, to)
			case r.rows != nil && r.rows.of[i] && &is.Cells[0] == &res.Maps[i].Cells[0]: // in place, before this
				at.add(e.p.Maps[i], r.from, r.to)
			default:
				at.add(e.p.Maps[i], 0, is.NRows())
			}
			*was = *is
		}
		clear(changed)
		if !slices.Contains(at.maps, true) {
			return true
		}
		then := e.reachOf(at)
		if !w.inner.maps(then, nil, l.Result, mix) {
			return false
		}
		copy(changed, w.inner.changed)
		w.inner.dirty(then, l.Verdicts)
		l.Limits.Again(t, l.Result, &w.inner.todo, l.Verdicts, nil)
		return true
	}
}

// engineOf is the engine of a look, which is that of all tunes whose tables have the
// same breakpoints.
func (s *Session) engineOf(l *target.Looked) *engine {
	e, ok := s.looks.Load(l.Program)
	if !ok {
		e, _ = s.looks.LoadOrStore(l.Program, &engine{p: l.Program.Check, eval: l.Program, limits: l.Limits, only: l.Anew})
	}
	return e.(*engine)
}

// take gives a tune the outcomes of its kinds.
func (t *tune) take() {
	for i, k := range t.kinds {
		if k != nil && t.o.Result.Fault == nil {
			t.o.Targets[i] = k.Outcome
		}
	}
}

// renew makes the targets anew whose programs hold a base that was edited.
func (s *Session) renew(r *reach) {
	for i, m := range s.w.Makers() {
		if m.Stale(r.edited) {
			s.w.Makers()[i] = target.New(s.w.Eval(), m.Target)
			for _, k := range s.kinds {
				k.Kept = target.Kept{Outcome: k.Outcome}
			}
			for _, t := range s.tunes {
				clear(t.own)
			}
		}
	}
}
