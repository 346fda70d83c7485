package importer_test

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf16"

	"fettle/compiler"
	"fettle/compiler/check"
	"fettle/compiler/grid"
	"fettle/compiler/importer"
	"fettle/compiler/workbook"
	"fettle/lang/diag"
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// sheet is a table as texts, to be written in many ways.
type sheet [][]string

// number says whether a cell is one, for a workbook.
func number(s string) (float64, bool) { return syntax.Float(s) }

// written is the sheet in every form that must come back.
func (s sheet) written(t *testing.T, commas bool) map[string][]byte {
	join := func(sign, end string, comma bool) string {
		var b strings.Builder
		for _, row := range s {
			for i, c := range row {
				if i > 0 {
					b.WriteString(sign)
				}
				if _, ok := number(c); ok && comma {
					c = strings.Replace(c, ".", ",", 1)
				}
				if strings.ContainsAny(c, "\"\n"+sign) {
					c = `"` + strings.ReplaceAll(c, `"`, `""`) + `"`
				}
				b.WriteString(c)
			}
			b.WriteString(end)
		}
		return b.String()
	}
	book := workbook.New()
	page := book.Sheet("a")
	for r, row := range s {
		for c, text := range row {
			if x, ok := number(text); ok {
				page.Number(r+3, c+2, x, workbook.Look{})
			} else if text != "" {
				page.Text(r+3, c+2, text, workbook.Look{})
			}
		}
	}
	data, err := book.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	wide := []byte("\xfe\xff")
	for _, u := range utf16.Encode([]rune(join("\t", "\n", false))) {
		wide = append(wide, byte(u>>8), byte(u))
	}
	out := map[string][]byte{"csv": []byte(join(",", "\n", false)), "tsv": []byte(join("\t", "\r\n", false)), "xlsx": data, "utf-16": wide}
	if commas {
		out["decimal commas"] = []byte("\ufeff" + join(";", "\r\n", true))
	}
	return out
}

// workspaces opens the examples.
func workspaces(t testing.TB) map[string]*compiler.Workspace {
	out := map[string]*compiler.Workspace{}
	mains, err := filepath.Glob("../../examples/*/tune.fettle")
	if err != nil || len(mains) < 4 {
		t.Fatalf("%v: %v", mains, err)
	}
	for _, m := range mains {
		w := compiler.Open(os.DirFS(filepath.Dir(m)))
		if w.Diags.HasErrors() {
			t.Fatalf("%s has errors", m)
		}
		out[filepath.Base(filepath.Dir(m))] = w
	}
	return out
}

func axes(p *check.Program) []importer.Axis {
	var out []importer.Axis
	for _, a := range p.Axes {
		out = append(out, importer.Axis{Name: a.Name, Unit: a.Unit, Lo: a.Lo, Hi: a.Hi})
	}
	return out
}

// Every map of a tune of every example, unrounded, comes back bit for bit.
func TestMapsComeBack(t *testing.T) {
	seen := 0
	for name, w := range workspaces(t) {
		w.Run(w.Plan.Tunes[:1], compiler.RunOptions{}, func(o *compiler.Outcome) {
			for i, m := range w.Program.Maps {
				tab := &o.Result.Maps[i]
				s := sheet{{""}}
				cols := w.Program.Axes[m.Axes[len(m.Axes)-1]]
				s[0][0] = grid.AxisHead{Name: cols.Name, Unit: cols.Unit.Text}.String()
				if tab.Rows != nil {
					rows := w.Program.Axes[m.Axes[0]]
					s[0][0] = grid.AxisHead{Name: rows.Name, Unit: rows.Unit.Text}.String() + ` \ ` + s[0][0]
				}
				for _, x := range tab.Cols {
					s[0] = append(s[0], grid.Exact(x))
				}
				for r := range tab.NRows() {
					row := []string{""}
					if tab.Rows != nil {
						row[0] = grid.Exact(tab.Rows[r])
					}
					for c := range tab.Cols {
						row = append(row, grid.Exact(tab.At(r, c)))
					}
					s = append(s, row)
				}
				for form, data := range s.written(t, true) {
					opt := importer.Options{File: m.Name, Unit: m.Unit.Text, Axes: axes(w.Program)}
					if form == "decimal commas" {
						opt.Decimal = ","
					}
					r, errs := importer.Import(data, opt)
					if r == nil {
						t.Errorf("%s %s as %s: %v", name, m.Name, form, said(errs))
						continue
					}
					seen++
					sameMap(t, name+" "+m.Name+" as "+form, r.Text, tab, m)
				}
			}
		})
	}
	if seen < 60 {
		t.Errorf("only %d maps came back", seen)
	}
}

func said(errs *diag.List) string {
	var b strings.Builder
	diag.Text(&b, errs.Sorted(), diag.TextOptions{})
	return b.String()
}

func sameMap(t *testing.T, what, text string, tab *grid.Table, m *check.Map) {
	t.Helper()
	f, errs := source.New("x", text), &diag.List{}
	d, ok := syntax.Parse(f, errs).Decls[0].(*syntax.Map)
	if !ok || d.Name.Text != m.Name || m.Unit.Text != "" && (d.Unit == nil || d.Unit.Text != m.Unit.Text) {
		t.Errorf("%s: another declaration: %.60s", what, text)
		return
	}
	g := syntax.ReadGrid(f, *d.Body, errs)
	if errs.HasErrors() {
		t.Errorf("%s: %s", what, said(errs))
		return
	}
	same := func(part string, got []syntax.Num, want []float64) {
		if len(got) != len(want) {
			t.Errorf("%s: %d %s, want %d", what, len(got), part, len(want))
			return
		}
		for i := range got {
			if math.Float64bits(got[i].Value) != math.Float64bits(want[i]+0) || got[i].Blank {
				t.Errorf("%s: %s %d is %v, want %v", what, part, i, got[i].Value, want[i])
				return
			}
		}
	}
	same("rows", g.Rows, tab.Rows)
	same("columns", g.Cols, tab.Cols)
	same("cells", g.Cells, tab.Cells)
}

// Every catalogue of every example comes back, texts and all.
func TestCatalogsComeBack(t *testing.T) {
	seen := 0
	for name, w := range workspaces(t) {
		for _, cat := range w.Program.Catalogs {
			s := sheet{{"name"}}
			for _, c := range cat.Cols {
				h := grid.AxisHead{Name: c.Name, Unit: c.Unit.Text}
				switch c.Kind {
				case formula.TextCol:
					h.Unit = "text"
				case formula.YesNoCol:
					h.Unit = "yes/no"
				}
				s[0] = append(s[0], h.String())
			}
			for r, row := range cat.Rows {
				cells := []string{row}
				for c, col := range cat.Cols {
					if col.Kind == formula.NumberCol {
						cells = append(cells, grid.Exact(cat.Values[r][c]))
					} else {
						cells = append(cells, cat.Texts[r][c])
					}
				}
				s = append(s, cells)
			}
			for form, data := range s.written(t, true) {
				opt := importer.Options{File: cat.Name, As: "catalog", Decimal: "."}
				if form == "decimal commas" {
					opt.Decimal = ","
				}
				r, errs := importer.Import(data, opt)
				if r == nil {
					t.Errorf("%s %s as %s: %s", name, cat.Name, form, said(errs))
					continue
				}
				seen++
				f, errs := source.New("x", r.Text), &diag.List{}
				d := syntax.Parse(f, errs).Decls[0].(*syntax.Catalog)
				body := syntax.ReadTable(f, *d.Body, errs)
				if errs.HasErrors() || len(body.Rows) != len(cat.Rows) {
					t.Errorf("%s %s as %s: %s", name, cat.Name, form, said(errs))
					continue
				}
				for i, row := range body.Rows {
					for c, cell := range row[1:] {
						x, _ := syntax.Float(cell.Text)
						number := cat.Cols[c].Kind == formula.NumberCol
						if number && x != cat.Values[i][c] || !number && cell.Text != cat.Texts[i][c] || row[0].Text != cat.Rows[i] {
							t.Errorf("%s %s as %s: %s is %q", name, cat.Name, form, cat.Rows[i], cell.Text)
						}
					}
				}
			}
		}
	}
	if seen < 15 {
		t.Errorf("only %d catalogues came back", seen)
	}
}
