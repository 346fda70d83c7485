package live

import (
	"math"
	"strconv"
	"strings"

	"fettle/compiler/check"
	"fettle/lang/formula"
)

// shape says along which axes of a map a value varies.
type shape uint8

const (
	byRow shape = 1
	byCol shape = 2
)

// helperKey names cells that were written for a part of an expression: for its
// value, or for where it lies among the breakpoints of a map's axis.
type helperKey struct {
	n    *formula.Node
	role string
}

// expr translates the expressions of one adjustment, at the cells of one map.
type expr struct {
	b      *builder
	s      *sheet     // where the formula stands, and what it needs
	m      *check.Map // nil where there is no cell
	self   *block     // the map itself as the adjustment finds it
	local  map[helperKey]*block
	shapes map[*formula.Node]shape
	uses   map[*formula.Node]int
	names  map[*formula.Node]string
	places map[*formula.Node]string // where a part stands in the source
}

func (b *builder) expr(m *check.Map, self *block, s *sheet) *expr {
	return &expr{b: b, s: s, m: m, self: self, local: map[helperKey]*block{}, shapes: map[*formula.Node]shape{}, uses: map[*formula.Node]int{},
		names: map[*formula.Node]string{}, places: map[*formula.Node]string{}}
}

// maxInline is how long a formula may get before a part gets its own cells.
const maxInline = 160

// prepare writes the cells that the parts of an expression need, its deepest
// parts first, so that the whole is a formula of some lines at most.
func (x *expr) prepare(root *formula.Node) {
	if root == nil {
		return
	}
	x.count(root)
	done := map[*formula.Node]bool{}
	var walk func(n *formula.Node, top bool)
	walk = func(n *formula.Node, top bool) {
		n = formula.Strip(n)
		if done[n] {
			return
		}
		done[n] = true
		for _, k := range n.Kids {
			walk(k, false)
		}
		x.lookedUp(n)
		if inner := inside(n); n.Op == formula.Within && !leaf(inner) && x.find(helperKey{inner, ""}) == nil {
			x.put(inner) // it stands in the formula more than once
		}
		if leaf(n) && !x.between(n) {
			return
		}
		_, named := x.names[n]
		if x.uses[n] > 1 || !top && (named && x.fixed(n) || n.Op == formula.MapAt || n.Op == formula.CurveAt || x.between(n)) || len(x.body(n, 0, 0).text) > maxInline && !top {
			x.put(n)
		}
	}
	walk(root, true)
}

// count counts how often each part is used, and notes the names that parts go by.
func (x *expr) count(n *formula.Node) {
	for n.Op == formula.Alias {
		kid := formula.Strip(n)
		if _, ok := x.names[kid]; !ok && kid != n {
			x.names[kid] = oneLine(n.Span)
		}
		n = n.Kids[0]
	}
	if x.uses[n]++; x.uses[n] > 1 {
		return
	}
	for _, k := range n.Kids {
		x.count(k)
	}
}

// inside is what a range of validity, or several one in the other, is about.
func inside(n *formula.Node) *formula.Node {
	n = formula.Strip(n)
	for n.Op == formula.Within {
		n = formula.Strip(n.Kids[0])
	}
	return n
}

// leaf says whether a part is one reference.
func leaf(n *formula.Node) bool { return len(n.Kids) == 0 && n.Op != formula.StepOf }

// fixed says whether a part is the same in every cell, and reads no map.
func (x *expr) fixed(n *formula.Node) bool { return n.Axes == 0 && n.Maps == 0 }

// shape says along which axes of the map a part varies.
func (x *expr) shape(n *formula.Node) shape {
	n = formula.Strip(n)
	if s, ok := x.shapes[n]; ok {
		return s
	}
	var s shape
	switch n.Op {
	case formula.AxisVal:
		s = x.along(n.A)
	case formula.MapHere, formula.StepOf:
		for _, a := range x.b.p.Maps[n.A].Axes {
			s |= x.along(a)
		}
		if n.Op == formula.StepOf {
			s |= x.along(n.B)
		}
	}
	for _, k := range n.Kids {
		s |= x.shape(k)
	}
	x.shapes[n] = s
	return s
}

func (x *expr) along(axis int) shape {
	if len(x.m.Axes) == 2 && x.m.Axes[0] == axis {
		return byRow
	}
	return byCol
}

// label says what a helper is.
func (x *expr) label(n *formula.Node) string {
	if name, ok := x.names[n]; ok {
		return name
	}
	return oneLine(n.Span)
}

// put writes cells for a part, and remembers them.
func (x *expr) put(n *formula.Node) {
	n = formula.Strip(n)
	x.helper(helperKey{n, ""}, x.shape(n), x.label(n), n.Type.Unit.Text, place(n.Span), x.fixed(n), func(r, c int) term {
		return asNumber(x.body(n, r, c), n)
	})
}

// helper writes cells of a shape once: on the sheet of values if they are fixed,
// else here.
func (x *expr) helper(key helperKey, s shape, label, unit, where string, fixed bool, at func(r, c int) term) *block {
	if k := x.find(key); k != nil {
		return k
	}
	if fixed {
		v, here := x.b.values, x.s
		x.s = v
		t := at(0, 0)
		x.s = here
		if k := x.b.known[t.text]; k != nil {
			x.b.named[key] = k // the same value by another way
			return k
		}
		v.Formula(v.row, 2, t.text, t.val, plain)
		k := &block{s: v, row: v.row, col: 2, nr: 1, nc: 1, vals: []float64{t.val}}
		x.b.known[t.text] = k
		v.cells(plain, label, "", unit, where)
		x.b.named[key] = k
		return k
	}
	k := x.draw(s, label, unit, plain, at)
	x.local[key] = k
	return k
}

func (x *expr) find(key helperKey) *block {
	if k := x.b.named[key]; k != nil {
		return k
	}
	return x.local[key]
}

// term is the formula of a part in one cell: a reference to its cells if it has
// some.
func (x *expr) term(n *formula.Node, r, c int) term {
	n = formula.Strip(n)
	k := x.find(helperKey{n, ""})
	if k == nil {
		return x.body(n, r, c)
	}
	t := term{k.ref(x.s, r, c), atom, k.at(r, c)}
	if n.Type.Kind == formula.YesNo {
		return term{t.text + "<>0", compares, t.val}
	}
	return t
}

// asNumber makes a number of a yes/no, as a cell keeps it.
func asNumber(t term, n *formula.Node) term {
	if n.Type.Kind == formula.YesNo {
		return term{"IF(" + t.text + ",1,0)", atom, t.val}
	}
	return t
}

// number writes a number as a formula does.
func number(v float64) term {
	text := strconv.FormatFloat(math.Abs(v), 'G', -1, 64)
	if v < 0 {
		return term{"(-" + text + ")", atom, v}
	}
	return term{text, atom, v}
}

var signs = map[formula.Op]struct {
	sign        string
	bind        int
	left, right int // how tightly the sides have to bind
}{
	formula.Add: {"+", adds, adds, multiplies}, formula.Sub: {"-", adds, adds, multiplies},
	formula.Mul: {"*", multiplies, multiplies, powers}, formula.Div: {"/", multiplies, multiplies, powers}, formula.Pow: {"^", powers, atom, atom},
	formula.Lt: {"<", compares, adds, adds}, formula.Le: {"<=", compares, adds, adds}, formula.Gt: {">", compares, adds, adds},
	formula.Ge: {">=", compares, adds, adds}, formula.Eq: {"=", compares, adds, adds}, formula.Ne: {"<>", compares, adds, adds},
}

var functions = map[formula.Op]string{
	formula.And: "AND", formula.Or: "OR", formula.Not: "NOT", formula.If: "IF", formula.Min: "MIN", formula.Max: "MAX",
	formula.Abs: "ABS", formula.Sqrt: "SQRT", formula.Exp: "EXP", formula.Log: "LN", formula.Floor: "INT",
}

// body is the formula of a part in one cell, made of its own parts.
func (x *expr) body(n *formula.Node, r, c int) term {
	switch n.Op {
	case formula.Const, formula.AxisVal, formula.GivenVal, formula.GivenYes, formula.GivenCol, formula.GivenIs:
		return x.leaf(n, r, c)
	case formula.MapHere:
		return x.mapHere(n.A, r, c)
	case formula.StepOf:
		return x.step(n, r, c)
	case formula.MapAt:
		return x.mapAt(n, r, c)
	case formula.CurveAt:
		return x.curveAt(n, r, c)
	case formula.Within:
		return x.within(n, r, c)
	}
	kids := make([]term, len(n.Kids))
	vals := make([]float64, len(n.Kids))
	for i, k := range n.Kids {
		kids[i] = x.term(k, r, c)
		vals[i] = kids[i].val
	}
	val := formula.Apply(n.Op, vals)
	if s, ok := signs[n.Op]; ok {
		return term{kids[0].in(s.left) + s.sign + kids[1].in(s.right), s.bind, val}
	}
	if f, ok := functions[n.Op]; ok {
		return call(f, val, kids...)
	}
	a := kids[0]
	switch n.Op {
	case formula.Neg:
		return term{"(-" + a.in(atom) + ")", atom, val}
	case formula.Clamp: // the upper bound has the last word
		return term{"MIN(MAX(" + a.text + "," + kids[1].text + ")," + kids[2].text + ")", atom, val}
	case formula.Ceil:
		return term{"(-INT(-" + a.in(atom) + "))", atom, val}
	case formula.Round: // half to even
		t := a.in(adds)
		return term{"IF(ABS(" + t + "-TRUNC(" + t + "))=0.5,2*ROUND(" + a.in(multiplies) + "/2,0),ROUND(" + t + ",0))", atom, val}
	case formula.Convert:
		return convert(a, n.Conv.Apply(a.val), n)
	}
	x.b.fail("the workbook has no formula for %s (%s)", oneLine(n.Span), place(n.Span))
	return term{"NA()", atom, math.NaN()}
}

// within is a value that is held to be in the ranges of validity of what it is
// given to; out of one of them it is no number.
func (x *expr) within(n *formula.Node, r, c int) term {
	a := x.term(inside(n), r, c)
	lo, hi := math.Inf(-1), math.Inf(1)
	for ; n.Op == formula.Within; n = formula.Strip(n.Kids[0]) {
		lo, hi = max(lo, n.Range.Lo), min(hi, n.Range.Hi)
	}
	var bounds []term
	if !math.IsInf(lo, 0) {
		bounds = append(bounds, term{a.in(adds) + ">=" + number(lo).text, compares, 0})
	}
	if !math.IsInf(hi, 0) {
		bounds = append(bounds, term{a.in(adds) + "<=" + number(hi).text, compares, 0})
	}
	if len(bounds) == 0 {
		return a
	}
	return term{"IF(" + call("AND", 0, bounds...).text + "," + a.text + ",NA())", atom, a.val}
}

func call(name string, val float64, args ...term) term {
	texts := make([]string, len(args))
	for i, a := range args {
		texts[i] = a.text
	}
	return term{name + "(" + strings.Join(texts, ",") + ")", atom, val}
}

// convert writes a conversion of units: times, plus and over exact numbers.
func convert(a term, val float64, n *formula.Node) term {
	p, plus, q := n.Conv.Terms()
	out := a
	if p != 1 {
		out = term{out.in(multiplies) + "*" + number(p).text, multiplies, 0}
	}
	if plus != 0 {
		out = term{out.in(adds) + "+" + number(plus).text, adds, 0}
	}
	if q != 1 {
		out = term{out.in(multiplies) + "/" + number(q).text, multiplies, 0}
	}
	out.val = val
	return out
}

func (x *expr) leaf(n *formula.Node, r, c int) term {
	yesNo := func(t term) term {
		if n.Type.Kind == formula.YesNo {
			return term{t.text + "<>0", compares, t.val}
		}
		return t
	}
	switch n.Op {
	case formula.Const:
		if t, ok := x.b.catalogCell(x.s, n); ok {
			return yesNo(t)
		}
		if n.Type.Kind == formula.YesNo {
			return term{strings.ToUpper(strconv.FormatBool(n.Val != 0)) + "()", atom, n.Val}
		}
		return number(n.Val)
	case formula.AxisVal:
		base := x.b.baseOf[x.m.Index]
		if x.along(n.A) == byRow {
			return term{base.side(x.s, r), atom, x.m.Base.Rows[r]}
		}
		return term{base.head(x.s, c), atom, x.m.Base.Cols[c]}
	case formula.GivenIs:
		g := x.b.p.Givens[n.A]
		val := 0.0
		if x.b.env.Row(n.A) == n.B {
			val = 1
		}
		return term{x.b.givenCell(x.s, n.A) + `="` + strings.ReplaceAll(g.Catalog.Rows[n.B], `"`, `""`) + `"`, compares, val}
	case formula.GivenCol:
		k := x.helper(helperKey{nil, "column " + strconv.Itoa(n.A) + " " + strconv.Itoa(n.B)}, 0, x.b.p.Givens[n.A].Name+"."+x.b.p.Givens[n.A].Catalog.Cols[n.B].Name,
			n.Type.Unit.Text, "", true, func(int, int) term { return x.b.columnOf(x.s, n.A, n.B) })
		return yesNo(term{k.ref(x.s, 0, 0), atom, k.at(0, 0)})
	}
	return yesNo(term{x.b.givenCell(x.s, n.A), atom, x.b.env.Given(n.A)})
}
