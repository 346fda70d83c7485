package formula

import (
	"sort"

	"github.com/expr-lang/expr/ast"

	"fettle/lang/source"
	"fettle/lang/syntax"
)

// Where a node stands in the source. The tree of expr places its leaves and
// signs only, and forgets parentheses; the tokens around tell the rest. Each
// node's place is found once, since those above ask for it again.

// span is the place of a node, with the parentheses that belong to it: those of
// a call, and both of a pair where it would cut one in two.
func (c *checking) span(n ast.Node) source.Span {
	if _, ok := n.(*ast.IdentifierNode); ok {
		return c.w.spanAt(n.Location().From)
	}
	if s, ok := c.spans[n]; ok {
		return s
	}
	s := c.findSpan(n)
	if c.spans == nil {
		c.spans = map[ast.Node]source.Span{}
	}
	c.spans[n] = s
	return s
}

func (c *checking) findSpan(n ast.Node) source.Span {
	switch n := n.(type) {
	case *ast.BinaryNode:
		return c.balanced(c.span(n.Left).Join(c.span(n.Right)))
	case *ast.UnaryNode:
		return c.balanced(c.w.spanAt(n.Location().From).Join(c.span(n.Node)))
	case *ast.ConditionalNode:
		return c.balanced(c.withIf(c.span(n.Cond)).Join(c.span(n.Exp2)))
	case *ast.CallNode:
		callee := c.span(n.Callee)
		return callee.Join(c.closing(callee.To))
	}
	return c.w.spanAt(n.Location().From)
}

// tokenAt is the index of the first token that begins at an offset or after it.
func (c *checking) tokenAt(off int) int {
	return sort.Search(len(c.toks), func(i int) bool { return c.toks[i].From >= off })
}

func (c *checking) isOp(i int, text string) bool {
	return i >= 0 && i < len(c.toks) && c.toks[i].Kind == syntax.Op && c.toks[i].Text == text
}

// closing is the parenthesis that closes the one that begins at an offset or
// after it.
func (c *checking) closing(off int) source.Span {
	depth := 0
	for i := c.tokenAt(off); i < len(c.toks); i++ {
		switch {
		case c.isOp(i, "("):
			depth++
		case c.isOp(i, ")"):
			if depth--; depth == 0 {
				return c.toks[i].Span(c.w.file)
			}
		}
	}
	return source.Span{}
}

// balanced widens a span to the parentheses that it cuts through: the tree has
// none, and `(a + b) * c` begins at a.
func (c *checking) balanced(s source.Span) source.Span {
	if s.File == nil {
		return s
	}
	from, to := c.tokenAt(s.From), c.tokenAt(s.To)-1
	depth, lowest := 0, 0
	for i := from; i <= to; i++ {
		switch {
		case c.isOp(i, "("):
			depth++
		case c.isOp(i, ")"):
			depth--
			lowest = min(lowest, depth)
		}
	}
	for ; lowest < 0 && c.isOp(from-1, "("); from-- {
		lowest++
		depth++
	}
	for ; depth > 0 && c.isOp(to+1, ")"); to++ {
		depth--
	}
	return c.toks[from].Span(s.File).Join(c.toks[to].Span(s.File))
}

// withIf widens the span of a condition to the `if` before it.
func (c *checking) withIf(s source.Span) source.Span {
	i := c.tokenAt(s.From) - 1
	for c.isOp(i, "(") {
		i--
	}
	if i >= 0 && c.toks[i].Kind == syntax.Word && c.toks[i].Text == "if" {
		return s.Join(c.toks[i].Span(c.w.file))
	}
	return s
}
