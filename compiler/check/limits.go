package check

import (
	"slices"
	"strings"

	"fettle/lang/diag"
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

func (c *checker) limits() {
	for _, d := range c.p.Resolved.Decls {
		ld, ok := d.(*syntax.Limit)
		if !ok || !c.owns(d) {
			continue
		}
		l := &Limit{Name: ld.Name.Text, Span: ld.Name.Span, Doc: ld.Doc, Text: source.OneLine(ld.Cond.Span.Text())}
		ctx := formula.Context{Scope: c.root, Cell: true, Maps: true, AnyAx: true, Givens: true, Chain: true, What: "a limit"}
		l.Cond = c.yesNo(ld.Cond, ctx, "a limit")
		good := l.Cond != nil
		if ld.Where != nil {
			ctx.What, ctx.Chain = "`where`", false
			if l.Where = c.yesNo(ld.Where, ctx, "`where`"); l.Where == nil {
				good = false
			} else if !l.Where.OnCell() {
				d := c.errs.Add("E703", ld.Where.Span, "this `where` is the same in every cell").Hint("what depends on conditions alone belongs in `when`")
				if word := wordBefore(ld.Where.Span, "where"); ld.When == nil && !word.IsZero() {
					d.Suggest(word, "when", "what depends on conditions alone belongs in `when`")
				}
				good = false
			}
		}
		if ld.When != nil {
			l.When = c.yesNo(ld.When, formula.Context{Scope: c.root, Givens: true, What: "`when`", Use: "what depends on the axes belongs in `where`"}, "`when`")
			good = good && l.When != nil
		}
		if ld.Else != nil {
			switch ld.Else.Text {
			case "warn":
				l.Mode = Warn
			case "clamp":
				l.Mode = Clamp
			default:
				d := c.errs.Add("E801", ld.Else.Span, "`else %s` is unknown", ld.Else.Text).Hint("write `else warn` or `else clamp`; without it a breach fails the tune")
				if near := diag.Nearest(ld.Else.Text, []string{"warn", "clamp"}); near != "" {
					d.Suggest(ld.Else.Span, near, "did you mean `%s`?", near)
				}
				good = false
			}
		}
		good = c.extents(l, ld) && good
		if !good || l.Mode == Clamp && !c.clamp(l, ld) || !c.limitCells(l, ld) {
			continue
		}
		if l.Clamped != nil {
			l.Clamped.Clamps = append(l.Clamped.Clamps, l)
		}
		l.Index = len(c.p.Limits)
		c.p.Limits = append(c.p.Limits, l)
	}
}

// limitCells finds the maps that a limit names and the axes of its cells.
func (c *checker) limitCells(l *Limit, d *syntax.Limit) bool {
	l.Maps = l.Cond.MapsUsed()
	if len(l.Maps) == 0 {
		c.errs.Add("E802", d.Cond.Span, "limit `%s` names no map", l.Name).Hint("a limit bounds a map's cells, as in `duty <= 85 %%`; a given's bounds are its `within`")
		return false
	}
	for _, m := range l.Where.MapsUsed() { // its breakpoints are looked at too
		if !slices.Contains(l.Maps, m) {
			l.Maps = append(l.Maps, m)
		}
	}
	l.Axes = c.limitAxes(l)
	if len(l.Axes) > 2 {
		names := make([]string, len(l.Axes))
		for i, a := range l.Axes {
			names[i] = c.p.Axes[a].Name
		}
		c.errs.Add("E803", d.Cond.Span, "the maps of limit `%s` run over more than two axes: %s", l.Name, join(names)).Hint("split it in two limits, or look one map up at a point")
		return false
	}
	ok := true
	for _, n := range []*formula.Node{l.Cond, l.Where} {
		if n == nil {
			continue
		}
		n.Walk(func(k *formula.Node) {
			wants := []int{}
			switch k.Op {
			case formula.AxisVal:
				wants = append(wants, k.A)
			case formula.MapHere, formula.StepOf:
				wants = c.p.Maps[k.A].Axes
			}
			for _, a := range wants {
				found := false
				for _, have := range l.Axes {
					found = found || have == a
				}
				if !found && ok {
					c.errs.Add("E317", k.Span, "the maps of limit `%s` have no axis `%s`", l.Name, c.p.Axes[a].Name)
					ok = false
				}
			}
		})
	}
	return ok
}

// limitAxes are the axes of a limit's cells: those of its maps, or of the one
// map that it clamps. Maps over two axes say which is the rows'.
func (c *checker) limitAxes(l *Limit) (axes []int) {
	if l.Clamped != nil {
		return l.Clamped.Axes
	}
	for _, two := range []bool{true, false} {
		for _, m := range l.Maps {
			for _, a := range c.p.Maps[m].Axes {
				if (len(c.p.Maps[m].Axes) == 2) == two && !slices.Contains(axes, a) {
					axes = append(axes, a)
				}
			}
		}
	}
	return axes
}

// wordBefore places a clause's word by the expression that follows it.
func wordBefore(s source.Span, word string) source.Span {
	text := strings.TrimRight(s.File.Text[:s.From], " \t\r\n")
	if !strings.HasSuffix(text, word) {
		return source.Span{}
	}
	return source.Span{File: s.File, From: len(text) - len(word), To: len(text)}
}

// clamp reads a clamping limit: one bare map between bounds.
func (c *checker) clamp(l *Limit, d *syntax.Limit) bool {
	bad := func(n *formula.Node, why string) bool {
		c.errs.Add("E804", n.Span, "a clamp bounds one map by a value, and %s", why).Hint("as in `limit %s: spark <= 28 deg else clamp`", l.Name)
		return false
	}
	subject := clampSubject(l.Cond)
	var parts func(n *formula.Node) bool
	parts = func(n *formula.Node) bool {
		n = formula.Strip(n)
		upper := false
		switch n.Op {
		case formula.And:
			return parts(n.Kids[0]) && parts(n.Kids[1])
		case formula.Lt, formula.Le:
			upper = true
		case formula.Gt, formula.Ge:
		case formula.Eq:
			return bad(n, "`==` doesn't say to which side")
		default:
			return bad(n, "this is no such bound")
		}
		left, right := n.Kids[0], n.Kids[1]
		if formula.Plain(left).Op != formula.MapHere || formula.Plain(right).Op == formula.MapHere && formula.Plain(right).A == subject {
			left, right, upper = right, left, !upper
		}
		here := formula.Plain(left)
		if here.Op != formula.MapHere {
			return bad(n.Kids[0], "`"+source.OneLine(n.Kids[0].Span.Text())+"` is not one map alone")
		}
		if l.Clamped != nil && l.Clamped.Index != here.A {
			return bad(n, "this is a second one, `"+c.p.Maps[here.A].Name+"`")
		}
		m := c.p.Maps[here.A]
		if right.UsesMap(here.A) {
			c.errs.Add("E804", right.Span, "the bound of a clamp on `%s` reads `%s` itself", m.Name, m.Name)
			return false
		}
		l.Clamped = m
		bound := formula.ConvertTo(right, m.Unit)
		if upper {
			if l.Hi != nil {
				return bad(n, "this is a second upper bound")
			}
			l.Hi = bound
		} else {
			if l.Lo != nil {
				return bad(n, "this is a second lower bound")
			}
			l.Lo = bound
		}
		return true
	}
	return parts(l.Cond)
}

// clampSubject finds the map that a clamp is about where its bounds are maps
// too: the one in the middle of a range, else the one on the left, as the
// sentence says it. -1 where no map stands alone.
func clampSubject(cond *formula.Node) int {
	var first, second [2]int
	found := 0
	bare := func(n *formula.Node) int {
		if p := formula.Plain(n); p.Op == formula.MapHere {
			return p.A
		}
		return -1
	}
	var look func(n *formula.Node)
	look = func(n *formula.Node) {
		n = formula.Strip(n)
		switch {
		case n.Op == formula.And:
			look(n.Kids[0])
			look(n.Kids[1])
		case len(n.Kids) == 2:
			sides := [2]int{bare(n.Kids[0]), bare(n.Kids[1])}
			if found == 0 {
				first = sides
			} else {
				second = sides
			}
			found++
		}
	}
	look(cond)
	if found == 2 {
		for _, m := range first {
			if m >= 0 && (m == second[0] || m == second[1]) {
				return m
			}
		}
	}
	if found > 0 && first[0] >= 0 {
		return first[0]
	}
	if found > 0 {
		return first[1]
	}
	return -1
}
