package resample

import (
	"math"
	"math/big"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"fettle/compiler/grid"
)

// number draws what a tuner may write, what arithmetic makes of that, and any float.
func number(t *rapid.T, name string) float64 {
	x := float64(rapid.IntRange(-99999, 99999).Draw(t, name)) / math.Pow10(rapid.IntRange(0, 6).Draw(t, name+" decimals"))
	switch rapid.IntRange(0, 9).Draw(t, name+" kind") {
	case 0:
		return math.Nextafter(x, math.Inf(1))
	case 1:
		return x / 3
	case 2:
		return rapid.Float64Range(-1e9, 1e9).Draw(t, name+" any")
	case 3:
		return x * math.Pow10(rapid.IntRange(-30, 30).Draw(t, name+" power"))
	}
	return x
}

func same(a, b float64) bool { return math.Float64bits(a) == math.Float64bits(b) }

// Whole numbers give what rational numbers give, on halves too, bit for bit.
func TestStepsAreExact(t *testing.T) {
	halves, whole := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		step, offset := math.Abs(number(t, "step")), number(t, "offset")
		if step == 0 {
			step = 0.25
		}
		s := scaleOf(step, offset)
		raw := float64(rapid.IntRange(-1<<31, 1<<32-1).Draw(t, "raw"))
		if rapid.Bool().Draw(t, "few") {
			raw = math.Mod(raw, 256)
		}
		value, want := s.worth(raw), exactWorth(raw, step, offset)
		if offset == 0 && step == 1 {
			want = raw
		}
		if !same(value, want) {
			t.Fatalf("%v of %v from %v are worth %v, want %v", raw, step, offset, value, want)
		}
		xs := []float64{number(t, "x"), value}
		half, _ := new(big.Rat).Add(decimal(value), new(big.Rat).Quo(decimal(step), big.NewRat(2, 1))).Float64()
		for _, x := range append(xs, half, math.Nextafter(half, 0), math.Nextafter(half, math.Inf(1))) {
			if got, want := s.steps(x), exactSteps(x, step, offset); !same(got, want) {
				t.Fatalf("%v is %v steps of %v from %v, want %v", x, got, step, offset, want)
			}
		}
		if s.ok {
			whole++
		}
		if w := bring(half, offset, step); w.ok && 2*((w.of[0]-w.of[1])%w.of[2]) == w.of[2] {
			halves++
		}
	})
	if whole < 20 || halves < 5 {
		t.Errorf("only %d scales are of few digits, %d with a half", whole, halves)
	}
}

func TestLaddersAreExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lo, by := number(t, "lo"), math.Abs(number(t, "by"))
		hi := lo + float64(by*float64(rapid.IntRange(0, 50).Draw(t, "n")))
		points, _ := Ladder(lo, hi, by, 60)
		at := decimal(lo)
		for i, x := range points {
			if want, _ := at.Float64(); !same(x, want) {
				t.Fatalf("%v from %v by %v is %v, want %v", i, lo, by, x, want)
			}
			at.Add(at, decimal(by))
		}
		if len(points) > 0 && at.Cmp(decimal(hi)) <= 0 {
			t.Fatalf("%v..%v by %v ends at %v", lo, hi, by, points[len(points)-1])
		}
		if by > 0 {
			x := number(t, "x")
			if got, want := Multiple(x, by), new(big.Rat).Quo(decimal(x), decimal(by)).IsInt(); got != want {
				t.Fatalf("%v is a multiple of %v: %t", x, by, got)
			}
		}
	})
}

// plainly chooses columns with the cost of every pair, as the comment on choosing
// has it.
func plainly(t *grid.Table, rows, places []float64, n int) []float64 {
	m := len(places)
	other := To(t, rows, t.Cols)
	cost := func(a, b int) (largest, sum float64) {
		for c, x := range t.Cols {
			if x < places[a] || x > places[b] || x == places[b] && b != m-1 {
				continue
			}
			f := (x - places[a]) / (places[b] - places[a])
			for r := range t.NRows() {
				y := 0.0
				base := grid.Table{Cols: t.Cols}
				if t.Rows != nil {
					y = t.Rows[r]
				}
				for _, x := range t.Cols {
					base.Cells = append(base.Cells, other.Lookup2(y, x))
				}
				va, vb := base.Lookup(places[a]), base.Lookup(places[b])
				d := math.Abs(va + float64(f*(vb-va)) - t.At(r, c))
				largest = max(largest, d)
				sum += d
			}
		}
		return largest, sum
	}
	largest, sums := make([][]float64, m), make([][]float64, m)
	for a := range m {
		largest[a], sums[a] = make([]float64, m), make([]float64, m)
		for b := a + 1; b < m; b++ {
			largest[a][b], sums[a][b] = cost(a, b)
		}
	}
	way := func(cost [][]float64, bound float64, add func(x, y float64) float64) (float64, []float64) {
		from, now := make([][]int, n), start(m)
		for step := 1; step < n; step++ {
			next := make([]float64, m)
			from[step] = make([]int, m)
			for b := range m {
				next[b] = math.Inf(1)
				for a := range b {
					if x := add(now[a], cost[a][b]); largest[a][b] <= bound && x < next[b] {
						next[b], from[step][b] = x, a
					}
				}
			}
			now = next
		}
		out, k := make([]float64, n), m-1
		for step := n - 1; step >= 0; step-- {
			out[step] = places[k]
			if step > 0 {
				k = from[step][k]
			}
		}
		return now[m-1], out
	}
	worst, _ := way(largest, math.Inf(1), func(x, y float64) float64 { return max(x, y) })
	_, out := way(sums, worst, func(x, y float64) float64 { return x + y })
	return out
}

// Giving pairs up early makes no other choice, also of ways that are as good.
func TestChoosingIsAsWithEveryPair(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := grid.Table{Cols: ascending(t, "cols")}
		rows := []float64(nil)
		if rapid.Bool().Draw(t, "two axes") {
			g.Rows = ascending(t, "rows")
			rows = Even(g.Rows, rapid.IntRange(2, len(g.Rows)).Draw(t, "rows kept"))
		}
		n := max(1, len(g.Rows)) * len(g.Cols)
		switch rapid.IntRange(0, 2).Draw(t, "kind") {
		case 0: // many ways are as good
			for _, k := range rapid.SliceOfN(rapid.IntRange(0, 2), n, n).Draw(t, "few values") {
				g.Cells = append(g.Cells, float64(k))
			}
		case 1: // a line, but for float noise
			for i := range n {
				g.Cells = append(g.Cells, 0.1*float64(i%len(g.Cols)))
			}
		default:
			g.Cells = rapid.SliceOfN(rapid.Float64Range(-100, 100), n, n).Draw(t, "cells")
		}
		places, _ := Ladder(g.Cols[0], g.Cols[len(g.Cols)-1], 2.5, 200)
		auto := rapid.IntRange(2, len(places)).Draw(t, "auto")
		got, want := across(&g, rows, Axis{Auto: auto, Grid: places}), plainly(&g, rows, places, auto)
		if !slices.Equal(got, want) {
			t.Fatalf("%v, want %v", got, want)
		}
	})
}

func ascending(t *rapid.T, name string) []float64 {
	at := rapid.SliceOfNDistinct(rapid.IntRange(0, 12), 2, 8, rapid.ID[int]).Draw(t, name)
	slices.Sort(at)
	out := make([]float64, len(at))
	for i, k := range at {
		out[i] = float64(5 * k)
	}
	return out
}

// Errors that no float holds choose even places.
func TestChoosingPastTheLargestNumber(t *testing.T) {
	most := math.MaxFloat64
	g := grid.Table{Cols: []float64{0, 1, 2, 3}, Cells: []float64{most, -most, most, -most}}
	got := across(&g, nil, Axis{Auto: 3, Grid: []float64{0, 1, 2, 3}})
	if want := Even(g.Cols, 3); !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}
