package prove

import (
	"math"

	"fettle/compiler/grid"
	"fettle/compiler/interval"
	"fettle/lang/formula"
)

const (
	no    = interval.No
	yes   = interval.Yes
	maybe = interval.Maybe
)

func truthOf(b bool) interval.Truth { return interval.Of(b) }

// whole rounds a form to whole numbers. Where it comes to one number for all, that
// is it; else the error of rounding is added to the linear part.
func (f *form) whole(op formula.Op, x *form) {
	natural := interval.Floor(x.I)
	shift, most := -0.5, 0.5 // where the result lies from x, and by how much that differs
	switch op {
	case formula.Ceil:
		natural, shift = interval.Ceil(x.I), 0.5
	case formula.Round:
		natural, shift = interval.Round(x.I), 0
	}
	out := *x
	out.c += shift
	out.e = float64((out.e+most+float64(roundoff*(math.Abs(out.c)+1)))*grown) + tiny
	out.settle(natural)
	out.bad = out.bad || x.bad
	*f = out
}

// table is a map's cells in a box.
type table struct {
	rows, cols []float64
	cells      []form
	done       bool
}

// between sets f to the fraction by of the way from x to y, as grid does it. As one
// expression it is tighter than its three operations in a row.
func (f *form) between(x, y *form, by float64) {
	if x.IsPoint() && y.IsPoint() {
		*f = pointOf(x.Lo+float64(by*float64(y.Lo-x.Lo)), x, y)
		return
	}
	var spare form
	x, y = agree(x, y, &spare)
	rest := 1 - by
	out := form{c: float64(rest*x.c) + float64(by*y.c), own: max(x.own, y.own), bad: x.bad || y.bad}
	size := max(x.Mag(), y.Mag(), math.Abs(x.c), math.Abs(y.c))
	for i := range out.a {
		out.a[i] = float64(rest*x.a[i]) + float64(by*y.a[i])
		size = max(size, math.Abs(x.a[i]), math.Abs(y.a[i]))
	}
	pad := float64(4 * symbols * roundoff * size)
	out.e = float64((float64(rest*x.e)+float64(by*y.e)+pad)*grown) + tiny
	lo, hi := float64(rest*x.Lo)+float64(by*y.Lo), float64(rest*x.Hi)+float64(by*y.Hi)
	out.settle(interval.I{Lo: lo - pad, Hi: hi + pad})
	*f = out
}

// at is the look-up at knots: a cell where it stands, or else worked out into f.
func (t *table) at(f *form, r, c grid.Knot) *form {
	if r.F == 0 {
		return t.along(f, r.I, c)
	}
	var x, y form
	f.between(t.along(&x, r.I, c), t.along(&y, r.I+1, c), r.F)
	return f
}

func (t *table) along(f *form, r int, c grid.Knot) *form {
	i := r*len(t.cols) + c.I
	if c.F == 0 {
		return &t.cells[i]
	}
	f.between(&t.cells[i], &t.cells[i+1], c.F)
	return f
}

// segments is the most stretches of an axis that a coordinate may span to be looked
// at one by one.
const segments = 3

// stretch is a part of a table along one axis: from breakpoint i on, with the
// fraction of the way to the next one; or breakpoint i alone, if there is no way.
type stretch struct {
	i   int
	way bool
	f   form
}

// stretches cuts a coordinate at the breakpoints; ok is false where there are too
// many. from and to are the first and the last breakpoint touched.
func stretches(points []float64, x *form, list []stretch) (out []stretch, from, to int, ok bool) {
	lo, hi := grid.Find(points, x.Lo), grid.Find(points, x.Hi)
	from, to = lo.I, hi.I
	if hi.F != 0 {
		to++
	}
	if x.IsPoint() {
		return append(list, stretch{lo.I, lo.F != 0, point(lo.F)}), from, to, true
	}
	if to-from > segments {
		return nil, from, to, false
	}
	last := len(points) - 1
	if x.Lo < points[0] || last == 0 {
		list = append(list, stretch{i: 0})
	}
	for i := from; i < min(to, last); i++ {
		a, width := point(points[i]), point(points[i+1]-points[i])
		var f form
		f.add(x, &a, -1)
		f.div(&f, &width)
		f.settle(f.within(interval.I{Lo: 0, Hi: 1}))
		list = append(list, stretch{i, true, f})
	}
	if x.Hi >= points[last] && last > 0 {
		list = append(list, stretch{i: last})
	}
	return list, from, to, true
}

// look looks a table up at coordinates that may vary. It is one of the values of the
// stretches that the coordinates may be in.
func (b *box) look(v *form, t *table, args []*form) {
	for _, a := range args {
		if a.bad {
			*v = unknown
			return
		}
	}
	var mem [2][segments + 2]stretch
	row := []stretch{{}}
	r0, r1, fine := 0, 0, true
	if t.rows != nil {
		row, r0, r1, fine = stretches(t.rows, args[0], mem[0][:0])
	}
	col, c0, c1, also := stretches(t.cols, args[len(args)-1], mem[1][:0])
	n := len(t.cols)
	if !fine || !also {
		out := interval.Empty
		for r := r0; r <= r1; r++ {
			for c := c0; c <= c1; c++ {
				if t.cells[r*n+c].bad {
					*v = unknown
					return
				}
				out = interval.Hull(out, t.cells[r*n+c].I)
			}
		}
		v.setRange(out)
		v.slack(8 * roundoff)
		return
	}
	first := true
	for i := range row {
		for j := range col {
			r, c := &row[i], &col[j]
			var x form
			lineAt(&x, t.cells[r.i*n:], c)
			if r.way {
				var y form
				lineAt(&y, t.cells[(r.i+1)*n:], c)
				mix(&x, &y, &r.f)
			}
			if first {
				*v, first = x, false
				continue
			}
			b.joins++
			v.join(v, &x, b.joins)
		}
	}
}

func lineAt(v *form, row []form, c *stretch) {
	*v = row[c.i]
	if c.way {
		mix(v, &row[c.i+1], &c.f)
	}
}

// mix goes a fraction of the way from x to y, which stays between the two.
func mix(x, y, by *form) {
	if by.IsPoint() {
		x.between(x, y, by.Lo)
		return
	}
	hull := ranged(interval.Hull(x.I, y.I))
	hull.slack(8 * roundoff)
	var out form
	out.add(y, x, -1)
	out.mul(&out, by)
	out.add(x, &out, 1)
	if !out.bad {
		out.settle(out.within(hull.I))
	}
	*x = out
}

// lookup is a look-up of a map.
func (b *box) lookup(v *form, m int, args []*form) {
	b.look(v, &b.tables[m], args)
}

// curve is formula.Curve.At.
func (b *box) curve(v *form, c *formula.Curve, x *form) {
	if x.IsPoint() {
		*v = point(c.At(x.Lo))
		v.bad = v.bad || x.bad
		return
	}
	t := table{cols: c.X, cells: make([]form, len(c.Y))}
	for i, y := range c.Y {
		t.cells[i] = point(y)
	}
	b.look(v, &t, []*form{x})
}
