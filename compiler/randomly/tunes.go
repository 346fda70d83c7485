package randomly

import (
	"fmt"
	"strings"
)

// theTunes declares single variants, matrices, and variants that come from either.
func (g *gen) theTunes() {
	g.variants = []string{Mark("bench")}
	g.add("variant", "variant "+Mark("bench")+" { }")
	for i := range g.n(0, 2) {
		name := Mark(fmt.Sprintf("v%d", i))
		from := ""
		if g.once(2) {
			from = " from " + pick(g, g.variants)
		}
		var lines []string
		for _, v := range g.some() {
			text, _ := g.setting(v, 0)
			lines = append(lines, Mark(v.name)+" = "+text)
		}
		for range g.n(0, 2) {
			lines = append(lines, "trim "+g.adjustment().text())
		}
		g.variants = append(g.variants, name)
		g.add("variant", block("variant "+name+from, lines))
	}
	if g.once(3) {
		g.matrix()
	}
}

// some draws some of the givens, each once.
func (g *gen) some() (out []given) {
	for _, v := range g.givens {
		if g.once(2) {
			out = append(out, v)
		}
	}
	return out
}

// setting is a value for a given, the i-th of several, and how a tune's name has
// it; "" where that isn't plain.
func (g *gen) setting(v given, i int) (text, inName string) {
	switch {
	case v.yesno:
		if i > 0 {
			return "yes", Mark(v.name)
		}
		return "no", "no_" + Mark(v.name)
	case v.rows != nil:
		row := Mark(v.rows.rows[i%len(v.rows.rows)])
		return row, row
	}
	room := (v.hi - v.lo) / 3
	text = value(v.kind, v.unit, v.lo+i*room+g.n(0, room-1))
	if v.unit.text == "" && !strings.HasPrefix(text, "-") {
		return text, text
	}
	if g.once(2) {
		text += v.unit.behind()
	} else if g.once(3) {
		return "(" + text + v.unit.behind() + ")", ""
	}
	return text, ""
}

func (g *gen) matrix() {
	name := Mark("season")
	var lines []string
	member := name + "/"
	known := true
	for _, v := range g.some() {
		n := g.n(1, 3)
		if v.yesno || v.rows != nil {
			n = min(n, 2)
		}
		var list []string
		for i := range n {
			text, inName := g.setting(v, i)
			list = append(list, text)
			if i == 0 {
				known = known && inName != ""
				member += inName + "-"
			}
		}
		lines = append(lines, Mark(v.name)+" = "+strings.Join(list, ", "))
	}
	if len(lines) == 0 {
		return
	}
	if g.once(3) {
		lines = append(lines, "trim "+g.adjustment().text())
	}
	member = strings.TrimSuffix(member, "-")
	excepted := false
	if g.once(4) {
		lines = append(lines, "except "+g.yesno(&scope{givens: true, lets: true, fns: true}, 1))
		excepted = true
	}
	g.families = append(g.families, name)
	g.add("variants", block("variants "+name+g.one("", " from "+Mark("bench")), lines))
	if known && !excepted && g.once(2) {
		g.variants = append(g.variants, Mark("late"))
		g.add("variant", block("variant "+Mark("late")+" from "+member, []string{"trim " + g.adjustment().text()}))
	}
}

func block(head string, lines []string) string {
	if len(lines) == 0 {
		return head + " { }"
	}
	return head + " {\n  " + strings.Join(lines, "\n  ") + "\n}"
}

// theChecks states values, most of them wrong ones.
func (g *gen) theChecks() {
	for i := range g.n(0, 2) {
		sc := &scope{maps: len(g.maps), givens: true, lets: true, fns: true, point: true}
		var lines []string
		for range g.n(1, 2) {
			k := g.anyKind()
			left := g.expr(k, sc, g.n(0, 2))
			switch g.n(0, 2) {
			case 0:
				lines = append(lines, left+" == "+g.expr(k, sc, 0))
			case 1:
				lines = append(lines, left+" == "+g.expr(k, sc, 0)+" +- "+g.tolerance(k))
			default:
				lines = append(lines, g.compared(k, sc, 1))
			}
		}
		g.add("check", block(fmt.Sprintf("check \"number %d\" with %s", i, g.one(append([]string{"*"}, g.variants...)...)), lines))
	}
}

func (g *gen) tolerance(k int) string {
	switch {
	case k == temp:
		return g.kelvins()
	case k == plain || g.once(2): // a share; of a share of something, a bare number says too little
		return "5 %"
	}
	return g.large(k)
}
