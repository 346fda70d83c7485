package formula

import (
	"sort"
	"strconv"
	"strings"

	"github.com/expr-lang/expr/ast"

	"fettle/lang/unit"
)

// builtin is one function of the language itself.
type builtin struct {
	op       Op
	min, max int
	form     string
}

// builtins is the table of the language's own functions.
var builtins = map[string]builtin{
	"min":   {Min, 2, 64, "min(a, b, …)"},
	"max":   {Max, 2, 64, "max(a, b, …)"},
	"clamp": {Clamp, 3, 3, "clamp(x, low, high)"},
	"abs":   {Abs, 1, 1, "abs(x)"},
	"sqrt":  {Sqrt, 1, 1, "sqrt(x)"},
	"exp":   {Exp, 1, 1, "exp(x)"},
	"log":   {Log, 1, 1, "log(x)"},
	"round": {Round, 1, 1, "round(x)"},
	"floor": {Floor, 1, 1, "floor(x)"},
	"ceil":  {Ceil, 1, 1, "ceil(x)"},
	"step":  {StepOf, 2, 2, "step(map, axis)"},
}

var builtinNames = func() []string {
	var out []string
	for name := range builtins {
		out = append(out, name)
	}
	sort.Strings(out)
	return out
}()

// IsBuiltin says whether a name is a function of the language itself.
func IsBuiltin(name string) bool { _, ok := builtins[name]; return ok }

// Builtins lists the language's own functions as they are written.
func Builtins() []string {
	var out []string
	for _, n := range builtinNames {
		out = append(out, builtins[n].form)
	}
	return out
}

func (c *checking) call(n *ast.CallNode) *Value {
	l, ok := c.leafOf(n.Callee)
	if !ok || l.number {
		c.fail("E313", c.span(n), "only a name can be called")
		return nil
	}
	name := strings.Join(l.path, ".")
	if b, ok := builtins[name]; ok {
		if len(n.Arguments) < b.min || len(n.Arguments) > b.max {
			c.fail("E319", c.span(n), "`%s` has %s here", name, argCount(len(n.Arguments))).Hint("it is written `%s`", b.form)
			return nil
		}
		if b.op == StepOf {
			return c.step(n)
		}
		return c.builtin(b, n)
	}
	if c.ctx.param(name) >= 0 {
		c.fail("E319", l.span, "`%s` is a parameter and can't be called", name)
		return nil
	}
	sym, found := c.find(c.ctx.Scope, l.path, l.span)
	if !found {
		c.visitAll(n.Arguments)
		return nil
	}
	rest := l.path[1:]
	if sym.Kind == SymModule && len(rest) > 0 {
		inner, ok := sym.Module.Find(rest[0])
		if !ok || inner.Kind == SymModule {
			d := c.fail("E316", l.span, "module `%s` has no `%s`", l.path[0], rest[0])
			c.nearest(d, l, rest[0], sym.Module.Names())
			c.visitAll(n.Arguments)
			return nil
		}
		sym, rest = inner, rest[1:]
	}
	if len(rest) == 0 && sym.Kind == SymFn {
		return c.callFn(sym, name, n)
	}
	if len(rest) == 0 && sym.Kind == SymMap {
		return c.lookup(sym, name, n)
	}
	c.visitAll(n.Arguments)
	if sym.Kind == SymBroken {
		return nil
	}
	what := article(sym.What)
	if len(rest) > 0 {
		what = "a value"
	}
	c.fail("E319", l.span, "`%s` is %s and can't be called", name, what).Hint("to multiply, write `*`")
	return nil
}

// visitAll checks arguments for their own errors only.
func (c *checking) visitAll(args []ast.Node) {
	for _, a := range args {
		c.visit(a)
	}
}

func argCount(n int) string {
	switch n {
	case 0:
		return "no arguments"
	case 1:
		return "1 argument"
	}
	return strconv.Itoa(n) + " arguments"
}

func (c *checking) builtin(b builtin, n *ast.CallNode) *Value {
	vals := make([]*Value, len(n.Arguments))
	ok := true
	for i, a := range n.Arguments {
		vals[i] = c.visit(a)
		ok = ok && vals[i] != nil && c.wantNumber(vals[i], strings.SplitN(b.form, "(", 2)[0])
	}
	if !ok {
		return nil
	}
	span := c.span(n)
	name := strings.SplitN(b.form, "(", 2)[0]
	loose := true
	for _, v := range vals {
		loose = loose && v.loose()
	}
	switch b.op {
	case Min, Max, Clamp:
		vals, ok = c.unify(vals, "the values of `"+name+"`")
		if !ok {
			return nil
		}
		if lo := vals[1].Node; b.op == Clamp && lo.IsConst() && vals[2].Node.IsConst() && lo.Val > vals[2].Node.Val {
			c.fail("E502", span, "`clamp` with its low end above its high one").Hint("it is written `%s`", b.form)
			return nil
		}
		kids := make([]*Node, len(vals))
		for i, v := range vals {
			kids[i] = v.Node
		}
		return &Value{Node: mk(b.op, kids[0].Type, span, kids...), Loose: loose, Sum: loose}
	}
	x := vals[0]
	if c.refusePoint(x, "given to `"+name+"`") {
		return nil
	}
	u := x.Node.Type.Unit
	switch b.op {
	case Abs:
		return &Value{Node: mk(Abs, x.Node.Type, span, x.Node), Loose: loose, Sum: loose}
	case Sqrt:
		root, ok := u.Root(1, 2)
		if !ok {
			c.fail("E325", x.Node.Span, "%s has no square root", KindOf(u))
			return nil
		}
		return &Value{Node: mk(Sqrt, Type{Unit: root}, span, convert(x.Node, unit.Coherent(u.Dim))), Loose: loose}
	}
	if !u.Dim.IsNone() {
		c.fail("E325", x.Node.Span, "`%s` takes a plain number, and `%s` is %s", name, clip(x.Node.Span.Text()), KindOf(u)).
			Hint("divide by a quantity of the same kind: `%s(%s / 1 %s)`", name, clip(x.Node.Span.Text()), u.Text)
		return nil
	}
	return &Value{Node: mk(b.op, Type{}, span, convert(x.Node, unit.None)), Loose: loose}
}

// step checks step(MAP, AXIS).
func (c *checking) step(n *ast.CallNode) *Value {
	m, okM := c.leafOf(n.Arguments[0])
	a, okA := c.leafOf(n.Arguments[1])
	span := c.span(n)
	if !okM || !okA || m.number || a.number || len(m.path) != 1 || len(a.path) != 1 {
		c.fail("E319", span, "`step` takes a map's name and an axis's").Hint("as in `step(fuel, rpm)`")
		return nil
	}
	v := c.name(m)
	ax, ok := c.find(c.ctx.Scope, a.path, a.span)
	if v == nil || !ok {
		return nil
	}
	if v.Node.Op != MapHere {
		c.fail("E319", m.span, "`%s` is not a map", m.path[0]).Hint("`step` takes a map's name: `step(fuel, rpm)`")
		return nil
	}
	if ax.Kind != SymAxis {
		c.fail("E319", a.span, "`%s` is not an axis", a.path[0])
		return nil
	}
	if !v.Node.Axes.Has(ax.Index) {
		c.fail("E317", a.span, "`%s` doesn't run over `%s`", m.path[0], a.path[0])
		return nil
	}
	t := v.Node.Type
	t.Unit = t.Unit.Difference()
	out := mk(StepOf, t, span)
	out.A, out.B, out.Axes, out.Maps = v.Node.A, ax.Index, v.Node.Axes, v.Node.Maps
	return &Value{Node: out}
}

// lookup checks a map called with coordinates.
func (c *checking) lookup(sym Symbol, name string, n *ast.CallNode) *Value {
	span := c.span(n)
	l, _ := c.leafOf(n.Callee)
	if !c.ctx.Maps && !c.cell(l, "a map", name) {
		c.visitAll(n.Arguments)
		return nil
	}
	if len(n.Arguments) != len(sym.Axes) {
		c.visitAll(n.Arguments)
		form := make([]string, len(sym.Axes))
		for i, a := range sym.Axes {
			form[i] = c.ctx.Scope.AxisName(a)
		}
		c.fail("E319", span, "`%s` has %s here", name, argCount(len(n.Arguments))).
			Hint("its axes, in order, are `%s(%s)`", name, strings.Join(form, ", "))
		return nil
	}
	kids := make([]*Node, len(sym.Axes))
	vals := make([]*Value, len(sym.Axes))
	ok := true
	for i := range sym.Axes {
		vals[i] = c.visit(n.Arguments[i])
	}
	if c.swapped(sym, name, vals) {
		return nil
	}
	for i, a := range sym.Axes {
		v := vals[i]
		kids[i] = v.As(c.ctx.Scope.AxisUnit(a), "`"+c.ctx.Scope.AxisName(a)+"`", c.errs)
		ok = ok && kids[i] != nil
		c.outside(kids[i], a)
	}
	if !ok {
		return nil
	}
	out := mk(MapAt, Type{Unit: sym.Unit}, span, kids...)
	out.A = sym.Index
	out.Maps |= bit(sym.Index)
	return &Value{Node: out, Named: span.Text()}
}

// swapped finds two coordinates of a look-up that stand the wrong way round.
func (c *checking) swapped(sym Symbol, name string, v []*Value) bool {
	if len(v) != 2 || v[0] == nil || v[1] == nil || v[0].Bare || v[1].Bare || v[0].Node.Type.Kind != Quantity || v[1].Node.Type.Kind != Quantity {
		return false
	}
	row, col := c.ctx.Scope.AxisUnit(sym.Axes[0]).Dim, c.ctx.Scope.AxisUnit(sym.Axes[1]).Dim
	if row == col || v[0].Node.Type.Unit.Dim != col || v[1].Node.Type.Unit.Dim != row {
		return false
	}
	span := v[0].Node.Span.Join(v[1].Node.Span)
	right := v[1].Node.Span.Text() + ", " + v[0].Node.Span.Text()
	c.fail("E319", span, "`%s` is looked up the wrong way round: its axes, in order, are %s and %s", name,
		c.ctx.Scope.AxisName(sym.Axes[0]), c.ctx.Scope.AxisName(sym.Axes[1])).Suggest(span, right, "write `%s(%s)`", name, right)
	return true
}

// outside warns of a fixed coordinate beyond an axis's range: the look-up gives
// the edge, and a slip (arguments swapped, a unit) is likelier.
func (c *checking) outside(n *Node, axis int) {
	ranges, ok := c.ctx.Scope.(interface {
		AxisRange(int) (lo, hi float64)
	})
	if !ok || n == nil || n.Op != Const {
		return
	}
	if lo, hi := ranges.AxisRange(axis); n.Val < lo || n.Val > hi {
		c.errs.Add("W014", n.Span, "`%s` is outside axis `%s`, so the look-up takes the value at the edge", clip(n.Span.Text()), c.ctx.Scope.AxisName(axis)).
			Hint("its range is %g..%g %s", lo, hi, c.ctx.Scope.AxisUnit(axis).Text)
	}
}

// signature is a function as its callers see it.
func (f *Fn) signature(name string) string {
	form := make([]string, len(f.Params))
	for i, p := range f.Params {
		form[i] = p.Name
		if !p.Unit.IsPlain() {
			form[i] += " [" + p.Unit.Text + "]"
		}
	}
	return name + "(" + strings.Join(form, ", ") + ")"
}

// callFn expands a function: its body with the arguments in place of the
// parameters. A shared argument stays one node, so nothing is computed twice.
func (c *checking) callFn(sym Symbol, name string, n *ast.CallNode) *Value {
	span := c.span(n)
	f := sym.Fn
	if f == nil || f.Body == nil {
		c.visitAll(n.Arguments)
		return nil
	}
	if len(n.Arguments) != len(f.Params) {
		c.visitAll(n.Arguments)
		c.fail("E319", span, "`%s` has %s here", name, argCount(len(n.Arguments))).Note(f.Span, "it takes `%s`", f.signature(name))
		return nil
	}
	args := make([]*Node, len(f.Params))
	ok, bare := true, false
	for i, p := range f.Params {
		v := c.visit(n.Arguments[i])
		v.WarnShare(p.Unit, "`"+p.Name+"` of `"+name+"`", c.errs)
		before := c.errs.Len()
		a := v.As(p.Unit, "`"+p.Name+"` of `"+name+"`", c.errs)
		bare = bare || v != nil && v.Bare
		if a == nil {
			if d := c.errs.Last(); v != nil && d != nil && c.errs.Len() > before {
				d.Note(f.Span, "it takes `%s`", f.signature(name))
			}
			ok = false
			continue
		}
		if p.Bound != nil {
			a = within(a, p.Bound)
		}
		args[i] = a
	}
	if !ok {
		return nil
	}
	if !spend(c.ctx.Scope, 0, span) {
		return nil
	}
	body, made, fits := expand(f.Body, args)
	if !fits {
		c.fail("E301", span, "with its functions written out this call has over %d steps", maxSize)
		return nil
	}
	if !spend(c.ctx.Scope, made, span) {
		return nil
	}
	if o := out(body); o != nil {
		d := c.fail("E330", span, "%v", o)
		if bare && !o.Bound.Unit.IsPlain() {
			d.Hint("a bare number takes the parameter's unit: `%s` is in %s", o.Bound.Param, unitName(o.Bound.Unit))
		}
		return nil
	}
	if body.Op == Const {
		return &Value{Node: &Node{Op: Const, Val: body.Val, Type: body.Type, Span: span, size: 1}}
	}
	return &Value{Node: alias(body, span)}
}
