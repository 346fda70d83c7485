package elementary

import (
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

var (
	inf = math.Inf(1)
	nan = math.NaN()
	neg = math.Copysign(0, -1)
)

func same(a, b float64) bool {
	return math.Float64bits(a) == math.Float64bits(b) || a != a && b != b
}

// Values of tables, to all the digits of a float: e, its square and root, ln 2, ln
// 10, roots and powers of 2 and 10.
func TestPublishedValues(t *testing.T) {
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"e", Exp(1), 2.71828182845904523536028747135266249776},
		{"1/e", Exp(-1), 0.36787944117144232159552377016146086745},
		{"√e", Exp(0.5), 1.64872127070012814684865078781416357165},
		{"e²", Exp(2), 7.38905609893065022723042746057500781318},
		{"e^10", Exp(10), 22026.4657948067165169579006452842443663535},
		{"ln 2", Log(2), 0.69314718055994530941723212145817656808},
		{"ln 10", Log(10), 2.30258509299404568401799145468436420760},
		{"ln 3", Log(3), 1.09861228866810969139524523692252570465},
		{"∛2", Pow(2, 1.0/3), 1.25992104989487316476721060727822835057}, // of the float below 1/3: the same to the last bit
		{"2^1.5", Pow(2, 1.5), 2.82842712474619009760337744841939615714},
		{"10^0.25", Pow(10, 0.25), 1.77827941003892280122542119519268484474},
		{"1.1^10", Pow(1.1, 10), 2.59374246010000190},
	} {
		if c.got != c.want && c.got != math.Nextafter(c.want, c.got) {
			t.Errorf("%s is %v, want %v", c.name, c.got, c.want)
		}
	}
}

// Whole powers that a float can hold are exact.
func TestWholePowers(t *testing.T) {
	for base := 2; base <= 1000; base++ {
		for n, want := 1, float64(base); want < 1<<53; n, want = n+1, want*float64(base) {
			if got := Pow(float64(base), float64(n)); got != want {
				t.Fatalf("%d ^ %d is %v, want %v", base, n, got, want)
			}
			if got := Pow(-float64(base), float64(n)); math.Abs(got) != want || math.Signbit(got) != (n%2 == 1) {
				t.Fatalf("(-%d) ^ %d is %v", base, n, got)
			}
		}
	}
	for n := -1074; n < 1024; n++ {
		if got := Pow(2, float64(n)); got != math.Ldexp(1, n) {
			t.Fatalf("2 ^ %d is %v, want %v", n, got, math.Ldexp(1, n))
		}
	}
	for n := range 23 {
		if got, _ := strconv.ParseFloat("1e"+strconv.Itoa(n), 64); Pow(10, float64(n)) != got {
			t.Fatalf("10 ^ %d is %v", n, Pow(10, float64(n)))
		}
	}
}

func TestExpLogEnds(t *testing.T) {
	for _, c := range []struct {
		name         string
		x, got, want float64
	}{
		{"exp", inf, Exp(inf), inf}, {"exp", -inf, Exp(-inf), 0}, {"exp", nan, Exp(nan), nan},
		{"exp", 0, Exp(0), 1}, {"exp", neg, Exp(neg), 1}, {"exp", 1e-320, Exp(1e-320), 1},
		{"exp", math.Nextafter(709.782712893384, 710), Exp(math.Nextafter(709.782712893384, 710)), inf}, {"exp", -745.1332191019412, Exp(-745.1332191019412), 0},
		{"exp", -745.1332191019411, Exp(-745.1332191019411), 5e-324}, {"exp", 1e300, Exp(1e300), inf}, {"exp", -1e300, Exp(-1e300), 0},
		{"log", inf, Log(inf), inf}, {"log", -inf, Log(-inf), nan}, {"log", nan, Log(nan), nan}, {"log", 0, Log(0), -inf},
		{"log", neg, Log(neg), -inf}, {"log", 1, Log(1), 0}, {"log", -5e-324, Log(-5e-324), nan},
	} {
		if !same(c.got, c.want) {
			t.Errorf("%s(%v) is %v, want %v", c.name, c.x, c.got, c.want)
		}
	}
	if x := Exp(709.782712893384); x < 1.79e308 || math.IsInf(x, 0) {
		t.Errorf("the largest power is %v", x)
	}
}

// The special cases of C99, annex F.9.4.4.
func TestPowEnds(t *testing.T) {
	type c struct{ x, y, want float64 }
	cases := []c{
		{neg, -3, -inf}, {0, -3, inf}, {neg, -1, -inf}, {0, -1, inf}, {neg, -2, inf}, {neg, -2.5, inf}, {0, -0.5, inf},
		{neg, -inf, inf}, {0, -inf, inf}, {neg, 3, neg}, {0, 3, 0}, {neg, 1, neg}, {neg, 2, 0}, {neg, 0.5, 0}, {0, inf, 0},
		{-1, inf, 1}, {-1, -inf, 1}, {1, nan, 1}, {1, inf, 1}, {1, -inf, 1}, {nan, 0, 1}, {inf, 0, 1}, {0, neg, 1}, {-inf, 0, 1},
		{nan, 1, nan}, {2, nan, nan}, {nan, 2, nan}, {nan, inf, nan},
		{-2, 0.5, nan}, {-2, 1.0 / 3, nan}, {-1, 0.5, nan}, {-1, 1.5, nan}, {-1e-320, -0.5, nan},
		{0.5, -inf, inf}, {2, -inf, 0}, {0.5, inf, 0}, {2, inf, inf}, {-0.5, -inf, inf}, {-2, inf, inf}, {-2, -inf, 0}, {-0.5, inf, 0},
		{-inf, -3, neg}, {-inf, -2, 0}, {-inf, -0.5, 0}, {-inf, 3, -inf}, {-inf, 2, inf}, {-inf, 0.5, inf}, {-inf, 1.5, inf},
		{inf, -1, 0}, {inf, -0.25, 0}, {inf, 0.5, inf}, {inf, 3, inf}, {-inf, -1, neg}, {inf, inf, inf}, {-inf, -inf, 0},
		{-1, 3, -1}, {-1, 4, 1}, {-1, 1e300, 1}, {-1, 1<<53 - 1, -1}, {-2, 1e300, inf}, {-0.5, -1e300, inf}, {-2, -1e300, 0},
		{2, 1024, inf}, {2, 1023, 0x1p1023}, {2, -1074, 5e-324}, {2, -1076, 0}, {-2, 1025, -inf}, {-2, -1077, neg},
		{10, 309, inf}, {10, -324, 0}, {1e200, 1.7, inf}, {1e-200, 1.7, 0}, {5e-324, 0.25, 0x1p-268 * math.Sqrt(math.Sqrt(0.25))},
		{2, 1e19, inf}, {2, 1e10, inf}, {0.5, 1e10, 0}, {1.0000001, 1e300, inf}, {0.9999999, 1e300, 0}, {1.5, -5e9, 0},
	}
	for _, c := range cases {
		if got := Pow(c.x, c.y); !same(got, c.want) && !(math.Abs(got-c.want) < 1e-15*math.Abs(c.want)) {
			t.Errorf("%v ^ %v is %v, want %v", c.x, c.y, got, c.want)
		}
	}
}

// Squares, reciprocals and roots are those of one operation, whatever the base.
func TestShortPowers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.OneOf(rapid.Float64(), rapid.Float64Range(-100, 100), rapid.SampledFrom([]float64{0, neg, inf, -inf, nan})).Draw(t, "x")
		if got := Pow(x, 2); !same(got, x*x) {
			t.Errorf("%v ^ 2 is %v, want %v", x, got, x*x)
		}
		if got := Pow(x, -1); !same(got, 1/x) {
			t.Errorf("%v ^ -1 is %v, want %v", x, got, 1/x)
		}
		if got := Pow(x, 1); !same(got, x) {
			t.Errorf("%v ^ 1 is %v", x, got)
		}
		if got := Pow(x, 0.5); x >= 0 && x != 0 && !same(got, math.Sqrt(x)) {
			t.Errorf("%v ^ 0.5 is %v, want %v", x, got, math.Sqrt(x))
		}
	})
}

// Package math agrees to a few units in the last place, at whatever bits.
func TestLikeMath(t *testing.T) {
	near := func(a, b float64) bool {
		return same(a, b) || math.Abs(a-b) <= 1e-12*math.Abs(b) || math.Abs(a-b) <= 1e-320
	}
	rapid.Check(t, func(t *rapid.T) {
		x, y := rapid.Float64().Draw(t, "x"), rapid.Float64().Draw(t, "y")
		if rapid.Bool().Draw(t, "whole") {
			y = math.Trunc(y)
		}
		if got, want := Exp(x), math.Exp(x); !near(got, want) {
			t.Errorf("exp(%v) is %v, want %v", x, got, want)
		}
		if got, want := Log(x), math.Log(x); !near(got, want) {
			t.Errorf("log(%v) is %v, want %v", x, got, want)
		}
		got, want := Pow(x, y), math.Pow(x, y)
		if !near(got, want) && !(math.IsInf(got, 0) && math.Abs(want) > 1e300) {
			t.Errorf("%v ^ %v is %v, want %v", x, y, got, want)
		}
	})
}

func TestDecade(t *testing.T) {
	for _, c := range []struct {
		x    float64
		want int
	}{
		{0, 0}, {neg, 0}, {inf, 0}, {nan, 0}, {1, 0}, {9.999, 0}, {10, 1}, {123, 2}, {0.5, -1}, {-0.1, -1}, {1e-3, -3}, {1000, 3},
		{999.9999999999999, 2}, {1e15, 15}, {1e22, 22}, {1e23, 23}, {5e-324, -324}, {math.MaxFloat64, 308}, {0.0009999999999999999, -4},
	} {
		if got := Decade(c.x); got != c.want {
			t.Errorf("the first digit of %v is at %d, want %d", c.x, got, c.want)
		}
	}
}

func BenchmarkExp(b *testing.B) {
	x := 0.1
	for b.Loop() {
		x = Exp(-x)
	}
}

func BenchmarkLog(b *testing.B) {
	x := 3.0
	for b.Loop() {
		x = 3 + Log(x)
	}
}

func BenchmarkPow(b *testing.B) {
	x := 1.3
	for b.Loop() {
		x = Pow(x, 0.19) + 1
	}
}

func BenchmarkMathPow(b *testing.B) {
	x := 1.3
	for b.Loop() {
		x = math.Pow(x, 0.19) + 1
	}
}

func BenchmarkMathExp(b *testing.B) {
	x := 0.1
	for b.Loop() {
		x = math.Exp(-x)
	}
}
