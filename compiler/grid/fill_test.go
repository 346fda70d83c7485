package grid

import (
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
)

// blank marks a blank cell in the tests' tables.
var blank = math.NaN()

func givenOf(cells []float64) []bool {
	given := make([]bool, len(cells))
	for i, v := range cells {
		given[i] = !math.IsNaN(v)
	}
	return given
}

func TestFillByHand(t *testing.T) {
	_x := blank
	for _, c := range []struct {
		name       string
		rows, cols []float64
		cells      []float64
		want       []float64
		from       [][]int
		bad        int
	}{
		{
			name:  "nothing blank",
			cols:  []float64{0, 1},
			cells: []float64{5, 6}, want: []float64{5, 6}, from: [][]int{nil, nil}, bad: -1,
		},
		{
			// 1 at 0 and 9 at 8: at 2, a quarter of the way, 1 + 8/4 = 3.
			name:  "one axis, between two",
			cols:  []float64{0, 2, 8},
			cells: []float64{1, _x, 9}, want: []float64{1, 3, 9}, from: [][]int{nil, {0, 2}, nil}, bad: -1,
		},
		{
			// 1 at 0 and 9 at 8: at 2 it is 3 and at 6 it is 7, each from the given cells alone.
			name:  "one axis, two blanks side by side",
			cols:  []float64{0, 2, 6, 8},
			cells: []float64{1, _x, _x, 9}, want: []float64{1, 3, 7, 9}, from: [][]int{nil, {0, 3}, {0, 3}, nil}, bad: -1,
		},
		{
			// Outside the outermost given cell the nearest is held: no line goes on.
			name:  "one axis, at the ends",
			cols:  []float64{0, 1, 2, 3, 4},
			cells: []float64{_x, 4, 6, _x, _x}, want: []float64{4, 4, 6, 6, 6}, from: [][]int{{1}, nil, nil, {2}, {2}}, bad: -1,
		},
		{
			// Both the row (2 and 6, half way: 4) and the column (10 and 20) hold it in: the row counts.
			name: "the row before the column",
			rows: []float64{0, 1, 2}, cols: []float64{0, 1, 2},
			cells: []float64{
				1, 10, 1,
				2, _x, 6,
				1, 20, 1},
			want: []float64{1, 10, 1, 2, 4, 6, 1, 20, 1},
			from: [][]int{nil, nil, nil, nil, {3, 5}, nil, nil, nil, nil}, bad: -1,
		},
		{
			// The row has a neighbour on one side only (8); the column has two: 10 at 0 and 20 at 10,
			// so at 2 it is 10 + 10/5 = 12.
			name: "between two of the column before the nearest of the row",
			rows: []float64{0, 2, 10}, cols: []float64{0, 1},
			cells: []float64{
				10, 1,
				_x, 8,
				20, 1},
			want: []float64{10, 1, 12, 8, 20, 1},
			from: [][]int{nil, nil, {0, 4}, nil, nil, nil}, bad: -1,
		},
		{
			// The last cell of the second row: 7 to its left, 3 above it, nothing beyond either: the row's.
			name: "the nearest of the row before that of the column",
			rows: []float64{0, 1}, cols: []float64{0, 1},
			cells: []float64{
				1, 3,
				7, _x},
			want: []float64{1, 3, 7, 7},
			from: [][]int{nil, nil, nil, {2}}, bad: -1,
		},
		{
			// The second row is blank and the last: the column's nearest, each from above. The first
			// row's own blank, half way between 1 and 3, isn't given and so isn't leant on below.
			name: "the nearest of the column, and a filled cell never counts",
			rows: []float64{0, 1}, cols: []float64{0, 1, 2},
			cells: []float64{
				1, _x, 3,
				_x, _x, _x},
			want: []float64{1, 2, 3, 1, _x, 3},
			from: [][]int{nil, {0, 2}, nil, {0}, nil, {2}}, bad: 4,
		},
		{
			name: "two blanks below each other keep to the column",
			rows: []float64{0, 10, 30, 40}, cols: []float64{5},
			cells: []float64{0, _x, _x, 8},
			want:  []float64{0, 2, 6, 8},
			from:  [][]int{nil, {0, 3}, {0, 3}, nil}, bad: -1,
		},
		{
			name:  "nothing to lean on",
			cols:  []float64{0, 1},
			cells: []float64{_x, _x}, want: []float64{_x, _x}, from: [][]int{nil, nil}, bad: 0,
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, from, bad, ok := Fill(c.rows, c.cols, c.cells, givenOf(c.cells))
			if !slices.EqualFunc(got, c.want, func(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) }) {
				t.Errorf("got %v, want %v", got, c.want)
			}
			if !reflect.DeepEqual(from, c.from) {
				t.Errorf("from %v, want %v", from, c.from)
			}
			if bad != c.bad || ok != (c.bad < 0) {
				t.Errorf("bad %d, ok %v; want %d", bad, ok, c.bad)
			}
		})
	}
}

// randomTable is a table with random breakpoints, cells and blanks. Blank cells
// hold a random number, which nothing may read.
func randomTable(rnd *rand.Rand) (rows, cols, cells []float64, given []bool) {
	axis := func() []float64 {
		points := make([]float64, 1+rnd.IntN(6))
		x := float64(rnd.IntN(100)) - 50
		for i := range points {
			x += 0.25 + 10*rnd.Float64()
			points[i] = x
		}
		return points
	}
	rows, cols = axis(), axis()
	if len(rows) == 1 {
		rows = nil
	}
	n := max(len(rows), 1) * len(cols)
	share := rnd.Float64()
	for range n {
		cells = append(cells, rnd.NormFloat64()*10)
		given = append(given, rnd.Float64() < share)
	}
	return rows, cols, cells, given
}

func TestFillProperties(t *testing.T) {
	rnd := rand.New(rand.NewPCG(5, 6))
	for range 3000 {
		rows, cols, cells, given := randomTable(rnd)
		before := slices.Clone(cells)
		filled, from, bad, ok := Fill(rows, cols, cells, given)
		if !slices.Equal(cells, before) {
			t.Fatal("the cells handed in were changed")
		}

		// Only given cells count: whatever stands in the blanks changes nothing,
		// the filled values among them.
		again := slices.Clone(filled)
		for i := range again {
			if !given[i] && rnd.IntN(2) == 0 {
				again[i] = math.NaN()
			}
		}
		twice, from2, _, _ := Fill(rows, cols, again, given)
		for i := range filled {
			if filled[i] != twice[i] && len(from[i]) > 0 || !slices.Equal(from[i], from2[i]) {
				t.Fatalf("cell %d of %v: %v and then %v", i, cells, filled[i], twice[i])
			}
		}

		// Each cell may be filled by itself, the others given up or not.
		lone := -1
		for i := range cells {
			if given[i] {
				if filled[i] != cells[i] || from[i] != nil {
					t.Fatalf("given cell %d was filled", i)
				}
				continue
			}
			if len(from[i]) == 0 {
				if lone < 0 {
					lone = i
				}
				continue
			}
			lo, hi := math.Inf(1), math.Inf(-1)
			for _, j := range from[i] {
				if !given[j] {
					t.Fatalf("cell %d leans on blank %d", i, j)
				}
				lo, hi = min(lo, cells[j]), max(hi, cells[j])
			}
			if filled[i] < lo-1e-12 || filled[i] > hi+1e-12 {
				t.Fatalf("cell %d is %v, outside %v to %v", i, filled[i], lo, hi)
			}
		}
		if bad != lone || ok != (lone < 0) {
			t.Fatalf("bad %d, ok %v; want %d", bad, ok, lone)
		}

		// With what was filled taken as given, nothing is left to do.
		if ok {
			all := make([]bool, len(cells))
			for i := range all {
				all[i] = true
			}
			if idem, _, _, _ := Fill(rows, cols, filled, all); !slices.Equal(idem, filled) {
				t.Fatal("not idempotent")
			}
		}
	}
}

// A table that is linear along each axis comes back from blanks between given
// cells: here the frame is given, and any of the cells inside it.
func TestFillRestoresLinear(t *testing.T) {
	rnd := rand.New(rand.NewPCG(7, 8))
	for range 500 {
		rows, cols, _, _ := randomTable(rnd)
		if rows == nil {
			rows = []float64{3}
		}
		a, b, c, d := rnd.NormFloat64(), rnd.NormFloat64(), rnd.NormFloat64(), rnd.NormFloat64()/10
		var want, cells []float64
		var given []bool
		for i, y := range rows {
			for j, x := range cols {
				v := a + b*x + c*y + d*x*y
				frame := i == 0 || j == 0 || i == len(rows)-1 || j == len(cols)-1
				want = append(want, v)
				given = append(given, frame || rnd.IntN(3) == 0)
				if given[len(given)-1] {
					cells = append(cells, v)
				} else {
					cells = append(cells, math.NaN())
				}
			}
		}
		got, _, _, ok := Fill(rows, cols, cells, given)
		for i := range got {
			if !ok || math.Abs(got[i]-want[i]) > 1e-9 {
				t.Fatalf("cell %d: got %v, want %v", i, got[i], want[i])
			}
		}
	}
}
