package elementary

import (
	"flag"
	"math"
	"math/rand/v2"
	"testing"
)

var points = flag.Int("points", 3000, "how many points each function is measured at")

// measured is the largest error at points that are drawn.
func measured(t *testing.T, name string, most float64, point func(*rand.Rand) (args [2]float64, off float64)) {
	rnd := rand.New(rand.NewPCG(1, 2))
	var worst float64
	var at [2]float64
	for range *points {
		if args, off := point(rnd); !(off <= worst) {
			worst, at = off, args
		}
	}
	t.Logf("%s: at most %.4f units in the last place, at %v, of %d points", name, worst, at, *points)
	if !(worst <= most) {
		t.Errorf("%s is %v units off at %v, more than %v", name, worst, at, most)
	}
}

// between draws a number, evenly.
func between(rnd *rand.Rand, lo, hi float64) float64 { return lo + float64(rnd.Float64()*(hi-lo)) }

// positiveBits draws any number above 0.
func positiveBits(rnd *rand.Rand) float64 {
	return math.Float64frombits(1 + rnd.Uint64N(math.Float64bits(math.MaxFloat64)))
}

func TestExpIsNear(t *testing.T) {
	of := func(lo, hi float64) func(*rand.Rand) ([2]float64, float64) {
		return func(rnd *rand.Rand) ([2]float64, float64) {
			x := between(rnd, lo, hi)
			return [2]float64{x}, ulps(Exp(x), bigExp(bigOf(x)))
		}
	}
	measured(t, "exp around 0", 1, of(-0.4, 0.4))
	measured(t, "exp of -30..30", 1, of(-30, 30))
	measured(t, "exp of all", 1, of(-708.3, 709.7))
	measured(t, "exp below the normal numbers", 1, of(-745, -708.3))
	measured(t, "exp of tiny arguments", 1, func(rnd *rand.Rand) ([2]float64, float64) {
		x := math.Ldexp(between(rnd, -1, 1), -rnd.IntN(60))
		return [2]float64{x}, ulps(Exp(x), bigExp(bigOf(x)))
	})
}

func TestLogIsNear(t *testing.T) {
	measured(t, "log of 0.5..2", 1, func(rnd *rand.Rand) ([2]float64, float64) {
		x := between(rnd, 0.5, 2)
		return [2]float64{x}, ulps(Log(x), bigLog(x))
	})
	measured(t, "log next to 1", 1, func(rnd *rand.Rand) ([2]float64, float64) {
		x := 1 + math.Ldexp(between(rnd, -1, 1), -rnd.IntN(50))
		if x <= 0 || x == 1 {
			x = 1.5
		}
		return [2]float64{x}, ulps(Log(x), bigLog(x))
	})
	measured(t, "log of all", 1, func(rnd *rand.Rand) ([2]float64, float64) {
		x := positiveBits(rnd)
		return [2]float64{x}, ulps(Log(x), bigLog(x))
	})
}

func TestPowIsNear(t *testing.T) {
	off := func(x, y float64) ([2]float64, float64) {
		got := Pow(x, y)
		want := bigLog(x)
		if size, _ := newFloat().Mul(want, bigOf(y)).Float64(); size < -745 || size > 709.78 {
			return [2]float64{x, y}, 0 // beyond the floats: TestPowEnds
		}
		return [2]float64{x, y}, ulps(got, bigPow(x, y))
	}
	measured(t, "pow of a formula", 1, func(rnd *rand.Rand) ([2]float64, float64) {
		return off(between(rnd, 0.01, 20), between(rnd, -6, 6))
	})
	measured(t, "pow by a whole number", 1, func(rnd *rand.Rand) ([2]float64, float64) {
		return off(between(rnd, 0.01, 20), float64(rnd.IntN(41)-20))
	})
	measured(t, "pow of all", 1, func(rnd *rand.Rand) ([2]float64, float64) {
		x := positiveBits(rnd)
		return off(x, between(rnd, -740, 705)/Log(x))
	})
	measured(t, "pow next to 1", 1, func(rnd *rand.Rand) ([2]float64, float64) {
		x := 1 + math.Ldexp(between(rnd, -1, 1), -3-rnd.IntN(45))
		if x == 1 {
			x = 1.25
		}
		return off(x, between(rnd, -740, 705)/Log(x))
	})
	measured(t, "pow below the normal numbers", 1, func(rnd *rand.Rand) ([2]float64, float64) {
		x := positiveBits(rnd)
		return off(x, between(rnd, -744, -708.4)/Log(x))
	})
}
