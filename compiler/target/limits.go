package target

import (
	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/grid"
	"fettle/compiler/limit"
	"fettle/compiler/plan"
)

// limits looks at every limit with the written tables in place of their maps and
// the maps that are computed from those anew, and keeps of each the worst verdict.
func (m *Maker) limits(t *plan.Tune, o *Outcome, opt eval.Options) {
	if opt.Reference {
		m.plainly(t, o, opt)
		return
	}
	key := m.keyOf(t, o)
	have, ok := m.judged.find(key.same)
	if !ok {
		rounds, ok := m.byLooks(t, o, m.keep(key, o))
		if !ok {
			m.plainly(t, o, opt) // which finds the first fault
			return
		}
		have = &judged{*key, rounds, worst(rounds)}
		m.judged.add(have)
	}
	o.rounds, o.Limits = have.rounds, have.worst
}

// written gives the tables as they are written.
func (o *Outcome) written() []grid.Table {
	out := make([]grid.Table, len(o.Tables))
	for i, one := range o.Tables {
		out[i] = grid.Table{Rows: one.Exact.Rows, Cols: one.Exact.Cols, Cells: one.Cells}
	}
	return out
}

// standing gives for each round and map the table that stands in the map's place,
// or -1: the first of every map, then the second of those that have one, and so
// on.
func (m *Maker) standing() [][]int {
	byMap := map[int][]int{}
	most := 1
	for i, spec := range m.Target.Tables {
		k := spec.Map.Index
		byMap[k] = append(byMap[k], i)
		most = max(most, len(byMap[k]))
	}
	out := make([][]int, most)
	for round := range out {
		out[round] = make([]int, len(m.p.Check.Maps))
		for i := range out[round] {
			out[round][i] = -1
			if list := byMap[i]; len(list) > 0 {
				out[round][i] = list[min(round, len(list)-1)]
			}
		}
	}
	return out
}

// plainly looks at all limits in each round, with all maps computed anew that are
// computed from tables.
func (m *Maker) plainly(t *plan.Tune, o *Outcome, opt eval.Options) {
	written := o.written()
	var rounds [][]Verdict
	for _, tables := range m.standing() {
		tabled := make([]bool, len(tables))
		for i, k := range tables {
			tabled[i] = k >= 0
		}
		anew := m.p.Check.Dependents(tabled)
		fixed := map[int]grid.Table{}
		for i, k := range tables {
			switch {
			case k >= 0:
				anew[i], fixed[i] = false, written[k]
			case !anew[i]:
				fixed[i] = o.Result.Maps[i]
			}
		}
		p := eval.Lower(reshaped(m.p.Check, m.p.Check.Limits, anew, fixed)).Derive(m.p)
		res := p.Tune(Mix(m.p.Check, t, m.Target), eval.Options{Reference: opt.Reference, Fixed: fixed})
		if res.Fault != nil {
			o.Fault = res.Fault
			return
		}
		var round []Verdict
		for _, v := range limit.New(p).Tune(t, res, opt.Reference) {
			round = append(round, Verdict{v, res})
		}
		rounds = append(rounds, round)
	}
	o.rounds, o.Limits = rounds, worst(rounds)
}

// reshaped is a program whose maps have the breakpoints of what stands in their
// place, with some of its limits and what computes the maps that are computed anew.
func reshaped(p *check.Program, limits []*check.Limit, anew []bool, fixed map[int]grid.Table) *check.Program {
	out := *p
	out.Checks, out.Limits = nil, limits
	out.Maps = make([]*check.Map, len(p.Maps))
	for i, m := range p.Maps {
		c := *m
		if !anew[i] {
			c.Formula, c.Steps, c.Clamps = nil, nil, nil
		}
		if t, ok := fixed[i]; ok {
			c.Base = grid.Table{Rows: t.Rows, Cols: t.Cols}
		}
		out.Maps[i] = &c
	}
	return &out
}

// worst keeps the worst verdict on each limit, the first of equal ones.
func worst(rounds [][]Verdict) []Verdict {
	var out []Verdict
	if len(rounds) == 0 {
		return out
	}
	for i, v := range rounds[0] {
		for _, round := range rounds[1:] {
			if worse(round[i].Verdict, v.Verdict) {
				v = round[i]
			}
		}
		out = append(out, v)
	}
	return out
}

// worse says whether a verdict tells more than another of the same limit: by its
// state, then by its room.
func worse(a, b *limit.Verdict) bool {
	if a, b := rank(a.State), rank(b.State); a != b {
		return a > b
	}
	return a.HasMargin && b.HasMargin && a.Margin < b.Margin
}

func rank(s limit.State) int {
	switch s {
	case limit.NotHere:
		return 0
	case limit.Holds:
		return 1
	case limit.Clamped:
		return 2
	case limit.Warns:
		return 3
	}
	return 4
}
