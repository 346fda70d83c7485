package formula

import (
	"github.com/expr-lang/expr/ast"
	"github.com/expr-lang/expr/file"
)

// The rewritten text read by hand: expr's parser settles what binds how, and
// what it makes of a text without faults is so plain that it can be made here in
// a fifth of the time. What is odd in any way is left to expr; a test compares
// the trees of both.

// binds is how tightly an operator binds, as expr has it.
func binds(op string) int {
	switch op {
	case "or":
		return 10
	case "and":
		return 15
	case "==", "!=", "<", ">", ">=", "<=":
		return 20
	case "+", "-":
		return 30
	case "*", "/":
		return 60
	case "^":
		return 100
	}
	return -1
}

// The operators that stand before their operand.
const (
	notBinds  = 50
	signBinds = 90
)

// climbing makes a tree by precedence climbing.
type climbing struct {
	w   *rewritten
	i   int
	bad bool // left to expr
}

// climb makes the tree that expr's parser makes; nil if that is in doubt.
func climb(w *rewritten) ast.Node {
	c := &climbing{w: w}
	n := c.expression(0)
	if c.bad || c.i != len(w.places) {
		return nil
	}
	return n
}

func (c *climbing) next() string {
	if c.i < len(c.w.places) {
		return c.w.places[c.i].text
	}
	return ""
}

func (c *climbing) at(i int) file.Location {
	p := c.w.places[i]
	return file.Location{From: p.at, To: p.at + len(p.text)}
}

// take passes over a sign that must stand here.
func (c *climbing) take(sign string) {
	c.bad = c.bad || c.next() != sign
	c.i++
}

// expression reads operands as long as what joins them binds at least so tightly.
func (c *climbing) expression(least int) ast.Node {
	left := c.operand()
	compared := false
	for !c.bad {
		op := c.next()
		b := binds(op)
		if b < 0 || b < least {
			break
		}
		if b == 20 {
			c.bad = c.bad || compared // a second comparison
			compared = true
		}
		n := &ast.BinaryNode{Operator: op, Left: left}
		n.SetLocation(c.at(c.i))
		c.i++
		if op == "^" {
			n.Right = c.expression(b)
		} else {
			n.Right = c.expression(b + 1)
		}
		left = n
	}
	for least == 0 && !c.bad && c.next() == "?" {
		c.i++
		n := &ast.ConditionalNode{Ternary: true, Cond: left, Exp1: c.expression(0)}
		c.take(":")
		n.Exp2 = c.expression(0)
		left = n
	}
	return left
}

func (c *climbing) operand() ast.Node {
	at, text := c.i, c.next()
	c.i++
	switch {
	case text == "(":
		n := c.expression(0)
		c.take(")")
		return n
	case text == "not" || text == "-" || text == "+":
		n := &ast.UnaryNode{Operator: text}
		n.SetLocation(c.at(at))
		if text == "not" {
			n.Node = c.expression(notBinds)
		} else {
			n.Node = c.expression(signBinds)
		}
		return n
	case text == "" || text[0] != 't':
		c.bad = true
		return nil
	}
	leaf := &ast.IdentifierNode{Value: text}
	leaf.SetLocation(c.at(at))
	if c.next() != "(" {
		return leaf
	}
	c.i++
	call := &ast.CallNode{Callee: leaf}
	call.SetLocation(c.at(at))
	for c.next() != ")" && !c.bad {
		if len(call.Arguments) > 0 {
			c.take(",")
		}
		call.Arguments = append(call.Arguments, c.expression(0))
	}
	c.take(")")
	return call
}
