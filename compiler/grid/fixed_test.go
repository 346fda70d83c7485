package grid

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The quick ways write what whole numbers of any size give, whatever the step,
// the size and the sign, on halves and a hair beside them.
func TestCellsAreExact(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, step := range []string{"0.01", "0.1", "1", "0.25", "5", "0.004", "0.000001", "100000", "123456789", "1e15", "999999999999999999", "1e-18"} {
		res := mustRes(t, step)
		quick := 0
		for range 3000 {
			n := math.Floor(rng.Float64() * math.Pow(10, float64(rng.IntN(13))))
			x := n * res.Step()
			switch rng.IntN(4) {
			case 0:
				x += res.Step() / 2
			case 1:
				x = math.Nextafter(x+res.Step()/2, math.Inf(1-2*rng.IntN(2)))
			case 2:
				x += rng.Float64() * res.Step()
			}
			if rng.IntN(2) == 0 {
				x = -x
			}
			want := string(res.appendExact([]byte(","), x))
			if got := string(res.appendCells(nil, []float64{x})); got != want {
				t.Fatalf("%v to %s: %q, want %q", x, step, got, want)
			}
			if got := "," + res.Format(x); got != want {
				t.Fatalf("%v to %s: %q, want %q", x, step, got, want)
			}
			if _, ok := res.quick(x); ok {
				quick++
			}
		}
		if most := 1e9 * res.Step(); most < 1e17 && quick == 0 {
			t.Errorf("nothing went the quick way to %s", step)
		}
	}
}

// A line of cells is its cells, each after a comma, whether there is a step, room
// in the buffer, or a number at all.
func TestCellsOfALine(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	odd := []float64{0, math.Copysign(0, -1), -0.001, 0.005, 2.675, math.NaN(), math.Inf(1), math.Inf(-1), math.MaxFloat64, 1e300, 5e-324, -99.995, 9.995, 99.995}
	for _, step := range []string{"", "0.01", "0.1", "1", "0.5"} {
		res := mustRes(t, step)
		for n := range 40 {
			line := make([]float64, n)
			for i := range line {
				line[i] = 200 * (rng.Float64() - 0.5)
				if rng.IntN(3) == 0 {
					line[i] = odd[rng.IntN(len(odd))]
				}
			}
			want := []byte("x")
			for _, x := range line {
				want = res.Append(append(want, ','), x)
			}
			if got := res.appendCells([]byte("x"), line); string(got) != string(want) {
				t.Fatalf("to %s: %s, want %s", step, got, want)
			}
		}
	}
}
