package target

import (
	"slices"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/grid"
	"fettle/compiler/limit"
	"fettle/compiler/plan"
	"fettle/lang/formula"
)

// Looking at the limits takes a round for each table that a map has, and where
// breakpoints are chosen for each tune, programs of their own. But from round to
// round little is different, and few maps have chosen breakpoints. So each round
// is done in two looks: first what reads no map of chosen breakpoints, which is
// lowered once; then the rest, lowered for those breakpoints. Both leave out what
// is as it was in the round before. What comes out is what comes out of whole
// rounds; a test holds it to that.

// look is the maps that get tables, those that are computed anew, and the limits
// that read any of them.
type look struct {
	round  int
	tables []int // by map: the table that stands in its place, or -1
	placed []bool
	anew   []bool
	known  []bool // by map: what is computed or read
	needed []bool // by map: what its limits and the maps that it computes are made of
	limits []*check.Limit
	chosen []int // tables whose breakpoints are chosen, and the look's programs are of
	made   recent[*programs]
}

// programs are what a look computes and judges with.
type programs struct {
	tables []grid.Table // of chosen breakpoints
	p      *eval.Program
	limits *limit.Checker
}

// looks takes the rounds apart.
func (m *Maker) looks() []*look {
	p, reads := m.p.Check, m.reads()
	var out []*look
	var before []int
	for round, tables := range m.standing() {
		other, chosen := make([]bool, len(tables)), make([]bool, len(tables))
		var auto []int
		for i, k := range tables {
			other[i] = k >= 0 && (round == 0 || k != before[i])
			if k >= 0 && m.Target.Tables[k].Chosen() {
				chosen[i] = true
				auto = append(auto, k)
			}
		}
		other, chosen = with(other, p.Dependents(other)), with(chosen, p.Dependents(chosen))
		for _, own := range []bool{false, true} {
			l := &look{round: round, tables: tables, placed: make([]bool, len(tables)), anew: make([]bool, len(tables)), known: make([]bool, len(tables))}
			some := false
			for i, k := range tables {
				here := other[i] && chosen[i] == own
				l.placed[i], l.anew[i] = here && k >= 0, here && k < 0
				l.known[i] = (k >= 0 || reads.anew[i] || reads.maps[i]) && (own || !chosen[i])
				some = some || here
			}
			if own {
				l.chosen = auto
			}
			for _, one := range p.Limits {
				reads := mapsOf(one)
				in := func(marked []bool) bool { return slices.ContainsFunc(reads, func(i int) bool { return marked[i] }) }
				if in(chosen) == own && (round == 0 || in(other)) {
					l.limits = append(l.limits, one)
				}
			}
			l.needed = slices.Clone(l.anew)
			for _, one := range l.limits {
				for _, i := range mapsOf(one) {
					l.needed[i] = true
				}
			}
			l.needed = p.Needed(l.needed)
			if some || len(l.limits) > 0 {
				out = append(out, l)
			}
		}
		before = tables
	}
	return out
}

// with marks what either marks.
func with(a, b []bool) []bool {
	out := make([]bool, len(a))
	for i := range a {
		out[i] = a[i] || b[i]
	}
	return out
}

// mapsOf lists the maps that a limit reads.
func mapsOf(l *check.Limit) []int {
	out := slices.Clone(l.Maps)
	for _, n := range []*formula.Node{l.Cond, l.Where, l.Lo, l.Hi} {
		if n != nil {
			out = append(out, n.MapsUsed()...)
		}
	}
	return out
}

// byLooks looks at every limit, with the maps that are read; false where one can't
// be computed.
func (m *Maker) byLooks(t *plan.Tune, o *Outcome, maps []grid.Table) (rounds [][]Verdict, ok bool) {
	written := o.written()
	for _, l := range m.parts() {
		for i, placed := range l.placed {
			if placed {
				maps[i] = written[l.tables[i]]
			}
		}
		fixed := l.fixed(maps)
		with := l.programs(m.p, written, fixed)
		res := with.p.Tune(Mix(m.p.Check, t, m.Target), eval.Options{Fixed: fixed, Need: l.known})
		if res.Fault != nil {
			o.rounds = nil
			return nil, false
		}
		for i, anew := range l.anew {
			if anew {
				maps[i] = res.Maps[i]
			}
		}
		o.round(l.round, len(m.p.Check.Limits), with.limits.Tune(t, res, false), res)
	}
	return o.rounds, true
}

// round notes a look's verdicts in a round, which has those of the round before it
// beside them.
func (o *Outcome) round(i, limits int, verdicts []*limit.Verdict, res *eval.Result) {
	for len(o.rounds) <= i {
		round := make([]Verdict, limits)
		if n := len(o.rounds); n > 0 {
			copy(round, o.rounds[n-1])
		}
		o.rounds = append(o.rounds, round)
	}
	for _, v := range verdicts {
		o.rounds[i][v.Limit.Index] = Verdict{v, res}
	}
}

// fixed gives the maps that a look reads as they are.
func (l *look) fixed(maps []grid.Table) map[int]grid.Table {
	fixed := make(map[int]grid.Table, len(maps))
	for i, known := range l.known {
		if known && !l.anew[i] {
			fixed[i] = maps[i]
		}
	}
	return fixed
}

// programs lowers a look for the breakpoints of the tables: once, or for those
// that were chosen.
func (l *look) programs(p *eval.Program, written []grid.Table, fixed map[int]grid.Table) *programs {
	made, ok := l.made.find(func(one *programs) bool {
		for i, k := range l.chosen {
			if !slices.Equal(one.tables[i].Rows, written[k].Rows) || !slices.Equal(one.tables[i].Cols, written[k].Cols) {
				return false
			}
		}
		return true
	})
	if !ok {
		made = &programs{p: eval.Lower(reshaped(p.Check, l.limits, l.anew, fixed)).Derive(p)}
		made.limits = limit.New(made.p)
		for _, k := range l.chosen {
			made.tables = append(made.tables, grid.Table{Rows: written[k].Rows, Cols: written[k].Cols})
		}
		l.made.add(made)
	}
	return made
}
