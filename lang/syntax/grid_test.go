package syntax_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// bodyOf gives the file and body of a map or catalogue with this text between
// its braces.
func bodyOf(t *testing.T, word, text string) (*source.File, syntax.Token) {
	t.Helper()
	errs := &diag.List{}
	tree := syntax.Parse(source.New("tune.fettle", "# é\n"+word+" x {"+text+"}\n"), errs)
	if errs.Len() > 0 || len(tree.Decls) != 1 {
		t.Fatalf("%q: %d faults, %d declarations", text, errs.Len(), len(tree.Decls))
	}
	if m, ok := tree.Decls[0].(*syntax.Map); ok {
		return tree.Source, *m.Body
	}
	return tree.Source, *tree.Decls[0].(*syntax.Catalog).Body
}

func TestReadGrid(t *testing.T) {
	f, body := bodyOf(t, "map", `
  # before
  throttle \ rpm [rev/s] | 3000 +5e3  -1 # none of 1 2
  0                      |  1.1  _    0.9
  100.5                  | -8   .5e   9`+"\r\n")
	errs := &diag.List{}
	if syntax.ReadGrid(f, body, errs) != nil || len(errs.Sorted()) != 2 {
		t.Errorf("breakpoints that don't ascend, and a cell that is no number: %d faults", errs.Len())
	}
	f, body = bodyOf(t, "map", `
  throttle \ rpm [rev/s] | -3000 +5e3 # none of 1 2

  0                      |   1.1    _

  100.5                  |    -8 0.25 # é`+"\r\n")
	errs = &diag.List{}
	g := syntax.ReadGrid(f, body, errs)
	if g == nil || errs.Len() > 0 {
		t.Fatalf("%d faults", errs.Len())
	}
	if g.RowAxis.Name.Text != "throttle" || g.RowAxis.Unit != nil || g.ColAxis.Name.Text != "rpm" || g.ColAxis.Unit.Text != "rev/s" || g.ColAxis.Unit.Span.Text() != "rev/s" {
		t.Errorf("the axes are %+v and %+v", g.RowAxis, g.ColAxis)
	}
	show := func(nums []syntax.Num) string {
		var out []string
		for _, n := range nums {
			out = append(out, fmt.Sprintf("%s=%v/%v", n.Span(f).Text(), n.Value, n.Blank))
		}
		return strings.Join(out, " ")
	}
	for _, c := range []struct{ got, want string }{
		{show(g.Cols), "-3000=-3000/false +5e3=5000/false"},
		{show(g.Rows), "0=0/false 100.5=100.5/false"},
		{show(g.Cells), "1.1=1.1/false _=0/true -8=-8/false 0.25=0.25/false"},
		{g.Span.Text(), body.Text},
	} {
		if c.got != c.want {
			t.Errorf("got %s, want %s", c.got, c.want)
		}
	}
}

func TestReadGridOfOneAxis(t *testing.T) {
	f, body := bodyOf(t, "map", " rpm | 1 2\n | _ 4 ")
	errs := &diag.List{}
	g := syntax.ReadGrid(f, body, errs)
	if g == nil || errs.Len() > 0 || g.RowAxis.Name.Text != "" || len(g.Rows) != 0 || len(g.Cols) != 2 || len(g.Cells) != 2 || !g.Cells[0].Blank || g.Cells[1].Value != 4 {
		t.Errorf("%+v, %d faults", g, errs.Len())
	}
}

func TestReadGridRefuses(t *testing.T) {
	for text, want := range map[string]string{
		"":                               "E201 {",
		" # only this\n":                 "E201 {",
		" rpm | 1 2 ":                    "E201 rpm",
		" rpm 1 2 ":                      "E202 rpm 1 2",
		" rpm | 1 | 2\n| 3 ":             "E202 |",
		" rpm | 1 2\n 5 | 3 4":           "E203 5",
		" | 1 2\n | 3 4":                 "E203 ",
		" a \\ b \\ c | 1\n 1 | 2":       "E203 \\ c",
		" a / b | 1\n 1 | 2":             "E203 /",
		" rpm | 1 2\n | 3 4\n | 5 6":     "E204 | 5 6",
		" rpm | 1 2\n | 3":               "E204 | 3",
		" rpm | 1 2\n | 3 4 5":           "E204 5",
		" a \\ b | 1 2\n | 3 4":          "E203 |",
		" a \\ b | 1 2\n 1 2 | 3 4":      "E203 1 2",
		" rpm | 2 1\n | 3 4":             "E205 1",
		" rpm | 1 1\n | 3 4":             "E205 1",
		" a \\ b | 1\n 2 | 3\n 2 | 3":    "E205 2",
		" rpm | 1 _\n | 3 4":             "E206 _",
		" rpm | 1 2\n | 3 4mg":           "E206 4mg",
		" rpm | 1 2\n | 3,5 4":           "E206 3,5",
		" rpm | 1 2\n | 3, 4,":           "E206 3,",
		" rpm | 1 2\n | 1e999 4":         "E206 1e999",
		" rpm | 1 2\n | 0x1 4":           "E206 0x1",
		" rpm [rev/s | 1 2\n | 3 4":      "E103 [",
		" a [m/s \\ b | 1\n 1| 2":        "E103 [",
		" a [m/s] \\ b [g/s] | 1\n 1| 2": "",
	} {
		f, body := bodyOf(t, "map", text)
		errs := &diag.List{}
		g := syntax.ReadGrid(f, body, errs)
		got := ""
		for _, d := range errs.Sorted() {
			got += d.Code + " " + d.Span.Text()
			break
		}
		if got != want || (g == nil) != (want != "") {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}

func TestReadTable(t *testing.T) {
	f, body := bodyOf(t, "catalog", `
  name | bore [mm] | note [text]  # heads
  a    | 1.05      | "one | two # \"three\""
  b    |           | plain # behind
`)
	errs := &diag.List{}
	table := syntax.ReadTable(f, body, errs)
	if table == nil || errs.Len() > 0 {
		t.Fatalf("%d faults", errs.Len())
	}
	var heads []string
	for _, h := range table.Heads {
		u := ""
		if h.Unit != nil {
			u = h.Unit.Text + "=" + h.Unit.Span.Text()
		}
		heads = append(heads, h.Name.Text+"="+h.Name.Span.Text()+" "+u)
	}
	if d := cmp.Diff([]string{"name=name ", "bore=bore mm=mm", "note=note text=text"}, heads); d != "" {
		t.Error(d)
	}
	var rows [][]string
	for _, r := range table.Rows {
		var row []string
		for _, c := range r {
			row = append(row, fmt.Sprintf("%s (%v) at %s", c.Text, c.Quoted, strings.TrimSpace(c.Span.Text())))
		}
		rows = append(rows, row)
	}
	if d := cmp.Diff([][]string{
		{"a (false) at a", "1.05 (false) at 1.05", `one | two # "three" (true) at "one | two # \"three\""`},
		{"b (false) at b", " (false) at ", "plain (false) at plain"},
	}, rows); d != "" {
		t.Error(d)
	}
	f, body = bodyOf(t, "catalog", "\n name | bore\n a | 1 | 2\n b | 2\n c\n")
	errs = &diag.List{}
	table = syntax.ReadTable(f, body, errs)
	if got := errs.Sorted(); len(got) != 2 || got[0].Code != "E212" || got[0].Span.Text() != "a | 1 | 2" || got[1].Span.Text() != "c" {
		t.Errorf("rows too long and too short: %v", got)
	}
	if table == nil || len(table.Rows) != 1 || table.Rows[0][0].Text != "b" {
		t.Errorf("the good row is lost: %+v", table)
	}
	f, body = bodyOf(t, "catalog", " # nothing\n")
	errs = &diag.List{}
	if table = syntax.ReadTable(f, body, errs); table != nil || errs.Len() != 1 || errs.Sorted()[0].Code != "E211" {
		t.Errorf("a catalogue of nothing: %+v, %d faults", table, errs.Len())
	}
	f, body = bodyOf(t, "catalog", " name | bore [mm\n a | 1\n")
	errs = &diag.List{}
	syntax.ReadTable(f, body, errs)
	if got := errs.Sorted(); len(got) != 1 || got[0].Code != "E103" || got[0].Span.Text() != "[" || got[0].Fix.Replace != "]" {
		t.Errorf("a head without its closing bracket: %v", got)
	}
}
