package eval

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"fettle/compiler/grid"
	"fettle/lang/elementary"
	"fettle/lang/formula"
)

// odd draws a number, and now and then one of those that go wrong.
func odd(t *rapid.T, name string) float64 {
	special := []float64{0, math.Copysign(0, -1), 1, -1, math.Inf(1), math.Inf(-1), math.NaN(), math.MaxFloat64, math.SmallestNonzeroFloat64, 1e-310}
	if i := rapid.IntRange(0, 3*len(special)).Draw(t, name+" is"); i < len(special) {
		return special[i]
	}
	return rapid.Float64Range(-1e6, 1e6).Draw(t, name)
}

func oddColumn(t *rapid.T, name string, nr, nc int) Column {
	sr, sc := rapid.SampledFrom([]int{0, 1, nc, nc + 3}).Draw(t, name+" rows"), rapid.IntRange(0, 1).Draw(t, name+" columns")
	c := Column{sr: sr, sc: sc}
	for range c.stored(nr, nc) + 1 {
		c.v = append(c.v, odd(t, name))
	}
	return c
}

// same compares bits, but takes all that is no number for the same.
func same(a, b float64) bool { return sameBits(a, b) || a != a && b != b }

// without runs a part of a test without the wide loops.
func without(f func()) {
	defer func(was bool) { useWide = was }(useWide)
	useWide = false
	f()
}

// Operations on columns of any shape are those on numbers, cell by cell, four at
// a time or not, also where the result takes an operand's place.
func TestColumnsAreCells(t *testing.T) {
	ops := []formula.Op{formula.Add, formula.Sub, formula.Mul, formula.Div, formula.Min, formula.Max, formula.Lt, formula.Le, formula.Gt, formula.Ge, formula.Eq, formula.Ne}
	rapid.Check(t, func(t *rapid.T) {
		nr, nc := rapid.IntRange(1, 4).Draw(t, "nr"), rapid.IntRange(1, 21).Draw(t, "nc")
		op := rapid.SampledFrom(ops).Draw(t, "op")
		a, b := oddColumn(t, "a", nr, nc), oddColumn(t, "b", nr, nc)
		if a.sc == 0 && b.sc == 0 {
			b.sc, b.v = 1, append(b.v, make([]float64, nc)...)
		}
		want := make([]float64, nr*nc)
		for r := range nr {
			for c := range nc {
				want[r*nc+c] = formula.Apply(op, []float64{a.At(r, c), b.At(r, c)})
			}
		}
		check := func(how string, d, a, b Column) {
			arith(op, &d, &a, &b, nr, nc)
			for i, x := range want {
				if got := d.At(i/nc, i%nc); !same(got, x) {
					t.Fatalf("%s, %s: row %d, column %d: %v, want %v", op, how, i/nc, i%nc, got, x)
				}
			}
		}
		fresh := func(sr int) Column { return Column{make([]float64, nr*sr), sr, 1} }
		kept := func(c Column) Column { c.v = slices.Clone(c.v); return c }
		each := func(how string) {
			check(how, fresh(nc), a, b)
			check(how+", apart", fresh(nc+2), a, b)
			if a.sc == 1 && (a.sr >= nc || nr == 1) {
				in := kept(a)
				check(how+", in the first", in, in, b)
			}
			if b.sc == 1 && (b.sr >= nc || nr == 1) {
				in := kept(b)
				check(how+", in the second", in, a, in)
			}
		}
		each("wide")
		without(func() { each("plain") })
	})
}

// So are the passes that do more than one operation.
func TestPasses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 30).Draw(t, "n")
		a := oddColumn(t, "a", 1, n+1)
		a = Column{append(a.v, make([]float64, n+1)...)[:n+1], 0, 1}
		k := rapid.SliceOfN(rapid.Float64Range(-3, 3), 0, 4).Draw(t, "k")
		f := rapid.SliceOfN(rapid.Float64Range(0, 1), n, n).Draw(t, "f")
		look := func() {
			got, between := make([]float64, n), make([]float64, n)
			scaled(got, a.v[:n], k)
			rowsBetween(&Column{between, n, 1}, &a, &Column{f, 0, 1}, 1, n)
			differ, b := 0, append(slices.Clone(a.v[:n/2]), got[n/2:]...)
			for i, x := range b {
				if x != a.v[i] {
					differ++
				}
			}
			if n := differing(a.v[:n], b); n != differ {
				t.Fatalf("%d of %v differ from %v", n, a.v, b)
			}
			lo, hi, bad := extent(a.v)
			if want := slices.IndexFunc(a.v, func(x float64) bool { return math.IsNaN(x) || math.IsInf(x, 0) }); bad != want || firstNotFinite(a.v) != want {
				t.Fatalf("%v: the first that isn't finite is %d", a.v, bad)
			} else if bad < 0 && (lo != slices.Min(a.v) || hi != slices.Max(a.v)) {
				t.Fatalf("%v: from %v to %v", a.v, lo, hi)
			}
			for i, x := range a.v[:n] {
				want := x
				for _, by := range k {
					want *= by
				}
				if !same(got[i], want) {
					t.Fatalf("%v scaled by %v is %v", x, k, got[i])
				}
				if want := x + float64(f[i]*(a.v[i+1]-x)); !same(between[i], want) {
					t.Fatalf("%v of the way from %v to %v is %v", f[i], x, a.v[i+1], between[i])
				}
			}
		}
		look()
		without(look)
	})
}

// A look-up at lines of coordinates is one at each crossing.
func TestGatherIsLookUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		axis := func(name string) []float64 {
			list := rapid.SliceOfNDistinct(rapid.IntRange(0, 40), 1, 12, rapid.ID[int]).Draw(t, name)
			slices.Sort(list)
			var out []float64
			for _, x := range list {
				out = append(out, float64(x)/4)
			}
			return out
		}
		at := func(name string) []float64 {
			out := rapid.SliceOfN(rapid.Float64Range(-1, 11), 1, 12).Draw(t, name)
			if rapid.Bool().Draw(t, name+" rise") {
				slices.Sort(out)
			}
			for i := range out {
				if rapid.Bool().Draw(t, name+" at a point") {
					out[i] = math.Round(4*out[i]) / 4
				}
			}
			if rapid.IntRange(0, 9).Draw(t, name+" no number") == 0 {
				out[0] = math.NaN()
			}
			return out
		}
		table := &grid.Table{Rows: axis("rows"), Cols: axis("columns")}
		for range len(table.Rows) * len(table.Cols) {
			table.Cells = append(table.Cells, rapid.SampledFrom([]float64{0, math.Copysign(0, -1), 1, 2.5, -7, 1e9}).Draw(t, "cell"))
		}
		rows, cols := at("row"), at("column")
		w := &worker{}
		dst := make([]float64, len(rows)*len(cols))
		look := func() {
			w.gather(dst, table, lineOf(table.Rows, rows), lineOf(table.Cols, cols))
			for i, got := range dst {
				if want := table.Lookup2(rows[i/len(cols)], cols[i%len(cols)]); !same(got, want) {
					t.Fatalf("at %v, %v: %v, want %v", rows[i/len(cols)], cols[i%len(cols)], got, want)
				}
			}
		}
		look()
		without(look)
	})
}

// A square by multiplication is elementary.Pow's.
func TestPowerIsPow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := odd(t, "x"), rapid.SampledFrom([]float64{2, 2, 3, 0.5, -2}).Draw(t, "y")
		if rapid.Bool().Draw(t, "wide") {
			x = rapid.Float64().Draw(t, "any x")
		}
		var got [1]float64
		if power(got[:], []float64{x}, []float64{y}); !same(got[0], elementary.Pow(x, y)) {
			t.Fatalf("%v ^ %v is %v, want %v", x, y, got[0], elementary.Pow(x, y))
		}
	})
}
