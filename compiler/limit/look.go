package limit

import (
	"math"

	"fettle/compiler/eval"
	"fettle/compiler/plan"
)

// look is a limit's conditions worked out in every cell of a tune. Cells are
// counted row by row.
type look struct {
	lo    *lowered
	n     int    // cells of the grid
	where values // which of them count, where it has a `where`: those that aren't 0
	sides []sides
}

// sides are the two sides of a comparison, as they stand; the first alone is what
// came of a condition without a margin.
type sides struct{ left, right values }

// values are a value for each cell, or one for all.
type values struct {
	v    []float64
	step int
}

func (x values) at(i int) float64 { return x.v[i*x.step] }

// memory is where a look keeps its columns while it is taken: the places of a
// probe are too few for them.
type memory struct {
	look look
	vals []float64
	used int
	over []passing
}

// take gives memory for n values. What was taken before stays as it is.
func (m *memory) take(n int) []float64 {
	if m.used+n > len(m.vals) {
		m.vals, m.used = make([]float64, max(2*len(m.vals), 4*n)), 0
	}
	m.used += n
	return m.vals[m.used-n : m.used : m.used]
}

// values reads a column by one index; keep says that its place is used again
// while they are wanted.
func (m *memory) values(x eval.Column, cells *eval.Cells, keep bool) values {
	v, step, ok := x.Flat(cells)
	switch {
	case !ok:
		v, step = m.take(cells.N()), 1
		x.Spread(v, len(cells.Cols))
	case keep:
		own := m.take(len(v))
		copy(own, v)
		v = own
	}
	return values{v, step}
}

const notFinite = "it has no finite value in some cell"

// look works a limit's conditions out. The look is good until the memory or the
// probe is used again. The problem says why it can't be done; then the look has
// what came before.
func (lo *lowered) look(probe *eval.Probe, env *plan.Conditions, mem *memory) (k *look, problem string) {
	mem.used = 0
	k = &mem.look
	*k = look{lo: lo, n: lo.cells.N(), sides: k.sides[:0]}
	var only eval.Column
	if lo.where != nil {
		x, err := probe.Column(lo.where, env, eval.Column{}, eval.Third)
		if err != nil {
			return k, err.Error()
		}
		only, k.where = x, mem.values(x, lo.cells, false)
	}
	column := func(x *eval.Expr, place int) values {
		if problem != "" {
			return values{}
		}
		c, err := probe.Column(x, env, only, place)
		if err != nil {
			problem = err.Error()
			return values{}
		}
		return mem.values(c, lo.cells, len(lo.parts) > 1)
	}
	for i := range lo.parts {
		var s sides
		if p := &lo.parts[i]; p.cond != nil {
			s.left = column(p.cond, eval.First)
		} else {
			s.left, s.right = column(p.left, eval.First), column(p.right, eval.Second)
		}
		if problem != "" {
			if i > 0 && !k.finite(mem) {
				problem = notFinite // that comes first
			}
			return k, problem
		}
		k.sides = append(k.sides, s)
	}
	return k, ""
}

// kept is a look in memory of its own.
func (k *look) kept() *look {
	out := *k
	clone := func(x values) values { return values{append([]float64(nil), x.v...), x.step} }
	out.where = clone(k.where)
	out.sides = nil
	for _, s := range k.sides {
		out.sides = append(out.sides, sides{clone(s.left), clone(s.right)})
	}
	return &out
}

// looks says whether the limit looks at a cell.
func (k *look) looks(i int) bool { return k.where.v == nil || k.where.at(i) != 0 }

// cells counts the cells that the limit looks at; all, where that isn't known.
func (k *look) cells() int {
	if k.where.v == nil {
		return k.n
	}
	if k.where.step == 0 {
		if k.where.v[0] == 0 {
			return 0
		}
		return k.n
	}
	n := 0
	for _, x := range k.where.v {
		b := math.Float64bits(x) << 1 // 0 for 0 and -0; without a branch, as it is anyone's guess
		n += int((b | -b) >> 63)
	}
	return n
}

// finite says whether all sides that are there are finite in the cells looked at.
func (k *look) finite(mem *memory) bool {
	over := mem.begin(k)
	for i := k.next(over, 0, least); i < k.n; i = k.next(over, i+1, least) {
		if k.looks(i) && !k.cell(i).finite {
			return false
		}
	}
	return true
}

// found is what a look finds in a cell.
type found struct {
	finite bool
	bad    bool
	part   int     // the comparison that tells the margin; -1 where none does
	room   float64 // that margin, in coherent units
}

// cell looks closely at one cell. Its margin is told by the comparison with the
// least room: of those that fail, or else of all. Where the cell fails by a
// condition without a margin alone, none does.
func (k *look) cell(i int) found {
	f := found{finite: true, part: -1, room: math.Inf(1)}
	fails := false // the comparison that tells
	for n := range k.sides {
		p, s := &k.lo.parts[n], &k.sides[n]
		if p.cond != nil {
			f.bad = f.bad || s.left.at(i) == 0
			continue
		}
		l, r := s.left.at(i), s.right.at(i)
		f.finite = f.finite && l-l == 0 && r-r == 0
		margin, ok := compare(p.op, l, r)
		if room := margin * p.size; f.part < 0 || !ok && !fails || ok != fails && room < f.room {
			f.part, f.room, fails = n, room, !ok
		}
		f.bad = f.bad || !ok
	}
	if f.bad && !fails {
		f.part, f.room = -1, math.Inf(1)
	}
	return f
}

// told is what a comparison says of a cell.
func (k *look) told(part, i int) (value, bound, margin float64) {
	p, s := &k.lo.parts[part], &k.sides[part]
	l, r := s.left.at(i), s.right.at(i)
	margin, _ = compare(p.op, l, r)
	if p.swap {
		return r, l, margin
	}
	return l, r, margin
}
