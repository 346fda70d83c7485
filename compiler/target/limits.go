package target

import (
	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/grid"
	"fettle/compiler/limit"
	"fettle/compiler/plan"
)

// look is the limits lowered over maps of which some have the breakpoints of
// tables.
type look struct {
	p      *eval.Program
	limits *limit.Checker
	tables []int  // by map: the table that stands in its place, or -1
	anew   []bool // by map: it is computed from one that a table stands for
}

// rounds lowers the limits for each round: the first table of every map, then
// the second of those that have one, and so on.
func (m *Maker) rounds(tables []grid.Table) []*look {
	byMap := map[int][]int{}
	most := 1
	for i, spec := range m.Target.Tables {
		k := spec.Map.Index
		byMap[k] = append(byMap[k], i)
		most = max(most, len(byMap[k]))
	}
	tabled := make([]bool, len(m.p.Check.Maps))
	for i := range tabled {
		tabled[i] = len(byMap[i]) > 0
	}
	anew := m.p.Check.Dependents(tabled)
	var out []*look
	for round := range most {
		l := &look{tables: make([]int, len(tabled)), anew: make([]bool, len(tabled))}
		for i := range l.tables {
			l.tables[i], l.anew[i] = -1, anew[i] && !tabled[i]
			if list := byMap[i]; len(list) > 0 {
				l.tables[i] = list[min(round, len(list)-1)]
			}
		}
		l.p = eval.Lower(l.reshaped(m.p.Check, tables))
		l.limits = limit.New(l.p)
		out = append(out, l)
	}
	return out
}

// reshaped is a program whose maps have the breakpoints of tables, with what the
// limits need and what computes the maps that are computed anew.
func (l *look) reshaped(p *check.Program, tables []grid.Table) *check.Program {
	out := *p
	out.Checks = nil
	out.Maps = make([]*check.Map, len(p.Maps))
	for i, m := range p.Maps {
		c := *m
		if !l.anew[i] {
			c.Formula, c.Steps, c.Clamps = nil, nil, nil
		}
		if k := l.tables[i]; k >= 0 {
			c.Base = grid.Table{Rows: tables[k].Rows, Cols: tables[k].Cols}
		}
		out.Maps[i] = &c
	}
	return &out
}

// limits looks at every limit with the written tables in place of their maps and
// the maps that are computed from those anew, and keeps of each the worst verdict.
func (m *Maker) limits(t *plan.Tune, o *Outcome, opt eval.Options) {
	written := make([]grid.Table, len(o.Tables))
	for i, one := range o.Tables {
		written[i] = grid.Table{Rows: one.Exact.Rows, Cols: one.Exact.Cols, Cells: one.Cells}
	}
	looks := m.looks
	if looks == nil {
		looks = m.rounds(written)
	}
	for _, l := range looks {
		fixed := map[int]grid.Table{}
		for i, k := range l.tables {
			switch {
			case k >= 0:
				fixed[i] = written[k]
			case !l.anew[i]:
				fixed[i] = o.Result.Maps[i]
			}
		}
		res := l.p.Tune(Mix(m.p.Check, t, m.Target), eval.Options{Reference: opt.Reference, Fixed: fixed})
		if res.Fault != nil {
			o.Fault, o.Limits, o.rounds = res.Fault, nil, nil
			return
		}
		var round []Verdict
		for i, v := range l.limits.Tune(t, res, opt.Reference) {
			one := Verdict{v, l.p.Check, res}
			round = append(round, one)
			switch {
			case i == len(o.Limits):
				o.Limits = append(o.Limits, one)
			case worse(v, o.Limits[i].Verdict):
				o.Limits[i] = one
			}
		}
		o.rounds = append(o.rounds, round)
	}
}

// worse says whether a verdict tells more than another of the same limit: by its
// state, then by its room.
func worse(a, b *limit.Verdict) bool {
	rank := map[limit.State]int{limit.NotHere: 0, limit.Holds: 1, limit.Clamped: 2, limit.Warns: 3, limit.Fails: 4}
	if rank[a.State] != rank[b.State] {
		return rank[a.State] > rank[b.State]
	}
	return a.HasMargin && b.HasMargin && a.Margin < b.Margin
}
