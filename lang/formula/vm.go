package formula

import (
	"fmt"
	"math"
	"strings"

	"github.com/expr-lang/expr"
	"github.com/expr-lang/expr/ast"
	"github.com/expr-lang/expr/checker"
	"github.com/expr-lang/expr/compiler"
	"github.com/expr-lang/expr/conf"
	"github.com/expr-lang/expr/parser"
	"github.com/expr-lang/expr/vm"
)

// Cell answers what an expression asks about the cell it is evaluated at.
type Cell interface {
	Axis(axis int) float64
	Given(given int) float64 // a quantity in its declared unit; a yes/no as 1 or 0
	Row(given int) int       // which row a given is
	Column(given, col int) float64
	Map(m int) float64                   // the map's value here
	Lookup(m int, at ...float64) float64 // by its axes, in their units
	Step(m, axis int) float64
}

// OutOfRange says that an argument left its parameter's range of validity.
type OutOfRange struct {
	Bound *Bound
	Value float64
	Node  *Node
}

func (e *OutOfRange) Error() string {
	b := e.Bound
	text := fmt.Sprintf("`%s` of `%s` is %s, outside its range of validity %s..%s", b.Param, b.Fn, inUnit(e.Value, b), end(b.Lo, ""), end(b.Hi, b.Unit.Text))
	if s := b.Source(); s != "" {
		text += " (source: " + s + ")"
	}
	return text
}

func inUnit(x float64, b *Bound) string {
	return strings.TrimSpace(fmt.Sprintf("%.6g %s", x, b.Unit.Text))
}

func end(x float64, unit string) string {
	if math.IsInf(x, 0) {
		return ""
	}
	return strings.TrimSpace(fmt.Sprintf("%.6g %s", x, unit))
}

// Source is what the function's documentation gives as its source.
func (b *Bound) Source() string {
	var out []string
	for _, line := range strings.Split(b.Doc, "\n") {
		line = strings.TrimSpace(line)
		if s, ok := strings.CutPrefix(line, "source:"); ok {
			out = append(out, strings.TrimSpace(s))
		} else if n := len(out); n > 0 && line != "" && !strings.HasPrefix(line, "example:") {
			out[n-1] += " " + line // a source goes on over lines
		}
	}
	for i := range out {
		out[i] = strings.TrimRight(out[i], ".")
	}
	return strings.Join(out, "; ")
}

// VM is an expression compiled for expr's virtual machine: the reference that
// the column evaluator is held to, bit for bit. A VM is not for use by two
// goroutines at once.
type VM struct {
	root   *unit1
	shared []*unit1
	env    vmEnv
	cell   Cell
	nodes  []*Node // leaves read into slots, and nodes that functions refer to
	err    error
}

// unit1 is one compiled piece: the whole, or a part that is used more than once
// and therefore computed at its first use and remembered for the cell.
type unit1 struct {
	prog  *vm.Program
	run   vm.VM
	known bool
	val   float64
}

type vmEnv struct {
	V []float64
}

// CompileVM compiles a checked expression for expr's VM.
func CompileVM(n *Node) (*VM, error) {
	m := &VM{}
	b := &vmBuilder{m: m, uses: map[*Node]int{}, slots: map[*Node]int{}, shared: map[*Node]int{}}
	b.count(n)
	root, err := b.compile(n)
	if err == nil {
		err = b.err
	}
	if err != nil {
		return nil, err
	}
	m.root = root
	m.env.V = make([]float64, len(m.nodes))
	return m, nil
}

// Eval computes the expression at a cell. Yes is 1, no is 0.
func (m *VM) Eval(c Cell) (float64, error) {
	m.cell, m.err = c, nil
	for i, n := range m.nodes {
		switch n.Op {
		case AxisVal:
			m.env.V[i] = c.Axis(n.A)
		case GivenVal, GivenYes:
			m.env.V[i] = c.Given(n.A)
		case GivenCol:
			m.env.V[i] = c.Column(n.A, n.B)
		case GivenIs:
			m.env.V[i] = yes(c.Row(n.A) == n.B)
		case MapHere:
			m.env.V[i] = c.Map(n.A)
		case StepOf:
			m.env.V[i] = c.Step(n.A, n.B)
		}
	}
	for _, s := range m.shared {
		s.known = false
	}
	return m.runUnit(m.root)
}

func (m *VM) runUnit(u *unit1) (float64, error) {
	if u.known {
		return u.val, nil
	}
	out, err := u.run.Run(u.prog, m.env)
	if err != nil {
		if m.err != nil {
			return 0, m.err
		}
		return 0, err
	}
	switch x := out.(type) {
	case float64:
		u.val = x
	case bool:
		u.val = yes(x)
	case int:
		u.val = float64(x)
	default:
		return 0, fmt.Errorf("the expression gave a %T", out)
	}
	u.known = u != m.root
	return u.val, nil
}

type vmBuilder struct {
	m      *VM
	uses   map[*Node]int
	slots  map[*Node]int
	shared map[*Node]int
	err    error
}

func (b *vmBuilder) count(n *Node) {
	n = Strip(n) // so that a part with two names is still computed once
	b.uses[n]++
	if b.uses[n] > 1 {
		return
	}
	for _, k := range n.Kids {
		b.count(k)
	}
}

func (b *vmBuilder) compile(n *Node) (*unit1, error) {
	cfg := conf.New(vmEnv{})
	cfg.Optimize = false
	cfg.MaxNodes = 0
	for name, f := range b.m.functions() {
		expr.Function(name, f, new(func(...any) float64))(cfg)
	}
	tree := &parser.Tree{Node: b.body(n)}
	if _, err := checker.Check(tree, cfg); err != nil {
		return nil, err
	}
	prog, err := compiler.Compile(tree, cfg)
	if err != nil {
		return nil, err
	}
	return &unit1{prog: prog}, nil
}

func (b *vmBuilder) slot(n *Node) *ast.IntegerNode {
	i, ok := b.slots[n]
	if !ok {
		i = len(b.m.nodes)
		b.slots[n] = i
		b.m.nodes = append(b.m.nodes, n)
	}
	return &ast.IntegerNode{Value: i}
}

func ident(name string) *ast.IdentifierNode { return &ast.IdentifierNode{Value: name} }

// asYes makes a yes/no of a float.
func asYes(n ast.Node) ast.Node {
	return &ast.BinaryNode{Operator: "!=", Left: n, Right: &ast.FloatNode{Value: 0}}
}

// node gives the tree for a use of n: in place, or a call for a shared part.
func (b *vmBuilder) node(n *Node) ast.Node {
	n = Strip(n)
	if len(n.Kids) == 0 || b.uses[n] < 2 {
		return b.body(n)
	}
	i, ok := b.shared[n]
	if !ok {
		i = len(b.m.shared)
		b.shared[n] = i
		b.m.shared = append(b.m.shared, nil)
		u, err := b.compile(n)
		if err != nil {
			b.err = err // fails the whole
		}
		b.m.shared[i] = u
	}
	var out ast.Node = &ast.CallNode{Callee: ident("shared"), Arguments: []ast.Node{&ast.IntegerNode{Value: i}}}
	if n.Type.Kind == YesNo {
		out = asYes(out)
	}
	return out
}

var vmOps = map[Op]string{Add: "+", Sub: "-", Mul: "*", Div: "/", Lt: "<", Le: "<=", Gt: ">", Ge: ">=", Eq: "==", Ne: "!=", And: "and", Or: "or"}

func (b *vmBuilder) body(n *Node) ast.Node {
	if op, ok := vmOps[n.Op]; ok {
		return &ast.BinaryNode{Operator: op, Left: b.node(n.Kids[0]), Right: b.node(n.Kids[1])}
	}
	switch n.Op {
	case Const:
		if n.Type.Kind == YesNo {
			return &ast.BoolNode{Value: n.Val != 0}
		}
		if n.Val == 0 && math.Signbit(n.Val) {
			// expr keeps equal constants once, and would take 0 for -0.
			return &ast.UnaryNode{Operator: "-", Node: &ast.FloatNode{Value: 0}}
		}
		return &ast.FloatNode{Value: n.Val}
	case AxisVal, GivenVal, GivenCol, MapHere, StepOf, GivenYes, GivenIs:
		var out ast.Node = &ast.MemberNode{Node: ident("V"), Property: b.slot(n)}
		if n.Type.Kind == YesNo {
			out = asYes(out)
		}
		return out
	case Alias:
		return b.node(n.Kids[0])
	case Neg:
		return &ast.UnaryNode{Operator: "-", Node: b.node(n.Kids[0])}
	case Not:
		return &ast.UnaryNode{Operator: "not", Node: b.node(n.Kids[0])}
	case If:
		return &ast.ConditionalNode{Cond: b.node(n.Kids[0]), Exp1: b.node(n.Kids[1]), Exp2: b.node(n.Kids[2])}
	}
	args := []ast.Node{}
	name := ""
	switch n.Op {
	case MapAt:
		name = "lookup"
		args = append(args, b.slot(n))
	case Convert:
		name = "convert"
		args = append(args, b.slot(n))
	case CurveAt:
		name = "curve"
		args = append(args, b.slot(n))
	case Within:
		name = "within"
		args = append(args, b.slot(n))
	default: // a power too: expr's own is package math's
		name = "apply"
		args = append(args, &ast.IntegerNode{Value: int(n.Op)})
	}
	for _, k := range n.Kids {
		args = append(args, b.node(k))
	}
	return &ast.CallNode{Callee: ident(name), Arguments: args}
}

// functions are what the VM calls back for.
func (m *VM) functions() map[string]func(...any) (any, error) {
	floats := func(args []any) []float64 {
		out := make([]float64, len(args))
		for i, a := range args {
			switch x := a.(type) {
			case float64:
				out[i] = x
			case bool:
				out[i] = yes(x)
			}
		}
		return out
	}
	return map[string]func(...any) (any, error){
		"apply": func(args ...any) (any, error) { return Apply(Op(args[0].(int)), floats(args[1:])), nil },
		"convert": func(args ...any) (any, error) {
			return m.nodes[args[0].(int)].Conv.Apply(floats(args[1:])[0]), nil
		},
		"curve": func(args ...any) (any, error) {
			return m.nodes[args[0].(int)].Curve.At(floats(args[1:])[0]), nil
		},
		"lookup": func(args ...any) (any, error) {
			return m.cell.Lookup(m.nodes[args[0].(int)].A, floats(args[1:])...), nil
		},
		"within": func(args ...any) (any, error) {
			n, x := m.nodes[args[0].(int)], floats(args[1:])[0]
			if !(x >= n.Range.Lo && x <= n.Range.Hi) {
				m.err = &OutOfRange{n.Range, x, n}
				return nil, m.err
			}
			return x, nil
		},
		"shared": func(args ...any) (any, error) {
			return m.runUnit(m.shared[args[0].(int)])
		},
	}
}
