package live

import (
	"bytes"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"fettle/compiler"
	"fettle/compiler/emit"
	"fettle/compiler/plan"
	"fettle/compiler/workbook"
	"fettle/lang/diag"
)

// open reads a workspace, which must have no errors.
func open(t testing.TB, fsys fs.FS) *compiler.Workspace {
	t.Helper()
	w := compiler.Open(fsys)
	for _, d := range w.Diags.Sorted() {
		if d.Severity == diag.Error {
			t.Fatalf("%s: %s: %s", d.Code, d.Span, d.Message)
		}
	}
	return w
}

func example(t testing.TB, name string) *compiler.Workspace {
	return open(t, os.DirFS(filepath.Join("..", "..", "examples", name)))
}

// content is a tune as a build hands it to the format.
func content(t testing.TB, w *compiler.Workspace, tune *plan.Tune) *emit.Content {
	t.Helper()
	in := w.Input(w.Tune(tune, compiler.RunOptions{}), emit.Source{Digest: w.Digest(), Version: "v0.0.0-test"})
	if in.Result.Fault != nil {
		t.Fatalf("%s: %s", tune.Name, in.Result.Fault.Reason)
	}
	var out *emit.Content
	in.Limits, in.Checks = nil, nil // a tune that fails is followed all the same
	in.Formats = []emit.Format{{Name: "probe", Files: func(c *emit.Content) ([]emit.File, error) {
		out = c
		return nil, nil
	}}}
	f, err := emit.NewFolder(filepath.Join(t.TempDir(), "out"), "", false)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Abort()
	if err := f.Add(in); err != nil {
		t.Fatal(err)
	}
	return out
}

// pages gives the sheets of a tune's workbook.
func pages(t testing.TB, c *emit.Content) (data []byte, sheets map[string]workbook.Page) {
	t.Helper()
	list, err := Format.Files(c)
	if err != nil {
		t.Fatal(err)
	}
	again, err := Format.Files(c)
	if err != nil || !bytes.Equal(list[0].Data, again[0].Data) {
		t.Fatalf("written twice, the bytes differ: %v", err)
	}
	read, err := workbook.Read(list[0].Data)
	if err != nil {
		t.Fatal(err)
	}
	sheets = map[string]workbook.Page{}
	for _, p := range read {
		sheets[p.Name] = p
	}
	return list[0].Data, sheets
}

// largest reads the summary of the sheet of checks: how far any cell is off.
func largest(t testing.TB, c *emit.Content, check workbook.Page) float64 {
	t.Helper()
	most := 0.0
	for i, m := range c.Input.Program.Maps {
		row := check.Rows[4+i]
		if row[0].Text != m.Name || !row[1].IsNum || row[1].Formula == "" {
			t.Fatalf("%s: %+v", m.Name, row)
		}
		most = math.Max(most, math.Abs(row[1].Number))
	}
	return most
}

// blockAt finds the cells under a label and reads as many as a map has.
func blockAt(t testing.TB, p workbook.Page, label string, nr, nc int) []float64 {
	t.Helper()
	for r, row := range p.Rows {
		if len(row) == 0 || row[0].Text != label {
			continue
		}
		var out []float64
		for _, row := range p.Rows[r+2 : r+2+nr] {
			for _, c := range row[1 : 1+nc] {
				if !c.IsNum {
					t.Fatalf("%s: %q is no number", label, c.Text)
				}
				out = append(out, c.Number)
			}
		}
		return out
	}
	t.Fatalf("the sheet %s has no %q", p.Name, label)
	return nil
}

// holds compares the result of a workbook with what was compiled: unrounded to
// one part in 10^9, and as written.
func holds(t testing.TB, c *emit.Content, sheets map[string]workbook.Page) {
	t.Helper()
	if off := largest(t, c, sheets["check"]); off > 1e-9 {
		t.Errorf("%s: the sheet of checks is off by %v", c.About.Name, off)
	}
	for i, m := range c.Input.Program.Maps {
		label := m.Name + " as "
		unit := ""
		if m.Unit.Text != "" {
			unit = " [" + m.Unit.Text + "]"
		}
		nr, nc := c.Tables[i].NRows(), len(m.Base.Cols)
		computed := blockAt(t, sheets["result"], label+"computed"+unit, nr, nc)
		written := blockAt(t, sheets["result"], label+"written"+unit, nr, nc)
		for j, want := range c.Input.Result.Maps[i].Cells {
			if math.Abs(computed[j]-want) > 1e-9*math.Max(1, math.Abs(want)) {
				t.Errorf("%s: %s, cell %d is %v, and %v was compiled", c.About.Name, m.Name, j, computed[j], want)
				break
			}
			if math.Abs(written[j]-c.Tables[i].Cells[j]) > 1e-9*math.Max(1, math.Abs(want)) {
				t.Errorf("%s: %s, cell %d is written as %v, and is %v in the table (%v)", c.About.Name, m.Name, j, written[j], c.Tables[i].Cells[j], want)
				break
			}
		}
	}
}

// some takes tunes from all over a plan.
func some(list []*plan.Tune, n int) []*plan.Tune {
	var out []*plan.Tune
	for i := 0; i < len(list); i += max(1, len(list)/n) {
		out = append(out, list[i])
	}
	return append(out, list[len(list)-1])
}

// The values that stand in the cells until they are recalculated, which come
// from the formulas' own parts, are what was compiled.
func TestShownValues(t *testing.T) {
	for _, name := range []string{"first", "lantern", "sizing", "tussock"} {
		w := example(t, name)
		for _, tune := range some(w.Plan.Tunes, 2) {
			c := content(t, w, tune)
			_, sheets := pages(t, c)
			holds(t, c, sheets)
		}
	}
	w := open(t, fstest.MapFS{"tune.fettle": {Data: []byte(everything)}})
	for _, tune := range w.Plan.Tunes {
		c := content(t, w, tune)
		_, sheets := pages(t, c)
		holds(t, c, sheets)
	}
}

// A rule that applies has a sheet, one that doesn't has none and is listed; a
// target has no workbook of this kind.
func TestSheets(t *testing.T) {
	w := open(t, fstest.MapFS{"tune.fettle": {Data: []byte(everything)}})
	c := content(t, w, w.Plan.Find("far"))
	_, sheets := pages(t, c)
	if _, ok := sheets["rule never"]; ok {
		t.Error("a rule that doesn't apply has a sheet")
	}
	for _, name := range []string{"read me", "conditions", "catalogs", "values", "base", "rule ops", "trims", "caps", "result", "check"} {
		if _, ok := sheets[name]; !ok {
			t.Errorf("there is no sheet %s", name)
		}
	}
	text := ""
	for _, row := range sheets["conditions"].Rows {
		for _, cell := range row {
			text += cell.Text + "|"
		}
		text += "\n"
	}
	if !strings.Contains(text, "never|0|left out|hot and lift > 100|") {
		t.Errorf("%s", text)
	}
	c.Target = "shop_ecu"
	if list, err := Format.Files(c); err != nil || len(list) != 0 {
		t.Errorf("%v, %v", list, err)
	}
}

// Every cell that isn't of the source is a formula: base cells, breakpoints,
// conditions, catalogues and what was compiled are the only plain numbers.
func TestEveryCellIsAFormula(t *testing.T) {
	w := example(t, "tussock")
	c := content(t, w, w.Plan.Find("highmeadow_june"))
	_, sheets := pages(t, c)
	formulas := 0
	for name, p := range sheets {
		if name == "base" || name == "conditions" || name == "catalogs" || name == "check" {
			continue
		}
		for r, row := range p.Rows {
			for k, cell := range row {
				if cell.IsNum && cell.Formula == "" {
					t.Errorf("%s, %s: %v isn't a formula", name, workbook.Ref(r+1, k+1), cell.Number)
				} else if cell.Formula != "" {
					formulas++
				}
			}
		}
	}
	if formulas < 5000 {
		t.Errorf("only %d formulas", formulas)
	}
}

// everything has each form of adjustment, region, look-up, function and cap.
const everything = `
use air

axis x [%] 0..100
axis y [rpm] 0..9000

given lift [m] = 200
given day [degC] = 20
given hot = no
given what from things = one

catalog things {
  name | size [mm] | heavy
  one  | 5         | no
  two  | 12.5      | yes
}

curve bend [mg] {
  v [m] | 0 100 300
        | 2 3.5 1
}

fn twice(v within 0..1000) = v + v
let scale = sqrt(what.size / things.one.size) + 0.1

map one_axis [mg] {
  y | 1000 2500 6000
    | 4 _ 9
}

map grid [mg] to 0.01 {
  x \ y | 1000 3000 5000 8000
  0     | 1    2    _    4
  10    | _    3    4    5
  50    | 5    6.25 7    -8
  100   | 9    _    11   12
}

map other [mg] to 0.25 {
  x \ y | 2000 7000
  5     | 1    4.4
  80    | 3    2
}

map single [mg] {
  y | 3000
    | 5
}

map made [mg] like other = grid * 2 + one_axis - step(grid, y) + step(other, x) + single + twice(scale) * 1 mg
map looked [mg] like grid = grid(x * 0.9, y + 500) + other(x / 2, 3000) + one_axis(y * 2) + single(y) + grid(30 %, 2000)
map count {
  y | 1000 2000 3000
    | 1 2 3
}

region mid = y 2000..6000 feather 1500, x 20.. feather 20

rule ops {
  grid += 5 % over mid
  grid -= 2 % over y ..3000
  grid += 0.5 mg over x 10..50 feather 10
  grid -= 0.25 mg where grid > 3 mg and not (y < 2000) or x == 100
  grid *= 1.01 over mid where y > 1000
  grid /= 1.02 over y 3000.. feather 2000
  grid *= scale
  grid /= 1.1
  grid = grid(x, y * 1.05) over y 2000..(lift * 20 [rpm/m]) feather 700
  grid += bend(lift) over mid
  grid += if x > 20 then bend(y / 1 [rpm/m] / 40) else -bend(lift)
  grid *= air.density(air.pressure(lift), day, 40 %) / air.density(air.pressure(0 m), 15 degC, 40 %)
  other += min(grid, 3 mg, one_axis) - max(0.1 mg, other / 5) + abs(-1 mg) + clamp(grid, 1 mg, 2 mg)
  other += 0.01 mg * (round(x / 7) + floor(y / 999 [rpm]) + ceil(-x / 9) + exp(-x / 50) + log(1 + lift / 1 m) + 2 ^ (x / 40) - -x ^ 2 / 100)
  other += 0.1 mg where x > 1 and what is two and what.heavy
  other -= 1 mg where hot and x > 1
}

rule never when hot and lift > 100 {
  grid = 0 mg
}

rule hotter when hot {
  one_axis *= 1 + (day - 20 degC) / 100 K
}

limit top: grid <= 12 mg else clamp
limit low: 0.5 mg <= other <= 8 mg where x > 3 when lift > 100 else clamp

variant near { }
variant far {
  lift = 250
  day = -5 degC
  what = two
  trim grid += 0.125 mg over y 3000..
  trim other *= 1.5
}
variant warm {
  lift = 101
  hot = yes
}
`

// The workspaces that hold each form of the language to an independent reading
// of it: their workbooks come to what was compiled too.
func TestShownValuesOfEveryForm(t *testing.T) {
	dirs, err := filepath.Glob("../../testdata/independent/cases/*/tune.fettle")
	if err != nil || len(dirs) < 10 {
		t.Fatalf("%d cases, %v", len(dirs), err)
	}
	followed := 0
	for _, dir := range dirs {
		w := open(t, os.DirFS(filepath.Dir(dir)))
		for _, tune := range some(w.Plan.Tunes, 1) {
			if w.Tune(tune, compiler.RunOptions{}).Result.Fault != nil {
				continue
			}
			c := content(t, w, tune)
			_, sheets := pages(t, c)
			holds(t, c, sheets)
			followed++
		}
	}
	if followed < len(dirs) {
		t.Errorf("%d workbooks of %d cases", followed, len(dirs))
	}
}
