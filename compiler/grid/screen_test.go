package grid

import (
	"math"
	"testing"
)

func TestScreen(t *testing.T) {
	for _, c := range []struct {
		x    float64
		want string
	}{
		{1.4000000000000001, "1.4"}, {5.729577951308233, "5.72957795"}, {0.004, "0.004"}, {0, "0"}, {math.Copysign(0, -1), "0"}, {-2.675, "-2.675"}, {123456789, "123456789"},
		{0.30000000000000004, "0.3"}, {1e-7, "0.0000001"}, {math.MaxFloat32, "340282347000000000000000000000000000000"},
	} {
		if got := Screen(c.x); got != c.want {
			t.Errorf("%v: %s, want %s", c.x, got, c.want)
		}
	}
	for _, c := range []struct {
		x    float32
		want string
	}{{0.1, "0.1"}, {-1.5, "-1.5"}, {16777216, "16777216"}, {0, "0"}, {float32(math.Copysign(0, -1)), "0"}} {
		if got := Screen32(float64(c.x)); got != c.want {
			t.Errorf("%v: %s, want %s", c.x, got, c.want)
		}
	}
}
