package resample_test

import (
	"encoding/json"
	"math"
	"os"
	"slices"
	"testing"

	"fettle/compiler/grid"
	"fettle/compiler/resample"
	"fettle/compiler/table"
)

// golden is what other programs made of random tables: see the program beside it.
type golden struct {
	Resampling []struct {
		Rows, Cols, Cells []float64
		ToRows            []float64 `json:"to_rows"`
		ToCols            []float64 `json:"to_cols"`
		Want              []float64
		Largest, Mean     float64
	}
	Storing []struct {
		Type         table.Type
		Step, Offset float64
		Cells, Raw   []float64
		Values       []float64
		Bad          int
		Lo, Hi       float64
	}
	Choosing []struct {
		Rows, Cols, Cells, Places []float64
		N                         int
		Largest, Mean             float64
	}
}

func read(t *testing.T) (g golden) {
	t.Helper()
	b, err := os.ReadFile("../../testdata/resample/golden.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, &g); err != nil {
		t.Fatal(err)
	}
	if len(g.Resampling) < 30 || len(g.Storing) < 30 || len(g.Choosing) < 20 {
		t.Fatal("there is too little of it")
	}
	return g
}

// near says whether two values are the same but for the order of their sums.
func near(a, b float64) bool { return math.Abs(a-b) <= 1e-11*max(1, math.Abs(a), math.Abs(b)) }

func TestResamplingIsScipys(t *testing.T) {
	for i, c := range read(t).Resampling {
		from := grid.Table{Rows: c.Rows, Cols: c.Cols, Cells: c.Cells}
		got := resample.To(&from, c.ToRows, c.ToCols)
		if !slices.EqualFunc(got.Cells, c.Want, near) {
			t.Errorf("%d: %v, want %v", i, got.Cells, c.Want)
		}
		if e := resample.Compare(&from, &got); !near(e.Largest, c.Largest) || !near(e.Mean, c.Mean) {
			t.Errorf("%d: off by %g, %g on average; want %g, %g", i, e.Largest, e.Mean, c.Largest, c.Mean)
		}
	}
}

func TestStoringIsPythonsDecimal(t *testing.T) {
	halves := 0
	for i, c := range read(t).Storing {
		raw, values, bad := resample.Store(c.Cells, table.Storage{Type: c.Type, Step: c.Step, Offset: c.Offset})
		if c.Bad > 0 {
			if bad == nil || bad.Cells != c.Bad || bad.Lo != c.Lo || bad.Hi != c.Hi {
				t.Errorf("%d: %+v, want %d cells outside %g..%g", i, bad, c.Bad, c.Lo, c.Hi)
			}
			continue
		}
		if bad != nil || !slices.Equal(raw, c.Raw) || !slices.Equal(values, c.Values) {
			t.Errorf("%d: %s by %g from %g of %v:\n%v %v %+v, want\n%v %v", i, c.Type, c.Step, c.Offset, c.Cells, raw, values, bad, c.Raw, c.Values)
		}
		for k, x := range c.Cells {
			if math.Abs(math.Abs(x-values[k])/c.Step-0.5) < 1e-9 {
				halves++
			}
		}
	}
	if halves < 100 {
		t.Errorf("only %d values lie half way between two steps", halves)
	}
}

func TestChoosingIsTryingAll(t *testing.T) {
	for i, c := range read(t).Choosing {
		from := grid.Table{Rows: c.Rows, Cols: c.Cols, Cells: c.Cells}
		rows, cols := resample.Choose(&from, resample.Axis{Points: c.Rows}, resample.Axis{Auto: c.N, Grid: c.Places})
		if len(cols) != c.N || cols[0] != c.Places[0] || cols[c.N-1] != c.Places[len(c.Places)-1] {
			t.Errorf("%d: chose %v", i, cols)
		}
		got := resample.To(&from, rows, cols)
		if e := resample.Compare(&from, &got); !near(e.Largest, c.Largest) || !near(e.Mean, c.Mean) {
			t.Errorf("%d: off by %g, %g on average; the best is %g, %g", i, e.Largest, e.Mean, c.Largest, c.Mean)
		}
	}
}
