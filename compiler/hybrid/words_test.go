package hybrid

import "testing"

// What differs in the middle of long texts is what is left of them.
func TestTrimTail(t *testing.T) {
	for _, c := range []struct{ a, b, x, y string }{
		{"let k = 24 deg", "let k = 34 deg", "let k = 24 deg", "let k = 34 deg"},
		{"let border [deg] = 24 deg + 0.5 deg * (blend.octane - head.wants)", "let border [deg] = 34 deg + 0.5 deg * (blend.octane - head.wants)",
			"let border [deg] = 24 deg …", "let border [deg] = 34 deg …"},
		{"fn thick_air(p, t) = p / (287 * t) * (1 + 0.02 * p / 100) / 1.2", "fn thick_air(p, t) = p / (287 * t) * (1 + 0.02 * p / 100) / 1.3",
			"fn thick_air(p, t) = p / (287 * t) * (1 + 0.02 * p / 100) / 1.2", "fn thick_air(p, t) = p / (287 * t) * (1 + 0.02 * p / 100) / 1.3"},
	} {
		if x, y := trimTail(c.a, c.b); x != c.x || y != c.y {
			t.Errorf("%q and %q", x, y)
		}
	}
}
