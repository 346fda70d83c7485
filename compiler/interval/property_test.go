package interval

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"

	"fettle/lang/elementary"
)

// Exact results, or ones to 300 bits, by math/big.
const bits = 300

func exact(x float64) *big.Float { return new(big.Float).SetPrec(2400).SetFloat64(x) }

// bigExp is e to the x, by halving the argument and squaring the series.
func bigExp(x *big.Float) *big.Float {
	const halvings = 40
	y := new(big.Float).SetPrec(bits).SetMantExp(new(big.Float).SetPrec(bits).Set(x), -halvings)
	sum, term := big.NewFloat(1).SetPrec(bits), big.NewFloat(1).SetPrec(bits)
	for n := 1; n < 30; n++ {
		term = new(big.Float).SetPrec(bits).Mul(term, y)
		term.Quo(term, new(big.Float).SetPrec(bits).SetInt64(int64(n)))
		sum.Add(sum, term)
	}
	for range halvings {
		sum.Mul(sum, sum)
	}
	return sum
}

// bigLog is the natural logarithm, by Newton's method on bigExp.
func bigLog(x *big.Float) *big.Float {
	m := new(big.Float).SetPrec(bits)
	e := x.MantExp(m)
	f, _ := m.Float64()
	y := new(big.Float).SetPrec(bits).SetFloat64(math.Log(f) + float64(e)*math.Ln2)
	for range 4 { // y + 2*(x - e^y)/(x + e^y) has thrice as many digits right
		ey := bigExp(y)
		d := new(big.Float).SetPrec(bits).Sub(x, ey)
		d.Quo(d, new(big.Float).SetPrec(bits).Add(x, ey))
		y.Add(y, d.Add(d, d))
	}
	return y
}

func holds(x I, v *big.Float) bool {
	return (math.IsInf(x.Lo, -1) || exact(x.Lo).Cmp(v) <= 0) && (math.IsInf(x.Hi, 1) || exact(x.Hi).Cmp(v) >= 0)
}

// number draws a float64 of any size, often a simple one or one of another's.
func number(t *rapid.T, name string) float64 {
	switch rapid.IntRange(0, 7).Draw(t, name+" kind") {
	case 0:
		return rapid.SampledFrom([]float64{0, 1, -1, 2, 0.5, 10, 3, 0.1, -0.1, 1e300, -1e300, 5e-324, -5e-324, 0x1p-1022, math.MaxFloat64}).Draw(t, name)
	case 1:
		return float64(rapid.IntRange(-50, 50).Draw(t, name))
	case 2:
		return math.Float64frombits(rapid.Uint64().Filter(func(b uint64) bool { x := math.Float64frombits(b); return x-x == 0 }).Draw(t, name))
	}
	return rapid.Float64Range(-100, 100).Draw(t, name)
}

func span(t *rapid.T, name string) I {
	a, b := number(t, name+" a"), number(t, name+" b")
	if rapid.IntRange(0, 4).Draw(t, name+" point") == 0 {
		b = a
	}
	return I{min(a, b), max(a, b)}
}

func member(t *rapid.T, x I, name string) float64 {
	switch rapid.IntRange(0, 3).Draw(t, name+" where") {
	case 0:
		return x.Lo
	case 1:
		return x.Hi
	}
	return rapid.Float64Range(x.Lo, x.Hi).Draw(t, name)
}

// The exact result of members lies in the result, and so does the rounded one.
func TestHoldsTheExactResult(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := span(t, "x"), span(t, "y")
		a, b := member(t, x, "a"), member(t, y, "b")
		check := func(op string, got I, v *big.Float, rounded float64) {
			if !holds(got, v) {
				t.Fatalf("%s: %v and %v give %v, and %v and %v exactly %v", op, x, y, got, a, b, v)
			}
			if !math.IsInf(rounded, 0) && (rounded < got.Lo || rounded > got.Hi) {
				t.Fatalf("%s: %v and %v give %v, and %v and %v rounded %v", op, x, y, got, a, b, rounded)
			}
		}
		z := func() *big.Float { return new(big.Float).SetPrec(2400) }
		check("+", Add(x, y), z().Add(exact(a), exact(b)), a+b)
		check("-", Sub(x, y), z().Sub(exact(a), exact(b)), a-b)
		check("*", Mul(x, y), z().Mul(exact(a), exact(b)), a*b)
		if b != 0 {
			got, _ := Div(x, y)
			check("/", got, z().Quo(exact(a), exact(b)), a/b)
		}
		if a >= 0 {
			got, _ := Sqrt(x)
			check("sqrt", got, z().Sqrt(exact(a)), math.Sqrt(a))
		}
		check("abs", Abs(x), exact(math.Abs(a)), math.Abs(a))
		check("min", Min(x, y), exact(min(a, b)), min(a, b))
		check("max", Max(x, y), exact(max(a, b)), max(a, b))
		check("floor", Floor(x), exact(math.Floor(a)), math.Floor(a))
		check("ceil", Ceil(x), exact(math.Ceil(a)), math.Ceil(a))
		check("round", Round(x), exact(math.RoundToEven(a)), math.RoundToEven(a))
		for _, c := range []struct {
			name string
			t    Truth
			is   bool
		}{{"<", Less(x, y), a < b}, {"<=", LessEqual(x, y), a <= b}, {"==", Equal(x, y), a == b}} {
			if c.t&Of(c.is) == 0 {
				t.Fatalf("%v %s %v is %d, and %v and %v %v", x, c.name, y, c.t, a, b, c.is)
			}
		}
	})
}

// The ends of results are no further out than they must be.
func TestTightest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := number(t, "a"), number(t, "b")
		z := func() *big.Float { return new(big.Float).SetPrec(2400) }
		check := func(op string, got I, v *big.Float, exactly bool) {
			if math.Abs(got.Lo) < safe || math.Abs(got.Lo) > 1e300 {
				return // where an error of rounding may be lost
			}
			if exactly && !got.IsPoint() && exact(got.Lo).Cmp(v) == 0 || got.Hi > up(got.Lo) {
				t.Fatalf("%s of %v and %v is %v, and exactly %v", op, a, b, got, v)
			}
		}
		check("+", Add(Point(a), Point(b)), z().Add(exact(a), exact(b)), true)
		check("*", Mul(Point(a), Point(b)), z().Mul(exact(a), exact(b)), true)
		if b != 0 && math.Abs(a) >= safe {
			got, _ := Div(Point(a), Point(b))
			check("/", got, z().Quo(exact(a), exact(b)), false)
		}
		if a >= safe {
			got, _ := Sqrt(Point(a))
			check("sqrt", got, z().Sqrt(exact(a)), false)
		}
	})
}

// So it is for the language's functions, whose exact results are worked out to 300
// bits.
func TestHoldsExpLogAndPow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := span(t, "x")
		x = I{max(x.Lo, -700), min(x.Hi, 700)}
		if x.IsEmpty() {
			return
		}
		a := member(t, x, "a")
		check := func(op string, got I, v *big.Float, computed float64) {
			if !holds(got, v) || computed < got.Lo || computed > got.Hi {
				t.Fatalf("%s of %v is %v; of %v it is exactly %.25g, and as computed %v", op, x, got, a, v, computed)
			}
		}
		check("exp", Exp(x), bigExp(exact(a)), elementary.Exp(a))
		if a > 0 {
			got, _ := Log(x)
			check("log", got, bigLog(exact(a)), elementary.Log(a))
			y := span(t, "y")
			y = I{max(y.Lo, -40), min(y.Hi, 40)}
			if y.IsEmpty() {
				return
			}
			b := member(t, y, "b")
			power := new(big.Float).SetPrec(bits).Mul(bigLog(exact(a)), exact(b))
			if f, _ := power.Float64(); math.Abs(f) < 690 {
				got, _ := Pow(x, y)
				check("pow "+y.String(), got, bigExp(power).SetPrec(200), elementary.Pow(a, b)) // so that 2 comes out as 2
			}
		}
		n := float64(rapid.IntRange(-9, 9).Draw(t, "n"))
		if a != 0 || n > 0 {
			v := exact(1)
			for range int(math.Abs(n)) {
				v = new(big.Float).SetPrec(1000).Mul(v, exact(a))
			}
			if n < 0 {
				v = new(big.Float).SetPrec(1000).Quo(exact(1), v)
			}
			if f, _ := v.Float64(); math.Abs(f) < math.MaxFloat64 && !math.IsInf(elementary.Pow(a, n), 0) {
				got, _ := Pow(x, Point(n))
				check("whole power", got, v, elementary.Pow(a, n))
			}
		}
	})
}
