package diff

import (
	"fmt"
	"math"
	"sort"
)

// Cause is what an element did to a map, in words.
type Cause struct {
	Element *Element
	Change  string // at the worst cell: "+0.500 ms of a net +0.870 ms"
	Range   string // over all cells that it moves: "-0.2 to +0.5 ms in 3 cells"; "" where one cell differs
	Place   string // on the new side, and on the old one if that is another: "tune.fettle:52 (was :50)"
}

// Causes says what moved the worst cell, most first, and then the others.
func (m *MapDiff) Causes() []Cause {
	w := m.Summary.Worst
	parts := append([]*Part(nil), m.Parts...)
	sort.SliceStable(parts, func(i, j int) bool {
		a, b := parts[i], parts[j]
		if x, y := math.Abs(a.Exact[w]), math.Abs(b.Exact[w]); x != y {
			return x > y
		}
		return largest(a.Exact) > largest(b.Exact)
	})
	var out []Cause
	for i, p := range parts {
		c := Cause{Element: p.Element, Change: m.ChangeText(p.Printed[w]), Place: p.Element.placesIn(m.Map)}
		if len(m.Cells) > 1 {
			c.Range = m.rangeOf(p)
		}
		if i == 0 && len(parts) > 1 {
			c.Change += " of a net " + m.ChangeText(m.Cells[w].Change)
		}
		out = append(out, c)
	}
	return out
}

// because says what moved the worst cell and the others, and which clamps cap
// that cell, since what rules do past a cap isn't seen.
func (t *textWriter) because(p *Pair, m *MapDiff) {
	causes := m.Causes()
	var n, a, r, f int
	for _, c := range causes {
		n, a, r, f = max(n, width(c.Element.Name)), max(a, width(c.Change)), max(r, width(c.Range)), max(f, width(c.Place))
	}
	if r > 0 {
		r += 3
	}
	for i, c := range causes {
		word := ""
		if i == 0 {
			word = "because"
		}
		text := fmt.Sprintf("%s   %s   %s%s", pad(c.Element.Name, n), pad(c.Change, a), pad(c.Range, r), pad(c.Place, f))
		why := c.Element.Why
		if why != "" && 2+label+width(text)+3+width(why) <= t.opt.Width {
			text, why = text+"   "+why, ""
		}
		t.labelled(word, "%s", text)
		if why != "" {
			t.labelled("", "  %s", why)
		}
	}
	for i, c := range m.Clamps {
		word := ""
		if i == 0 && len(causes) == 0 {
			word = "because"
		}
		t.labelled(word, "clamped by limit %s %s   %s", c.Limit, p.Sides(c.In), c.Place)
	}
}

// Sides names the sides of which something is true.
func (p *Pair) Sides(in string) string {
	switch in {
	case InOld:
		return "in " + p.Labels[0]
	case InNew:
		return "in " + p.Labels[1]
	}
	return "on both sides"
}

func largest(list []float64) float64 {
	out := 0.0
	for _, x := range list {
		out = max(out, math.Abs(x))
	}
	return out
}

// rangeOf says what a part came to over the cells.
func (m *MapDiff) rangeOf(p *Part) string {
	n, lo, hi := 0, 0.0, 0.0
	for _, x := range p.Printed {
		if x == 0 {
			continue
		}
		if n++; n == 1 {
			lo, hi = x, x
		}
		lo, hi = min(lo, x), max(hi, x)
	}
	switch {
	case n == 0:
		return "less than is printed"
	case lo == hi:
		return fmt.Sprintf("%s in %s", m.ChangeText(hi), counted(n, "cell", "cells"))
	}
	return fmt.Sprintf("%s to %s in %s", signed(lo, m.decimals), m.ChangeText(hi), counted(n, "cell", "cells"))
}
