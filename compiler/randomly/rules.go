package randomly

import (
	"fmt"
	"slices"
	"strings"
)

type region struct {
	name string
	axes []int
}

func (g *gen) theRegions() {
	for i := range g.n(0, 2) {
		r := region{name: fmt.Sprintf("region%d", i)}
		var parts []string
		for range g.n(1, 2) {
			a := g.n(0, len(g.axes)-1)
			if !slices.Contains(r.axes, a) {
				r.axes = append(r.axes, a)
			}
			parts = append(parts, g.part(a))
		}
		g.regions = append(g.regions, r)
		g.add("region", fmt.Sprintf("region %s = %s", Mark(r.name), strings.Join(parts, ", ")))
	}
}

// part is a range of an axis, with a feather at times.
func (g *gen) part(a int) string {
	x := &g.axes[a]
	kd := &kinds[x.kind]
	text := Mark(x.name) + " "
	at := g.n(x.lo, x.hi)
	end := func(steps int) string {
		switch {
		case g.once(8):
			if sc := (&scope{givens: true, lets: true, fns: true}); len(g.names(x.kind, sc)) > 0 {
				if g.once(3) {
					return "(" + g.expr(x.kind, sc, 1) + ")"
				}
				return pick(g, g.names(x.kind, sc))
			}
		case g.once(4):
			u := pick(g, kd.units)
			return value(x.kind, u, steps) + u.behind()
		}
		return value(x.kind, x.unit, steps)
	}
	switch g.n(0, 2) {
	case 0:
		text += end(at) + ".."
	case 1:
		text += ".." + end(at)
	default:
		text += end(at) + ".." + end(g.n(at+1, x.hi+1))
	}
	if g.once(2) {
		wide := float64(g.n(1, 1+(kd.hi-kd.lo)/2)) * kd.step
		text += " feather " + measure{is: x.unit.is}.in(wide)
	}
	return text
}

func (g *gen) theRules() {
	for i := range g.n(0, 4) {
		head := "rule " + Mark(fmt.Sprintf("rule%d", i))
		if g.once(3) {
			head += " when " + g.yesno(&scope{givens: true, lets: true, fns: true}, g.n(0, 2))
		}
		if len(g.givens) > 0 && g.once(5) {
			head += " corrects " + Mark(pick(g, g.givens).name)
		}
		r := &Rule{head: head}
		for range g.n(1, 3) {
			r.Adj = append(r.Adj, g.adjustment())
		}
		g.p.Decls = append(g.p.Decls, &Decl{Keyword: "rule", Rule: r, Ordered: true})
	}
}

// adjustment changes some map.
func (g *gen) adjustment() *Adjustment {
	i := g.n(0, len(g.maps)-1)
	m := &g.maps[i]
	a := &Adjustment{Map: m.name}
	for _, x := range m.axes {
		a.Axes = append(a.Axes, g.axes[x].name)
	}
	sc := &scope{axes: m.axes, maps: i, self: i + 1, givens: true, lets: true, fns: true}
	a.op, a.amount = g.change(m, sc)
	if g.once(2) {
		for range g.n(1, 2) {
			x := pick(g, m.axes)
			var fit []string
			for _, r := range g.regions {
				if within(r.axes, m.axes) {
					fit = append(fit, Mark(r.name))
				}
			}
			if len(fit) > 0 && g.once(2) {
				a.Over = append(a.Over, pick(g, fit))
			} else {
				a.Over = append(a.Over, g.part(x))
			}
		}
	}
	if g.once(4) {
		a.where = g.inCells(sc, 1)
	}
	a.Elsewise = sc.elsewise
	return a
}

// change is an operator and its amount.
func (g *gen) change(m *tmap, sc *scope) (op, amount string) {
	depth := g.n(0, 2)
	sign := g.one("+=", "-=")
	switch {
	case m.kind == temp && g.once(2):
		return "=", g.expr(temp, sc, depth)
	case m.kind == temp:
		return sign, g.one(g.kelvins(), fmt.Sprint(g.n(1, 20)), "("+g.expr(temp, sc, depth)+" - "+g.expr(temp, sc, 0)+")")
	}
	switch g.n(0, 6) {
	case 0:
		return sign, g.expr(m.kind, sc, depth)
	case 1:
		if m.kind != plain { // of a map in % these are points
			return sign, fmt.Sprintf("%d %%", g.n(1, 30))
		}
		return "*=", g.one("1.05", "0.9", "2")
	case 2:
		if m.kind != plain {
			return sign, g.expr(ratio, sc, depth)
		}
		return sign, fmt.Sprint(g.n(1, 9))
	case 3:
		return "*=", "(1 + " + g.expr(plain, sc, depth) + " / 100)"
	case 4:
		return "/=", g.one(g.large(plain), "(1 + "+g.expr(plain, sc, depth)+" / 100)", g.expr(plain, sc, 0))
	case 5:
		return "*=", g.expr(plain, sc, depth)
	}
	return "=", g.expr(m.kind, sc, depth)
}

func (g *gen) theLimits() {
	for i := range g.n(0, 3) {
		k := g.n(0, len(g.maps)-1)
		m := &g.maps[k]
		text := "limit " + Mark(fmt.Sprintf("limit%d", i)) + ": "
		sc := &scope{axes: m.axes, only: m.axes, maps: len(g.maps), givens: true, lets: true, fns: true}
		where := &scope{axes: m.axes, only: m.axes, maps: k, givens: true, lets: true, fns: true}
		clamp := g.once(3)
		if clamp {
			sc.maps = k
		}
		name := Mark(m.name)
		switch form := g.n(0, 3); {
		case form == 0 || clamp && form > 1:
			text += name + g.one(" <= ", " >= ", " < ", " > ") + g.expr(m.kind, sc, g.n(0, 1))
		case form == 1:
			least := g.size(m.kind)
			most := least + float64(kinds[m.kind].step*float64(g.n(0, 40)))
			text += m.unit.in(least) + m.unit.behind() + " <= " + name + " <= " + m.unit.in(most) + m.unit.behind()
		case form == 2: // of two maps the left one would be capped
			text += g.expr(m.kind, sc, 0) + g.one(" <= ", " >= ") + name
		default:
			text += "(" + name + g.compare() + g.expr(m.kind, sc, 1) + ")" + g.one(" and ", " or ") + g.yesno(sc, 1)
		}
		if g.once(4) {
			text += " where " + g.inCells(where, 1)
		}
		if g.once(5) {
			text += " when " + g.yesno(&scope{givens: true, lets: true, fns: true}, 1)
		}
		switch {
		case clamp:
			text += " else clamp"
		case g.once(3):
			text += " else warn"
		}
		g.add("limit", text)
	}
}
