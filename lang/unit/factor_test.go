package unit

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

// machinPi works pi out by Machin's formula, 16 atan(1/5) - 4 atan(1/239), to the given number of decimals and ten more.
func machinPi(decimals int) *big.Int {
	scale := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(decimals+10)), nil)
	atan := func(n int64) *big.Int {
		sum, power := new(big.Int), new(big.Int).Quo(scale, big.NewInt(n))
		for k := int64(0); power.Sign() != 0; k++ {
			part := new(big.Int).Quo(power, big.NewInt(2*k+1))
			if k%2 == 1 {
				part.Neg(part)
			}
			sum.Add(sum, part)
			power.Quo(power, big.NewInt(n*n))
		}
		return sum
	}
	pi := new(big.Int).Mul(atan(5), big.NewInt(16))
	return pi.Sub(pi, new(big.Int).Mul(atan(239), big.NewInt(4)))
}

func TestPiDigits(t *testing.T) {
	pi := machinPi(100).String()
	if got := pi[:1] + "." + pi[1:101]; got != piDigits {
		t.Errorf("pi is\n%s, written\n%s", got, piDigits)
	}
	if got := (Factor{pi: 1}).Float(); got != math.Pi {
		t.Errorf("pi as a float64 is %v", got)
	}
	if got := (Factor{pi: -1}).Float(); got != 1/math.Pi {
		t.Errorf("1/pi as a float64 is %v", got)
	}
}

func genFactor(t *rapid.T, label string) Factor {
	n := rapid.Int64Range(1, 1e9).Draw(t, label+" numerator")
	d := rapid.Int64Range(1, 1e9).Draw(t, label+" denominator")
	return Factor{big.NewRat(n, d), rapid.IntRange(-3, 3).Draw(t, label+" pi")}
}

func TestFactorLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := genFactor(t, "a"), genFactor(t, "b")
		before := a.Float()
		n := rapid.IntRange(-6, 6).Draw(t, "n")
		if !a.Mul(b).Equal(b.Mul(a)) || !a.Mul(b).Div(b).Equal(a) {
			t.Fatalf("a b / b isn't a")
		}
		if !a.PowInt(n).Mul(a.PowInt(-n)).IsOne() || !a.PowInt(n+1).Equal(a.PowInt(n).Mul(a)) {
			t.Fatalf("a^n isn't n times a")
		}
		if !a.Mul(Factor{}).Equal(a) || !a.PowInt(0).IsOne() {
			t.Fatalf("the zero value isn't one")
		}
		if got, want := a.Mul(b).Float(), a.Float()*b.Float(); math.Abs(got/want-1) > 1e-15 {
			t.Fatalf("a b is %v, the floats make %v", got, want)
		}
		if a.Float() != before {
			t.Fatalf("a changed")
		}
	})
}
