package prove

import (
	"container/heap"
	"fmt"
	"math"

	"fettle/compiler/interval"
	"fettle/compiler/limit"
)

// near is the share of the least room found by looking that is let go: room that is
// certain to so much isn't sought further. polish is how many boxes are spent on it
// once the limit is proved.
const (
	near   = 0.1
	polish = 12
)

// node is a box that was judged.
type node struct {
	span []interval.I
	bound
	nth int
}

// nodes are in order of the least room, those that don't hold first.
type nodes []*node

func (h nodes) Len() int { return len(h) }
func (h nodes) Less(i, j int) bool {
	a, b := h[i], h[j]
	switch {
	case a.holds != b.holds:
		return b.holds
	case a.room != b.room:
		return a.room < b.room
	}
	return a.nth < b.nth
}
func (h nodes) Swap(i, j int) { h[i], h[j] = h[j], h[i] }
func (h *nodes) Push(x any)   { *h = append(*h, x.(*node)) }
func (h *nodes) Pop() any {
	old := *h
	n := old[len(old)-1]
	*h = old[:len(old)-1]
	return n
}

// proving is the search for one limit.
type proving struct {
	*session
	l     *limitCode
	open  nodes
	boxes int
	worst found // the least room found by looking
	vms   *machines
}

// prove proves a limit, or refutes it.
func (s *session) prove(l *limitCode, budget int) *Verdict {
	p := &proving{session: s, l: l}
	span := make([]interval.I, len(s.dims))
	for k, d := range s.dims {
		span[k] = interval.I{Lo: d.Lo, Hi: d.Hi}
	}
	if l.total > maxCells {
		return &Verdict{Limit: l.Limit, State: Undecided, Conditions: p.conditions(middle(span)), Problem: fmt.Sprintf("its maps have %d cells together, and a limit is proved over ranges for at most %d", l.total, maxCells)}
	}
	if v := p.looks(span); v != nil {
		return v
	}
	if b := p.visit(span); !b.holds {
		if v := p.lookNear(span, b); v != nil {
			return v
		}
	}
	spent := 0
	for {
		n := p.open[0]
		k := p.side(n, span)
		if n.holds && (n.room >= p.goal() || spent == polish) || (p.boxes+2)*p.l.cost > budget || k < 0 {
			return p.verdict(n)
		}
		if n.holds {
			spent += 2
		}
		heap.Pop(&p.open)
		mid := n.span[k].Mid()
		for _, half := range [2]interval.I{{Lo: n.span[k].Lo, Hi: mid}, {Lo: mid, Hi: n.span[k].Hi}} {
			part := append([]interval.I(nil), n.span...)
			part[k] = half
			if b := p.visit(part); !b.holds {
				if v := p.lookNear(part, b); v != nil {
					return v
				}
			}
		}
	}
}

// looks looks at the middle of the range, which also gives what is the same all over
// it, and at its corners.
func (p *proving) looks(span []interval.I) *Verdict {
	if v := p.look(middle(span)); v != nil {
		return v
	}
	p.base = p.x.p.Tune(p.mix(p.at(middle(span))), p.options(p.l, false))
	var dims []int
	for k, d := range p.dims {
		if p.l.givens.Has(d.Given) && !span[k].IsPoint() && len(dims) < 4 {
			dims = append(dims, k)
		}
	}
	for c := range 1 << len(dims) {
		at := middle(span)
		for i, k := range dims {
			if at[k] = span[k].Lo; c>>i&1 == 1 {
				at[k] = span[k].Hi
			}
		}
		if v := p.look(at); v != nil {
			return v
		}
	}
	return nil
}

// look looks at the tune at some conditions, and gives a verdict if that refutes the
// limit.
func (p *proving) look(values []float64) *Verdict {
	f := p.lookAt(p.l, values)
	if f.broken {
		if v := p.refute(f); v != nil {
			return v
		}
		return nil
	}
	if f.seen && (!p.worst.seen || f.room < p.worst.room) {
		p.worst = f
	}
	return nil
}

// lookNear looks at the middle of a box that doesn't hold, and at the place there that
// holds least.
func (p *proving) lookNear(span []interval.I, b bound) *Verdict {
	values := middle(span)
	if v := p.look(values); v != nil {
		return v
	}
	if p.l.steps || b.part >= len(p.l.parts) {
		return nil
	}
	if sp := p.spot(values, false); sp != nil && sp.problem == "" {
		if f := sp.look(values, b.at); f.broken {
			return p.refute(f)
		}
	}
	return nil
}

// goal is the room that is sought.
func (p *proving) goal() float64 {
	if !p.worst.seen || p.worst.part < 0 {
		return 0
	}
	if p.worst.margin <= float64(limit.Slack*math.Abs(p.worst.bound)) {
		return math.Inf(-1) // the bound is reached: that it holds is all that can be shown
	}
	return max(p.worst.room-float64(near*math.Abs(p.worst.room)), 0)
}

// visit judges a box.
func (p *proving) visit(span []interval.I) bound {
	b, keep := p.box(span, p.l.total)
	n := &node{span, b.judge(p.l, p.goal()), p.boxes}
	if !keep {
		b.release()
	}
	p.boxes++
	heap.Push(&p.open, n)
	return n.bound
}

// side is the condition that a box is cut along: one that does much to the room where
// that is least, or of which the box is wide; -1 where it can't be cut.
func (p *proving) side(n *node, whole []interval.I) int {
	all := 0.0
	for _, s := range n.sway {
		all += s
	}
	best, most := -1, 0.0
	for k, d := range p.dims {
		x := n.span[k]
		if mid := x.Mid(); !p.l.givens.Has(d.Given) || !(mid > x.Lo && mid < x.Hi) {
			continue
		}
		score := (x.Hi - x.Lo) / (whole[k].Hi - whole[k].Lo)
		if k < maxConditions && all > 0 {
			score += n.sway[k] / all
		}
		if best < 0 || score > most {
			best, most = k, score
		}
	}
	return best
}

// verdict is what the worst box leaves to be said.
func (p *proving) verdict(n *node) *Verdict {
	v := &Verdict{Limit: p.l.Limit, State: Undecided, Boxes: p.boxes}
	if n.holds {
		v.State = Proved
	}
	if p.worst.seen {
		p.place(v, p.worst)
	}
	part := &p.l.parts[n.part]
	if v.HasMargin = !math.IsInf(n.room, 0) && part.cond == nil; v.HasMargin {
		v.Margin, v.Unit = n.margin, part.Unit
		if v.State == Proved {
			v.Margin = max(v.Margin, 0) // it may be passed by the slack of a comparison
		}
	}
	if v.State == Undecided {
		v.Problem = fmt.Sprintf("after %d boxes of conditions it isn't certain", v.Boxes)
		v.Conditions = p.conditions(middle(n.span))
		v.At, v.Value, v.Bound = nil, 0, 0
		if !math.IsInf(n.room, 0) {
			v.At = p.l.axes(n.at)
		}
		if p.worst.seen && v.HasMargin {
			v.Value, v.Bound = p.worst.value, p.worst.bound
		}
	}
	return v
}

func (p *proving) conditions(values []float64) []Condition {
	var out []Condition
	for k, d := range p.dims {
		out = append(out, Condition{d.Given, values[k]})
	}
	return out
}

// axes is a place by the limit's axes.
func (l *limitCode) axes(at [2]float64) []float64 {
	if l.cells.RowAxis < 0 {
		return []float64{at[1]}
	}
	return []float64{at[0], at[1]}
}

// place notes a place that was found by looking.
func (p *proving) place(v *Verdict, f found) {
	v.Conditions = p.conditions(f.values)
	if !f.seen {
		return
	}
	v.At = p.l.axes(f.at)
	if f.part >= 0 {
		v.Value, v.Bound = f.value, f.bound
	}
}
