package live

import (
	"math"

	"fettle/compiler/grid"
	"fettle/lang/formula"
)

// Look-ups between breakpoints, straight from one to the next and held beyond
// the ends.

// blockOf is where a map is read: as this adjustment finds it, or final.
func (x *expr) blockOf(m int) *block {
	if x.m != nil && m == x.m.Index && x.self != nil {
		return x.self
	}
	return x.b.final[m]
}

// coordinate is the place of a cell along an axis.
func (x *expr) coordinate(axis, r, c int) (ref string, at float64) {
	base := x.b.baseOf[x.m.Index]
	if x.along(axis) == byRow {
		return base.side(x.s, r), x.m.Base.Rows[r]
	}
	return base.head(x.s, c), x.m.Base.Cols[c]
}

// between says whether a map's bare name has to be looked up between
// breakpoints, because the cells here lie elsewhere than its own.
func (x *expr) between(n *formula.Node) bool {
	if n.Op != formula.MapHere {
		return false
	}
	m := x.b.p.Maps[n.A]
	for i, a := range m.Axes {
		points, here := m.Base.Cols, x.m.Base.Cols
		if i == 0 && len(m.Axes) == 2 {
			points = m.Base.Rows
		}
		if x.along(a) == byRow {
			here = x.m.Base.Rows
		}
		for _, k := range grid.KnotsOf(points, here) {
			if k.F != 0 {
				return true
			}
		}
	}
	return false
}

// mapHere is a map's value in a cell: its own cell, or a line between two.
func (x *expr) mapHere(index, r, c int) term {
	m, k := x.b.p.Maps[index], x.blockOf(index)
	base := x.b.baseOf[index]
	col := m.Axes[len(m.Axes)-1]
	ref, at := x.coordinate(col, r, c)
	knot := grid.Find(m.Base.Cols, at)
	along := func(row int) term {
		a := term{k.ref(x.s, row, knot.I), atom, k.at(row, knot.I)}
		if knot.F == 0 {
			return a
		}
		b := term{k.ref(x.s, row, knot.I+1), atom, k.at(row, knot.I+1)}
		return line(a, b, base.head(x.s, knot.I), base.head(x.s, knot.I+1), ref, knot.F)
	}
	if len(m.Axes) == 1 {
		return along(0)
	}
	ref2, at2 := x.coordinate(m.Axes[0], r, c)
	rows := grid.Find(m.Base.Rows, at2)
	a := along(rows.I)
	if rows.F == 0 {
		return a
	}
	return line(a, along(rows.I+1), base.side(x.s, rows.I), base.side(x.s, rows.I+1), ref2, rows.F)
}

// line goes from a to b as the place goes from the breakpoint p to q.
func line(a, b term, p, q, at string, f float64) term {
	return term{a.in(adds) + "+(" + at + "-" + p + ")/(" + q + "-" + p + ")*(" + b.in(adds) + "-" + a.in(multiplies) + ")", adds, a.val + float64(f*(b.val-a.val))}
}

// step is the size of the jump to the next cell along an axis.
func (x *expr) step(n *formula.Node, r, c int) term {
	r2, c2 := r, c
	if x.along(n.B) == byRow {
		r2 = min(r+1, len(x.m.Base.Rows)-1)
	} else {
		c2 = min(c+1, len(x.m.Base.Cols)-1)
	}
	a, b := x.mapHere(n.A, r, c), x.mapHere(n.A, r2, c2)
	return term{"ABS(" + b.text + "-" + a.in(multiplies) + ")", atom, math.Abs(b.val - a.val)}
}

// lookedUp writes for each coordinate of a look-up which breakpoint lies below
// it and how far it is towards the next. An axis of one breakpoint needs neither.
func (x *expr) lookedUp(n *formula.Node) {
	switch n.Op {
	case formula.MapAt:
		m, base := x.b.p.Maps[n.A], x.b.baseOf[n.A]
		for i := range n.Kids {
			if i == 0 && len(n.Kids) == 2 {
				x.knots(n, i, m.Name+", "+x.b.p.Axes[m.Axes[i]].Name, base.sides, m.Base.Rows)
			} else {
				x.knots(n, i, m.Name+", "+x.b.p.Axes[m.Axes[i]].Name, base.heads, m.Base.Cols)
			}
		}
	case formula.CurveAt:
		k := x.b.curve(n.Curve)
		x.knots(n, 0, "curve "+n.Curve.Name, func(from *sheet) string {
			return on(k.s, from) + fixed(k.row, 1) + ":" + fixed(k.row+k.nr-1, 1)
		}, n.Curve.X)
	}
}

// knots writes the two helpers of one coordinate.
func (x *expr) knots(n *formula.Node, i int, what string, points func(from *sheet) string, at []float64) {
	if len(at) < 2 {
		return
	}
	kid := formula.Strip(n.Kids[i])
	if !leaf(kid) && x.find(helperKey{kid, ""}) == nil {
		x.put(kid)
	}
	fixed := x.fixed(kid)
	knot := func(v float64) (below, part float64) {
		k := grid.Find(at, v)
		if k.I == len(at)-1 {
			return float64(len(at) - 1), 1
		}
		return float64(k.I + 1), k.F
	}
	inside := func(r, c int) (string, float64) {
		t := x.term(kid, r, c)
		return "MAX(" + t.text + ",INDEX(" + points(x.s) + ",1))", t.val
	}
	below := x.helper(roleOf(n, "below", i), x.shape(kid), what+": which breakpoint lies below "+x.label(kid), "", "", fixed, func(r, c int) term {
		text, v := inside(r, c)
		b, _ := knot(v)
		return term{"MIN(MATCH(" + text + "," + points(x.s) + ",1)," + number(float64(len(at)-1)).text + ")", atom, b}
	})
	x.helper(roleOf(n, "part", i), x.shape(kid), what+": how far it is towards the next, from 0 to 1", "", "", fixed, func(r, c int) term {
		text, v := inside(r, c)
		_, part := knot(v)
		k := below.ref(x.s, r, c)
		p := "INDEX(" + points(x.s) + "," + k + ")"
		return term{"MIN(1,(" + text + "-" + p + ")/(INDEX(" + points(x.s) + "," + k + "+1)-" + p + "))", atom, part}
	})
}

func roleOf(n *formula.Node, what string, i int) helperKey {
	return helperKey{n, what + [...]string{" 0", " 1"}[i]}
}

// placed reads the two helpers of a coordinate; without them the axis has one
// breakpoint.
func (x *expr) placed(n *formula.Node, i, r, c int) (below, part term, ok bool) {
	b, p := x.find(roleOf(n, "below", i)), x.find(roleOf(n, "part", i))
	if b == nil {
		return number(1), number(0), false
	}
	return term{b.ref(x.s, r, c), atom, b.at(r, c)}, term{p.ref(x.s, r, c), atom, p.at(r, c)}, true
}

// mapAt is a map looked up at any place.
func (x *expr) mapAt(n *formula.Node, r, c int) term {
	k := x.blockOf(n.A)
	col := len(n.Kids) - 1
	j, g, twoCols := x.placed(n, col, r, c)
	cell := func(i term, up int) term {
		row := i.text
		if up == 1 {
			row += "+1"
		}
		at := func(right int) term {
			text := j.text
			if right == 1 {
				text += "+1"
			}
			return term{"INDEX(" + k.all(x.s) + "," + row + "," + text + ")", atom, k.at(int(i.val)-1+up, int(j.val)-1+right)}
		}
		if !twoCols {
			return at(0)
		}
		return mix(at(0), at(1), g)
	}
	if col == 0 {
		return cell(number(1), 0)
	}
	i, f, twoRows := x.placed(n, 0, r, c)
	if !twoRows {
		return cell(i, 0)
	}
	return mix(cell(i, 0), cell(i, 1), f)
}

// mix goes the part f of the way from a to b.
func mix(a, b, f term) term {
	return term{a.in(multiplies) + "*(1-" + f.text + ")+" + b.in(multiplies) + "*" + f.text, adds, float64(a.val*(1-f.val)) + float64(b.val*f.val)}
}

// curveAt is a curve looked up at any place.
func (x *expr) curveAt(n *formula.Node, r, c int) term {
	k := x.b.curve(n.Curve)
	ys := on(k.s, x.s) + fixed(k.row, 2) + ":" + fixed(k.row+k.nr-1, 2)
	j, g, two := x.placed(n, 0, r, c)
	at := func(up int) term {
		text := j.text
		if up == 1 {
			text += "+1"
		}
		return term{"INDEX(" + ys + "," + text + ")", atom, n.Curve.Y[int(j.val)-1+up]}
	}
	if !two {
		return at(0)
	}
	return mix(at(0), at(1), g)
}
