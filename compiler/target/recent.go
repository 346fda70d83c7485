package target

import (
	"math"
	"slices"
	"sync"

	"fettle/compiler/check"
	"fettle/compiler/grid"
	"fettle/compiler/plan"
	"fettle/lang/formula"
)

// Tunes that differ in what a controller compensates, or in what a map doesn't
// read, have the same tables. So what was made lately is kept, by all that it is
// made of, and taken again where that is the same, bit for bit.

// kept is how many things are kept of a kind.
const kept = 16

// recent is what was made lately. It may be used by many goroutines.
type recent[T any] struct {
	mu   sync.Mutex
	list []T // the last that was used at the end
}

// find takes the one that fits.
func (r *recent[T]) find(fits func(T) bool) (x T, ok bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	for i := len(r.list) - 1; i >= 0; i-- {
		if x := r.list[i]; fits(x) {
			r.list = append(slices.Delete(r.list, i, i+1), x)
			return x, true
		}
	}
	return x, false
}

// add keeps one more, and drops the one that wasn't used for longest.
func (r *recent[T]) add(x T) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if len(r.list) == kept {
		r.list = slices.Delete(r.list, 0, 1)
	}
	r.list = append(r.list, x)
}

// made is a table with the cells that it was made of.
type made struct {
	cells []float64
	table *Table
}

// judged is the limits on written tables, with what they were looked at with.
type judged struct {
	key
	rounds [][]Verdict
	worst  []Verdict
}

// key is what the limits read of a tune, and what the maps that are computed anew
// do.
type key struct {
	tables []*Table
	maps   [][]float64
	values []float64
	trims  []*check.Step
}

// reads is what a key is made of.
type reads struct {
	anew, maps, givens []bool
}

// keyOf is what the limits are looked at with for a tune.
func (m *Maker) keyOf(t *plan.Tune, o *Outcome) *key {
	k := &key{tables: o.Tables}
	r := m.reads()
	for i, read := range r.maps {
		if read {
			k.maps = append(k.maps, o.Result.Maps[i].Cells)
		}
	}
	for i, read := range r.givens {
		if read {
			k.values = append(k.values, t.Values[i])
		}
	}
	for _, s := range t.Trims {
		if r.anew[s.Map.Index] {
			k.trims = append(k.trims, s)
		}
	}
	return k
}

// keep gives a key's maps memory of their own, so that it outlives the tune, and
// lists them by map.
func (m *Maker) keep(k *key, o *Outcome) []grid.Table {
	maps := make([]grid.Table, len(o.Result.Maps))
	n := 0
	for i, read := range m.reads().maps {
		if read {
			k.maps[n] = slices.Clone(k.maps[n])
			maps[i] = grid.Table{Rows: o.Result.Maps[i].Rows, Cols: o.Result.Maps[i].Cols, Cells: k.maps[n]}
			n++
		}
	}
	return maps
}

func (k *key) same(o *judged) bool {
	return slices.Equal(k.tables, o.tables) && slices.Equal(k.trims, o.trims) && bits(k.values, o.values) && slices.EqualFunc(k.maps, o.maps, bits)
}

// bits says whether numbers are the same, bit for bit.
func bits(a, b []float64) bool {
	if len(a) != len(b) {
		return false
	}
	for i, x := range a {
		if math.Float64bits(x) != math.Float64bits(b[i]) {
			return false
		}
	}
	return true
}

// readsOf finds what the limits on written tables read, themselves and in the maps
// that are computed anew: maps as the tune has them, and givens.
func (m *Maker) readsOf() *reads {
	p := m.p.Check
	tabled := make([]bool, len(p.Maps))
	for _, spec := range m.Target.Tables {
		tabled[spec.Map.Index] = true
	}
	r := &reads{anew: p.Dependents(tabled), maps: make([]bool, len(p.Maps)), givens: make([]bool, len(p.Givens))}
	read := func(nodes ...*formula.Node) {
		for _, n := range nodes {
			if n == nil {
				continue
			}
			for _, i := range n.MapsUsed() {
				r.maps[i] = true
			}
			n.Walk(func(k *formula.Node) {
				switch k.Op {
				case formula.GivenVal, formula.GivenYes, formula.GivenIs, formula.GivenCol:
					r.givens[k.A] = true
				}
			})
		}
	}
	step := func(s *check.Step) {
		read(s.Amount, s.Where)
		for _, w := range s.Over {
			read(w.Lo, w.Hi, w.Feather)
		}
		if s.Rule != nil {
			read(s.Rule.When)
		}
	}
	limit := func(l *check.Limit) { read(l.Cond, l.Where, l.When, l.Lo, l.Hi) }
	for i, one := range p.Maps {
		if r.anew[i] = r.anew[i] && !tabled[i]; r.anew[i] {
			read(one.Formula)
			for _, s := range one.Steps {
				step(s)
			}
			for _, l := range one.Clamps {
				limit(l)
			}
		}
	}
	for _, v := range p.Variants {
		for _, s := range v.Trims {
			if r.anew[s.Map.Index] {
				step(s)
			}
		}
	}
	for _, l := range p.Limits {
		limit(l)
		for _, i := range l.Maps {
			r.maps[i] = true
		}
	}
	for i := range r.maps {
		r.maps[i] = r.maps[i] && !tabled[i] && !r.anew[i]
	}
	return r
}
