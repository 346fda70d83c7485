// Package formula turns an expression's tokens into a checked tree: names
// resolved, units settled, every literal given its unit, functions expanded.
//
// How it goes. The tokens are rewritten to a text that expr-lang/expr parses:
// every name and every number (with its unit) becomes a numbered leaf `t7`, so
// that expr sees nothing but operators, parentheses, calls and leaves, and every
// place in its tree maps back to a token of the source. The tree that expr
// returns is walked from the leaves up; each node gets a Type, and conversions
// are put in where two units meet. A value stays in the unit it was declared in
// until then, so that what a tuner wrote is what is computed with.
//
// The checked tree is evaluated in two ways: column by column by compiler/eval,
// and a cell at a time by the VM of expr (vm.go), which is the reference.
//
// In: syntax.Expr and a Scope that knows the names. Out: *Node or diagnostics.
// The only importer of expr; imported by resolve and the stages after it.
package formula

import (
	"math/bits"

	"fettle/lang/source"
	"fettle/lang/unit"
)

// Op is the kind of a node.
type Op uint8

// The operations. The table of ops in ops.go gives their names.
const (
	Const    Op = iota
	AxisVal     // A: axis
	GivenVal    // A: given (a quantity, in its declared unit)
	GivenYes    // A: given (yes/no)
	GivenCol    // A: given (a row), B: column
	GivenIs     // A: given (a row), B: row
	MapHere     // A: map; its value at this cell
	MapAt       // A: map; kids are the coordinates in the units of its axes
	StepOf      // A: map, B: axis
	Param       // A: parameter, only inside a function's body
	Neg
	Add
	Sub
	Mul
	Div
	Pow
	Lt
	Le
	Gt
	Ge
	Eq
	Ne
	And
	Or
	Not
	If
	Min
	Max
	Clamp
	Abs
	Sqrt
	Exp
	Log
	Round
	Floor
	Ceil
	Convert // Conv
	Within  // Range: the kid, held to be inside Lo..Hi
	CurveAt // Curve at the kid
	Alias   // the kid, named at another place of the source
)

// Kind tells numbers from yes/no values.
type Kind uint8

// The kinds of value.
const (
	Quantity Kind = iota
	YesNo
)

// Type is what a node's value is: a quantity in a unit, or a yes/no.
type Type struct {
	Kind Kind
	Unit unit.Unit
}

// Bound is the range of validity of a parameter.
type Bound struct {
	Lo, Hi float64 // in the parameter's unit; infinite where open
	Fn     string
	Param  string
	Unit   unit.Unit
	Doc    string
}

// Node is a checked expression. Nodes are shared (a directed graph without
// circles) and never change once made. A yes/no value is 1 or 0.
type Node struct {
	Op    Op
	Kids  []*Node
	Val   float64
	A, B  int
	Conv  unit.Conv
	Range *Bound
	Curve *Curve
	Type  Type
	Span  source.Span
	// What the value depends on, the node's kids included.
	Axes, Givens, Maps Bits
	size               int // nodes of the graph, counted as a tree, capped
}

// Bits is a small set of indexes; those from 63 up share the last bit, which
// only ever makes a dependency look wider than it is.
type Bits uint64

// Has says whether i is in the set.
func (b Bits) Has(i int) bool { return b&bit(i) != 0 }

func bit(i int) Bits { return 1 << min(i, 63) }

// Size counts the node and all under it as a tree, up to a bound.
func (n *Node) Size() int { return n.size }

// IsConst says whether the node is a plain constant.
func (n *Node) IsConst() bool { return n.Op == Const }

// OnCell says whether the value may differ from cell to cell.
func (n *Node) OnCell() bool { return n.Axes|n.Maps != 0 }

// make builds a node, adds up what it depends on, and folds constants with the
// same arithmetic that evaluation uses.
func mk(op Op, t Type, span source.Span, kids ...*Node) *Node {
	n := &Node{Op: op, Type: t, Span: span, Kids: kids, size: 1}
	fold := len(kids) > 0 && op != MapAt && op != Within && op != CurveAt
	for _, k := range kids {
		n.Axes |= k.Axes
		n.Givens |= k.Givens
		n.Maps |= k.Maps
		n.size = min(n.size+k.size, maxSize+1)
		fold = fold && k.Op == Const
	}
	if fold {
		var few [4]float64
		vals := few[:0]
		for _, k := range kids {
			vals = append(vals, k.Val)
		}
		return &Node{Op: Const, Val: Apply(op, vals), Type: t, Span: span, size: 1}
	}
	return n
}

func constant(v float64, u unit.Unit, span source.Span) *Node {
	return &Node{Op: Const, Val: v, Type: Type{Unit: u}, Span: span, size: 1}
}

// convert puts a node's value into another unit of the same dimension.
func convert(n *Node, to unit.Unit) *Node {
	if n.Type.Unit.Same(to) {
		if n.Type.Unit.Text == to.Text {
			return n
		}
		m := *n // the same value by another name
		m.Type.Unit = to
		return &m
	}
	c, err := unit.NewConv(n.Type.Unit, to)
	if err != nil {
		return n // the dimensions were checked by the caller
	}
	return converted(n, c, to)
}

func converted(n *Node, c unit.Conv, to unit.Unit) *Node {
	if c.IsIdentity() {
		if n.Op == Const {
			return constant(n.Val, to, n.Span)
		}
		m := *n
		m.Type.Unit = to
		return &m
	}
	if n.Op == Const {
		return constant(c.Apply(n.Val), to, n.Span)
	}
	out := mk(Convert, Type{Unit: to}, n.Span, n)
	out.Conv = c
	return out
}

// Walk visits every node of the graph once, kids first.
func (n *Node) Walk(visit func(*Node)) {
	seen := map[*Node]bool{}
	var walk func(*Node)
	walk = func(n *Node) {
		if seen[n] {
			return
		}
		seen[n] = true
		for _, k := range n.Kids {
			walk(k)
		}
		visit(n)
	}
	walk(n)
}

// UsesMap says whether the expression reads a map: as its value here or by a
// look-up.
func (n *Node) UsesMap(m int) bool {
	found := false
	if n != nil && n.Maps.Has(m) {
		n.Walk(func(k *Node) {
			if (k.Op == MapHere || k.Op == MapAt || k.Op == StepOf) && k.A == m {
				found = true
			}
		})
	}
	return found
}

// MapsUsed lists the maps that are read, ascending, each once.
func (n *Node) MapsUsed() []int {
	if n == nil || n.Maps == 0 {
		return nil
	}
	if !n.Maps.Has(63) {
		var out []int
		for b := n.Maps; b != 0; b &= b - 1 {
			out = append(out, bits.TrailingZeros64(uint64(b)))
		}
		return out
	}
	seen := map[int]bool{} // some share the last bit
	most := -1
	n.Walk(func(k *Node) {
		if k.Op == MapHere || k.Op == MapAt || k.Op == StepOf {
			seen[k.A] = true
			most = max(most, k.A)
		}
	})
	var out []int
	for i := 0; i <= most; i++ {
		if seen[i] {
			out = append(out, i)
		}
	}
	return out
}
