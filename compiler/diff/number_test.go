package diff

import (
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

// slowChange is what changeOf is held to: by way of the texts.
func slowChange(old, new float64) float64 {
	v, _ := strconv.ParseFloat(strconv.FormatFloat(new-old, 'f', max(decimalsOf(old), decimalsOf(new)), 64), 64)
	return v + 0
}

func TestChangeOfIsExactAsDecimals(t *testing.T) {
	for _, c := range []struct{ old, new, want float64 }{
		{15.10, 15.55, 0.45}, {0.3, 0.1, -0.2}, {1, 1, 0}, {-0.5, -0.5, 0}, {0, -0.001, -0.001}, {1e15, 1e15 + 1, 1},
		{0.1234567, 0.1234568, 0.0000001}, {-math.MaxFloat64, math.MaxFloat64, math.MaxFloat64},
	} {
		if got := changeOf(c.old, c.new); math.Float64bits(got) != math.Float64bits(c.want) {
			t.Errorf("%v to %v is a change of %v, and not %v", c.old, c.new, got, c.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		number := func(name string) float64 {
			d := rapid.IntRange(0, 9).Draw(t, name+"'s decimals")
			whole := rapid.Int64Range(-1<<45, 1<<45).Draw(t, name)
			if rapid.Bool().Draw(t, name+" is small") {
				whole %= 100000
			}
			x, _ := strconv.ParseFloat(strconv.FormatInt(whole, 10)+"e-"+strconv.Itoa(d), 64)
			return x
		}
		old, new := number("old"), number("new")
		if got, want := changeOf(old, new), slowChange(old, new); math.Float64bits(got) != math.Float64bits(want) {
			t.Fatalf("%v to %v is a change of %v, and %v by way of the texts", old, new, got, want)
		}
	})
}
