package formula

// WithSlack gives a condition whose comparisons may be missed by a share of the
// larger side. The slack is always in favour of the whole: under a `not` a
// comparison has to hold by as much, so that `not spark > 28` takes 28 as
// `spark <= 28` does. Two values within the slack are equal.
func WithSlack(n *Node, share float64) *Node { return slacken(n, share, false) }

func slacken(n *Node, share float64, negated bool) *Node {
	switch n.Op {
	case Alias:
		return slacken(n.Kids[0], share, negated)
	case And, Or:
		return mk(n.Op, n.Type, n.Span, slacken(n.Kids[0], share, negated), slacken(n.Kids[1], share, negated))
	case Not:
		return mk(Not, n.Type, n.Span, slacken(n.Kids[0], share, !negated))
	case If:
		return mk(If, n.Type, n.Span, n.Kids[0], slacken(n.Kids[1], share, negated), slacken(n.Kids[2], share, negated))
	case Lt, Le, Gt, Ge, Eq, Ne:
	default:
		return n
	}
	l, r := n.Kids[0], n.Kids[1]
	t := l.Type
	room := mk(Mul, t, n.Span, constant(share, t.Unit, n.Span), mk(Max, t, n.Span, mk(Abs, t, n.Span, l), mk(Abs, t, n.Span, r)))
	apart := mk(Sub, t, n.Span, l, r)
	switch {
	case n.Op == Eq:
		return mk(Le, n.Type, n.Span, mk(Abs, t, n.Span, apart), room)
	case n.Op == Ne:
		return mk(Gt, n.Type, n.Span, mk(Abs, t, n.Span, apart), room)
	case n.Op == Gt || n.Op == Ge:
		apart = mk(Neg, t, n.Span, apart)
	}
	if negated {
		return mk(Lt, n.Type, n.Span, apart, mk(Neg, t, n.Span, room))
	}
	return mk(Le, n.Type, n.Span, apart, room)
}
