package grid

import (
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"
)

// golden reads testdata/interp.csv, which interp.py beside it wrote with scipy's
// RegularGridInterpolator (2-d, coordinates clamped) and numpy.interp (1-d).
func golden(t *testing.T) (two, one *Table, points [][]string) {
	t.Helper()
	text, err := os.ReadFile("testdata/interp.csv")
	if err != nil {
		t.Fatal(err)
	}
	two, one = &Table{}, &Table{}
	for line := range strings.Lines(string(text)) {
		f := strings.Split(strings.TrimSpace(line), ",")
		switch {
		case f[0] == "#table" && strings.HasPrefix(f[1], "rpm"):
			two.Cols = numbers(t, f[2:])
		case f[0] == "#table":
			two.Rows = append(two.Rows, numbers(t, f[1:2])...)
			two.Cells = append(two.Cells, numbers(t, f[2:])...)
		case f[0] == "#1d-knots":
			for knot := range strings.SplitSeq(f[1], ";") {
				x, y, _ := strings.Cut(knot, ":")
				one.Cols = append(one.Cols, numbers(t, []string{x})...)
				one.Cells = append(one.Cells, numbers(t, []string{y})...)
			}
		case f[0] == "1d" || f[0] == "2d":
			points = append(points, f)
		}
	}
	return two, one, points
}

func numbers(t *testing.T, texts []string) []float64 {
	t.Helper()
	var out []float64
	for _, s := range texts {
		x, ok := ParseNumber(s)
		if !ok {
			t.Fatalf("%q is not a number", s)
		}
		out = append(out, x)
	}
	return out
}

func TestLookupGolden(t *testing.T) {
	two, one, points := golden(t)
	if len(points) != 34 || len(two.Cells) != 42 || len(one.Cells) != 6 {
		t.Fatalf("read %d points, %d and %d cells", len(points), len(two.Cells), len(one.Cells))
	}
	for _, p := range points {
		x, want := numbers(t, p[1:2])[0], numbers(t, p[3:4])[0]
		var got float64
		if p[0] == "1d" {
			got = one.Lookup(x)
		} else {
			got = two.Lookup2(x, numbers(t, p[2:3])[0])
		}
		if math.Abs(got-want) > 1e-12 {
			t.Errorf("%v: got %.17g", p, got)
		}
	}
}

func TestLookupAtBreakpointsIsExact(t *testing.T) {
	two, one, _ := golden(t)
	for r, x := range two.Rows {
		for c, y := range two.Cols {
			if got := two.Lookup2(x, y); got != two.At(r, c) {
				t.Errorf("at %v, %v: got %v", x, y, got)
			}
		}
	}
	for c, x := range one.Cols {
		if got := one.Lookup(x); got != one.At(0, c) {
			t.Errorf("at %v: got %v", x, got)
		}
	}
}

// At a breakpoint the neighbour has no weight: an infinity there must not make
// a NaN of 0 * Inf.
func TestLookupSkipsWeightlessNeighbour(t *testing.T) {
	inf := math.Inf(1)
	tab := &Table{Rows: []float64{0, 1}, Cols: []float64{0, 1}, Cells: []float64{7, inf, inf, inf}}
	if got := tab.Lookup2(0, 0); got != 7 {
		t.Errorf("got %v", got)
	}
}

func TestLookupNaN(t *testing.T) {
	nan := math.NaN()
	two, one, _ := golden(t)
	point := &Table{Cols: []float64{1}, Cells: []float64{2}}
	for i, got := range []float64{two.Lookup2(nan, 0), two.Lookup2(4000, nan), two.Lookup2(nan, nan),
		one.Lookup(nan), one.Lookup2(nan, 8), point.Lookup(nan)} {
		if !math.IsNaN(got) {
			t.Errorf("%d: got %v", i, got)
		}
	}
	if got := point.Lookup(99); got != 2 {
		t.Errorf("a single breakpoint: got %v", got)
	}
	if got := one.Lookup2(math.Inf(1), math.Inf(-1)); got != one.Cells[0] {
		t.Errorf("infinite coordinates: got %v", got)
	}
}

func TestFind(t *testing.T) {
	big := math.MaxFloat64
	for _, c := range []struct {
		points []float64
		x      float64
		want   Knot
	}{
		{nil, 5, Knot{}},
		{[]float64{3}, 5, Knot{}},
		{[]float64{3, 4}, 2, Knot{}},
		{[]float64{3, 4}, 3, Knot{}},
		{[]float64{3, 4}, 3.25, Knot{0, 0.25}},
		{[]float64{3, 4}, 4, Knot{I: 1}},
		{[]float64{3, 4}, 5, Knot{I: 1}},
		{[]float64{0, 10, 30, 70}, 40, Knot{2, 0.25}},
		{[]float64{0, 10, 30, 70}, 30, Knot{I: 2}},
		{[]float64{0, 10}, math.Copysign(0, -1), Knot{}},
		{[]float64{-10, 0, 10}, math.Copysign(0, -1), Knot{I: 1}},
		// The width overflows.
		{[]float64{-big, big}, 0, Knot{0, 0.5}},
		// The quotient rounds to 1, and underflows to 0.
		{[]float64{-1, 1 << 60}, math.Nextafter(1<<60, 0), Knot{0, math.Nextafter(1, 0)}},
		{[]float64{0, big}, 5e-324, Knot{0, 5e-324}},
	} {
		if got := Find(c.points, c.x); got != c.want {
			t.Errorf("Find(%v, %v) = %v, want %v", c.points, c.x, got, c.want)
		}
	}
}

// A straight walk along the points is the other way to find a knot.
func TestFindAgainstWalk(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 2))
	for range 2000 {
		points := make([]float64, 1+rnd.IntN(9))
		x := 0.0
		for i := range points {
			x += 0.5 + float64(rnd.IntN(8))
			points[i] = x
		}
		x = rnd.Float64() * (x + 1)
		if rnd.IntN(3) == 0 {
			x = points[rnd.IntN(len(points))]
		}
		i := 0
		for i+1 < len(points) && points[i+1] <= x {
			i++
		}
		want := Knot{I: i}
		if i+1 < len(points) && x > points[i] {
			want.F = (x - points[i]) / (points[i+1] - points[i])
		}
		if got := Find(points, x); got != want {
			t.Fatalf("Find(%v, %v) = %v, want %v", points, x, got, want)
		}
	}
}

func TestGatherIsLookup(t *testing.T) {
	two, one, _ := golden(t)
	rows, cols := []float64{1000, 2000, 3100, 12500, 13000}, []float64{-1, 0, 7, 99.5, 100, 101}
	got := two.Gather(nil, KnotsOf(two.Rows, rows), KnotsOf(two.Cols, cols))
	var want []float64
	for _, r := range rows {
		for _, c := range cols {
			want = append(want, two.Lookup2(r, c))
		}
	}
	if !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	got = one.Gather(nil, []Knot{{}}, KnotsOf(one.Cols, []float64{5, 6.5, 16}))
	if want := []float64{one.Lookup(5), one.Lookup(6.5), one.Lookup(16)}; !slices.Equal(got, want) {
		t.Errorf("one axis: got %v, want %v", got, want)
	}
}

func TestUnion(t *testing.T) {
	got := Union([]float64{0, 10, 50}, nil, []float64{5, 10, 60}, []float64{math.Copysign(0, -1)})
	if want := []float64{0, 5, 10, 50, 60}; !slices.Equal(got, want) || math.Signbit(got[0]) {
		t.Errorf("got %v, want %v", got, want)
	}
	if got := Union(); len(got) != 0 {
		t.Errorf("of nothing: %v", got)
	}
}

func BenchmarkLookup2(b *testing.B) {
	tab := benchTable()
	sum, x := 0.0, 0.0
	for b.Loop() {
		x = math.Mod(x+137.3, 14000)
		sum += tab.Lookup2(x/140, x)
	}
	if math.IsNaN(sum) {
		b.Fatal("not a number")
	}
}

// benchTable is a table of the size of a large map, 24 by 32.
func benchTable() *Table {
	rnd := rand.New(rand.NewPCG(3, 4))
	tab := &Table{}
	for r := range 24 {
		tab.Rows = append(tab.Rows, float64(r)*100/23)
	}
	for c := range 32 {
		tab.Cols = append(tab.Cols, float64(c)*400+1000)
	}
	for range 24 * 32 {
		tab.Cells = append(tab.Cells, rnd.Float64()*20)
	}
	return tab
}
