package check

import (
	"math"
	"strings"
	"sync"

	"fettle/compiler/resolve"
	"fettle/lang/diag"
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/syntax"
	"fettle/lang/unit"
	"fettle/lang/work"
)

// scope resolves names for formula: the workspace's or a module's. Values and
// functions are checked when they are first asked for.
type scope struct {
	c       *checker
	names   *resolve.Names
	symbols map[string]formula.Symbol
	busy    map[string]bool
	used    map[string]bool
	deep    map[string]int // how many values and functions lie under one
	all     []string
}

// maxDeep bounds values and functions that need each other in a row, whichever
// way round they are written: each is checked within the one that asks for it.
const maxDeep = 1000

// needs notes that the value under way needs another, and how deep that makes it.
func (c *checker) needs(deep int) {
	if n := len(c.deep); n > 0 {
		c.deep[n-1] = max(c.deep[n-1], deep+1)
	}
}

// Spend implements formula.Spender.
func (s *scope) Spend(steps int, at source.Span) bool {
	if s.names.Module != "" {
		return true // checked once for all workspaces
	}
	c, most := s.c, work.Most(work.Steps)
	before := c.spent
	if c.spent += steps; c.spent > most && before <= most {
		c.errs.Add("E410", at.Cut(1), "with their functions written out, the expressions up to here have over %d steps together, the most that are made", most).
			Hint("give what is used often a map of its own, with `map … like`; %s", work.Hint)
	}
	return c.spent <= most
}

// ofLibrary holds the values and functions of the library's modules that have
// been checked, by their declarations: what they mean depends on no workspace,
// and their trees are the same for all.
var ofLibrary sync.Map

func (c *checker) newScope(names *resolve.Names) *scope {
	return &scope{c: c, names: names, symbols: map[string]formula.Symbol{}, busy: map[string]bool{}, used: map[string]bool{}, deep: map[string]int{}}
}

// Find implements formula.Scope.
func (s *scope) Find(name string) (formula.Symbol, bool) {
	if sym, ok := s.symbols[name]; ok {
		s.used[name] = true
		s.c.needs(s.deep[name])
		return sym, true
	}
	if m, ok := s.names.Modules[name]; ok {
		if sc := s.c.modules[m.Module]; sc != nil {
			return formula.Symbol{Kind: formula.SymModule, Module: sc, What: "module"}, true
		}
	}
	d, ok := s.names.Table[name]
	if !ok {
		// With a file missing there is no telling what it declares.
		return formula.Symbol{Kind: formula.SymBroken}, s.names.Partial && !formula.IsBuiltin(name)
	}
	s.used[name] = true
	h := d.Header()
	sym := formula.Symbol{Kind: formula.SymBroken, Span: h.Name.Span}
	switch d := d.(type) {
	case *syntax.Let, *syntax.Fn:
		if s.busy[name] {
			s.circle(name, h)
			return sym, true
		}
		if s.names.Module != "" {
			if known, ok := ofLibrary.Load(d); ok {
				sym = known.(formula.Symbol)
				break
			}
		}
		if len(s.c.stack) > maxDeep+100 { // the library's own lie within
			s.tooDeep(h)
			break
		}
		told := s.c.errs.Len()
		s.busy[name] = true
		s.c.stack, s.c.deep = append(s.c.stack, name), append(s.c.deep, 0)
		if l, ok := d.(*syntax.Let); ok {
			sym = s.c.let(s, l)
		} else {
			sym = s.c.fn(s, d.(*syntax.Fn))
		}
		top := len(s.c.stack) - 1
		if s.names.Module == "" { // those of the library are few, and may be known already
			s.deep[name] = s.c.deep[top]
		}
		s.c.stack, s.c.deep = s.c.stack[:top], s.c.deep[:top]
		s.busy[name] = false
		if s.deep[name] > maxDeep && sym.Kind != formula.SymBroken {
			s.tooDeep(h)
			sym = formula.Symbol{Kind: formula.SymBroken, Span: h.Name.Span}
		}
		s.c.needs(s.deep[name])
		if s.names.Module != "" && s.c.errs.Len() == told {
			ofLibrary.Store(d, sym)
		}
	case *syntax.Curve:
		sym = s.c.curve(d)
	case *syntax.Catalog:
		sym = s.c.catalog(d)
	case *syntax.Broken:
	case *syntax.Axis, *syntax.Given, *syntax.Map:
		// Registered up front; one that is missing by now has errors of its own.
		// Before that only fixed values may be asked for, and these are refused
		// by what they are.
		if !s.c.ready {
			kind := map[string]formula.SymKind{"axis": formula.SymAxis, "given": formula.SymGiven, "map": formula.SymMap}[h.Keyword]
			return formula.Symbol{Kind: kind, What: h.Keyword, Span: h.Name.Span}, true
		}
	default:
		sym = formula.Symbol{Kind: formula.SymOther, What: trimArticle(resolve.What(h.Keyword)), Span: h.Name.Span}
	}
	s.symbols[name] = sym
	return sym, true
}

func trimArticle(s string) string {
	for i := 0; i < len(s); i++ {
		if s[i] == ' ' {
			return s[i+1:]
		}
	}
	return s
}

// tooDeep reports a value or function at the end of too long a row of others.
func (s *scope) tooDeep(h *syntax.Head) {
	s.c.errs.Add("E410", h.Name.Span, "values and functions need each other in a row of over %d, the most that are followed", maxDeep).
		Hint("write some of them in one")
}

// circle reports a value or function that needs itself.
func (s *scope) circle(name string, h *syntax.Head) {
	var chain []string
	for i, n := range s.c.stack {
		if n == name {
			chain = append(chain, s.c.stack[i:]...)
			break
		}
	}
	if len(chain) > maxRing {
		chain = append(chain[:maxRing:maxRing], "…")
	}
	text := strings.Join(append(chain[:len(chain):len(chain)], name), " needs ")
	d := s.c.errs.Add("E408", h.Name.Span, "`%s` needs itself: %s", name, text)
	for _, n := range chain {
		if other, ok := s.names.Table[n]; ok && n != name {
			d.Note(other.Header().Name.Span, "`%s` stands here", n)
		}
	}
	if h.Keyword == "fn" {
		d.Hint("a function can't call itself, straight or by way of others: there are no loops")
	} else {
		d.Hint("one of them must be a value of its own")
	}
}

// Names implements formula.Scope.
func (s *scope) Names() []string {
	if s.all == nil {
		s.all = append(s.all, s.names.Order...)
		for _, m := range s.c.p.Resolved.Modules {
			if _, ok := s.names.Modules[m.Module]; ok {
				s.all = append(s.all, m.Module)
			}
		}
	}
	return append([]string(nil), s.all...)
}

// AxisName implements formula.Scope.
func (s *scope) AxisName(i int) string { return s.c.p.Axes[i].Name }

// AxisRange gives an axis's range, so that a look-up far outside it is noticed.
func (s *scope) AxisRange(i int) (lo, hi float64) { return s.c.p.Axes[i].Lo, s.c.p.Axes[i].Hi }

// AxisUnit implements formula.Scope.
func (s *scope) AxisUnit(i int) unit.Unit { return s.c.p.Axes[i].Unit }

func (c *checker) let(s *scope, d *syntax.Let) formula.Symbol {
	broken := formula.Symbol{Kind: formula.SymBroken, Span: d.Name.Span}
	u, ok := formula.ReadUnit(d.Unit, c.errs)
	v := formula.Compile(d.Body, formula.Context{Scope: s, Givens: s.names.Module == "", What: "a `let`",
		Use: "a value that differs from cell to cell is a map: `map " + d.Name.Text + " like … = …`"}, c.errs)
	if v == nil || !ok {
		return broken
	}
	n := v.Node
	if d.Unit != nil {
		if n = v.As(u, "`"+d.Name.Text+"`", c.errs); n == nil {
			return broken
		}
	}
	return formula.Symbol{Kind: formula.SymLet, Node: n, United: d.Unit != nil, What: "value", Span: d.Name.Span}
}

func (c *checker) fn(s *scope, d *syntax.Fn) formula.Symbol {
	broken := formula.Symbol{Kind: formula.SymBroken, Span: d.Name.Span}
	name := d.Name.Text
	if s.names.Module != "" {
		name = s.names.Module + "." + name
	}
	f := &formula.Fn{Name: name, Span: d.Name.Span, Doc: d.Doc}
	ok := true
	for i, p := range d.Params {
		u, good := formula.ReadUnit(p.Unit, c.errs)
		ok = ok && good
		if first, taken := s.names.Table[p.Name.Text]; taken {
			c.errs.Add("E406", p.Name.Span, "the parameter `%s` has the name of another thing", p.Name.Text).
				Note(first.Header().Name.Span, "`%s` is declared here, as %s", p.Name.Text, resolve.What(first.Header().Keyword)).
				Hint("nothing shadows anything: choose another name")
			ok = false
		}
		for _, q := range d.Params[:i] {
			if q.Name.Text == p.Name.Text {
				c.errs.Add("E406", p.Name.Span, "the parameter `%s` stands twice", p.Name.Text).Note(q.Name.Span, "the first")
				ok = false
			}
		}
		prm := formula.FnParam{Name: p.Name.Text, Unit: u, Span: p.Name.Span}
		if p.Within != nil && good {
			lo, hi, fine := c.constRange(s, p.Within, u, "`within`")
			ok = ok && fine
			prm.Bound = &formula.Bound{Lo: lo, Hi: hi, Fn: name, Param: p.Name.Text, Unit: u, Doc: d.Doc}
		}
		f.Params = append(f.Params, prm)
	}
	u, good := formula.ReadUnit(d.Unit, c.errs)
	v := formula.Compile(d.Body, formula.Context{Scope: s, Params: f.Params, What: "a function",
		Use: "give it to the function as a parameter"}, c.errs)
	if v == nil || !ok || !good {
		return broken
	}
	f.Body = v.Node
	if d.Unit != nil {
		if f.Body = v.As(u, "the result of `"+name+"`", c.errs); f.Body == nil {
			return broken
		}
	}
	return formula.Symbol{Kind: formula.SymFn, Fn: f, What: "function", Span: d.Name.Span}
}

// value checks an expression that must be a constant in a unit.
func (c *checker) value(s formula.Scope, e *syntax.Expr, u unit.Unit, what string) (float64, bool) {
	v := formula.Compile(e, formula.Context{Scope: s, What: "a fixed value"}, c.errs)
	v.WarnShare(u, what, c.errs)
	n := v.As(u, what, c.errs)
	if n == nil || !c.bound(e, what) {
		return 0, false
	}
	return c.fixed(n, what)
}

// fixed gives the value of an expression that sees nothing that differs from
// tune to tune. It fails where a function is asked outside its range, or where
// the value isn't finite.
func (c *checker) fixed(n *formula.Node, what string) (float64, bool) {
	x, err := formula.Scalar(n, nil)
	switch {
	case err != nil:
		c.errs.Add("E501", n.Span, "%s has no value: %v", what, err)
		return 0, false
	case math.IsNaN(x) || math.IsInf(x, 0):
		c.errs.Add("E501", n.Span, "%s has no finite value", what)
		return 0, false
	}
	return x, true
}

// bound says whether an expression has the form of a bound: a signed quantity, a
// name, or anything in parentheses. What is longer reads too easily as something
// else beside the dots and commas that bounds stand among.
func (c *checker) bound(e *syntax.Expr, what string) bool {
	if e == nil {
		return true
	}
	t := e.Toks
	if n := len(t); n > 1 && (t[0].Text == "-" || t[0].Text == "+") && t[1].Kind == syntax.Number {
		t = t[1:]
	}
	depth, whole := 0, len(t) > 0
	for i, tok := range t {
		switch tok.Text {
		case "(":
			depth++
		case ")":
			depth--
		}
		whole = whole && (depth > 0 || i == len(t)-1)
	}
	good := false
	switch {
	case len(t) == 0:
	case t[0].Text == "(":
		good = whole
	case t[0].Kind == syntax.Number:
		good = len(t) == 1 || len(t) == 2 && (t[1].Kind == syntax.Unit || t[1].Kind == syntax.Word || t[1].Text == "%")
	case t[0].Kind == syntax.Word:
		good = true
		for i, tok := range t {
			good = good && (i%2 == 0 && tok.Kind == syntax.Word || i%2 == 1 && tok.Text == ".")
		}
	}
	if !good {
		paren := "(" + e.Span.Text() + ")"
		c.errs.Add("E507", e.Span, "%s is a quantity, a name, or an expression in parentheses", what).Suggest(e.Span, paren, "write `%s`", source.OneLine(paren))
	}
	return good
}

// bounds checks LO..HI: a unit at the end serves both ends.
func (c *checker) bounds(ctx formula.Context, r *syntax.Range, u unit.Unit, what string) (lo, hi *formula.Node, ok bool) {
	ok = true
	var lv, hv *formula.Value
	if r.Lo != nil {
		lv = formula.Compile(r.Lo, ctx, c.errs)
		ok = lv != nil
	}
	if r.Hi != nil {
		hv = formula.Compile(r.Hi, ctx, c.errs)
		ok = ok && hv != nil
	}
	if lv != nil {
		at := u
		if lv.Bare && hv != nil && hasUnit(r.Hi) && hv.Node.Type.Unit.Dim == u.Dim {
			at = hv.Node.Type.Unit
		}
		lo = lv.As(at, what, c.errs)
		if lo != nil {
			lo = (&formula.Value{Node: lo}).As(u, what, c.errs)
		}
		ok = ok && lo != nil && c.bound(r.Lo, "an end of "+what)
	}
	if hv != nil {
		hi = hv.As(u, what, c.errs)
		ok = ok && hi != nil && c.bound(r.Hi, "an end of "+what)
	}
	if r.Lo == nil && r.Hi == nil {
		c.errs.Add("E502", r.Span, "a range with both ends open bounds nothing")
		ok = false
	}
	if ok && lo != nil && hi != nil && lo.IsConst() && hi.IsConst() && lo.Val > hi.Val {
		swapped := r.Hi.Span.Text() + ".." + r.Lo.Span.Text()
		d := c.errs.Add("E502", r.Span, "the range ends before it begins: %s", source.OneLine(r.Span.Text())).Hint("write the lower end first")
		if lv.Bare == hv.Bare { // a unit at the end serves both
			d.Suggest(r.Span, swapped, "write the lower end first: `%s`", source.OneLine(swapped))
		}
		ok = false
	}
	return lo, hi, ok
}

// hasUnit says whether a bound is a number with its unit.
func hasUnit(e *syntax.Expr) bool {
	n := len(e.Toks)
	return n > 1 && e.Toks[n-2].Kind == syntax.Number && e.Toks[n-1].Text != ")"
}

// constRange is bounds with fixed ends, infinite where open.
func (c *checker) constRange(s formula.Scope, r *syntax.Range, u unit.Unit, what string) (lo, hi float64, ok bool) {
	l, h, ok := c.bounds(formula.Context{Scope: s, What: what}, r, u, what)
	lo, hi = -inf, inf
	for _, end := range []struct {
		n   *formula.Node
		out *float64
	}{{l, &lo}, {h, &hi}} {
		if end.n == nil {
			continue
		}
		x, fine := c.fixed(end.n, "an end of "+what)
		if !fine {
			ok = false
			continue
		}
		*end.out = x
	}
	return lo, hi, ok
}

// wanted reports a name that is not a symbol of the kind wanted. Of one whose
// declaration is broken, or may be in a file that is missing, nothing is said.
func (c *checker) wanted(name syntax.Name, what string, list []string) *diag.Diagnostic {
	d, ok := c.root.names.Table[name.Text]
	if _, broken := d.(*syntax.Broken); broken || !ok && c.root.names.Partial {
		return &diag.Diagnostic{}
	}
	if ok {
		return c.errs.Add("E409", name.Span, "`%s` is %s, and %s is wanted here", name.Text, resolve.What(d.Header().Keyword), what).
			Note(d.Header().Name.Span, "declared here")
	}
	e := c.errs.Add("E409", name.Span, "there is no `%s`: %s is wanted here", name.Text, what)
	if c.errs.Many() {
		return e
	}
	if near := diag.Nearest(name.Text, list); near != "" {
		e.Suggest(name.Span, near, "did you mean `%s`?", near)
	} else if len(list) > 0 && len(list) <= 12 {
		e.Hint("there is: %s", join(list))
	}
	return e
}

func join(list []string) string {
	out := ""
	for i, s := range list {
		if i > 0 {
			out += ", "
		}
		out += s
	}
	return out
}
