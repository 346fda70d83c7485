package formula

import (
	"slices"
	"strings"

	"github.com/expr-lang/expr/ast"

	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/stdlib"
)

func (ctx *Context) param(name string) int {
	for i := range ctx.Params {
		if ctx.Params[i].Name == name {
			return i
		}
	}
	return -1
}

// name resolves a dotted name that isn't called.
func (c *checking) name(l leaf) *Value {
	first := l.path[0]
	if first == "yes" || first == "no" {
		c.fail("E314", l.span, "`%s` stands alone", first).Hint("a yes/no condition is written by its name: `wet`, `not wet`")
		return nil
	}
	if i := c.ctx.param(first); i >= 0 {
		if len(l.path) > 1 {
			c.fail("E315", l.span, "`%s` is a parameter and has no parts", first)
			return nil
		}
		p := c.ctx.Params[i]
		n := mk(Param, Type{Unit: p.Unit}, l.span)
		n.A = i
		return &Value{Node: n, Named: first}
	}
	sym, ok := c.find(c.ctx.Scope, l.path, l.span)
	if !ok {
		return nil
	}
	rest := l.path[1:]
	for sym.Kind == SymModule && len(rest) > 0 {
		inner, found := sym.Module.Find(rest[0])
		if !found || inner.Kind == SymModule {
			d := c.fail("E316", l.span, "module `%s` has no `%s`", first, rest[0])
			c.nearest(d, l, rest[0], sym.Module.Names())
			return nil
		}
		sym, rest = inner, rest[1:]
	}
	return c.symbol(sym, l, rest)
}

// find resolves the first word of a path in a scope.
func (c *checking) find(s Scope, path []string, span source.Span) (Symbol, bool) {
	sym, ok := s.Find(path[0])
	if ok {
		return sym, sym.Kind != SymBroken
	}
	first := firstWord(span, path[0])
	d := c.fail("E316", first, "there is no `%s`", path[0])
	var names []string
	if !c.errs.Many() {
		names = s.Names()
	}
	for i := range c.ctx.Params {
		names = append(names, c.ctx.Params[i].Name)
	}
	names = append(names, builtinNames...)
	if c.elsewhere(d, s, path, first, names) {
		return Symbol{}, false
	}
	if c.errs.Many() {
		return Symbol{}, false
	}
	if near := diag.Nearest(path[0], names); near != "" {
		d.Suggest(first, near, "did you mean `%s`?", near)
	} else if slices.Contains(stdlib.Modules(), path[0]) {
		d.Hint("it is a module of the standard library: write `use %s` at the top of the file", path[0])
	}
	return Symbol{}, false
}

func (c *checking) symbol(sym Symbol, l leaf, rest []string) *Value {
	text := strings.Join(l.path, ".")
	switch sym.Kind {
	case SymChoice:
		return c.choice(sym, l, rest)
	case SymCatalog:
		return c.catalogCell(sym, l, rest)
	case SymBroken:
		return nil
	}
	if len(rest) > 0 {
		c.fail("E315", l.span, "`%s` is %s and has no part `%s`", l.path[0], article(sym.What), rest[0])
		return nil
	}
	switch sym.Kind {
	case SymAxis:
		if c.ctx.Cell && !c.ctx.AnyAx && !contains(c.ctx.Axes, sym.Index) {
			c.fail("E317", l.span, "the map here has no axis `%s`", text)
			return nil
		}
		if !c.cell(l, "an axis", text) {
			return nil
		}
		n := mk(AxisVal, Type{Unit: sym.Unit}, l.span)
		n.A, n.Axes = sym.Index, bit(sym.Index)
		return &Value{Node: n, Named: text}
	case SymGiven, SymSwitch:
		if !c.ctx.Givens {
			c.noGivens(l.span, text)
			return nil
		}
		op, t := GivenVal, Type{Unit: sym.Unit}
		if sym.Kind == SymSwitch {
			op, t = GivenYes, Type{Kind: YesNo}
		}
		n := mk(op, t, l.span)
		n.A, n.Givens = sym.Index, bit(sym.Index)
		return &Value{Node: n, Named: text}
	case SymLet:
		if sym.Node == nil {
			return nil
		}
		if sym.Node.Givens != 0 && !c.ctx.Givens {
			c.fail("E318", l.span, "`%s` depends on a given, and %s sees no givens", text, c.ctx.What)
			return nil
		}
		n := *sym.Node
		n.Span = l.span
		v := &Value{Node: &n}
		if n.Op != Const {
			v.Node = sym.Node // shared, so that it is computed once
			if sym.Node.Span != l.span {
				v.Node = alias(sym.Node, l.span)
			}
		}
		if sym.United {
			v.Named = text
		}
		return v
	case SymMap:
		if !c.cell(l, "a map", text) {
			return nil
		}
		if !c.ctx.AnyAx {
			for _, a := range sym.Axes {
				if !contains(c.ctx.Axes, a) {
					c.fail("E317", l.span, "`%s` runs over `%s`, and the map here has no such axis", text, c.ctx.Scope.AxisName(a)).
						Hint("look it up where it is wanted: `%s(%s)`", text, c.coordinates(sym.Axes))
					return nil
				}
			}
		}
		n := mk(MapHere, Type{Unit: sym.Unit}, l.span)
		n.A, n.Maps = sym.Index, bit(sym.Index)
		for _, a := range sym.Axes {
			n.Axes |= bit(a)
		}
		return &Value{Node: n, Named: text}
	case SymFn:
		c.fail("E319", l.span, "`%s` is a function and needs its arguments", text).Hint("write `%s(…)`", text)
	case SymModule:
		c.fail("E315", l.span, "`%s` is a module: name what you need of it, as `%s.…`", text, text)
	default:
		c.fail("E315", l.span, "`%s` is %s and has no value", text, article(sym.What)).Note(sym.Span, "declared here")
	}
	return nil
}

// alias gives a shared node another place in the source without copying what
// stands under it.
func alias(n *Node, span source.Span) *Node {
	return &Node{Op: Alias, Kids: []*Node{n}, Type: n.Type, Span: span, Axes: n.Axes, Givens: n.Givens, Maps: n.Maps, size: n.size + 1}
}

func article(what string) string {
	if what == "" {
		return "a name"
	}
	switch what[0] {
	case 'a', 'e', 'i', 'o', 'u':
		return "an " + what
	}
	return "a " + what
}

// cell refuses axes and maps where there is no cell.
func (c *checking) cell(l leaf, what, name string) bool {
	if c.ctx.Cell {
		return true
	}
	d := c.fail("E318", l.span, "`%s` is %s, and %s sees no %s", name, what, c.ctx.What, map[string]string{"an axis": "axes", "a map": "maps"}[what])
	if c.ctx.Maps {
		d.Message = "`" + name + "` has a value in every cell, and " + c.ctx.What + " stands at none"
	}
	if c.ctx.Use != "" {
		d.Hint("%s", c.ctx.Use)
	}
	return false
}

// choice resolves a given that is a row: `blend.stoich`.
func (c *checking) choice(sym Symbol, l leaf, rest []string) *Value {
	if !c.ctx.Givens {
		c.noGivens(l.span, l.path[0])
		return nil
	}
	cat := sym.Catalog
	if cat == nil {
		return nil
	}
	if len(rest) > 1 {
		c.fail("E315", l.span, "`%s` is one row already, and has columns only", l.path[0]).
			Hint("write `%s.%s`, or `%s.%s.%s` for that row", l.path[0], rest[1], cat.Name, rest[0], rest[1])
		return nil
	}
	if len(rest) == 0 {
		c.fail("E315", l.span, "`%s` is a row of `%s`: by itself it is neither a number nor a yes/no", l.path[0], cat.Name).
			Hint("ask for a column, as `%s.%s`, or which row it is, as `%s is %s`", l.path[0], first(cat.ColNames()), l.path[0], first(cat.Rows))
		return nil
	}
	j, ok := c.column(cat, l, rest[0])
	if !ok {
		return nil
	}
	n := mk(GivenCol, colType(cat.Cols[j]), l.span)
	n.A, n.B, n.Givens = sym.Index, j, bit(sym.Index)
	return &Value{Node: n, Named: strings.Join(l.path, ".")}
}

func colType(col Column) Type {
	if col.Kind == YesNoCol {
		return Type{Kind: YesNo}
	}
	return Type{Unit: col.Unit}
}

func first(list []string) string {
	if len(list) == 0 {
		return "…"
	}
	return list[0]
}

func (c *checking) column(cat *Catalog, l leaf, name string) (int, bool) {
	j := cat.Col(name)
	if j < 0 {
		d := c.fail("E316", l.span, "catalogue `%s` has no column `%s`", cat.Name, name)
		c.nearest(d, l, name, cat.ColNames())
		return 0, false
	}
	if cat.Cols[j].Kind == TextCol {
		c.fail("E320", l.span, "column `%s` holds text, which has no place in an expression", name)
		return 0, false
	}
	return j, true
}

// catalogCell resolves `fuels.pump98.stoich`.
func (c *checking) catalogCell(sym Symbol, l leaf, rest []string) *Value {
	cat := sym.Catalog
	if cat == nil {
		return nil
	}
	if len(rest) != 2 {
		c.fail("E315", l.span, "`%s` is not a number: a value of a catalogue is named by row and column", strings.Join(l.path, ".")).
			Hint("write `%s.%s.%s`", strings.Join(l.path[:len(l.path)-len(rest)], "."), rowMeant(cat, rest), first(cat.ColNames()))
		return nil
	}
	i := cat.Row(rest[0])
	if i < 0 {
		d := c.fail("E316", l.span, "catalogue `%s` has no row `%s`", cat.Name, rest[0])
		c.nearest(d, l, rest[0], cat.Rows)
		return nil
	}
	j, ok := c.column(cat, l, rest[1])
	if !ok {
		return nil
	}
	n := constant(cat.Values[i][j], cat.Cols[j].Unit, l.span)
	n.Type = colType(cat.Cols[j])
	return &Value{Node: n, Named: strings.Join(l.path, ".")}
}

// is checks `x is row`.
func (c *checking) is(n *ast.BinaryNode) *Value {
	l, okL := c.leafOf(n.Left)
	r, okR := c.leafOf(n.Right)
	span := c.span(n)
	if !okL || !okR || l.number || r.number {
		c.fail("E326", span, "`is` stands between a given and a row's name").Hint("as in `pipe is long`; numbers are compared with `==`")
		return nil
	}
	sym, ok := c.find(c.ctx.Scope, l.path, l.span)
	if !ok {
		return nil
	}
	if sym.Kind == SymSwitch && len(l.path) == 1 && (r.path[0] == "yes" || r.path[0] == "no") {
		v := c.name(l)
		if v == nil || r.path[0] == "yes" {
			return v
		}
		return &Value{Node: mk(Not, Type{Kind: YesNo}, span, v.Node)}
	}
	if sym.Kind == SymSwitch && len(l.path) == 1 {
		d := c.fail("E326", r.span, "`%s` is yes or no, and `%s` is neither", l.path[0], strings.Join(r.path, "."))
		if yes := yesWords[r.path[0]]; yes != "" {
			d.Suggest(r.span, yes, "write `%s`", yes)
		}
		return nil
	}
	if sym.Kind != SymChoice || len(l.path) != 1 {
		d := c.fail("E326", l.span, "`%s` is not a given chosen from a catalogue, so it can't be asked which row it is", strings.Join(l.path, "."))
		if sym.Kind == SymCatalog {
			d.Hint("ask the given that is chosen from it")
		} else {
			d.Hint("numbers are compared with `==`")
		}
		return nil
	}
	if !c.ctx.Givens {
		c.noGivens(l.span, l.path[0])
		return nil
	}
	cat := sym.Catalog
	if cat == nil {
		return nil
	}
	c.asked, c.about = sym, l.path[0]
	row := r.path[len(r.path)-1]
	i := cat.Row(row)
	if i < 0 || len(r.path) > 2 || len(r.path) == 2 && r.path[0] != cat.Name {
		d := c.fail("E316", r.span, "catalogue `%s` has no row `%s`", cat.Name, strings.Join(r.path, "."))
		c.nearest(d, r, row, cat.Rows)
		return nil
	}
	node := mk(GivenIs, Type{Kind: YesNo}, span)
	node.A, node.B, node.Givens = sym.Index, i, bit(sym.Index)
	return &Value{Node: node}
}

// comparesRow reports `pipe == long`: which row a given is, is asked with `is`.
func (c *checking) comparesRow(n *ast.BinaryNode) bool {
	l, okL := c.leafOf(n.Left)
	r, okR := c.leafOf(n.Right)
	if !okL || l.number || len(l.path) != 1 || l.called || c.ctx.param(l.path[0]) >= 0 {
		return false
	}
	sym, ok := c.ctx.Scope.Find(l.path[0])
	if !ok || sym.Kind != SymChoice {
		return false
	}
	sign := c.w.spanAt(n.Location().From)
	d := c.fail("E326", sign, "which row `%s` is, is asked with `is`", l.path[0])
	switch {
	case !okR || r.number:
		d.Hint("as in `%s is %s`; its columns are numbers, as `%s.COLUMN`", l.path[0], first(sym.Catalog.Rows), l.path[0])
	case n.Operator == "==":
		d.Suggest(sign, "is", "write `%s is %s`", l.path[0], r.path[len(r.path)-1])
	default:
		d.Suggest(l.span.Join(r.span), "not "+l.path[0]+" is "+strings.Join(r.path, "."), "write `not %s is %s`", l.path[0], r.path[len(r.path)-1])
	}
	return true
}

func contains(list []int, x int) bool {
	for _, v := range list {
		if v == x {
			return true
		}
	}
	return false
}
