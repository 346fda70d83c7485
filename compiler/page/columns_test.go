package page

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// unpacked reads a column as the script does.
func unpacked(k *columns, at int) []float64 {
	packed, ok := k.view(&k.list[at]).([]any)
	if !ok {
		return k.list[at].reals
	}
	var ints func(at int) []float64
	ints = func(at int) []float64 {
		p := k.view(&k.list[at]).([]any)
		from, scale, left := p[1].(int), p[2].(float64), p[3].([]int64)
		out := make([]float64, len(left))
		last := 0.0
		var other []float64
		if from >= 0 {
			other = ints(from)
		}
		for i, x := range left {
			if from >= 0 {
				out[i] = math.Floor(float64(other[i]*scale)+0.5) + float64(x)
				continue
			}
			last += float64(x)
			out[i] = last
		}
		return out
	}
	out := ints(at)
	for i := range out {
		out[i] /= math.Pow10(packed[0].(int))
	}
	return out
}

// Any columns come back as they were, to the bit.
func TestColumnsComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := newColumns()
		n := rapid.IntRange(0, 30).Draw(t, "cells")
		number := rapid.OneOf(
			rapid.Custom(func(t *rapid.T) float64 {
				return float64(rapid.IntRange(-30000, 30000).Draw(t, "n")) / math.Pow10(rapid.IntRange(0, 4).Draw(t, "decimals"))
			}),
			rapid.Float64(),
		)
		var all [][]float64
		var at []int
		for range rapid.IntRange(1, 6).Draw(t, "columns") {
			var list []float64
			if len(all) > 0 && rapid.Bool().Draw(t, "alike") {
				scale := rapid.Float64Range(0.5, 2).Draw(t, "scale")
				for _, x := range all[0] {
					list = append(list, math.Round(x*scale*100)/100)
				}
				if slices.ContainsFunc(list, func(x float64) bool { return math.IsInf(x, 0) }) {
					continue
				}
			} else {
				list = rapid.SliceOfN(number, n, n).Draw(t, "column")
			}
			all = append(all, list)
			at = append(at, k.add("map", rapid.IntRange(-1, 3).Draw(t, "least"), list))
		}
		for i, list := range all {
			got := unpacked(k, at[i])
			if len(got) != len(list) {
				t.Fatalf("%d cells, were %d", len(got), len(list))
			}
			for c, x := range list {
				if got[c] != x {
					t.Fatalf("column %d, cell %d is %v, was %v", i, c, got[c], x)
				}
			}
		}
	})
}

// A table that stands in many tunes is kept once, and one that is another scaled
// leaves next to nothing.
func TestColumnsAreFew(t *testing.T) {
	k := newColumns()
	base := make([]float64, 200)
	for i := range base {
		base[i] = float64(100+i*i%317) / 100
	}
	scaled := make([]float64, len(base))
	for i, x := range base {
		scaled[i] = math.Round(x*103) / 100
	}
	a, b, c := k.add("fuel", 2, base), k.add("fuel", 2, slices.Clone(base)), k.add("fuel", 2, scaled)
	if a != b || a == c {
		t.Errorf("places are %d, %d, %d", a, b, c)
	}
	if got := k.list[c].from; got != a {
		t.Errorf("the scaled one is guessed from %d", got)
	}
	left := 0
	for _, x := range k.list[c].left(k.list[a].ints, k.list[c].scale) {
		if x != 0 {
			left++
		}
	}
	if left > len(base)/5 {
		t.Errorf("%d of %d cells are left of a scaled table", left, len(base))
	}
}
