package check

import (
	"maps"
	"math"
	"strings"

	"fettle/compiler/resolve"
	"fettle/lang/diag"
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

var inf = math.Inf(1)

type checker struct {
	p        *Program
	errs     *diag.List
	root     *scope
	modules  map[string]*scope
	stack    []string
	deep     []int // of each of the stack, how many lie under it
	catalogs map[*syntax.Catalog]*formula.Catalog
	regions  map[string]*Region
	steps    int
	spent    int  // steps of all expressions so far
	mapCells int  // cells of all maps so far
	ready    bool // axes, maps and givens have been read
}

// Run checks a gathered workspace.
func Run(rp *resolve.Program, errs *diag.List) *Program {
	c := &checker{p: &Program{Resolved: rp}, errs: errs, modules: map[string]*scope{}, regions: map[string]*Region{},
		catalogs: map[*syntax.Catalog]*formula.Catalog{}}
	told := errs.Len()
	c.root = c.newScope(rp.Root)
	c.p.Scope = c.root
	for _, m := range rp.Modules {
		c.modules[m.Module] = c.newScope(m)
	}
	for _, d := range rp.Decls {
		if a, ok := d.(*syntax.Axis); ok && c.owns(d) {
			c.axis(a)
		}
	}
	c.mapHeads()
	for _, d := range rp.Decls {
		if g, ok := d.(*syntax.Given); ok && c.owns(d) {
			c.given(g)
		}
	}
	c.ready = true
	c.everyName()
	c.formulas()
	c.regionDecls()
	c.rules()
	c.limits()
	c.variants()
	c.checks()
	c.reviews()
	c.targets()
	c.bundles()
	c.fileNames()
	c.order()
	c.unused()
	if errs.Len() == told && !errs.HasErrors() {
		c.p.symbols = maps.Clone(c.root.symbols)
	}
	return c.p
}

// owns says whether a declaration is the one that its name stands for, not a
// second one that was refused.
func (c *checker) owns(d syntax.Decl) bool { return c.root.names.Table[d.Header().Name.Text] == d }

// everyName checks each value, function and catalogue even if nothing asks for
// it, so that its errors are told.
func (c *checker) everyName() {
	for _, d := range c.p.Resolved.Decls {
		switch d := d.(type) {
		case *syntax.Let, *syntax.Fn, *syntax.Curve, *syntax.Catalog:
			name := d.Header().Name.Text
			if c.owns(d) {
				used := c.root.used[name]
				c.root.Find(name)
				c.root.used[name] = used
			}
		case *syntax.Caution:
			c.p.Cautions = append(c.p.Cautions, d.Text.Value)
		}
	}
}

func (c *checker) axis(d *syntax.Axis) {
	u, ok := formula.ReadUnit(d.Unit, c.errs)
	lo, hi, fine := c.constRange(c.root, d.Range, u, "the range of an axis")
	if ok && fine && (math.IsInf(lo, 0) || math.IsInf(hi, 0)) {
		c.errs.Add("E502", d.Range.Span, "an axis has both ends of its range, and one is missing here").Hint("as in `axis rpm [rpm] 1000..14000`")
		fine = false
	}
	if !ok || !fine {
		return
	}
	a := &Axis{Name: d.Name.Text, Unit: u, Lo: lo, Hi: hi, Span: d.Span, Doc: d.Doc}
	c.root.symbols[a.Name] = formula.Symbol{Kind: formula.SymAxis, Index: len(c.p.Axes), Unit: u, What: "axis", Span: d.Name.Span}
	c.p.Axes = append(c.p.Axes, a)
}

func (c *checker) given(d *syntax.Given) {
	g := &Given{Name: d.Name.Text, Lo: -inf, Hi: inf, Span: d.Span, Doc: d.Doc}
	sym := formula.Symbol{Index: len(c.p.Givens), What: "given", Span: d.Name.Span}
	if d.Default == nil {
		c.errs.Add("E503", d.Name.Span, "`%s` has no default", g.Name).Hint("give the value of the proven base: `given %s … = VALUE`", g.Name)
		return
	}
	word := ""
	if len(d.Default.Toks) == 1 && d.Default.Toks[0].Kind == syntax.Word {
		word = d.Default.Toks[0].Text
	}
	switch {
	case d.Catalog != nil:
		cat := c.catalogNamed(*d.Catalog)
		if d.Unit != nil {
			c.errs.Add("E504", d.Unit.Span, "`%s` is a row of a catalogue and has no unit", g.Name)
		}
		if d.Within != nil {
			c.errs.Add("E504", d.Within.Span, "`%s` is a row of a catalogue and has no range", g.Name)
		}
		if cat == nil {
			return
		}
		g.Kind, g.Catalog = Choice, cat
		sym.Kind, sym.Catalog = formula.SymChoice, cat
		row, ok := c.row(cat, d.Default)
		if !ok {
			// The name still resolves, so that its users don't fail as well.
			row = 0
		}
		g.Default = float64(row)
	case word == "yes" || word == "no":
		g.Kind = Switch
		sym.Kind = formula.SymSwitch
		if d.Unit != nil || d.Within != nil {
			c.errs.Add("E504", d.Name.Span, "`%s` is a yes/no condition and has neither unit nor range", g.Name)
		}
		if word == "yes" {
			g.Default = 1
		}
	default:
		u, ok := formula.ReadUnit(d.Unit, c.errs)
		if !ok {
			return
		}
		g.Unit = u
		sym.Kind, sym.Unit = formula.SymGiven, u
		if d.Catalog == nil && c.rowAsDefault(d, word) {
			sym.Kind = formula.SymBroken
			break
		}
		g.Default, ok = c.value(c.root, d.Default, u, "`"+g.Name+"`")
		if d.Within != nil {
			lo, hi, fine := c.constRange(c.root, d.Within, u, "`within`")
			if fine {
				g.Lo, g.Hi, g.Within = lo, hi, d.Within.Span
			}
			ok = ok && fine
		}
		if ok && (g.Default < g.Lo || g.Default > g.Hi) {
			c.errs.Add("E505", d.Default.Span, "the default of `%s` is outside its range, %s", g.Name, source.OneLine(d.Within.Span.Text())).Note(d.Within.Span, "its range")
		}
	}
	c.root.symbols[g.Name] = sym
	c.p.Givens = append(c.p.Givens, g)
}

// rowAsDefault finds a default that is a row of some catalogue, where the given
// doesn't say which.
func (c *checker) rowAsDefault(d *syntax.Given, word string) bool {
	if _, taken := c.root.names.Table[word]; word == "" || taken {
		return false
	}
	for _, name := range c.declared("catalog") {
		sym, _ := c.root.Find(name)
		if sym.Kind != formula.SymCatalog || sym.Catalog.Row(word) < 0 {
			continue
		}
		at := source.Span{File: d.Name.Span.File, From: d.Name.Span.To, To: d.Name.Span.To}
		e := c.errs.Add("E503", d.Default.Span, "`%s` is a row of `%s`, and `%s` isn't chosen from it", word, name, d.Name.Text)
		if d.Unit == nil {
			e.Suggest(at, " from "+name, "write `given %s from %s = %s`", d.Name.Text, name, word)
		}
		return true
	}
	return false
}

// row reads a row's name.
func (c *checker) row(cat *formula.Catalog, e *syntax.Expr) (int, bool) {
	t := e.Toks
	if len(t) == 3 && t[0].Text == cat.Name && t[1].Text == "." {
		t = t[2:]
	}
	if len(t) != 1 || t[0].Kind != syntax.Word {
		d := c.errs.Add("E506", e.Span, "a row of `%s` is wanted here", cat.Name).Hint("one of: %s", join(cat.Rows))
		if name := strings.Trim(e.Span.Text(), `"`); cat.Row(name) >= 0 {
			d.Suggest(e.Span, name, "write `%s`, without quotes", name)
		}
		return 0, false
	}
	i := cat.Row(t[0].Text)
	if i < 0 {
		d := c.errs.Add("E506", e.Span, "catalogue `%s` has no row `%s`", cat.Name, t[0].Text)
		if near := diag.Nearest(t[0].Text, cat.Rows); near != "" {
			d.Suggest(e.Span, near, "did you mean `%s`?", near)
		} else {
			d.Hint("it has: %s", join(cat.Rows))
		}
	}
	return i, i >= 0
}

// declared lists the names of one kind of declaration.
func (c *checker) declared(keyword string) []string {
	var out []string
	if c.errs.Many() {
		return nil
	}
	for _, name := range c.root.names.Order {
		if c.root.names.Table[name].Header().Keyword == keyword {
			out = append(out, name)
		}
	}
	return out
}

// unused warns of what is declared and named nowhere. With errors about, a user
// of it may be lost, so nothing is said then.
func (c *checker) unused() {
	if c.errs.HasErrors() {
		return
	}
	for _, d := range c.p.Resolved.Decls {
		h := d.Header()
		if !c.owns(d) || c.root.used[h.Name.Text] {
			continue
		}
		switch d.(type) {
		case *syntax.Let:
			c.errs.Add("W001", h.Name.Span, "nothing uses the value `%s`", h.Name.Text).Hint("leave it out, or use it")
		case *syntax.Fn, *syntax.Curve, *syntax.Region, *syntax.Catalog:
			c.errs.Add("W001", h.Name.Span, "nothing uses the %s `%s`", trimArticle(resolve.What(h.Keyword)), h.Name.Text).Hint("leave it out, or use it")
		case *syntax.Given:
			c.errs.Add("W001", h.Name.Span, "no rule, formula or limit reads the given `%s`, so it changes no table", h.Name.Text).Hint("leave it out, or use it")
		}
	}
}

// givenNamed finds a given that a list names, or reports that it is none. To name
// it so isn't to read it.
func (c *checker) givenNamed(n syntax.Name) (int, bool) {
	sym, ok := c.quietly(n.Text)
	if ok && (sym.Kind == formula.SymGiven || sym.Kind == formula.SymChoice || sym.Kind == formula.SymSwitch) {
		return sym.Index, true
	}
	if !ok || sym.Kind != formula.SymBroken {
		c.wanted(n, "a given", c.declared("given"))
	}
	return 0, false
}

// quietly looks a name up without counting it as used: to set a condition, or to
// say that a rule corrects it, isn't to read it.
func (c *checker) quietly(name string) (formula.Symbol, bool) {
	used := c.root.used[name]
	sym, ok := c.root.Find(name)
	c.root.used[name] = used
	return sym, ok
}
