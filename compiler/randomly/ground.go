package randomly

import (
	"fmt"
	"strings"
)

type axis struct {
	name string
	kind int
	unit measure
	lo   int // its range, in steps of the kind
	hi   int
}

type catalog struct {
	name string
	rows []string
	cols []column
	odd  string // a column of yes and no
}

type column struct {
	name string
	kind int
}

// given is a condition. Of a quantity lo and hi are its range in steps; of a row
// there is a catalogue; else it is a yes/no.
type given struct {
	name   string
	kind   int
	unit   measure
	lo, hi int
	rows   *catalog
	yesno  bool
}

type let struct {
	name  string
	kind  int // -1 for a yes/no
	fixed bool
	unit  measure
}

type fn struct {
	name   string
	params []param
	kind   int
}

type param struct {
	name string
	kind int
}

type curve struct {
	name string
	of   int
	kind int
}

// ground declares all that stands under the maps.
func (g *gen) ground() {
	if g.modules = !g.opt.Exact && g.once(3); g.modules {
		g.add("use", "use air, injection")
	}
	for i := range g.n(2, 4) {
		g.axis(i)
	}
	for i := range g.n(0, 2) {
		g.catalog(i)
	}
	for i := range g.n(1, 5) {
		g.given(i)
	}
	for i := range g.n(0, 2) {
		g.curve(i)
	}
	for i := range g.n(0, 6) {
		if g.once(2) {
			g.fn(i)
		} else {
			g.let(i)
		}
	}
}

func (g *gen) axis(i int) {
	a := axis{name: fmt.Sprintf("x%d", i), kind: g.anyKind()}
	a.unit = kinds[a.kind].units[0]
	if g.once(4) {
		a.unit = pick(g, kinds[a.kind].units)
	}
	a.lo = kinds[a.kind].lo
	a.hi = kinds[a.kind].hi + 2
	step := kinds[a.kind].step
	g.axes = append(g.axes, a)
	g.add("axis", fmt.Sprintf("axis %s%s %s..%s", Mark(a.name), a.unit.head(), a.unit.in(float64(a.lo-1)*step), a.unit.in(float64(a.hi+1)*step)))
}

func (g *gen) catalog(i int) {
	c := catalog{name: fmt.Sprintf("rows%d", i)}
	var b strings.Builder
	fmt.Fprintf(&b, "catalog %s {\n  name", Mark(c.name))
	var units []measure
	for k := range g.n(1, 2) {
		col := column{fmt.Sprintf("col%d%d", i, k), g.anyKind()}
		units = append(units, g.unit(col.kind))
		c.cols = append(c.cols, col)
		fmt.Fprintf(&b, " | %s%s", Mark(col.name), units[k].head())
	}
	if g.once(2) {
		c.odd = fmt.Sprintf("odd%d", i)
		fmt.Fprintf(&b, " | %s", Mark(c.odd))
	}
	for r := range g.n(2, 3) {
		row := fmt.Sprintf("row%d%d", i, r)
		c.rows = append(c.rows, row)
		fmt.Fprintf(&b, "\n  %s", Mark(row))
		for k, col := range c.cols {
			x := g.size(col.kind)
			fmt.Fprintf(&b, " | %s", units[k].in(x))
			if u := pick(g, kinds[col.kind].units); col.kind != plain && g.once(4) {
				b.WriteString(u.behind()) // a cell with a unit of its own
			}
		}
		if c.odd != "" {
			fmt.Fprintf(&b, " | %s", g.one("no", "yes"))
		}
	}
	b.WriteString("\n}")
	g.catalogs = append(g.catalogs, c)
	g.add("catalog", b.String())
}

func (g *gen) given(i int) {
	v := given{name: fmt.Sprintf("g%d", i)}
	switch g.n(0, 3) {
	case 2:
		v.yesno = true
		g.add("given", fmt.Sprintf("given %s = %s", Mark(v.name), g.one("no", "yes")))
	case 3:
		if len(g.catalogs) > 0 {
			v.rows = &g.catalogs[g.n(0, len(g.catalogs)-1)]
			g.add("given", fmt.Sprintf("given %s from %s = %s", Mark(v.name), Mark(v.rows.name), Mark(pick(g, v.rows.rows))))
			break
		}
		fallthrough
	default:
		v.kind = g.anyKind()
		v.unit = g.unit(v.kind)
		kd := &kinds[v.kind]
		v.lo, v.hi = kd.lo, kd.hi
		text := fmt.Sprintf("given %s%s = %s", Mark(v.name), v.unit.head(), v.unit.in(g.size(v.kind)))
		switch least, most := v.unit.in(float64(v.lo-1)*kd.step), v.unit.in(float64(v.hi+1)*kd.step); g.n(0, 3) {
		case 1:
			text += " within " + least + ".." + most
		case 2:
			text += " within " + least + ".."
		case 3:
			text += " within .." + most
		}
		g.add("given", text)
	}
	g.givens = append(g.givens, v)
}

func (g *gen) curve(i int) {
	c := curve{fmt.Sprintf("curve%d", i), g.anyKind(), g.anyKind()}
	x, y := g.unit(c.of), g.unit(c.kind)
	points := g.ascending(c.of, x, g.n(1, 5))
	cells := make([]string, len(points))
	for k := range cells {
		cells[k] = y.in(g.size(c.kind))
	}
	if n := len(cells); n > 2 && g.once(3) {
		cells[g.n(0, n-1)] = "_"
	}
	g.curves = append(g.curves, c)
	g.add("curve", fmt.Sprintf("curve %s%s {\n  %s%s | %s\n  | %s\n}", Mark(c.name), y.head(), Mark("of_"+c.name), x.head(), strings.Join(points, " "), strings.Join(cells, " ")))
}

// ascending draws values of a kind, from the least to the greatest.
func (g *gen) ascending(k int, u measure, n int) []string {
	kd := &kinds[k]
	n = min(n, kd.hi-kd.lo-1)
	room := (kd.hi - kd.lo) / n // for each to the next
	at := kd.lo
	var out []string
	for range n {
		at += g.n(1, room)
		x := float64(float64(at) * kd.step)
		if g.once(6) {
			x -= float64(kd.step / 8)
		}
		out = append(out, u.in(x))
	}
	return out
}

func (g *gen) let(i int) {
	l := let{name: fmt.Sprintf("let%d", i), fixed: g.once(2), kind: -1}
	sc := &scope{givens: !l.fixed, lets: true, fns: true}
	if l.fixed {
		sc.fixed = true
	}
	if g.once(4) {
		g.add("let", fmt.Sprintf("let %s = %s", Mark(l.name), g.yesno(sc, 2)))
	} else {
		l.kind = g.anyKind()
		l.unit = g.unit(l.kind)
		g.add("let", fmt.Sprintf("let %s%s = %s", Mark(l.name), l.unit.head(), g.expr(l.kind, sc, g.n(0, 2))))
	}
	g.lets = append(g.lets, l)
}

func (g *gen) fn(i int) {
	f := fn{name: fmt.Sprintf("fn%d", i), kind: g.anyKind()}
	var params []string
	for k := range g.n(1, 3) {
		p := param{fmt.Sprintf("p%d_%d", i, k), g.anyKind()}
		u := g.unit(p.kind)
		text := Mark(p.name) + u.head()
		if g.once(3) {
			kd := &kinds[p.kind]
			text += " within " + value(p.kind, u, g.n(kd.lo-8, kd.lo+4)) + ".." + value(p.kind, u, g.n((kd.lo+kd.hi)/2, 2*kd.hi))
		}
		f.params = append(f.params, p)
		params = append(params, text)
	}
	sc := &scope{params: f.params, lets: true, fns: true, fixed: true}
	g.add("fn", fmt.Sprintf("fn %s(%s)%s = %s", Mark(f.name), strings.Join(params, ", "), g.unit(f.kind).head(), g.expr(f.kind, sc, g.n(0, 2))))
	g.fns = append(g.fns, f)
}

// value writes a number of steps of a kind.
func value(k int, u measure, steps int) string {
	return u.in(float64(steps) * kinds[k].step)
}
