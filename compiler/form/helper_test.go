package form

import (
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fettle/compiler"
	"fettle/compiler/emit"
	"fettle/compiler/table"
)

// contents gives some tunes of every example, and their targets' tables, as a
// build hands them to formats.
func contents(t testing.TB) []*emit.Content {
	t.Helper()
	var out []*emit.Content
	probe := emit.Format{Name: "probe", Files: func(c *emit.Content) ([]emit.File, error) {
		out = append(out, c)
		return nil, nil
	}}
	dirs, err := filepath.Glob("../../examples/*/tune.fettle")
	if err != nil || len(dirs) < 4 {
		t.Fatalf("%v: %v", dirs, err)
	}
	for _, dir := range dirs {
		w := compiler.Open(os.DirFS(filepath.Dir(dir)))
		if w.Diags.HasErrors() {
			t.Fatalf("%s has errors", dir)
		}
		f, err := emit.NewFolder(filepath.Join(t.TempDir(), "out"), "", false)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Abort()
		before := len(out)
		for i, tune := range w.Plan.Tunes {
			if i%60 != 0 && i != len(w.Plan.Tunes)-1 {
				continue
			}
			in := w.Input(w.Tune(tune, compiler.RunOptions{Targets: w.Program.Targets}), emit.Source{Digest: w.Digest(), Revision: "0123abcd", Version: "v0.0.0-test"})
			in.Formats = []emit.Format{probe}
			if err := f.Add(in); err != nil {
				t.Fatal(err)
			}
		}
		if len(out) == before {
			t.Fatalf("%s has no tune", dir)
		}
	}
	return out
}

// stored is a tune of one table for each way of storing, in both byte orders and
// over one and two axes, with the ends of each type's range.
func stored(t testing.TB) *emit.Content {
	t.Helper()
	c := &emit.Content{Target: "shop_ecu", About: &emit.Tune{Name: "season/stock-820m", Compiler: "v0.0.0-test", Cautions: []string{"Invented numbers."},
		Source: emit.SourceInfo{Digest: "00000000000000000000000000000000000000000000000000000000000000ab"}}}
	steps := map[table.Type][2]float64{table.U8: {0.5, -10}, table.I8: {0.25, 10}, table.U16: {0.004, 0}, table.I16: {0.1, -3}, table.U32: {0.001, 0}, table.I32: {2, 1}, table.F32: {1, 0}}
	for i, kind := range table.Types {
		for _, big := range []bool{false, true} {
			name := string(kind) + "_little"
			if big {
				name = string(kind) + "_big"
			}
			x := table.Table{Name: name, Map: "fuel", Unit: "mg", Cols: table.Axis{Name: "rpm", Unit: "rpm", Points: []float64{1000, 2500.5, 13000}},
				Storage: &table.Storage{Type: kind, Step: steps[kind][0], Offset: steps[kind][1], Big: big}}
			lo, hi := kind.Range()
			x.Storage.Raw = []float64{lo, hi, 1, 0, 2, 3}
			if kind == table.F32 {
				x.Storage.Raw = []float64{float64(float32(0.1)), -1.5, 0, float64(float32(1e-7)), float64(float32(3.4e38)), 16777216}
			}
			if i%2 == 0 {
				x.Rows = table.Axis{Name: "throttle", Unit: "%", Points: []float64{-5, 12.75}}
			} else {
				x.Storage.Raw = x.Storage.Raw[:3]
			}
			for _, raw := range x.Storage.Raw {
				x.Cells = append(x.Cells, x.Storage.Offset+float64(raw*x.Storage.Step))
			}
			c.Tables = append(c.Tables, x)
		}
	}
	return c
}

// each calls a format on every tune of the tests, and gives its files by name.
func each(t *testing.T, format string, test func(t *testing.T, c *emit.Content, files map[string][]byte)) {
	formats, err := Named([]string{format})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range append(contents(t), stored(t)) {
		t.Run(c.About.Name+" "+c.Target, func(t *testing.T) {
			list, err := formats[0].Files(c)
			if err != nil {
				t.Fatal(err)
			}
			again, err := formats[0].Files(c)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(list, again); diff != "" {
				t.Fatalf("written twice, the bytes differ: %s", diff)
			}
			files := map[string][]byte{}
			for _, f := range list {
				files[f.Path] = f.Data
			}
			test(t, c, files)
		})
	}
}

// meant gives the values of a table whose raw numbers were read back: the table's
// own if the raw numbers are, and what they mean is that to the last digit but one.
func meant(t *testing.T, want *table.Table, raw []float64, step, offset float64) []float64 {
	t.Helper()
	s := want.Storage
	if s == nil {
		return raw
	}
	if step != s.Step || offset != s.Offset || !slices.Equal(raw, s.Raw) {
		t.Errorf("%s: step %v, offset %v, raw %v, want %v, %v and %v", want.Name, step, offset, raw, s.Step, s.Offset, s.Raw)
		return nil
	}
	for i, x := range raw {
		if v := offset + float64(x*step); math.Abs(v-want.Cells[i]) > 1e-15*(math.Abs(offset)+math.Abs(v)) {
			t.Errorf("%s: cell %d is %v, want %v", want.Name, i, v, want.Cells[i])
		}
	}
	return want.Cells
}

// same holds a table that was read back to the one that was written.
func same(t *testing.T, want *table.Table, rows, cols, cells []float64) {
	t.Helper()
	if !slices.Equal(rows, want.Rows.Points) || !slices.Equal(cols, want.Cols.Points) {
		t.Errorf("%s: axes %v and %v, want %v and %v", want.Name, rows, cols, want.Rows.Points, want.Cols.Points)
	}
	if !slices.Equal(cells, want.Cells) {
		t.Errorf("%s: cells %v, want %v", want.Name, cells, want.Cells)
	}
}
