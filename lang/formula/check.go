package formula

import (
	"strconv"
	"strings"
	"sync"

	"github.com/expr-lang/expr/ast"
	"github.com/expr-lang/expr/conf"
	"github.com/expr-lang/expr/file"
	"github.com/expr-lang/expr/parser"

	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/lang/syntax"
	"fettle/lang/unit"
)

// Value is a checked expression with what the place it stands in needs to know:
// whether it was a literal without a unit, or a written per cent.
type Value struct {
	Node    *Node
	Bare    bool   // a literal without a unit: it takes the unit of what stands opposite
	Loose   bool   // made of literals without a unit only, but not one of them
	Sum     bool   // Loose, and each of its literals would have taken the unit opposite
	Percent bool   // a literal in %
	Named   string // a single name: an axis, given, map, column, parameter, or let with a unit
}

// Compile checks an expression. Nil if it has errors.
func Compile(e *syntax.Expr, ctx Context, errs *diag.List) *Value {
	if e == nil || len(e.Toks) == 0 {
		return nil
	}
	if ctx.Chain {
		if v, done := compileChain(e, ctx, errs); done {
			return v
		}
	}
	w := rewrite(e, &ctx, errs)
	defer w.done()
	if !w.ok {
		return nil
	}
	tree := climb(w)
	if tree == nil {
		parsed, err := parser.ParseWithConfig(w.text(), grammar())
		if err != nil {
			syntaxError(e, w, err, errs)
			return nil
		}
		tree = parsed.Node
	}
	c := &checking{ctx: &ctx, w: w, toks: e.Toks, errs: errs}
	v := c.visit(tree)
	if v == nil {
		return nil
	}
	if !spend(ctx.Scope, len(e.Toks), e.Span) {
		return nil
	}
	if v.Node.size > maxSize {
		errs.Add("E301", e.Span, "with its functions written out this expression has over %d steps", maxSize).
			Hint("give a part that is used often a name of its own with `map … like` or `let`")
		return nil
	}
	if v.Node.Span != e.Span { // expr's tree forgets parentheses around the whole
		whole := *v.Node
		whole.Span = e.Span
		v.Node = &whole
	}
	return v
}

// grammar is what expr's parser is to know: no function of its own.
var grammar = sync.OnceValue(func() *conf.Config {
	cfg := conf.CreateNew()
	cfg.MaxNodes = maxTokens
	for name := range cfg.Builtins {
		cfg.Disabled[name] = true
	}
	return cfg
})

// compileChain reads LO <= x <= HI, which becomes `LO <= x and x <= HI`.
func compileChain(e *syntax.Expr, ctx Context, errs *diag.List) (*Value, bool) {
	var at []int
	depth := 0
	for i, t := range e.Toks {
		switch t.Text {
		case "(":
			depth++
		case ")":
			depth--
		case "<", "<=", ">", ">=":
			if depth == 0 {
				at = append(at, i)
			}
		case "and", "or", "not", "if", "==", "!=", "is":
			if depth == 0 {
				return nil, false
			}
		}
	}
	if len(at) != 2 || at[0] == 0 || at[1] == at[0]+1 || at[1] == len(e.Toks)-1 {
		return nil, false
	}
	part := func(from, to int) *syntax.Expr {
		x := &syntax.Expr{Toks: e.Toks[from:to]}
		x.Span = x.Toks[0].Span(e.Span.File).Join(x.Toks[len(x.Toks)-1].Span(e.Span.File))
		return x
	}
	o1, o2 := e.Toks[at[0]], e.Toks[at[1]]
	if o1.Text[0] != o2.Text[0] {
		errs.Add("E310", o2.Span(e.Span.File), "the two comparisons of a range point different ways").
			Hint("write a range as `0.80 <= lambda <= 0.95`")
		return nil, true
	}
	ctx.Chain = false
	left := Compile(part(0, at[1]), ctx, errs)
	right := Compile(part(at[0]+1, len(e.Toks)), ctx, errs)
	if left == nil || right == nil {
		return nil, true
	}
	if lo, hi := left.Node.Kids, right.Node.Kids; len(lo) == 2 && len(hi) == 2 && lo[0].IsConst() && hi[1].IsConst() {
		low := convert(lo[0], hi[1].Type.Unit).Val
		if up := o1.Text[0] == '<'; up && low > hi[1].Val || !up && low < hi[1].Val {
			errs.Add("E502", e.Span, "nothing lies between `%s` and `%s`", lo[0].Span.Text(), hi[1].Span.Text()).Hint("a range is written `LOW <= x <= HIGH`")
			return nil, true
		}
	}
	return &Value{Node: mk(And, Type{Kind: YesNo}, e.Span, left.Node, right.Node)}, true
}

func syntaxError(e *syntax.Expr, w *rewritten, err error, errs *diag.List) {
	fe, ok := err.(*file.Error)
	if !ok {
		errs.Add("E313", e.Span, "this expression can't be read")
		return
	}
	end := e.Toks[len(e.Toks)-1].Span(e.Span.File)
	if strings.Contains(fe.Message, "EOF") || fe.From >= w.size-1 {
		errs.Add("E313", end, "the expression ends too soon, after `%s`", end.Text())
		return
	}
	span := w.spanAt(fe.From)
	d := errs.Add("E313", span, "`%s` doesn't fit here", span.Text())
	for i, t := range e.Toks {
		if t.From != span.From {
			continue
		}
		if i > 0 && (t.Kind == syntax.Word || t.Kind == syntax.Number || t.Text == "(") && endsValue(e.Toks[i-1]) {
			operatorMissing(d, w.ctx, t)
			if before := e.Toks[i-1]; t.Kind == syntax.Number && before.Kind == syntax.Word {
				if _, isUnit := unit.Lookup(before.Text); isUnit && w.ctx.param(before.Text) < 0 {
					at := before.Span(e.Span.File).Join(t.Span(e.Span.File))
					d.Message = "a unit stands behind its number"
					d.Span = at
					d.Suggest(at, t.Text+" "+before.Text, "write `%s %s`", t.Text, before.Text)
				}
			}
			if t.Kind == syntax.Number && e.Toks[i-1].Kind != syntax.Word {
				d.Hint("several values are parted by `,`")
			}
		} else if t.Text == "not" {
			d.Message = "something is missing after `not`"
		} else if i > 0 && isOperator(e.Toks[i-1]) && isOperator(t) {
			d.Message = "something is missing between `" + e.Toks[i-1].Text + "` and `" + t.Text + "`"
		} else if i > 0 && (t.Text == "then" || t.Text == "else") {
			d.Hint("it is written `if CONDITION then VALUE else VALUE`")
		}
	}
	if strings.HasPrefix(w.text()[min(fe.From, w.size):], "?") {
		d.Hint("it is written `if CONDITION then VALUE else VALUE`")
	}
}

func isOperator(t syntax.Token) bool {
	switch t.Text {
	case "+", "-", "*", "/", "^", "<", "<=", ">", ">=", "==", "!=", "and", "or", ")", "(", ",":
		return true
	}
	return false
}

// operatorMissing words that two values stand side by side.
func operatorMissing(d *diag.Diagnostic, ctx *Context, t syntax.Token) {
	at := d.Span
	d.Code, d.Message = "E307", "an operator is missing before `"+t.Text+"`"
	sym, known := Symbol{}, false
	if t.Kind == syntax.Word {
		sym, known = ctx.Scope.Find(t.Text)
	}
	switch {
	case t.Text == "in":
		d.Message = "`in` is no word of the language"
		d.Hint("ask for each row: `pipe is stock or pipe is long`")
	case t.Text == "between":
		d.Message = "`between` is no word of the language"
		d.Hint("two bounds are two comparisons: `100 m <= altitude and altitude <= 500 m`")
	case known && sym.What == "region":
		d.Suggest(at, "over "+t.Text, "write `over %s`", t.Text)
	case known && sym.Kind == SymAxis:
		d.Hint("a part of the map begins with `over`: `over %s …`", t.Text)
	case t.Kind == syntax.Word:
		d.Hint("write `*` to multiply")
	}
}

func endsValue(t syntax.Token) bool {
	return t.Kind == syntax.Number || t.Kind == syntax.Unit || t.Kind == syntax.Word && !syntax.IsKeyword(t.Text) || t.Text == ")" || t.Text == "%"
}

type checking struct {
	ctx   *Context
	w     *rewritten
	toks  []syntax.Token
	spans map[ast.Node]source.Span
	errs  *diag.List
	asked Symbol // the given that was last asked for its row
	about string // its name
}

func (c *checking) fail(code string, span source.Span, format string, args ...any) *diag.Diagnostic {
	return c.errs.Add(code, span, format, args...)
}

// leafOf gives the leaf that an identifier of the rewritten text stands for.
func (c *checking) leafOf(n ast.Node) (leaf, bool) {
	id, ok := n.(*ast.IdentifierNode)
	if !ok || len(id.Value) < 2 || id.Value[0] != 't' {
		return leaf{}, false
	}
	i, err := strconv.Atoi(id.Value[1:])
	if err != nil || i >= len(c.w.leaves) {
		return leaf{}, false
	}
	return c.w.leaves[i], true
}

// visit checks a node of expr's tree. Nil after an error; both sides of an
// operator are visited all the same, so that each side's errors are told.
func (c *checking) visit(n ast.Node) *Value {
	switch n := n.(type) {
	case *ast.IdentifierNode:
		l, ok := c.leafOf(n)
		if !ok {
			break
		}
		if l.number {
			return &Value{Node: constant(l.val, l.unit, l.span), Bare: l.bare, Percent: l.unit.Same(unit.Percent)}
		}
		return c.name(l)
	case *ast.UnaryNode:
		return c.unary(n)
	case *ast.BinaryNode:
		return c.binary(n)
	case *ast.ConditionalNode:
		return c.conditional(n)
	case *ast.CallNode:
		return c.call(n)
	}
	c.fail("E313", c.span(n), "this part of the expression can't be read")
	return nil
}

func (c *checking) unary(n *ast.UnaryNode) *Value {
	v := c.visit(n.Node)
	if v == nil {
		return nil
	}
	span := c.span(n)
	switch n.Operator {
	case "not":
		if !c.wantYesNo(v, "not") {
			return nil
		}
		return &Value{Node: mk(Not, Type{Kind: YesNo}, span, v.Node)}
	case "-", "+":
		if !c.wantNumber(v, n.Operator) {
			return nil
		}
		if n.Operator == "+" {
			if !c.isLiteral(n.Node) {
				c.fail("E313", c.w.spanAt(n.Location().From), "a `+` with nothing before it does nothing").
					Suggest(c.w.spanAt(n.Location().From), "", "leave it out")
				return nil
			}
			return &Value{Node: v.Node, Bare: v.Bare, Percent: v.Percent, Loose: v.Loose, Sum: v.Sum}
		}
		if v.Node.Op == Const && (v.Bare || v.Percent || c.isLiteral(n.Node)) {
			return &Value{Node: constant(-v.Node.Val, v.Node.Type.Unit, span), Bare: v.Bare, Percent: v.Percent}
		}
		if c.refusePoint(v, "turned round") {
			return nil
		}
		return &Value{Node: mk(Neg, v.Node.Type, span, v.Node), Loose: v.Loose, Sum: v.Sum}
	}
	c.fail("E313", span, "`%s` has no place here", n.Operator)
	return nil
}

// isLiteral says whether a node is one written number.
func (c *checking) isLiteral(n ast.Node) bool {
	l, ok := c.leafOf(n)
	return ok && l.number
}

func (c *checking) conditional(n *ast.ConditionalNode) *Value {
	cond, a, b := c.visit(n.Cond), c.visit(n.Exp1), c.visit(n.Exp2)
	if cond == nil || a == nil || b == nil {
		return nil
	}
	if !c.wantYesNo(cond, "if") {
		return nil
	}
	span := c.span(n)
	loose := a.loose() && b.loose()
	if a.Node.Type.Kind != b.Node.Type.Kind {
		c.fail("E320", span, "one branch of this `if` is a number, the other a yes/no")
		return nil
	}
	if a.Node.Type.Kind == Quantity {
		out, ok := c.unify([]*Value{a, b}, "the branches of an `if`")
		if !ok {
			return nil
		}
		a, b = out[0], out[1]
	}
	return &Value{Node: mk(If, a.Node.Type, span, cond.Node, a.Node, b.Node), Loose: loose, Sum: loose}
}

func (c *checking) wantYesNo(v *Value, what string) bool {
	if v.Node.Type.Kind == YesNo {
		return true
	}
	c.fail("E320", v.Node.Span, "`%s` needs a yes/no here, and `%s` is a number", what, v.Node.Span.Text())
	return false
}

func (c *checking) wantNumber(v *Value, what string) bool {
	if v.Node.Type.Kind == Quantity {
		return true
	}
	c.fail("E320", v.Node.Span, "`%s` needs a number here, and `%s` is a yes/no", what, v.Node.Span.Text())
	return false
}

// refusePoint reports arithmetic that has no meaning for a point on a
// temperature scale.
func (c *checking) refusePoint(v *Value, done string) bool {
	if !v.Node.Type.Unit.IsPoint() {
		return false
	}
	c.fail("E323", v.Node.Span, "`%s` is a point in %s and can't be %s", v.Node.Span.Text(), v.Node.Type.Unit.Text, done).
		Hint("a difference of two temperatures is in K and can: `(air_temp - 22 degC) / 1 K`")
	return true
}
