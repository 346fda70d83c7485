package randomly_test

import (
	"math"
	"slices"

	"fettle/compiler"
	"fettle/compiler/check"
	"fettle/compiler/grid"
	"fettle/compiler/limit"
	"fettle/lang/formula"
)

// Limits in fractions: in how many cells one doesn't hold, and the least margin of one
// that bounds a map.

// hairline is a share by which two sides may differ without its being said which way
// they differ: it covers the slack of comparisons in whatever unit.
const hairline = 1e-6

// bounded is what is found of a limit.
type bounded struct {
	sure       bool // what follows is known
	here       bool // its `when` holds
	cells, bad int
	margin     fraction // the least, of a comparison with a map on its left
}

// limit looks at a limit of a tune of which all maps are known.
func (x *exact) limit(l *check.Limit) (out bounded) {
	here, ok := x.holds(l.When)
	if out.here = here; !ok || !here {
		out.sure = ok
		return out
	}
	lists := make([][]float64, len(l.Axes))
	for k, axis := range l.Axes {
		var points [][]float64
		for _, m := range l.Maps {
			m := x.p.Maps[m]
			if i := slices.Index(m.Axes, axis); i >= 0 && i == len(m.Axes)-1 {
				points = append(points, m.Base.Cols)
			} else if i >= 0 {
				points = append(points, m.Base.Rows)
			}
		}
		lists[k] = grid.Union(points...)
	}
	out.sure = true
	look := func(p *place) {
		p.x, p.axes, p.grid, p.memo = x, l.Axes, lists, map[*formula.Node]fraction{}
		if l.Where != nil {
			in, ok := p.is(l.Where)
			if out.sure = out.sure && ok; !in {
				return
			}
		}
		out.cells++
		holds, ok := p.slackly(l.Cond, false)
		out.sure = out.sure && ok
		if !holds {
			out.bad++
		}
		if margin := p.margin(l.Cond); out.cells == 1 {
			out.margin = margin
		} else {
			out.margin = out.margin.least(margin)
		}
	}
	for i, a := range lists[0] {
		if len(lists) == 1 {
			look(&place{points: [2]int{i}, at: []float64{a}})
			continue
		}
		for j, b := range lists[1] {
			look(&place{points: [2]int{i, j}, at: []float64{a, b}})
		}
	}
	out.sure = out.sure && !x.fault
	return out
}

// margin is the room in a comparison of a map with a bound.
func (p *place) margin(n *formula.Node) fraction {
	n = formula.Strip(n)
	if len(n.Kids) != 2 || formula.Strip(n.Kids[0]).Op != formula.MapHere {
		return nothing
	}
	apart := p.eval(n.Kids[1]).sub(p.eval(n.Kids[0]))
	switch n.Op {
	case formula.Lt, formula.Le:
		return apart
	case formula.Gt, formula.Ge:
		return apart.neg()
	}
	return nothing
}

// slackly decides a limit's condition. Two sides that are equal hold to each other,
// with `<` as with `<=`, unless that is denied; of nearly equal ones nothing is said.
func (p *place) slackly(n *formula.Node, denied bool) (holds, ok bool) {
	n = formula.Strip(n)
	switch n.Op {
	case formula.And, formula.Or:
		a, ok1 := p.slackly(n.Kids[0], denied)
		b, ok2 := p.slackly(n.Kids[1], denied)
		if n.Op == formula.And {
			return a && b, ok1 && ok2
		}
		return a || b, ok1 && ok2
	case formula.Not:
		a, ok := p.slackly(n.Kids[0], !denied)
		return !a, ok
	case formula.If:
		first, ok := p.is(n.Kids[0])
		a, ok1 := p.slackly(n.Kids[1], denied)
		b, ok2 := p.slackly(n.Kids[2], denied)
		if first {
			return a, ok && ok1 && ok2
		}
		return b, ok && ok1 && ok2
	case formula.Lt, formula.Le, formula.Gt, formula.Ge, formula.Eq, formula.Ne:
	default:
		return p.is(n)
	}
	l, r := p.eval(n.Kids[0]), p.eval(n.Kids[1])
	sign, ok := l.sign(r)
	if !ok {
		return false, false
	}
	if apart := l.sub(r); sign != 0 && apart.size <= hairline*(1+l.size+r.size) {
		return false, false
	}
	switch n.Op {
	case formula.Eq:
		return sign == 0, true
	case formula.Ne:
		return sign != 0, true
	case formula.Gt, formula.Ge:
		sign = -sign
	}
	return sign < 0 || sign == 0 && !denied, true
}

// limitsInFractions compares a tune's verdicts. It says how many limits it knew.
func (x *exact) limitsInFractions(t tester, tr *trial, o *compiler.Outcome) (n int) {
	t.Helper()
	for i, v := range o.Limits {
		l := x.p.Limits[i]
		x.fault = false
		b := x.limit(l)
		if x.fault && v.Problem == "" && b.here {
			t.Fatalf("%s\n%s: limit %s can't be looked at in fractions, and is judged: %s", tr.text, o.Tune.Name, l.Name, v.State)
		}
		if !b.sure {
			continue
		}
		n++
		bad := v.Bad
		if v.State == limit.Clamped {
			bad = 0 // of what was capped nothing is left
		}
		state := limit.Holds
		switch {
		case !b.here || b.cells == 0:
			state = limit.NotHere
		case b.bad > 0 && l.Mode == check.Warn:
			state = limit.Warns
		case b.bad > 0:
			state = limit.Fails
		case v.State == limit.Clamped:
			state = limit.Clamped
		}
		if v.Problem != "" || v.State != state || b.here && (v.Cells != b.cells || bad != b.bad) {
			t.Fatalf("%s\n%s: limit %s %s in %d of %d cells (%s); in fractions it %s in %d of %d", tr.text, o.Tune.Name, l.Name, v.State, v.Bad, v.Cells, v.Problem, state, b.bad, b.cells)
		}
		if m := b.margin; v.HasMargin && v.State != limit.Clamped && m.is == known {
			// Of cells that are as near as one part in 10^9 any may be told.
			exact, _ := m.x.Float64()
			if off := math.Abs(v.Margin - exact); off > m.err+4e-9*m.size {
				t.Fatalf("%s\n%s: limit %s has a margin of %v, in fractions of %v", tr.text, o.Tune.Name, l.Name, v.Margin, exact)
			}
		}
	}
	return n
}
