package check

import (
	"math"
	"strings"

	"fettle/compiler/grid"
	"fettle/compiler/resolve"
	"fettle/lang/diag"
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/syntax"
	"fettle/lang/unit"
)

var inf = math.Inf(1)

type checker struct {
	p        *Program
	errs     *diag.List
	root     *scope
	modules  map[string]*scope
	stack    []string
	catalogs map[*syntax.Catalog]*formula.Catalog
	regions  map[string]*Region
	steps    int
	ready    bool // axes, maps and givens have been read
}

// Run checks a gathered workspace.
func Run(rp *resolve.Program, errs *diag.List) *Program {
	c := &checker{p: &Program{Resolved: rp}, errs: errs, modules: map[string]*scope{}, regions: map[string]*Region{},
		catalogs: map[*syntax.Catalog]*formula.Catalog{}}
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
	c.order()
	c.unusedLets()
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
		case *syntax.Let, *syntax.Fn, *syntax.Catalog:
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
		c.errs.Add("E506", e.Span, "a row of `%s` is wanted here", cat.Name).Hint("one of: %s", join(cat.Rows))
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

func (c *checker) catalogNamed(n syntax.Name) *formula.Catalog {
	names := strings.Split(n.Text, ".")
	var s formula.Scope = c.root
	sym, ok := s.Find(names[0])
	if ok && sym.Kind == formula.SymModule && len(names) == 2 {
		sym, ok = sym.Module.Find(names[1])
	} else if len(names) != 1 {
		ok = false
	}
	if ok && sym.Kind == formula.SymBroken {
		return nil
	}
	if !ok || sym.Kind != formula.SymCatalog {
		c.wanted(n, "a catalogue", c.declared("catalog"))
		return nil
	}
	return sym.Catalog
}

// declared lists the names of one kind of declaration.
func (c *checker) declared(keyword string) []string {
	var out []string
	for _, name := range c.root.names.Order {
		if c.root.names.Table[name].Header().Keyword == keyword {
			out = append(out, name)
		}
	}
	return out
}

// catalog reads a catalogue in place or from its CSV file.
func (c *checker) catalog(d *syntax.Catalog) formula.Symbol {
	sym := formula.Symbol{Kind: formula.SymBroken, What: "catalogue", Span: d.Name.Span}
	body := c.tableOf(d)
	if body == nil {
		return sym
	}
	cat := &formula.Catalog{Name: d.Name.Text, Span: d.Name.Span}
	ok := c.columns(cat, body, d)
	if body.Heads[0].Name.Text != "name" {
		return sym // there is no telling what its cells are
	}
	for _, row := range body.Rows {
		if !c.catalogRow(cat, row) {
			ok = false
		}
	}
	if ok && len(cat.Rows) == 0 {
		c.errs.Add("E211", d.Name.Span, "catalogue `%s` has no rows", cat.Name)
		ok = false
	}
	if !ok {
		return sym
	}
	c.p.Catalogs = append(c.p.Catalogs, cat)
	sym.Kind, sym.Catalog = formula.SymCatalog, cat
	return sym
}

func (c *checker) tableOf(d *syntax.Catalog) *syntax.TableBody {
	if d.Body != nil {
		return syntax.ReadTable(d.Span.File, *d.Body, c.errs)
	}
	f := c.p.Resolved.CSVs[resolve.FileName(d.File.Span.File, d.File.Value)]
	if f == nil {
		return nil // reported when it was read
	}
	records, faults := grid.Records([]byte(f.Text))
	if c.csvFaults(f, faults, d.File.Span) {
		return nil
	}
	out := &syntax.TableBody{}
	for i, rec := range records {
		if len(rec) == 1 && rec[0].Text == "" && !rec[0].Quoted {
			continue
		}
		var row []syntax.TableCell
		for _, fd := range rec {
			row = append(row, syntax.TableCell{Text: strings.TrimSpace(fd.Text), Quoted: fd.Quoted, Span: source.Span{File: f, From: fd.From, To: fd.To}})
		}
		if i == 0 {
			for _, cell := range row {
				out.Heads = append(out.Heads, c.headOf(cell))
			}
			continue
		}
		if len(row) != len(out.Heads) {
			span := row[0].Span.Join(row[len(row)-1].Span)
			c.errs.Add("E212", span, "this row has %d cells, the catalogue has %d columns", len(row), len(out.Heads)).Note(d.File.Span, "used here")
			continue
		}
		out.Rows = append(out.Rows, row)
	}
	if len(out.Heads) == 0 {
		c.errs.Add("E211", d.File.Span, "%q is empty", f.Name)
		return nil
	}
	return out
}

// headOf reads "name [unit]" of a CSV head.
func (c *checker) headOf(cell syntax.TableCell) syntax.HeadCell {
	name, rest, bracket := strings.Cut(cell.Text, "[")
	if !bracket {
		return syntax.HeadCell{Name: syntax.Name{Text: cell.Text, Span: cell.Span}}
	}
	return headAt(cell.Span, strings.TrimSpace(name), strings.TrimSuffix(strings.TrimSpace(rest), "]"))
}

// headAt places the name and the unit of a head in its cell.
func headAt(cell source.Span, name, unitText string) syntax.HeadCell {
	h := syntax.HeadCell{Name: syntax.Name{Text: name, Span: within(cell, name)}}
	if i := strings.IndexByte(cell.Text(), '['); i >= 0 && unitText != "" {
		cell.From += i + 1
		h.Unit = &syntax.UnitRef{Text: unitText, Span: within(cell, unitText)}
	}
	return h
}

// within places a part of a cell's text, or the cell if that can't be done.
func within(cell source.Span, part string) source.Span {
	i := strings.Index(cell.Text(), part)
	if i < 0 || part == "" {
		return cell
	}
	return source.Span{File: cell.File, From: cell.From + i, To: cell.From + i + len(part)}
}

// csvFaults reports what is wrong with a CSV file. Of faults of one kind on one
// line only the first is told: a file with a decimal comma has hundreds.
func (c *checker) csvFaults(f *source.File, faults []grid.CSVError, at source.Span) bool {
	for i := 0; i < len(faults); {
		e := faults[i]
		more := 0
		for i++; i < len(faults) && faults[i].Line == e.Line && faults[i].Msg == e.Msg; i++ {
			more++
		}
		d := c.errs.Add("E213", source.Span{File: f, From: e.From, To: e.To}, "%s", e.Msg)
		if msg, _ := grid.WhyNotNumber(e.Cell); msg == e.Msg {
			d.Message = "`" + e.Cell + "`: " + e.Msg
		}
		offer(d, e.Fix)
		if more > 0 {
			d.Note(source.Span{}, "and %d more on this line", more)
		}
		d.Note(at, "%s is used here", f.Name)
	}
	return len(faults) > 0
}

// offer adds advice; what reads "write `…`" is an exact fix.
func offer(d *diag.Diagnostic, fix string) {
	text, isWrite := strings.CutPrefix(fix, "write `")
	text, whole := strings.CutSuffix(text, "`")
	switch {
	case fix == "":
	case isWrite && whole && !strings.Contains(text, "`"):
		d.Suggest(d.Span, text, "%s", fix)
	default:
		d.Hint("%s", fix)
	}
}

func (c *checker) columns(cat *formula.Catalog, body *syntax.TableBody, d *syntax.Catalog) bool {
	ok := true
	if body.Heads[0].Name.Text != "name" {
		e := c.errs.Add("E214", body.Heads[0].Name.Span, "the first column of a catalogue is headed `name`, not `%s`", body.Heads[0].Name.Text).
			Suggest(body.Heads[0].Name.Span, "name", "write `name`")
		for _, h := range body.Heads[1:] {
			if h.Name.Text == "name" {
				e.Hint("move the column `name` to the front")
			}
		}
		ok = false
	} else if u := body.Heads[0].Unit; u != nil {
		c.errs.Add("E214", u.Span, "the first column of a catalogue holds names, which have no unit")
		ok = false
	}
	for _, h := range body.Heads[1:] {
		col := formula.Column{Name: h.Name.Text, Span: h.Name.Span}
		switch {
		case !syntax.IsName(col.Name) || syntax.IsKeyword(col.Name):
			c.notAName(h.Name.Span, col.Name, "a column's name")
			ok = false
		case cat.Col(col.Name) >= 0:
			c.errs.Add("E215", h.Name.Span, "the column `%s` stands twice", col.Name).Note(cat.Cols[cat.Col(col.Name)].Span, "the first")
			ok = false
		}
		switch {
		case h.Unit == nil && len(body.Rows) > 0 && isYesNo(body.Rows[0], len(cat.Cols)+1):
			col.Kind = formula.YesNoCol
		case h.Unit != nil && h.Unit.Text == "text":
			col.Kind = formula.TextCol
		case h.Unit != nil && h.Unit.Text == "yes/no":
			col.Kind = formula.YesNoCol
		default:
			u, good := formula.ReadUnit(h.Unit, c.errs)
			col.Unit = u
			ok = ok && good
		}
		cat.Cols = append(cat.Cols, col)
	}
	return ok
}

// notAName reports what can't name a row or a column.
func (c *checker) notAName(at source.Span, name, what string) {
	d := c.errs.Add("E109", at, "`%s` can't be %s: names are lower case letters, digits and _", name, what)
	plain := strings.ToLower(strings.Join(strings.FieldsFunc(name, func(r rune) bool { return r == ' ' || r == '-' || r == '.' }), "_"))
	switch {
	case syntax.IsKeyword(name):
		d.Message = "`" + name + "` is a word of the language and can't be " + what
	case syntax.IsName(plain) && !syntax.IsKeyword(plain):
		d.Suggest(at, plain, "write `%s`", plain)
	}
}

// isYesNo says whether a row's cell reads yes or no, which makes its column one
// of yes and no.
func isYesNo(row []syntax.TableCell, j int) bool {
	return j < len(row) && (row[j].Text == "yes" || row[j].Text == "no")
}

func (c *checker) catalogRow(cat *formula.Catalog, row []syntax.TableCell) bool {
	ok := true
	name := row[0].Text
	switch i := cat.Row(name); {
	case !syntax.IsName(name) || syntax.IsKeyword(name):
		c.notAName(row[0].Span, name, "a row's name")
		ok = false
	case i >= 0:
		c.errs.Add("E215", row[0].Span, "the row `%s` stands twice", name).Note(cat.NameAt[i], "the first")
		ok = false
	}
	vals := make([]float64, len(cat.Cols))
	texts := make([]string, len(cat.Cols))
	places := make([]source.Span, len(cat.Cols))
	for j, cell := range row[1:] {
		texts[j], places[j] = cell.Text, cell.Span
		v, good := c.catalogCell(cat, cat.Cols[j], cell)
		vals[j] = v
		ok = ok && good
	}
	cat.Rows = append(cat.Rows, name)
	cat.NameAt = append(cat.NameAt, row[0].Span)
	cat.Values = append(cat.Values, vals)
	cat.Texts = append(cat.Texts, texts)
	cat.Places = append(cat.Places, places)
	return ok
}

func (c *checker) catalogCell(cat *formula.Catalog, col formula.Column, cell syntax.TableCell) (float64, bool) {
	switch col.Kind {
	case formula.TextCol:
		return 0, true
	case formula.YesNoCol:
		switch cell.Text {
		case "yes":
			return 1, true
		case "no":
			return 0, true
		}
		c.errs.Add("E216", cell.Span, "`%s` is neither yes nor no", cell.Text)
		return 0, false
	}
	if cell.Text == "" || cell.Text == "_" {
		c.errs.Add("E217", cell.Span, "a cell of the column `%s` is empty: a catalogue has no blanks", col.Name).Hint("write the value, or leave the row out")
		return 0, false
	}
	if v, ok := syntax.Float(cell.Text); ok {
		return v, true
	}
	num, unitText := splitQuantity(cell.Text)
	if v, ok := syntax.Float(num); ok && unitText != "" {
		u, good := formula.ReadUnit(&syntax.UnitRef{Text: unitText, Span: within(cell.Span, unitText)}, c.errs)
		if !good {
			return 0, false
		}
		conv, err := unit.NewConv(u, col.Unit)
		if err != nil {
			c.errs.Add("E322", cell.Span, "`%s` is %s, and the column `%s` is %s", cell.Text, formula.KindOf(u), col.Name, formula.KindOf(col.Unit))
			return 0, false
		}
		return conv.Apply(v), true
	}
	msg, fix := grid.WhyNotNumber(cell.Text)
	offer(c.errs.Add("E216", cell.Span, "`%s` in column `%s`: %s", cell.Text, col.Name, msg), fix)
	return 0, false
}

// splitQuantity parts "34 in" or "210 [g/min]" into number and unit.
func splitQuantity(s string) (num, unitText string) {
	i := 0
	for i < len(s) && (s[i] >= '0' && s[i] <= '9' || s[i] == '.' || s[i] == '-' || s[i] == '+' || (s[i] == 'e' && i+1 < len(s) && (s[i+1] >= '0' && s[i+1] <= '9' || s[i+1] == '-' && i > 0))) {
		i++
	}
	rest := strings.TrimSpace(s[i:])
	if strings.HasPrefix(rest, "[") && strings.HasSuffix(rest, "]") {
		rest = rest[1 : len(rest)-1]
	}
	if rest != "" && (rest[0] < 'A' || rest[0] > 'Z') && (rest[0] < 'a' || rest[0] > 'z') && rest[0] != '%' {
		return s, "" // no unit, but something that is wrong with the number
	}
	return s[:i], rest
}

// unusedLets warns of values that nothing names.
func (c *checker) unusedLets() {
	for _, d := range c.p.Resolved.Decls { // with errors about, a user of it may be lost
		if l, ok := d.(*syntax.Let); ok && c.owns(d) && !c.root.used[l.Name.Text] && !c.errs.HasErrors() {
			c.errs.Add("W001", l.Name.Span, "nothing uses the value `%s`", l.Name.Text).Hint("leave it out, or use it")
		}
	}
}
