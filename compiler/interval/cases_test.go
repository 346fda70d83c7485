package interval

import (
	"math"
	"testing"
)

// Cases of the public test vectors for IEEE 1788 (ITF1788), for the functions that
// formulas have, written down from memory: there is no copy of the files here. Where
// a vector gives the tightest result of an exponential, logarithm or power, it is
// asked that ours holds it and is no wider than its stated bound.

var inf = math.Inf(1)

func TestVectorsOfTwo(t *testing.T) {
	div := func(x, y I) I { z, _ := Div(x, y); return z }
	for _, c := range []struct {
		name    string
		f       func(x, y I) I
		x, y, z I
	}{
		{"add", Add, Empty, Empty, Empty}, {"add", Add, I{-1, 1}, Empty, Empty}, {"add", Add, Empty, Entire, Empty}, {"add", Add, I{1, 2}, I{3, inf}, I{4, inf}}, {"add", Add, I{-inf, 2}, I{-inf, 4}, I{-inf, 6}},
		{"add", Add, I{1, 2}, I{-inf, 4}, I{-inf, 6}}, {"add", Add, I{-inf, 2}, I{3, inf}, Entire}, {"add", Add, I{1, inf}, I{-inf, 4}, Entire}, {"add", Add, I{1, 2}, I{3, 4}, I{4, 6}}, {"add", Add, Entire, I{1, 1}, Entire},
		{"add", Add, I{1, math.MaxFloat64}, I{3, 4}, I{4, inf}}, {"add", Add, I{-math.MaxFloat64, 2}, I{-3, 4}, I{-inf, 6}}, {"add", Add, I{0, 0}, I{-3, 4}, I{-3, 4}},
		{"add", Add, Point(0x1.FFFFFFFFFFFFp+0), Point(0x1.999999999999Ap-4), I{0x1.0CCCCCCCCCCC4p+1, 0x1.0CCCCCCCCCCC5p+1}},
		{"add", Add, Point(-0x1.FFFFFFFFFFFFp+0), Point(-0x1.999999999999Ap-4), I{-0x1.0CCCCCCCCCCC5p+1, -0x1.0CCCCCCCCCCC4p+1}},
		{"sub", Sub, I{1, 2}, I{3, inf}, I{-inf, -1}}, {"sub", Sub, I{-1, inf}, I{-inf, 4}, I{-5, inf}}, {"sub", Sub, I{1, 2}, I{-inf, 4}, I{-3, inf}}, {"sub", Sub, I{1, 2}, I{3, 4}, I{-3, -1}},
		{"sub", Sub, Entire, Entire, Entire}, {"sub", Sub, I{1, inf}, Empty, Empty}, {"sub", Sub, I{1, 5}, I{0, 0}, I{1, 5}},
		{"mul", Mul, Empty, I{0, 0}, Empty}, {"mul", Mul, Entire, I{0, 0}, I{0, 0}}, {"mul", Mul, I{0, 0}, Entire, I{0, 0}}, {"mul", Mul, Entire, I{-5, -1}, Entire}, {"mul", Mul, I{1, inf}, I{0, 0}, I{0, 0}},
		{"mul", Mul, I{1, inf}, I{-5, -1}, I{-inf, -1}}, {"mul", Mul, I{1, inf}, I{-5, 3}, Entire}, {"mul", Mul, I{1, inf}, I{1, 3}, I{1, inf}}, {"mul", Mul, I{1, inf}, I{-inf, -1}, I{-inf, -1}}, {"mul", Mul, I{-1, inf}, I{-5, -1}, I{-inf, 5}},
		{"mul", Mul, I{-1, inf}, I{1, 3}, I{-3, inf}}, {"mul", Mul, I{-inf, 3}, I{-5, -1}, I{-15, inf}}, {"mul", Mul, I{-inf, 3}, I{1, 3}, I{-inf, 9}}, {"mul", Mul, I{-inf, -3}, I{-5, -1}, I{3, inf}}, {"mul", Mul, I{-inf, -3}, I{1, 3}, I{-inf, -3}},
		{"mul", Mul, I{1, 5}, I{-5, -1}, I{-25, -1}}, {"mul", Mul, I{1, 5}, I{-5, 3}, I{-25, 15}}, {"mul", Mul, I{1, 5}, I{1, 3}, I{1, 15}}, {"mul", Mul, I{-1, 5}, I{-5, -1}, I{-25, 5}}, {"mul", Mul, I{-1, 5}, I{-5, 3}, I{-25, 15}},
		{"mul", Mul, I{-10, 2}, I{-5, 3}, I{-30, 50}}, {"mul", Mul, I{-1, 5}, I{-1, 10}, I{-10, 50}}, {"mul", Mul, I{-2, 2}, I{-5, 3}, I{-10, 10}}, {"mul", Mul, I{-10, -5}, I{-5, 3}, I{-30, 50}}, {"mul", Mul, I{-10, -5}, I{1, 3}, I{-30, -5}},
		{"mul", Mul, I{-10, -5}, I{-2, -1}, I{5, 20}}, {"mul", Mul, I{0, 1}, I{0, inf}, I{0, inf}},
		{"div", div, Empty, I{0, 0}, Empty}, {"div", div, I{-15, -15}, I{0, 0}, Empty}, {"div", div, I{0, 0}, I{0, 0}, Empty}, {"div", div, I{0, 0}, I{-3, 3}, I{0, 0}}, {"div", div, I{0, 0}, I{-inf, 3}, I{0, 0}},
		{"div", div, I{-30, -15}, I{-5, -3}, I{3, 10}}, {"div", div, I{-30, -15}, I{3, 5}, I{-10, -3}}, {"div", div, I{-30, 15}, I{-5, -3}, I{-5, 10}}, {"div", div, I{-30, 15}, I{3, 5}, I{-10, 5}}, {"div", div, I{15, 30}, I{-5, -3}, I{-10, -3}},
		{"div", div, I{15, 30}, I{3, 5}, I{3, 10}}, {"div", div, I{-30, -15}, I{-3, 0}, I{5, inf}}, {"div", div, I{-30, -15}, I{0, 3}, I{-inf, -5}}, {"div", div, I{-30, -15}, I{-3, 3}, Entire}, {"div", div, I{15, 30}, I{-3, 0}, I{-inf, -5}},
		{"div", div, I{15, 30}, I{0, 3}, I{5, inf}}, {"div", div, I{-30, 15}, I{0, 3}, Entire}, {"div", div, I{-30, -15}, I{-inf, -3}, I{0, 10}}, {"div", div, I{-30, -15}, I{3, inf}, I{-10, 0}}, {"div", div, I{15, 30}, I{-inf, -3}, I{-10, 0}},
		{"div", div, I{-30, -15}, I{-inf, 0}, I{0, inf}}, {"div", div, I{15, 30}, Entire, Entire}, {"div", div, I{-inf, -15}, I{-5, -3}, I{3, inf}}, {"div", div, I{-inf, 15}, I{3, 5}, I{-inf, 5}}, {"div", div, Entire, I{3, 5}, Entire},
		{"div", div, I{-15, inf}, I{-inf, -3}, I{-inf, 5}}, {"div", div, I{-2, -1}, I{-10, -3}, I{0x1.9999999999999p-4, 0x1.5555555555556p-1}}, {"div", div, I{-2, -1}, I{0, 10}, I{-inf, -0x1.9999999999999p-4}},
		{"recip", div, Point(1), I{-50, -10}, I{-0x1.999999999999Ap-4, -0x1.47AE147AE147Ap-6}}, {"recip", div, Point(1), I{10, 50}, I{0x1.47AE147AE147Ap-6, 0x1.999999999999Ap-4}}, {"recip", div, Point(1), I{0, 10}, I{0x1.9999999999999p-4, inf}},
		{"min", Min, I{1, 5}, I{2, 7}, I{1, 5}}, {"min", Min, I{-7, -5}, I{-2, 6}, I{-7, -5}}, {"min", Min, Entire, I{1, 2}, I{-inf, 2}}, {"min", Min, Empty, I{1, 2}, Empty},
		{"max", Max, I{1, 5}, I{2, 7}, I{2, 7}}, {"max", Max, Entire, I{1, 2}, I{1, inf}}, {"max", Max, I{-7, 0}, I{2, 4}, I{2, 4}}, {"max", Max, I{0, 0}, Empty, Empty},
		{"intersection", Meet, I{1, 3}, I{2.1, 4}, I{2.1, 3}}, {"intersection", Meet, I{1, 3}, I{3, 4}, I{3, 3}}, {"intersection", Meet, I{1, 3}, I{4, 5}, Empty}, {"intersection", Meet, I{1, 3}, Entire, I{1, 3}}, {"intersection", Meet, I{1, 3}, Empty, Empty},
		{"convexHull", Hull, I{1, 3}, I{2.1, 4}, I{1, 4}}, {"convexHull", Hull, I{1, 1}, I{2.1, 4}, I{1, 4}}, {"convexHull", Hull, I{1, 3}, Empty, I{1, 3}}, {"convexHull", Hull, Empty, Empty, Empty}, {"convexHull", Hull, I{1, 3}, Entire, Entire},
	} {
		if got := c.f(c.x, c.y); got != c.z {
			t.Errorf("%s of %v and %v is %v, want %v", c.name, c.x, c.y, got, c.z)
		}
	}
}

func TestVectorsOfOne(t *testing.T) {
	sqrt := func(x I) I { z, _ := Sqrt(x); return z }
	for _, c := range []struct {
		name string
		f    func(x I) I
		x, z I
	}{
		{"neg", Neg, I{1, 2}, I{-2, -1}}, {"neg", Neg, Entire, Entire}, {"neg", Neg, I{-inf, 2}, I{-2, inf}}, {"neg", Neg, I{0, 0}, I{0, 0}},
		{"abs", Abs, Empty, Empty}, {"abs", Abs, I{1.1, 2.1}, I{1.1, 2.1}}, {"abs", Abs, I{-1.1, 2}, I{0, 2}}, {"abs", Abs, I{-1.1, -0.4}, I{0.4, 1.1}}, {"abs", Abs, I{-1.1, inf}, I{0, inf}}, {"abs", Abs, Entire, I{0, inf}},
		{"sqrt", sqrt, Empty, Empty}, {"sqrt", sqrt, Entire, I{0, inf}}, {"sqrt", sqrt, I{-inf, -5e-324}, Empty}, {"sqrt", sqrt, I{-1, 1}, I{0, 1}}, {"sqrt", sqrt, I{0, 1}, I{0, 1}}, {"sqrt", sqrt, I{0, 0}, I{0, 0}}, {"sqrt", sqrt, I{-5, 25}, I{0, 5}},
		{"sqrt", sqrt, I{0, 25}, I{0, 5}}, {"sqrt", sqrt, I{-5, inf}, I{0, inf}}, {"sqrt", sqrt, Point(0x1.999999999999Ap-4), I{0x1.43D136248490Fp-2, 0x1.43D136248491p-2}},
		{"floor", Floor, Empty, Empty}, {"floor", Floor, I{-1.1, 2}, I{-2, 2}}, {"floor", Floor, I{-1.1, 2.2}, I{-2, 2}}, {"floor", Floor, I{1.1, 2}, I{1, 2}}, {"floor", Floor, I{0, 2.2}, I{0, 2}}, {"floor", Floor, I{-1.9, 2.2}, I{-2, 2}}, {"floor", Floor, I{-inf, 2.2}, I{-inf, 2}},
		{"ceil", Ceil, I{1.1, 2}, I{2, 2}}, {"ceil", Ceil, I{-1.1, 2}, I{-1, 2}}, {"ceil", Ceil, I{-1.1, 2.2}, I{-1, 3}}, {"ceil", Ceil, I{-1.1, inf}, I{-1, inf}}, {"ceil", Ceil, I{-2.2, 0}, I{-2, 0}},
		{"roundTiesToEven", Round, I{1.1, 2.1}, I{1, 2}}, {"roundTiesToEven", Round, I{-1.1, 2.1}, I{-1, 2}}, {"roundTiesToEven", Round, I{-1.5, 2.5}, I{-2, 2}}, {"roundTiesToEven", Round, I{1.5, 2.1}, I{2, 2}}, {"roundTiesToEven", Round, I{-2.5, 3.5}, I{-2, 4}},
		{"pown 0", power(0), I{-3, 5}, I{1, 1}}, {"pown 0", power(0), Empty, Empty}, {"pown 2", power(2), I{-3, 5}, I{0, 25}}, {"pown 2", power(2), I{0, inf}, I{0, inf}}, {"pown 2", power(2), I{-5, -3}, I{9, 25}}, {"pown 1", power(1), I{-3, 5}, I{-3, 5}},
		{"pown -1", power(-1), I{-3, 5}, Entire}, {"pown -1", power(-1), I{0, 0}, Empty}, {"pown -2", power(-2), I{0, 0}, Empty}, {"pown -3", power(-3), I{-1, 1}, Entire},
		{"exp", Exp, Empty, Empty}, {"exp", Exp, I{0, 0}, I{1, 1}}, {"exp", Exp, I{-inf, 0}, I{0, 1}}, {"exp", Exp, I{0, inf}, I{1, inf}}, {"exp", Exp, Entire, I{0, inf}}, {"exp", Exp, I{-inf, 0x1.62E42FEFA39Fp+9}, I{0, inf}},
		{"log", logarithm, Empty, Empty}, {"log", logarithm, I{-inf, 0}, Empty}, {"log", logarithm, I{0, 1}, I{-inf, 0}}, {"log", logarithm, I{1, inf}, I{0, inf}}, {"log", logarithm, Entire, Entire}, {"log", logarithm, I{1, 1}, I{0, 0}},
	} {
		if got := c.f(c.x); got != c.z {
			t.Errorf("%s of %v is %v, want %v", c.name, c.x, got, c.z)
		}
	}
}

func power(n float64) func(x I) I {
	return func(x I) I { z, _ := Pow(x, Point(n)); return z }
}

func logarithm(x I) I { z, _ := Log(x); return z }

// What the language's functions give lies around the tightest result, by no more than
// the stated bound.
func TestVectorsOfTheFunctions(t *testing.T) {
	pow := func(y I) func(x I) I {
		return func(x I) I { z, _ := Pow(x, y); return z }
	}
	for _, c := range []struct {
		name string
		f    func(x I) I
		x, z I
		ulps int64
	}{
		{"exp", Exp, Point(1), I{0x1.5BF0A8B145769p+1, 0x1.5BF0A8B14576Ap+1}, 4},
		{"exp", Exp, I{0, 0x1.62E42FEFA39Ep+9}, I{1, 0x1.FFFFFFFFFC32Bp+1023}, 4},
		{"log", logarithm, Point(32), I{0x1.BB9D3BEB8C86Bp+1, 0x1.BB9D3BEB8C86Cp+1}, 4},
		{"log", logarithm, I{0, math.MaxFloat64}, I{-inf, 0x1.62E42FEFA39Fp+9}, 4},
		{"log", logarithm, I{1, math.E}, I{0, 1}, 4},
		{"pown 3", power(3), I{-5, 3}, I{-125, 27}, 4}, {"pown 3", power(3), I{-3, 5}, I{-27, 125}, 4}, {"pown -1", power(-1), I{2, 4}, I{0.25, 0.5}, 4},
		{"pown -2", power(-2), I{-3, 5}, I{0.04, inf}, 4}, {"pown -2", power(-2), I{2, 4}, I{0.0625, 0.25}, 4}, {"pown -1", power(-1), I{0, 4}, I{0.25, inf}, 4}, {"pown -3", power(-3), I{-2, 0}, I{-inf, -0.125}, 4},
		{"pow", pow(I{0.5, 0.5}), I{4, 9}, I{2, 3}, 4}, {"pow", pow(I{0.5, 1.5}), I{4, 4}, I{2, 8}, 4}, {"pow", pow(I{-1.5, 0.5}), I{0.25, 4}, I{0.125, 8}, 4}, {"pow", pow(I{0, 1.5}), I{0, 4}, I{0, 8}, 4}, {"pow", pow(I{0.25, 0.5}), I{-3, 16}, I{0, 4}, 4},
		{"pow", pow(I{-0.5, -0.5}), I{0, 4}, I{0.5, inf}, 4},
	} {
		got := c.f(c.x)
		if !c.z.In(got) {
			t.Errorf("%s of %v is %v, which doesn't hold %v", c.name, c.x, got, c.z)
		}
		if got.Lo < moved(c.z.Lo, -c.ulps) || got.Hi > moved(c.z.Hi, c.ulps) {
			t.Errorf("%s of %v is %v, far wider than %v", c.name, c.x, got, c.z)
		}
	}
}

func TestDefined(t *testing.T) {
	for _, c := range []struct {
		name string
		f    func() (I, bool)
		want bool
	}{
		{"1/[1,2]", func() (I, bool) { return Div(Point(1), I{1, 2}) }, true}, {"1/[0,2]", func() (I, bool) { return Div(Point(1), I{0, 2}) }, false}, {"1/[-1,2]", func() (I, bool) { return Div(Point(1), I{-1, 2}) }, false},
		{"0/0", func() (I, bool) { return Div(Point(0), Point(0)) }, false}, {"sqrt [0,1]", func() (I, bool) { return Sqrt(I{0, 1}) }, true}, {"sqrt [-1,1]", func() (I, bool) { return Sqrt(I{-1, 1}) }, false},
		{"log [1,2]", func() (I, bool) { return Log(I{1, 2}) }, true}, {"log [0,2]", func() (I, bool) { return Log(I{0, 2}) }, false}, {"[-1,1]^2", func() (I, bool) { return Pow(I{-1, 1}, Point(2)) }, true},
		{"[-1,1]^-1", func() (I, bool) { return Pow(I{-1, 1}, Point(-1)) }, false}, {"[-1,1]^0.5", func() (I, bool) { return Pow(I{-1, 1}, Point(0.5)) }, false}, {"[0,1]^0.5", func() (I, bool) { return Pow(I{0, 1}, Point(0.5)) }, true},
		{"[0,1]^[-1,1]", func() (I, bool) { return Pow(I{0, 1}, I{-1, 1}) }, false}, {"[1,2]^[-1,1]", func() (I, bool) { return Pow(I{1, 2}, I{-1, 1}) }, true},
	} {
		if _, got := c.f(); got != c.want {
			t.Errorf("%s is defined everywhere: %v, want %v", c.name, got, c.want)
		}
	}
}

func TestTruth(t *testing.T) {
	for _, c := range []struct {
		name      string
		got, want Truth
	}{
		{"1..2 < 3..4", Less(I{1, 2}, I{3, 4}), Yes}, {"1..2 < 2..4", Less(I{1, 2}, I{2, 4}), Maybe}, {"2..3 < 1..2", Less(I{2, 3}, I{1, 2}), No}, {"1..2 <= 2..4", LessEqual(I{1, 2}, I{2, 4}), Yes}, {"2..3 <= 1..2", LessEqual(I{2, 3}, I{1, 2}), Maybe},
		{"3..4 <= 1..2", LessEqual(I{3, 4}, I{1, 2}), No}, {"1 == 1", Equal(Point(1), Point(1)), Yes}, {"1..2 == 1..2", Equal(I{1, 2}, I{1, 2}), Maybe}, {"1..2 == 3..4", Equal(I{1, 2}, I{3, 4}), No}, {"nothing < 1", Less(Empty, Point(1)), Never},
		{"not yes", Yes.Not(), No}, {"not no", No.Not(), Yes}, {"not maybe", Maybe.Not(), Maybe},
		{"yes and yes", Yes.And(Yes), Yes}, {"yes and no", Yes.And(No), No}, {"yes and maybe", Yes.And(Maybe), Maybe}, {"no and maybe", No.And(Maybe), No}, {"maybe and maybe", Maybe.And(Maybe), Maybe}, {"no and no", No.And(No), No},
		{"yes or yes", Yes.Or(Yes), Yes}, {"yes or no", Yes.Or(No), Yes}, {"yes or maybe", Yes.Or(Maybe), Yes}, {"no or maybe", No.Or(Maybe), Maybe}, {"maybe or maybe", Maybe.Or(Maybe), Maybe}, {"no or no", No.Or(No), No},
	} {
		if c.got != c.want {
			t.Errorf("%s is %d, want %d", c.name, c.got, c.want)
		}
	}
}
