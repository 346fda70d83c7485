package formula

import "fettle/lang/source"

// A function is expanded where it is called: its body with the arguments in the
// places of the parameters. Shared parts stay shared, so what a body uses twice
// is computed once; and what is fixed is worked out at once.

func within(a *Node, b *Bound) *Node {
	if a.Op == Const && a.Val >= b.Lo && a.Val <= b.Hi {
		return a
	}
	out := mk(Within, a.Type, a.Span, a)
	out.Range = b
	return out
}

// expand puts arguments in place of parameters.
func expand(body *Node, args []*Node) (out *Node, made int, fits bool) {
	memo := make(map[*Node]*Node, min(body.size, 64))
	var put func(*Node) *Node
	put = func(n *Node) *Node {
		if n.Op == Param {
			return args[n.A]
		}
		if len(n.Kids) == 0 {
			return n
		}
		if out, ok := memo[n]; ok {
			return out
		}
		kids := make([]*Node, len(n.Kids))
		same := true
		for i, k := range n.Kids {
			kids[i] = put(k)
			same = same && kids[i] == k
		}
		out := n
		if !same {
			made++
			out = mk(n.Op, n.Type, n.Span, kids...)
			if out.Op != Const {
				out.A, out.B, out.Conv, out.Range, out.Curve = n.A, n.B, n.Conv, n.Range, n.Curve
				out.Axes |= n.Axes &^ axesOf(n.Kids)
				out.Maps |= n.Maps &^ mapsOf(n.Kids)
			} else if n.Op == Convert {
				out = constant(n.Conv.Apply(kids[0].Val), n.Type.Unit, n.Span)
			}
			if n.Op == CurveAt && kids[0].Op == Const {
				out = constant(n.Curve.At(kids[0].Val), n.Type.Unit, n.Span)
			}
			if n.Op == Within {
				out = within(kids[0], n.Range)
			}
		}
		memo[n] = out
		return out
	}
	out = put(body)
	return out, made, out.size <= maxSize && made <= maxSize
}

// Spender is a scope that counts the steps of all expressions that are compiled
// in it. Spend is false, and has said why, once there are too many.
type Spender interface {
	Spend(steps int, at source.Span) bool
}

// spend counts steps where somebody counts them.
func spend(s Scope, steps int, at source.Span) bool {
	counter, ok := s.(Spender)
	return !ok || counter.Spend(steps, at)
}

func axesOf(kids []*Node) (b Bits) {
	for _, k := range kids {
		b |= k.Axes
	}
	return b
}

func mapsOf(kids []*Node) (b Bits) {
	for _, k := range kids {
		b |= k.Maps
	}
	return b
}

// out finds a fixed argument that is outside its range of validity wherever the
// expression is computed: not in a branch that may not be taken.
func out(n *Node) (found *OutOfRange) {
	seen := map[*Node]bool{}
	var look func(*Node)
	look = func(n *Node) {
		if seen[n] || found != nil {
			return
		}
		seen[n] = true
		kids := n.Kids
		switch n.Op {
		case Within:
			if k := Strip(kids[0]); k.Op == Const {
				found = &OutOfRange{n.Range, k.Val, n}
				return
			}
		case If, And, Or:
			kids = kids[:1]
		}
		for _, k := range kids {
			look(k)
		}
	}
	look(n)
	return found
}
