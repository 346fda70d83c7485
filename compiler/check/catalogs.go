package check

import (
	"strings"

	"fettle/compiler/grid"
	"fettle/compiler/resolve"
	"fettle/lang/diag"
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/syntax"
	"fettle/lang/unit"
)

// Catalogues, in place or from CSV files.

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

// catalog reads a catalogue in place or from its CSV file.
func (c *checker) catalog(d *syntax.Catalog) formula.Symbol {
	sym := formula.Symbol{Kind: formula.SymBroken, What: "catalogue", Span: d.Name.Span}
	body := c.tableOf(d)
	if body == nil {
		return sym
	}
	cat := &formula.Catalog{Name: d.Name.Text, Span: d.Name.Span}
	ok := c.columns(cat, body, d) && !body.Partial
	if body.Heads[0].Name.Text != "name" {
		return sym // there is no telling what its cells are
	}
	seen := make(map[string]int, len(body.Rows))
	for _, row := range body.Rows {
		if !c.catalogRow(cat, row, seen) {
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
	cat.Index()
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
			out.Partial = true
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
	seen := map[string]source.Span{}
	for _, h := range body.Heads[1:] {
		col := formula.Column{Name: h.Name.Text, Span: h.Name.Span}
		switch {
		case !syntax.IsName(col.Name) || syntax.IsKeyword(col.Name):
			c.notAName(h.Name.Span, col.Name, "a column's name")
			ok = false
		case !seen[col.Name].IsZero():
			c.errs.Add("E215", h.Name.Span, "the column `%s` stands twice", col.Name).Note(seen[col.Name], "the first")
			ok = false
		default:
			seen[col.Name] = col.Span
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
	case name == "":
		d.Message = strings.TrimSuffix(what, "'s name") + " has no name"
	case strings.HasSuffix(name, ")") && strings.Contains(name, " ("):
		d.Message = "the unit of a column stands in square brackets"
		fixed := strings.Replace(strings.TrimSuffix(name, ")")+"]", " (", " [", 1)
		d.Suggest(at, fixed, "write `%s`", fixed)
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

func (c *checker) catalogRow(cat *formula.Catalog, row []syntax.TableCell, seen map[string]int) bool {
	ok := true
	name := row[0].Text
	switch i, twice := seen[name]; {
	case !syntax.IsName(name) || syntax.IsKeyword(name):
		c.notAName(row[0].Span, name, "a row's name")
		ok = false
	case twice:
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
	if _, twice := seen[name]; !twice {
		seen[name] = len(cat.Rows)
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
