package resample_test

import (
	"math"
	"testing"

	"fettle/compiler/grid"
	"fettle/compiler/resample"
	"fettle/compiler/table"
)

// hilly is a table as large as an engine's, of 16 rows by 22 columns.
func hilly() *grid.Table {
	t := &grid.Table{}
	for c := range 22 {
		t.Cols = append(t.Cols, float64(1500+250*(2*c+c/8)))
	}
	for r := range 16 {
		t.Rows = append(t.Rows, float64(r*r)/2)
		for c := range t.Cols {
			t.Cells = append(t.Cells, 15+10*math.Sin(t.Cols[c]/3000)+math.Cos(t.Rows[r]/30))
		}
	}
	return t
}

func BenchmarkStore(b *testing.B) {
	t := hilly()
	for b.Loop() {
		if _, _, bad := resample.Store(t.Cells, table.Storage{Type: table.U16, Step: 0.004, Offset: -20}); bad != nil {
			b.Fatalf("%+v", bad)
		}
	}
}

func BenchmarkCompare(b *testing.B) {
	t := hilly()
	other := resample.To(t, t.Rows[:8], t.Cols[4:16])
	for b.Loop() {
		resample.Compare(t, &other)
	}
}

func BenchmarkChooseColumns(b *testing.B) { choose(b, 0) }
func BenchmarkChooseBoth(b *testing.B)    { choose(b, 8) }

func choose(b *testing.B, rows int) {
	t := hilly()
	r, c := resample.Axis{Points: t.Rows}, resample.Axis{Auto: 12}
	c.Grid, _ = resample.Ladder(t.Cols[0], t.Cols[len(t.Cols)-1], 250, 200)
	if rows > 0 {
		r = resample.Axis{Auto: rows, Grid: t.Rows}
	}
	for b.Loop() {
		resample.Choose(t, r, c)
	}
}
