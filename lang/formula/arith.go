package formula

import (
	"fmt"
	"math"
	"math/big"
	"slices"
	"strconv"
	"strings"

	"github.com/expr-lang/expr/ast"

	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/lang/unit"
)

var binaryOps = map[string]Op{
	"+": Add, "-": Sub, "*": Mul, "/": Div, "^": Pow, "<": Lt, "<=": Le, ">": Gt, ">=": Ge, "==": Eq, "!=": Ne,
	"and": And, "or": Or,
}

func (c *checking) binary(n *ast.BinaryNode) *Value {
	if n.Operator == "==" && slices.Contains(c.w.is, n.Location().From) {
		return c.is(n)
	}
	if (n.Operator == "==" || n.Operator == "!=") && c.comparesRow(n) {
		return nil
	}
	l, r := c.visit(n.Left), c.visit(n.Right)
	if l == nil || r == nil {
		return nil
	}
	span := c.span(n)
	op, ok := binaryOps[n.Operator]
	if !ok {
		c.fail("E313", span, "`%s` has no place here", n.Operator)
		return nil
	}
	if op == And || op == Or {
		if !c.wantYesNo(l, n.Operator) || !c.wantYesNo(r, n.Operator) {
			return nil
		}
		return &Value{Node: mk(op, Type{Kind: YesNo}, span, l.Node, r.Node)}
	}
	if !c.wantNumber(l, n.Operator) || !c.wantNumber(r, n.Operator) {
		return nil
	}
	switch op {
	case Add, Sub:
		return c.sum(op, l, r, span)
	case Mul, Div:
		if c.refusePoint(l, "multiplied or divided") || c.refusePoint(r, "multiplied or divided") {
			return nil
		}
		u := l.Node.Type.Unit.Mul(r.Node.Type.Unit)
		if op == Div {
			u = l.Node.Type.Unit.Div(r.Node.Type.Unit)
		}
		return &Value{Node: mk(op, Type{Unit: u}, span, l.Node, r.Node), Loose: l.loose() && r.loose()}
	case Pow:
		v := c.power(l, r, span)
		if v != nil {
			v.Loose = l.loose() && r.loose()
		}
		return v
	}
	if !c.opposite(l, r, n.Operator, true) || !c.sameDim(l, r, span, "compared") {
		return nil
	}
	// Values are compared in the unit of the left side; but in that of the right
	// where the left is worked out and the right is written: `x / y <= 18 %`.
	left, right := l.Node, r.Node
	if l.Named == "" && l.Node.Op != Const && (r.Named != "" || r.Node.Op == Const && !r.Bare) {
		left = convert(left, right.Type.Unit)
	} else {
		right = convert(right, left.Type.Unit)
	}
	out := mk(op, Type{Kind: YesNo}, span, left, right)
	if c.ctx.Judge && out.Op == Const {
		out = &Node{Op: op, Type: out.Type, Span: span, Kids: []*Node{left, right}, size: 3}
	}
	return &Value{Node: out}
}

// opposite gives a literal without a unit the unit of what stands opposite.
func (c *checking) opposite(l, r *Value, op string, compares bool) bool {
	switch {
	case l.loose() && r.loose():
		return true
	case r.Loose:
		return !r.Unitless(l.Node.Type.Unit, "`"+clip(l.Node.Span.Text())+"`", c.errs)
	case l.Loose:
		return !l.Unitless(r.Node.Type.Unit, "`"+clip(r.Node.Span.Text())+"`", c.errs)
	case r.Bare:
		return c.adopt(r, l, op, compares)
	case l.Bare:
		return c.adopt(l, r, op, compares)
	}
	return true
}

// loose says that there is no unit anywhere in an expression, only numbers.
func (v *Value) loose() bool { return v.Bare || v.Loose }

// Unitless refuses an expression without units where a unit is wanted: it would
// be a plain number, however each of its numbers was meant. True if it did.
func (v *Value) Unitless(u unit.Unit, what string, errs *diag.List) bool {
	if !v.Loose || v.Node.Type.Kind != Quantity || u.IsPlain() || u.Dim.IsNone() && !(v.Sum && u.Same(unit.Percent)) {
		return false
	}
	if u.IsPoint() {
		u = unit.Kelvin()
	}
	errs.Add("E321", v.Node.Span, "`%s` has no unit, and %s is in %s", clip(v.Node.Span.Text()), what, unitName(u)).
		Hint("write the unit with its numbers, as `%s`", withUnit(firstNumber(v.Node.Span.Text()), u))
	return true
}

// firstNumber is the first number of an expression's text.
func firstNumber(text string) string {
	words := strings.FieldsFunc(text, func(r rune) bool { return r != '.' && (r < '0' || r > '9') })
	if len(words) == 0 {
		return "1"
	}
	return words[0]
}

func (c *checking) adopt(lit, other *Value, op string, compares bool) bool {
	u := other.Node.Type.Unit
	if u.IsPlain() {
		return true
	}
	text := lit.Node.Span.Text()
	switch {
	case u.Same(unit.Percent) && (other.Named == "") == compares && lit.Node.Val != 0:
		// `duty + 5` and `duty * 2 > 50` could be meant either way; `1 + duty * 0.1`
		// and `1 + 3 %` can't, since a sum with a worked-out ratio is a ratio.
		share := strconv.FormatFloat(math.Round(lit.Node.Val*1e8)/1e6, 'f', -1, 64)
		c.fail("E321", lit.Node.Span, "`%s` beside `%s`, which is in %%, could be %s %% or %s %%", text, clip(other.Node.Span.Text()), text, share).
			Hint("write the one that is meant")
		return false
	case u.Dim.IsNone() && other.Named == "" && other.Node.Op != StepOf:
		return true // a ratio that was worked out: a plain number beside it is one too
	case other.Named == "":
		if u.Dim == unit.Kelvin().Dim && !u.IsPoint() {
			u = unit.Kelvin() // a difference in degF has no unit of its own
		}
		c.fail("E321", lit.Node.Span, "`%s` needs a unit: what stands opposite is in %s", text, unitName(u)).
			Suggest(lit.Node.Span, withUnit(text, u), "write `%s`", withUnit(text, u))
		return false
	}
	if share := math.Abs(lit.Node.Val); u.Same(unit.Percent) && share > 0 && share < 1 {
		c.errs.Add("W010", lit.Node.Span, "`%s` beside `%s`, which is in %%, is read as %s %%", text, other.Named, text).
			Hint("write `%s %%`, or `%s %%` if a share is meant", text, strconv.FormatFloat(math.Round(lit.Node.Val*1e8)/1e6, 'f', -1, 64))
	}
	lit.Node, lit.Bare = constant(lit.Node.Val, u, lit.Node.Span), false
	return true
}

// withUnit writes a number with a unit as a source would.
func withUnit(num string, u unit.Unit) string {
	if u.IsPlain() {
		return num
	}
	if _, ok := unit.Lookup(u.Text); ok && u.Text != "in" {
		return num + " " + u.Text
	}
	return num + " [" + u.Text + "]"
}

func unitName(u unit.Unit) string {
	if u.IsPlain() {
		return "a plain number"
	}
	return "[" + u.Text + "]"
}

// KindOf describes a unit to a tuner: "a mass [mg]".
func KindOf(u unit.Unit) string {
	if u.IsPlain() {
		return "a plain number"
	}
	if u.Dim.IsNone() {
		return "a ratio [" + u.Text + "]"
	}
	return fmt.Sprintf("%s [%s]", u.Dim.String(), u.Text)
}

func (c *checking) sameDim(l, r *Value, span source.Span, done string) bool {
	if l.Node.Type.Unit.Dim == r.Node.Type.Unit.Dim {
		return true
	}
	c.fail("E322", span, "`%s` is %s and `%s` is %s: they can't be %s",
		clip(l.Node.Span.Text()), KindOf(l.Node.Type.Unit), clip(r.Node.Span.Text()), KindOf(r.Node.Type.Unit), done)
	return false
}

func clip(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	if len(s) > 50 {
		s = strings.ToValidUTF8(s[:50], "") + "…" // a character may have been cut in two
	}
	return s
}

// sum checks + and -, with the rules for points on a temperature scale: point
// less point is a difference, point and difference make a point.
func (c *checking) sum(op Op, l, r *Value, span source.Span) *Value {
	if op == Add && (l.Bare && r.Node.Type.Unit.IsPoint() || r.Bare && l.Node.Type.Unit.IsPoint()) {
		lit := l
		if r.Bare {
			lit = r
		}
		t := lit.Node.Span.Text()
		c.fail("E324", lit.Node.Span, "`%s` beside a temperature is one too, and two of them can't be added", t).
			Suggest(lit.Node.Span, t+" K", "for a difference write `%s K`", t)
		return nil
	}
	word := "+"
	if op == Sub {
		word = "-"
	}
	done := map[Op]string{Add: "added", Sub: "subtracted"}[op]
	if !c.opposite(l, r, word, false) || !c.sameDim(l, r, span, done) {
		return nil
	}
	lu, ru := l.Node.Type.Unit, r.Node.Type.Unit
	switch {
	case lu.IsPoint() && ru.IsPoint() && op == Add:
		d := c.fail("E324", r.Node.Span, "two temperatures can't be added: `%s` is a point on the scale, not a difference", clip(r.Node.Span.Text()))
		if num := strings.TrimSpace(strings.TrimSuffix(r.Node.Span.Text(), "degC")); r.Node.IsConst() && num != r.Node.Span.Text() && !strings.ContainsAny(num, " []") {
			d.Suggest(r.Node.Span, num+" K", "for a difference write `%s K`", num)
		} else {
			d.Hint("write the difference in K")
		}
		return nil
	case lu.IsPoint() && ru.IsPoint():
		return &Value{Node: mk(Sub, Type{Unit: lu.Difference()}, span, l.Node, convert(r.Node, lu))}
	case lu.IsPoint():
		return &Value{Node: mk(op, Type{Unit: lu}, span, l.Node, convert(r.Node, lu.Difference()))}
	case ru.IsPoint() && op == Add:
		return &Value{Node: mk(Add, Type{Unit: ru}, span, convert(l.Node, ru.Difference()), r.Node)}
	case ru.IsPoint():
		return &Value{Node: mk(Sub, Type{Unit: unit.Kelvin()}, span, convert(l.Node, unit.Kelvin()), convert(r.Node, unit.Kelvin()))}
	}
	loose := l.loose() && r.loose()
	return &Value{Node: mk(op, Type{Unit: lu}, span, l.Node, convert(r.Node, lu)), Loose: loose, Sum: loose}
}

func (c *checking) power(l, r *Value, span source.Span) *Value {
	ru := r.Node.Type.Unit
	if !ru.Dim.IsNone() {
		c.fail("E325", r.Node.Span, "an exponent is a plain number, and `%s` is %s", clip(r.Node.Span.Text()), KindOf(ru))
		return nil
	}
	exp := convert(r.Node, unit.None)
	if c.refusePoint(l, "raised to a power") {
		return nil
	}
	lu := l.Node.Type.Unit
	if lu.Dim.IsNone() {
		return &Value{Node: mk(Pow, Type{}, span, convert(l.Node, unit.None), exp)}
	}
	if exp.Op != Const {
		c.fail("E325", span, "`%s` is %s: only a plain number takes an exponent that isn't fixed", clip(l.Node.Span.Text()), KindOf(lu)).
			Hint("divide by a quantity of the same kind first: `(rpm / 10000 rpm) ^ x`")
		return nil
	}
	if n := exp.Val; n == math.Trunc(n) && math.Abs(n) <= unit.MaxPower && lu.CanPow(int(n)) {
		return &Value{Node: mk(Pow, Type{Unit: lu.PowInt(int(n))}, span, l.Node, exp)}
	}
	num, den, ok := fraction(exp.Val)
	if ok {
		if root, ok := lu.Root(num, den); ok {
			return &Value{Node: mk(Pow, Type{Unit: root}, span, convert(l.Node, unit.Coherent(lu.Dim)), exp)}
		}
	}
	c.fail("E325", span, "%s can't be raised to the power %g", KindOf(lu), exp.Val).
		Hint("divide by a quantity of the same kind first: `(rpm / 10000 rpm) ^ 1.37`")
	return nil
}

// fraction recognises twelfths, the exponents that dimensions can take.
func fraction(x float64) (num, den int, ok bool) {
	t := math.Round(x * 12)
	if math.Abs(t) > 144 || math.Abs(x-t/12) > 1e-15*math.Abs(x) {
		return 0, 0, false
	}
	r := big.NewRat(int64(t), 12)
	return int(r.Num().Int64()), int(r.Denom().Int64()), true
}

// unify brings values to one unit: that of the first that isn't a bare literal.
func (c *checking) unify(vals []*Value, what string) ([]*Value, bool) {
	var lead *Value
	for _, v := range vals {
		if !v.loose() && (lead == nil || lead.Named == "" && v.Named != "") {
			lead = v
		}
	}
	ok := true
	if lead != nil {
		for _, v := range vals {
			if v.Bare && !c.adopt(v, lead, what, true) || v.Unitless(lead.Node.Type.Unit, "`"+clip(lead.Node.Span.Text())+"`", c.errs) {
				ok = false
			}
		}
	}
	if !ok {
		return nil, false
	}
	u := vals[0].Node.Type.Unit
	for _, v := range vals[1:] {
		if v.Node.Type.Unit.IsPoint() && !u.IsPoint() {
			u = v.Node.Type.Unit
		}
	}
	out := make([]*Value, len(vals))
	for i, v := range vals {
		if v.Node.Type.Unit.Dim != u.Dim {
			c.fail("E322", v.Node.Span, "`%s` is %s, but `%s` is %s: %s must be of one kind", clip(v.Node.Span.Text()), KindOf(v.Node.Type.Unit),
				clip(vals[0].Node.Span.Text()), KindOf(vals[0].Node.Type.Unit), what)
			return nil, false
		}
		out[i] = &Value{Node: convert(v.Node, u)}
	}
	return out, true
}

// As brings a value to the unit that its place asks for: a bare literal takes
// it, anything else is converted. What names the place, for the message.
func (v *Value) As(u unit.Unit, what string, errs *diag.List) *Node {
	if v == nil {
		return nil
	}
	n := v.Node
	if n.Type.Kind != Quantity {
		errs.Add("E320", n.Span, "%s is a number, and `%s` is a yes/no", what, clip(n.Span.Text()))
		return nil
	}
	if v.Bare {
		return constant(n.Val, u, n.Span)
	}
	if v.Unitless(u, what, errs) {
		return nil
	}
	if n.Type.Unit.Dim != u.Dim {
		d := errs.Add("E322", n.Span, "%s is %s, but `%s` is %s", what, KindOf(u), clip(n.Span.Text()), KindOf(n.Type.Unit))
		if n.Op == Const && n.Type.Unit.Text != "" && v.Node.Span.File != nil {
			if num := strings.TrimSpace(strings.TrimSuffix(n.Span.Text(), n.Type.Unit.Text)); num != n.Span.Text() && !strings.ContainsAny(num, " []") {
				if u.IsPlain() {
					d.Hint("if a plain number is meant, leave the unit out: `%s`", num)
				} else {
					d.Hint("a value in %s is written `%s`", unitName(u), withUnit(num, u))
				}
			}
		}
		return nil
	}
	return convert(n, u)
}

// WarnShare warns of a bare number below one where a per cent is wanted: 0.85 is
// 0.85 % there, and 85 % is likelier meant.
func (v *Value) WarnShare(u unit.Unit, what string, errs *diag.List) {
	if v == nil || !v.Bare || !u.Same(unit.Percent) {
		return
	}
	n := v.Node
	if share := math.Abs(n.Val); share > 0 && share < 1 {
		errs.Add("W010", n.Span, "%s is in %%, so `%s` is read as %s %%", what, n.Span.Text(), n.Span.Text()).
			Suggest(n.Span, n.Span.Text()+" %", "write `%s %%` if that is meant, and `%g %%` if it is a share", n.Span.Text(), round6(n.Val*100))
	}
}

// round6 takes float noise off a number that is shown.
func round6(x float64) float64 { return math.Round(x*1e6) / 1e6 }

// ConvertTo puts a checked value into another unit of the same dimension.
func ConvertTo(n *Node, u unit.Unit) *Node { return convert(n, u) }

// Plain strips what only renames or converts a value.
func Plain(n *Node) *Node {
	for n.Op == Alias || n.Op == Convert {
		n = n.Kids[0]
	}
	return n
}

// Strip strips what only renames a value.
func Strip(n *Node) *Node {
	for n.Op == Alias {
		n = n.Kids[0]
	}
	return n
}
