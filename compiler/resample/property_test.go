package resample_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"fettle/compiler/grid"
	"fettle/compiler/resample"
	"fettle/compiler/table"
)

// points draws ascending multiples of 10.
func points(t *rapid.T, n int, name string) []float64 {
	at := rapid.SliceOfNDistinct(rapid.IntRange(0, 40), n, n, rapid.ID[int]).Draw(t, name)
	slices.Sort(at)
	out := make([]float64, n)
	for i, k := range at {
		out[i] = float64(10 * k)
	}
	return out
}

func drawn(t *rapid.T) grid.Table {
	g := grid.Table{Rows: points(t, rapid.IntRange(2, 6).Draw(t, "nr"), "rows"), Cols: points(t, rapid.IntRange(2, 6).Draw(t, "nc"), "cols")}
	g.Cells = rapid.SliceOfN(rapid.Float64Range(-100, 100), len(g.Rows)*len(g.Cols), len(g.Rows)*len(g.Cols)).Draw(t, "cells")
	return g
}

// axisOf chooses among the multiples of 10 between the outermost breakpoints.
func axisOf(t *rapid.T, own []float64, name string) resample.Axis {
	places, _ := resample.Ladder(own[0], own[len(own)-1], 10, 100)
	return resample.Axis{Auto: rapid.IntRange(2, len(places)).Draw(t, name), Grid: places}
}

func off(g *grid.Table, rows, cols []float64) resample.Error {
	at := resample.To(g, rows, cols)
	return resample.Compare(g, &at)
}

// Whichever axes are chosen, the error is never more than with evenly spaced
// breakpoints, but for float noise, and a second run chooses the same.
func TestNeverWorseThanEven(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := drawn(t)
		r, c := axisOf(t, g.Rows, "rows chosen"), axisOf(t, g.Cols, "cols chosen")
		for _, way := range []struct{ rows, cols resample.Axis }{{r, c}, {r, resample.Axis{Points: g.Cols}}, {resample.Axis{Points: g.Rows}, c}} {
			rows, cols := resample.Choose(&g, way.rows, way.cols)
			again, too := resample.Choose(&g, way.rows, way.cols)
			if !slices.Equal(rows, again) || !slices.Equal(cols, too) {
				t.Fatalf("%v %v, then %v %v", rows, cols, again, too)
			}
			even := func(a resample.Axis) []float64 {
				if a.Auto == 0 {
					return a.Points
				}
				return resample.Even(a.Grid, a.Auto)
			}
			got, want := off(&g, rows, cols), off(&g, even(way.rows), even(way.cols))
			if got.Largest > want.Largest+1e-9 {
				t.Fatalf("%v %v is off by %g, and evenly spaced ones by %g", rows, cols, got.Largest, want.Largest)
			}
		}
	})
}

// Both axes, against every choice of both: alternation needn't find the best,
// and isn't far from it here.
func TestBothAxesAgainstAll(t *testing.T) {
	found, tries := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		g := grid.Table{Rows: []float64{0, 10, 20, 30, 40}, Cols: []float64{0, 10, 20, 30, 40}}
		g.Cells = rapid.SliceOfN(rapid.Float64Range(-100, 100), 25, 25).Draw(t, "cells")
		rows, cols := resample.Choose(&g, resample.Axis{Auto: 4, Grid: g.Rows}, resample.Axis{Auto: 4, Grid: g.Cols})
		got, best := off(&g, rows, cols).Largest, math.Inf(1)
		for i := 1; i < 4; i++ {
			for k := 1; k < 4; k++ {
				best = min(best, off(&g, without(g.Rows, i), without(g.Cols, k)).Largest)
			}
		}
		if got < best-1e-12 {
			t.Fatalf("off by %g, less than the best of all, %g", got, best)
		}
		tries++
		if got <= best+1e-12 {
			found++
		}
	})
	if found*10 < tries*6 {
		t.Errorf("the best was found in %d of %d", found, tries)
	}
}

func without(list []float64, i int) []float64 {
	return append(slices.Clone(list[:i]), list[i+1:]...)
}

// A stored value is off by half a step at most, and is stored as itself.
func TestStoredValuesStay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := table.Storage{Type: rapid.SampledFrom(table.Types).Draw(t, "type"), Step: 1}
		if s.Type != table.F32 {
			s.Step = rapid.SampledFrom([]float64{0.004, 0.5, 0.01, 3, 0.0075}).Draw(t, "step")
			s.Offset = rapid.SampledFrom([]float64{0, -40, 0.002, 1.005}).Draw(t, "offset")
		}
		x := rapid.Float64Range(-1e6, 1e6).Draw(t, "x")
		raw, values, bad := resample.Store([]float64{x}, s)
		if s.Type == table.F32 {
			if bad != nil || raw[0] != float64(float32(x)) || values[0] != raw[0] {
				t.Fatalf("%g is stored as %v", x, raw)
			}
			return
		}
		lo, hi := s.Type.Range()
		q := (x - s.Offset) / s.Step
		if bad != nil {
			if q > lo-0.499 && q < hi+0.499 {
				t.Fatalf("%g doesn't fit %v..%v", x, bad.Lo, bad.Hi)
			}
			return
		}
		if raw[0] != math.Trunc(raw[0]) || raw[0] < lo || raw[0] > hi || math.Abs(values[0]-x) > s.Step*0.5*(1+1e-6) {
			t.Fatalf("%g is stored as %g, which is %g", x, raw[0], values[0])
		}
		again, same, _ := resample.Store(values, s)
		if again[0] != raw[0] || same[0] != values[0] {
			t.Fatalf("%g is stored as %g, then as %g", x, raw[0], again[0])
		}
	})
}

func TestMisfit(t *testing.T) {
	cells := []float64{10, 73.5, 74, -54, -60, 10.2}
	_, _, bad := resample.Store(cells, table.Storage{Type: table.I8, Step: 0.5, Offset: 10})
	if bad == nil || *bad != (resample.Misfit{Cells: 2, At: 4, Value: -60, Lo: -54, Hi: 73.5}) {
		t.Errorf("%+v", bad)
	}
	if _, _, bad = resample.Store([]float64{1, -1e39}, table.Storage{Type: table.F32, Step: 1}); bad == nil || bad.At != 1 || bad.Cells != 1 {
		t.Errorf("%+v", bad)
	}
	// Half a step over the end rounds to even, which is over it, or not.
	if _, _, bad = resample.Store([]float64{255.5}, table.Storage{Type: table.U8, Step: 1}); bad == nil {
		t.Error("256 fits eight bits")
	}
	if raw, _, bad := resample.Store([]float64{-0.5, 254.5}, table.Storage{Type: table.U8, Step: 1}); bad != nil || raw[0] != 0 || raw[1] != 254 || math.Signbit(raw[0]) {
		t.Errorf("%v %+v", raw, bad)
	}
}

func TestLadder(t *testing.T) {
	for _, c := range []struct {
		lo, hi, by float64
		most       int
		want       []float64
		meets      bool
	}{
		{0, 0.5, 0.1, 9, []float64{0, 0.1, 0.2, 0.3, 0.4, 0.5}, true},
		{-0.3, 0.3, 0.3, 9, []float64{-0.3, 0, 0.3}, true},
		{1000, 2000, 300, 9, []float64{1000, 1300, 1600, 1900}, false},
		{5, 5, 1, 9, []float64{5}, true},
		{0, 9, 1, 9, nil, false},
		{0, 9, 1, 10, []float64{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}, true},
		{0, 1e9, 1e-9, 100, nil, false},
	} {
		got, meets := resample.Ladder(c.lo, c.hi, c.by, c.most)
		if !slices.Equal(got, c.want) || meets != c.meets {
			t.Errorf("%g..%g by %g: %v, %v", c.lo, c.hi, c.by, got, meets)
		}
	}
	if !resample.Multiple(0.3, 0.1) || !resample.Multiple(-1250, 250) || !resample.Multiple(0, 7) || resample.Multiple(0.35, 0.1) {
		t.Error("multiples")
	}
}
