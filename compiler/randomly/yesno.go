package randomly

// yesno is a condition. It may stand beside `and`, `or` and `not`.
func (g *gen) yesno(sc *scope, depth int) string {
	if depth > 0 {
		e := func() string { return g.yesno(sc, depth-1) }
		switch g.n(0, 5) {
		case 1:
			return "(" + e() + " and " + e() + ")"
		case 2:
			return "(" + e() + " or " + e() + ")"
		case 3:
			return "(not " + e() + ")"
		case 4:
			return "(if " + e() + " then " + e() + " else " + e() + ")"
		case 5:
			return g.compared(g.anyKind(), sc, depth-1)
		}
	}
	var list []string
	for _, a := range sc.axes {
		list = append(list, g.beside(a))
	}
	if sc.givens {
		for _, v := range g.givens {
			switch {
			case v.yesno:
				list = append(list, Mark(v.name))
			case v.rows != nil:
				list = append(list, "("+Mark(v.name)+" is "+Mark(pick(g, v.rows.rows))+")")
				if v.rows.odd != "" {
					list = append(list, Mark(v.name)+"."+Mark(v.rows.odd))
				}
			default:
				list = append(list, "("+Mark(v.name)+g.compare()+value(v.kind, v.unit, g.n(v.lo, v.hi))+")")
			}
		}
	}
	if sc.lets {
		for _, l := range g.lets {
			if l.kind < 0 && (l.fixed || !sc.fixed) {
				list = append(list, Mark(l.name))
			}
		}
	}
	for _, c := range g.catalogs {
		if c.odd != "" {
			list = append(list, Mark(c.name)+"."+Mark(c.rows[0])+"."+Mark(c.odd))
		}
	}
	if len(list) == 0 {
		return g.compared(plain, sc, 0)
	}
	return pick(g, list)
}

// beside compares an axis with a bare number, which takes its unit.
func (g *gen) beside(a int) string {
	x := &g.axes[a]
	return "(" + Mark(x.name) + g.compare() + value(x.kind, x.unit, g.n(x.lo, x.hi)) + ")"
}

func (g *gen) compare() string { return g.one(" > ", " < ", " >= ", " <= ", " == ", " != ") }

func (g *gen) compared(k int, sc *scope, depth int) string {
	return "(" + g.expr(k, sc, depth) + g.compare() + g.expr(k, sc, depth) + ")"
}

// inCells is a condition that differs from cell to cell, as `where` wants it.
func (g *gen) inCells(sc *scope, depth int) string {
	text := g.beside(pick(g, sc.axes))
	if g.once(2) {
		text += g.one(" and ", " or ") + g.yesno(sc, depth)
	}
	return text
}
