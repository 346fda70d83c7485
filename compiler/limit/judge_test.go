package limit

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/lang/formula"
)

// plainly finds the worst cell one cell after the other, each looked at closely.
func plainly(k *look) (w worst, problem string) {
	w.cell = -1
	for i := range k.n {
		if !k.looks(i) {
			continue
		}
		f := k.cell(i)
		if !f.finite {
			return w, notFinite
		}
		if f.bad {
			w.count++
		}
		if w.cell < 0 || f.bad && !w.bad || f.bad == w.bad && f.room < w.room-tie*math.Abs(w.room) {
			w.cell, w.found = i, f
		}
	}
	return w, ""
}

// sidesOf draws sides that come near to each other, and to the ties and the slack
// of a comparison.
func sidesOf(t *rapid.T, n int) values {
	mid := rapid.SampledFrom([]float64{0, 1, 85, -3, 1e-300}).Draw(t, "mid")
	share := rapid.SampledFrom([]float64{1, 1e-3, 1e-8, 3e-10, 1e-12}).Draw(t, "share")
	odd := rapid.SampledFrom([]float64{0, 0, 0, 0, math.NaN(), math.Inf(1), math.Inf(-1), math.MaxFloat64, math.SmallestNonzeroFloat64}).Draw(t, "odd")
	one := rapid.Custom(func(t *rapid.T) float64 {
		k := rapid.IntRange(-9, 9).Draw(t, "k")
		if k == 9 && odd != 0 && rapid.IntRange(0, 5).Draw(t, "often") == 0 {
			return odd
		}
		return mid + float64(k)*share*max(mid, 1e-3)
	})
	if rapid.Bool().Draw(t, "same") {
		return values{[]float64{one.Draw(t, "x")}, 0}
	}
	return values{rapid.SliceOfN(one, n, n).Draw(t, "x"), 1}
}

// Passing over cells and finding the nearest at once end where looking closely at
// every cell ends.
func TestSettleAgreesWithEveryCell(t *testing.T) {
	near := 0
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 24).Draw(t, "cells")
		k := &look{lo: &lowered{cells: &eval.Cells{RowAxis: -1, ColAxis: 0}}, n: n}
		for i := range n {
			k.lo.cells.Cols = append(k.lo.cells.Cols, float64(i))
		}
		yesNo := func() values {
			list := rapid.SliceOfN(rapid.SampledFrom([]float64{0, 1, 1, 1}), n, n).Draw(t, "yes")
			if rapid.IntRange(0, 5).Draw(t, "same") == 0 {
				return values{list[:1], 0}
			}
			return values{list, 1}
		}
		if rapid.IntRange(0, 2).Draw(t, "where") == 0 {
			k.where = yesNo()
		}
		for range rapid.IntRange(1, 3).Draw(t, "parts") {
			if rapid.IntRange(0, 5).Draw(t, "cond") == 0 {
				k.lo.parts = append(k.lo.parts, part{cond: &eval.Expr{}})
				k.sides = append(k.sides, sides{left: yesNo()})
				continue
			}
			op := rapid.SampledFrom([]formula.Op{formula.Lt, formula.Le, formula.Gt, formula.Ge, formula.Le, formula.Ge, formula.Eq}).Draw(t, "op")
			k.lo.parts = append(k.lo.parts, part{op: op, size: rapid.SampledFrom([]float64{1, 1e-6, 60}).Draw(t, "size")})
			k.sides = append(k.sides, sides{sidesOf(t, n), sidesOf(t, n)})
		}
		want, problem := plainly(k)
		v := &Verdict{Limit: &check.Limit{}}
		mem := &memory{}
		if got := v.settle(k, mem, nil); got != problem {
			t.Fatalf("%q, and cell by cell %q", got, problem)
		}
		if k.finite(mem) != (problem == "") {
			t.Fatalf("finite: %v, and cell by cell %q", k.finite(mem), problem)
		}
		cells := 0
		for i := range n {
			if k.looks(i) {
				cells++
			}
		}
		if k.cells() != cells {
			t.Fatalf("%d cells of %d", k.cells(), cells)
		}
		if problem != "" {
			return
		}
		if v.Bad != want.count || (v.At == nil) != (want.cell < 0) {
			t.Fatalf("%d bad at %v, cell by cell %d at %d", v.Bad, v.At, want.count, want.cell)
		}
		if want.cell < 0 {
			return
		}
		if v.At[0] != float64(want.cell) || v.told != want.part {
			t.Fatalf("part %d at %v, cell by cell %d at %d", v.told, v.At, want.part, want.cell)
		}
		if _, ok := k.nearest(mem.begin(k)); ok {
			near++
		}
	})
	if !testing.Short() && near == 0 {
		t.Error("none was found at once")
	}
}
