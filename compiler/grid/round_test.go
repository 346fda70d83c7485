package grid

import (
	"math"
	"math/big"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"
)

func mustRes(t testing.TB, text string) Res {
	t.Helper()
	if text == "" {
		return Res{}
	}
	r, err := NewRes(text)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// testdata/rounding.csv was written by rounding.py beside it, with Python's
// decimal on the shortest text of each float.
func TestRoundGolden(t *testing.T) {
	text, err := os.ReadFile("testdata/rounding.csv")
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(string(text)), "\n")
	if len(lines) < 500 {
		t.Fatalf("only %d lines", len(lines))
	}
	for _, line := range lines {
		f := strings.Split(line, ",")
		res := mustRes(t, f[0])
		x, err := strconv.ParseFloat(f[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		if got := res.Format(x); got != f[2] {
			t.Errorf("step %q: %s prints as %s, want %s", f[0], f[1], got, f[2])
		}
		want, _ := strconv.ParseFloat(f[2], 64)
		if got := res.Round(x); got != want || got == 0 && math.Signbit(got) {
			t.Errorf("step %q: %s rounds to %v, want %v", f[0], f[1], got, want)
		}
	}
}

// The quick way and the exact way must agree.
func TestRoundQuickIsExact(t *testing.T) {
	rnd := rand.New(rand.NewPCG(9, 10))
	quick := 0
	for _, step := range []string{"0.01", "0.05", "0.25", "0.5", "0.004", "5", "0.003", "7", "10", "1", "1e-9", "0.1", "0.001"} {
		res := mustRes(t, step)
		for range 2000 {
			x := rnd.NormFloat64() * math.Pow(10, float64(rnd.IntN(9)-3))
			if rnd.IntN(3) == 0 {
				x = (float64(rnd.IntN(2000)-1000) + 0.5) * res.Step()
			}
			if _, ok := res.quick(x); ok {
				quick++
			}
			if got, want := res.Format(x), string(res.appendExact(nil, x)); got != want {
				t.Fatalf("step %s: %v prints as %s, exactly %s", step, x, got, want)
			}
		}
	}
	if quick < 10000 {
		t.Errorf("only %d values went the quick way", quick)
	}
}

// Binary fractions are written as what they are, so strconv, which rounds the
// binary value half to even, must agree on them.
func TestRoundAgainstStrconv(t *testing.T) {
	rnd := rand.New(rand.NewPCG(11, 12))
	for dec, step := range []string{"1", "0.1", "0.01", "0.001", "1e-4"} {
		res := mustRes(t, step)
		for range 2000 {
			x := float64(rnd.IntN(400000)-200000) / float64(int(1)<<rnd.IntN(8))
			want := strconv.FormatFloat(x, 'f', dec, 64)
			if strings.Trim(want, "-0.") == "" {
				want = strings.TrimPrefix(want, "-")
			}
			if got := res.Format(x); got != want {
				t.Fatalf("step %s: %v prints as %s, want %s", step, x, got, want)
			}
		}
	}
}

// Rounding by the definition, on exact fractions: no multiple of the step is
// nearer, and at equal distance the multiple is even. Also for steps whose
// reciprocal isn't a finite decimal.
func TestRoundByDefinition(t *testing.T) {
	rnd := rand.New(rand.NewPCG(13, 14))
	half := big.NewRat(1, 2)
	for _, step := range []string{"0.003", "0.07", "3", "0.15", "0.25", "0.004"} {
		res := mustRes(t, step)
		exact, _ := new(big.Rat).SetString(step)
		for range 500 {
			x := rnd.NormFloat64() * 50
			if rnd.IntN(2) == 0 {
				x = float64(rnd.IntN(4000)-2000) / 8
			}
			got, ok := new(big.Rat).SetString(res.Format(x))
			if !ok {
				t.Fatalf("%q is no number", res.Format(x))
			}
			n := new(big.Rat).Quo(got, exact)
			off := new(big.Rat).Quo(written(x), exact)
			off.Sub(off, n).Abs(off)
			if c := off.Cmp(half); !n.IsInt() || c > 0 || c == 0 && n.Num().Bit(0) == 1 {
				t.Fatalf("step %s: %v prints as %s", step, x, res.Format(x))
			}
		}
	}
}

// written is a float as the shortest decimal that is it.
func written(x float64) *big.Rat {
	r, _ := new(big.Rat).SetString(strconv.FormatFloat(x, 'g', -1, 64))
	return r
}

// What a tuner writes is what is rounded, not the binary value beside it.
func TestRoundAsWritten(t *testing.T) {
	for _, c := range []struct{ step, in, want string }{
		{"0.01", "0.005", "0.00"}, {"0.01", "0.015", "0.02"}, {"0.01", "2.675", "2.68"}, {"0.01", "2.665", "2.66"}, {"0.01", "-2.675", "-2.68"},
		{"0.1", "0.25", "0.2"}, {"0.1", "0.35", "0.4"}, {"0.1", "0.05", "0.0"}, {"0.1", "0.15", "0.2"}, {"0.25", "0.375", "0.50"}, {"0.05", "0.125", "0.10"},
		{"", "1.000005", "1"}, {"", "1.000015", "1.00002"}, {"", "0.1000005", "0.1"}, {"", "0.1000015", "0.100002"}, {"", "999999.5", "1000000"},
		{"", "9.999995", "10"}, {"", "1234565", "1234560"}, {"", "1234575", "1234580"},
	} {
		x, err := strconv.ParseFloat(c.in, 64)
		if err != nil {
			t.Fatal(err)
		}
		if got := mustRes(t, c.step).Format(x); got != c.want {
			t.Errorf("step %q: %s prints as %s, want %s", c.step, c.in, got, c.want)
		}
	}
}

func TestFormatSixDigits(t *testing.T) {
	for _, c := range []struct {
		x    float64
		want string
	}{
		{0, "0"}, {math.Copysign(0, -1), "0"}, {1, "1"}, {-1.5, "-1.5"}, {100, "100"},
		{0.1 + 0.2, "0.3"}, {16.2, "16.2"}, {1.0 / 3, "0.333333"}, {2.0 / 3e4, "0.0000666667"},
		{123456.5, "123456"}, {123457.5, "123458"}, {999999.5, "1000000"}, {1234567, "1234570"},
		{1e21, "1000000000000000000000"}, {1.5e-7, "0.00000015"}, {-5e-7, "-0.0000005"},
		{math.NaN(), "NaN"}, {math.Inf(1), "+Inf"}, {math.Inf(-1), "-Inf"},
	} {
		if got := (Res{}).Format(c.x); got != c.want {
			t.Errorf("%v prints as %s, want %s", c.x, got, c.want)
		}
	}
}

func TestNewRes(t *testing.T) {
	for _, c := range []struct {
		text string
		dec  int
		step float64
	}{
		{"0.01", 2, 0.01}, {"0.5", 1, 0.5}, {"0.25", 2, 0.25}, {"5", 0, 5}, {"1e-3", 3, 0.001},
		{"0.50", 1, 0.5}, {"1.0", 0, 1}, {"25e-2", 2, 0.25}, {"2.5e1", 0, 25}, {"1e2", 0, 100}, {"100", 0, 100},
		{"1e-18", 18, 1e-18}, {"1e17", 0, 1e17}, {"000.5", 1, 0.5},
	} {
		r, err := NewRes(c.text)
		if err != nil || !r.Set() || r.Decimals() != c.dec || r.Step() != c.step {
			t.Errorf("NewRes(%q): %v decimals, step %v, %v", c.text, r.Decimals(), r.Step(), err)
		}
	}
	if mustRes(t, "0.50") != mustRes(t, "5e-1") {
		t.Error("equal steps differ")
	}
	for _, text := range []string{"", "0", "0.00", "0e5", "-1", "+1", "1.", ".5", "0,5", "x", "NaN", "0x1", "1e-19", "1e18",
		"1e-400", "1e400", "0.1234567890123456789", "1e-99999999999999999999", "1.5e-99999999999999999999"} {
		if r, err := NewRes(text); err == nil || r.Set() {
			t.Errorf("NewRes(%q) gave step %v", text, r.Step())
		}
	}
	if r := (Res{}); r.Set() || r.Step() != 0 || r.Decimals() != 0 {
		t.Error("the zero value has a step")
	}
}

func FuzzRound(f *testing.F) {
	f.Add(2.675, "0.01")
	f.Add(-0.125, "0.05")
	f.Add(1e300, "7e-9")
	f.Add(123456.5, "")
	f.Fuzz(func(t *testing.T, x float64, step string) {
		var res Res
		if step != "" {
			var err error
			if res, err = NewRes(step); err != nil {
				return
			}
		}
		text := res.Format(x)
		back, ok := ParseNumber(text)
		if math.IsNaN(x) || math.IsInf(x, 0) {
			if ok {
				t.Fatalf("%v prints as the number %s", x, text)
			}
			return
		}
		if !ok && !math.IsInf(res.Round(x), 0) || ok && back != res.Round(x) {
			t.Fatalf("%v prints as %s, rounds to %v", x, text, res.Round(x))
		}
		// Where a float can hold the printed digits, printing is idempotent.
		holds := res.Set() && math.Abs(back) < 1e9*res.Step() || !res.Set() && math.Abs(back) > 1e-300
		if again := res.Format(back); ok && again != text && holds {
			t.Fatalf("%s prints as %s the second time", text, again)
		}
	})
}
