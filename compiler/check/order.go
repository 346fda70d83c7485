package check

import (
	"strings"

	"fettle/lang/formula"
	"fettle/lang/source"
)

// The order in which maps are computed, and circles among them.

// order sorts the maps so that each comes after those it reads.
func (c *checker) order() {
	reads := make([][]int, len(c.p.Maps))
	places := make([]map[int]*formula.Node, len(c.p.Maps)) // the expression that reads one first
	edge := func(m *Map, n *formula.Node, self bool) {
		if n == nil {
			return
		}
		for _, o := range n.MapsUsed() {
			if o == m.Index && self {
				continue
			}
			reads[m.Index] = append(reads[m.Index], o)
			if places[m.Index] == nil {
				places[m.Index] = map[int]*formula.Node{}
			}
			if _, ok := places[m.Index][o]; !ok {
				places[m.Index][o] = n
			}
		}
	}
	stepEdges := func(s *Step) {
		edge(s.Map, s.Amount, true)
		edge(s.Map, s.Where, true)
	}
	for _, m := range c.p.Maps {
		edge(m, m.Formula, false)
		for _, s := range m.Steps {
			stepEdges(s)
		}
		for _, l := range m.Clamps {
			edge(m, l.Lo, false)
			edge(m, l.Hi, false)
			edge(m, l.Where, true)
		}
	}
	for _, v := range c.p.Variants {
		for _, s := range v.Trims {
			stepEdges(s)
		}
	}
	c.p.reads = reads
	state := make([]int, len(c.p.Maps))
	var stack []int
	var visit func(int)
	visit = func(i int) {
		state[i] = 1
		stack = append(stack, i)
		for _, o := range reads[i] {
			switch state[o] {
			case 0:
				visit(o)
			case 1:
				c.mapCircle(stack, o, places)
			}
		}
		stack = stack[:len(stack)-1]
		state[i] = 2
		c.p.Order = append(c.p.Order, i)
	}
	for i := range c.p.Maps {
		if state[i] == 0 {
			visit(i)
		}
	}
}

// Dependents marks the maps that are computed from some of those marked: by a
// formula, an adjustment, a trim or a clamp that reads one, however many maps lie
// between. A map that is marked itself is one only if it reads another.
func (p *Program) Dependents(marked []bool) []bool {
	out := make([]bool, len(p.Maps))
	for _, i := range p.Order {
		for _, o := range p.reads[i] {
			out[i] = out[i] || o != i && (marked[o] || out[o])
		}
	}
	return out
}

// Needed marks the maps that those marked are computed from, and themselves.
func (p *Program) Needed(marked []bool) []bool {
	out := append([]bool(nil), marked...)
	for k := len(p.Order) - 1; k >= 0; k-- { // each before those that it reads
		if i := p.Order[k]; out[i] {
			for _, o := range p.reads[i] {
				out[o] = true
			}
		}
	}
	return out
}

// readingOf is where an expression reads a map.
func readingOf(n *formula.Node, m int) source.Span {
	at := n.Span
	n.Walk(func(k *formula.Node) {
		if (k.Op == formula.MapHere || k.Op == formula.MapAt || k.Op == formula.StepOf) && k.A == m && at == n.Span {
			at = k.Span
		}
	})
	return at
}

// maxRing is how many members of a circle are named.
const maxRing = 30

func (c *checker) mapCircle(stack []int, back int, places []map[int]*formula.Node) {
	if c.errs.Many() {
		c.errs.Add("E607", c.p.Maps[back].Span, "`%s` stands in a circle of maps too", c.p.Maps[back].Name)
		return
	}
	i := len(stack) - 1
	for stack[i] != back {
		i--
	}
	ring := stack[i:]
	var names []string
	for k, m := range ring {
		if k == maxRing {
			names = append(names, "…")
			break
		}
		names = append(names, c.p.Maps[m].Name)
	}
	text := strings.Join(append(names, c.p.Maps[back].Name), " reads ")
	last := ring[len(ring)-1]
	d := c.errs.Add("E607", readingOf(places[last][back], back), "maps go round in a circle: %s", text)
	if len(ring) == 1 {
		d.Message = "the formula of `" + c.p.Maps[back].Name + "` reads `" + c.p.Maps[back].Name + "` itself"
		d.Hint("start from another map, and change this one in a rule")
		return
	}
	for k, m := range ring[:min(len(ring)-1, maxRing)] {
		d.Note(readingOf(places[m][ring[k+1]], ring[k+1]), "`%s` reads `%s` here", c.p.Maps[m].Name, c.p.Maps[ring[k+1]].Name)
	}
	d.Hint("split one of them in two maps, what is read and what is made of it")
}
