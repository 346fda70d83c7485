package randomly

import (
	"slices"
	"strings"
)

// scope is what an expression may use where it stands.
type scope struct {
	axes     []int // of the cell; none where there is no cell
	maps     int   // maps before this one may be read
	self     int   // the map itself, in its own adjustment, and 1; 0 for none
	givens   bool
	lets     bool
	fixed    bool // of lets, those that depend on no given
	fns      bool
	params   []param
	point    bool  // maps are looked up, and there is no cell
	only     []int // the axes that maps which are read may have; nil for all
	elsewise bool  // it read its own map elsewhere
}

// names lists what of a kind stands by a name here.
func (g *gen) names(k int, sc *scope) (out []string) {
	for _, p := range sc.params {
		if p.kind == k {
			out = append(out, Mark(p.name))
		}
	}
	for _, a := range sc.axes {
		if g.axes[a].kind == k {
			out = append(out, Mark(g.axes[a].name))
		}
	}
	for i := range g.readable(sc) {
		m := &g.maps[i]
		if m.kind == k && !sc.point && within(m.axes, sc.axes) { // which are among those that it may have
			out = append(out, Mark(m.name))
		}
	}
	if s := sc.self - 1; s >= 0 && g.maps[s].kind == k {
		out = append(out, Mark(g.maps[s].name))
	}
	if sc.givens {
		for _, v := range g.givens {
			switch {
			case v.rows != nil:
				for _, c := range v.rows.cols {
					if c.kind == k {
						out = append(out, Mark(v.name)+"."+Mark(c.name))
					}
				}
			case !v.yesno && v.kind == k:
				out = append(out, Mark(v.name))
			}
		}
	}
	if sc.lets {
		for _, l := range g.lets {
			if l.kind == k && (l.fixed || !sc.fixed) {
				out = append(out, Mark(l.name))
			}
		}
	}
	for _, c := range g.catalogs {
		for _, col := range c.cols {
			if col.kind == k {
				out = append(out, Mark(c.name)+"."+Mark(c.rows[0])+"."+Mark(col.name))
			}
		}
	}
	return out
}

// readable is how many of the maps may be read.
func (g *gen) readable(sc *scope) int { return min(sc.maps, len(g.maps)) }

func within(some, all []int) bool {
	for _, a := range some {
		if !slices.Contains(all, a) {
			return false
		}
	}
	return true
}

// leaf is a literal or a name.
func (g *gen) leaf(k int, sc *scope) string {
	names := g.names(k, sc)
	if len(names) == 0 || !g.once(4) && g.once(3) {
		return g.literal(k)
	}
	return pick(g, names)
}

// expr is an expression of a kind. It may stand beside any operator.
func (g *gen) expr(k int, sc *scope, depth int) string {
	if depth <= 0 {
		return g.leaf(k, sc)
	}
	e := func() string { return g.expr(k, sc, depth-1) }
	p := func() string { return g.expr(plain, sc, depth-1) }
	if k == temp {
		switch g.n(0, 6) {
		case 0:
			return g.leaf(k, sc)
		case 1:
			return "(" + e() + g.one(" + ", " - ") + g.kelvins() + ")"
		case 2:
			return "(" + e() + " + (" + e() + " - " + e() + "))"
		case 3:
			return g.one("min(", "max(") + e() + ", " + e() + ")"
		case 4:
			return g.choice(k, sc, depth)
		}
		return g.call(k, sc, depth)
	}
	switch g.n(0, 13) {
	case 0:
		return g.leaf(k, sc)
	case 1, 2:
		return "(" + e() + g.one(" + ", " - ") + e() + ")"
	case 3:
		return "(" + e() + " * " + p() + ")"
	case 4:
		if g.once(3) {
			return "(" + e() + " / " + p() + ")"
		}
		return "(" + e() + " / " + g.large(plain) + ")"
	case 5:
		return "(" + p() + " * " + g.literal(k) + ")"
	case 6:
		return g.one("min(", "max(") + e() + ", " + e() + g.one("", ", "+g.leaf(k, sc)) + ")"
	case 7:
		lo := g.lowest(k, sc)
		if g.once(4) {
			return "clamp(" + e() + ", " + lo + ", " + g.expr(k, sc, 0) + ")" // which may contradict
		}
		return "clamp(" + e() + ", " + lo + ", " + lo + " + " + g.large(k) + ")"
	case 8:
		return g.choice(k, sc, depth)
	case 9:
		return g.one("abs("+e()+")", "(-"+e()+")")
	case 10:
		return g.whole(k, sc, depth)
	case 11:
		if !g.opt.Exact {
			return g.curved(k, sc, depth)
		}
	}
	return g.call(k, sc, depth)
}

// lowest is a name if there is one, or an amount below all others.
func (g *gen) lowest(k int, sc *scope) string {
	if names := g.names(k, sc); len(names) > 0 {
		return pick(g, names)
	}
	return "(" + g.literal(k) + " - " + g.large(k) + " * 100)"
}

func (g *gen) choice(k int, sc *scope, depth int) string {
	return "(if " + g.yesno(sc, depth-1) + " then " + g.expr(k, sc, depth-1) + " else " + g.expr(k, sc, depth-1) + ")"
}

// whole makes whole numbers, or a plain number of another kind.
func (g *gen) whole(k int, sc *scope, depth int) string {
	if k != plain || g.once(2) {
		f := g.one("round(", "floor(", "ceil(") + g.share(k, sc, depth) + ")"
		if k == plain {
			return f
		}
		return "(" + f + " * " + g.large(k) + ")"
	}
	return g.share(g.anyKind(), sc, depth)
}

// share is a plain number: how many of something a quantity is.
func (g *gen) share(k int, sc *scope, depth int) string {
	switch k {
	case plain:
		return "(" + g.expr(plain, sc, depth-1) + ")"
	case temp:
		return "((" + g.expr(temp, sc, depth-1) + " - " + g.leaf(temp, sc) + ") / " + g.kelvins() + ")"
	}
	// In one unit, so that no factor is left to be one per cent or a thousand.
	a, b := g.expr(k, sc, depth-1), g.large(k)
	if g.once(5) {
		b = "(" + g.leaf(k, sc) + " - " + g.leaf(k, sc) + ")" // 0 at times
	}
	return "(" + a + " / " + b + ")"
}

// curved is what has no exact answer.
func (g *gen) curved(k int, sc *scope, depth int) string {
	e := g.expr(k, sc, depth-1)
	if k != plain {
		return g.one("sqrt("+e+" * "+g.expr(k, sc, depth-1)+")", "(("+e+") ^ 2 / "+g.large(k)+")", "("+e+" * ("+g.large(k)+") ^ 0.5 / ("+g.large(k)+") ^ 0.5)")
	}
	switch g.n(0, 5) {
	case 0:
		return "exp(" + e + " / 50)"
	case 1:
		return "log(abs(" + e + ") + 1)"
	case 2:
		return "((" + e + ") ^ " + g.one("2", "3", "0.5", "-1", "5.25588") + ")"
	case 3:
		return "((" + e + ") ^ " + g.expr(plain, sc, depth-1) + ")"
	case 4:
		return "sqrt(abs(" + e + "))"
	}
	return g.one("log(", "exp(", "sqrt(") + e + ")"
}

// call is a function, a curve or a map at some place.
func (g *gen) call(k int, sc *scope, depth int) string {
	if g.modules && sc.fns && g.once(4) {
		if text := g.ofLibrary(k, sc, depth); text != "" {
			return text
		}
	}
	type callee struct {
		name string
		args []int
		self bool
		step bool
	}
	var list []callee
	if sc.fns {
		for _, f := range g.fns {
			if f.kind == k {
				var args []int
				for _, p := range f.params {
					args = append(args, p.kind)
				}
				list = append(list, callee{name: Mark(f.name), args: args})
			}
		}
	}
	for _, c := range g.curves {
		if c.kind == k {
			list = append(list, callee{name: Mark(c.name), args: []int{c.of}})
		}
	}
	look := func(m *tmap, self bool) {
		if m.kind != k || sc.only != nil && !within(m.axes, sc.only) {
			return
		}
		var args []int
		for _, a := range m.axes {
			args = append(args, g.axes[a].kind)
		}
		list = append(list, callee{name: Mark(m.name), args: args, self: self})
		for _, a := range m.axes {
			if k != temp && !sc.point && within(m.axes, sc.axes) {
				list = append(list, callee{name: "step(" + Mark(m.name) + ", " + Mark(g.axes[a].name) + ")", step: true, self: self})
			}
		}
	}
	for i := range g.readable(sc) {
		look(&g.maps[i], false)
	}
	if sc.self > 0 {
		look(&g.maps[sc.self-1], true)
	}
	if len(list) == 0 {
		return g.leaf(k, sc)
	}
	c := pick(g, list)
	sc.elsewise = sc.elsewise || c.self
	if c.step {
		return c.name
	}
	var args []string
	for _, a := range c.args {
		args = append(args, g.expr(a, sc, depth-1))
	}
	return c.name + "(" + strings.Join(args, ", ") + ")"
}

// ofLibrary calls a function of the standard library; "" where none gives the kind.
func (g *gen) ofLibrary(k int, sc *scope, depth int) string {
	e := func(k int) string { return g.expr(k, sc, depth-1) }
	switch k {
	case pressure:
		return "air.pressure(" + e(length) + ")"
	case plain:
		return "(air.density(" + e(pressure) + ", " + e(temp) + ", " + e(ratio) + ") / 1.2 [kg/m^3])"
	case lapse:
		return "injection.open_time(" + e(mass) + ", 420 [g/min], " + g.leaf(lapse, sc) + ")"
	case ratio:
		return "injection.duty(" + e(lapse) + ", " + e(speed) + ", 1 rev)"
	}
	return ""
}
