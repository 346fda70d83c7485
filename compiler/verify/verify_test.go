package verify

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"fettle/compiler/grid"
	"fettle/compiler/table"
)

func res(t *testing.T, text string) grid.Res {
	t.Helper()
	r, err := grid.NewRes(text)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// tuneTable is a table of one row of a tune, readTable one that was read.
func tuneTable(cells ...float64) *table.Table {
	return &table.Table{Name: "t", Map: "t", Unit: "mg", Cols: table.Axis{Name: "rpm", Unit: "rpm", Points: []float64{1000, 2000}}, Cells: cells}
}

func readTable(decimals int, cells ...float64) *Table {
	return &Table{Name: "t", Cols: table.Axis{Name: "rpm", Unit: "rpm", Points: []float64{1000, 2000}}, Decimals: decimals, Cells: cells}
}

func TestGrades(t *testing.T) {
	stored := func(kind table.Type, step float64, cells ...float64) *table.Table {
		out := tuneTable(cells...)
		out.Storage = &table.Storage{Type: kind, Step: step}
		return out
	}
	to := tuneTable(1.25, 12.34)
	to.Res = res(t, "0.01")
	for _, c := range []struct {
		name  string
		tune  *table.Table
		read  *Table
		grade Grade
		steps float64
	}{
		{"the same", to, readTable(2, 1.25, 12.34), Same, 0},
		{"half a step of the resolution", to, readTable(3, 1.255, 12.335), Same, 0},
		{"a step of the resolution", to, readTable(2, 1.26, 12.34), Differs, 1},
		{"fewer decimals, rounded either way", to, readTable(1, 1.3, 12.3), AsFar, 0},
		{"fewer decimals, and another value", to, readTable(1, 1.2, 12.4), Differs, 6},
		{"within half a stored step", stored(table.U16, 0.004, 2.804, 0), readTable(-1, 2.8059, 0), Same, 0},
		{"past it", stored(table.U16, 0.004, 2.804, 0), readTable(-1, 2.8061, 0), Differs, 0.525},
		{"a float32", stored(table.F32, 1, float64(float32(0.1)), 1), readTable(-1, 0.1, 1), Same, 0},
		{"the next float32", stored(table.F32, 1, 1, 2), readTable(-1, float64(math.Nextafter32(1, 2)), 2), Differs, 1 / 8388608.0 / 1e-5},
		{"six digits", tuneTable(1.23457, 123457), readTable(7, 1.2345678, 123456.7), Same, 0},
		{"the sixth digit", tuneTable(1.23457, 0), readTable(5, 1.23458, 0), Differs, 1},
		{"nothing is nothing", tuneTable(0, 1), readTable(9, 1e-9, 1), Differs, 1e-4},
		{"nothing, with few decimals", tuneTable(0, 1), readTable(1, 0, 1), Same, 0},
	} {
		p := beside(c.read, c.tune)
		if p == nil || p.Grade != c.grade || math.Abs(p.Steps-c.steps) > 1e-6*c.steps+1e-12 {
			t.Errorf("%s: %+v, want grade %d, %v steps", c.name, p, c.grade, c.steps)
		}
	}
}

func TestOtherAxes(t *testing.T) {
	tune := tuneTable(1, 3)
	for _, c := range []struct {
		name  string
		axis  table.Axis
		cells []float64
		want  bool
	}{
		{"another unit", table.Axis{Name: "rpm", Unit: "rev/s", Points: []float64{1000.0 / 60, 2000.0 / 60}}, []float64{1, 3}, true},
		{"another kind of unit", table.Axis{Name: "rpm", Unit: "mg", Points: []float64{1000, 2000}}, []float64{1, 3}, false},
		{"another name", table.Axis{Name: "speed", Unit: "rpm", Points: []float64{1000, 2000}}, []float64{1, 3}, false},
		{"more breakpoints on the same line", table.Axis{Name: "rpm", Unit: "rpm", Points: []float64{1000, 1500, 2000}}, []float64{1, 2, 3}, true},
		{"past the end", table.Axis{Name: "rpm", Unit: "rpm", Points: []float64{500, 1000, 2000, 3000}}, []float64{1, 1, 3, 3}, true},
	} {
		p := beside(&Table{Name: "t", Cols: c.axis, Cells: c.cells, Decimals: -1}, tune)
		if (p != nil) != c.want || p != nil && p.Grade != Same {
			t.Errorf("%s: %+v", c.name, p)
		}
	}
	if p := beside(&Table{Cols: table.Axis{Name: "rpm", Unit: "rpm", Points: []float64{1000, 1500, 2000}}, Cells: []float64{1, 2.5, 3}, Decimals: -1}, tune); p.Grade != Differs || len(p.Cell) != 1 || p.Cell[0].At[0] != 1500 || !p.Union {
		t.Errorf("%+v", p)
	}
}

// A table takes its namesake, one that shows the map of its name, or by its axes
// the nearest that no other took.
func TestMatch(t *testing.T) {
	set := func() []table.Table {
		low, high, other := *tuneTable(1, 2), *tuneTable(5, 6), *tuneTable(1, 2)
		low.Name, high.Name, other.Name, other.Map = "low", "high", "other", "spark"
		return []table.Table{low, high, other}
	}()
	named := func(name string, cells ...float64) *Table {
		out := readTable(-1, cells...)
		out.Name = name
		return out
	}
	known := map[string]bool{"low": true, "high": true, "other": true, "spark": true, "fuel": true}
	for _, c := range []struct {
		tables []*Table
		want   []string
	}{
		{[]*Table{named("high", 1, 2)}, []string{"high"}},
		{[]*Table{named("spark", 5, 6)}, []string{"other"}},
		{[]*Table{named("fuel", 5, 6)}, nil},
		{[]*Table{named("readback", 5, 6.1)}, []string{"high"}},
		{[]*Table{named("readback", 1, 2), named("low", 1, 2)}, []string{"other", "low"}},
		{[]*Table{named("a", 1, 2), named("b", 1, 2), named("c", 1, 2), named("d", 1, 2)}, nil},
	} {
		pairs := match(&Group{Tables: c.tables}, set, known)
		var got []string
		for _, p := range pairs {
			got = append(got, p.Tune.Name)
		}
		if len(got) != len(c.want) {
			t.Errorf("%v: %v, want %v", c.tables[0].Name, got, c.want)
			continue
		}
		for i := range got {
			if got[i] != c.want[i] {
				t.Errorf("%v: %v, want %v", c.tables[0].Name, got, c.want)
			}
		}
	}
}

// An image is believed only as far as it reaches.
func TestImageThatLies(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) {
		t.Helper()
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	write("image.bin", "\x00\x01\x02\x03\x04\x05\x06\x07")
	for _, tables := range []string{
		`{"name": "a", "offset": -1, "shape": [2], "type": "u8", "axes": []}`,
		`{"name": "a", "offset": 7, "shape": [2], "type": "u8", "axes": []}`,
		`{"name": "a", "offset": 0, "shape": [99999999999], "type": "u8", "axes": [{"name": "x", "offset": 0, "count": 99999999999, "type": "f64"}]}`,
		`{"name": "a", "offset": 0, "shape": [1], "type": "u64", "axes": [{"name": "x", "offset": 0, "count": 1, "type": "f64"}]}`,
		`{"name": "a", "offset": 0, "shape": [3], "type": "u8", "axes": [{"name": "x", "offset": 0, "count": 1, "type": "f64"}]}`,
		`{"name": "a", "offset": 0, "shape": [], "type": "u8", "axes": []}`,
	} {
		write("image.json", `{"schema": "fettle/image/1", "file": "image.bin", "bytes": 8, "tables": [`+tables+`]}`)
		if r, err := ReadPath(filepath.Join(dir, "image.bin")); err == nil {
			t.Errorf("%s: %+v", tables, r.Groups[0].Tables[0])
		}
	}
	write("image.json", `{"schema": "fettle/image/1", "file": "../secret.bin", "bytes": 8, "tables": []}`)
	if _, err := ReadPath(filepath.Join(dir, "image.json")); err == nil {
		t.Error("a file outside is read")
	}
}
