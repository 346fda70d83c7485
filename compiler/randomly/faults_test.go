package randomly_test

import (
	"testing"

	"fettle/compiler/eval"
)

// A tune that can't be computed says which statement is to blame and in which cell,
// in both ways, whatever comes before and after it.
func TestFaultsNameTheirStep(t *testing.T) {
	const ground = "axis x 0..9\ngiven g = 1\nfn held(v within 0..4) = v\nmap a {\n  x | 0 1 2 3 4 5\n  | 1 2 3 4 5 6\n}\nvariant bench { }\n"
	for _, c := range []struct {
		text, at string
		cell     int
	}{
		{"rule r {\n  a += 1\n  a /= x - 1\n  a *= 2\n}\n", "a /= x - 1", 1},
		{"rule r {\n  a *= 2\n  a *= 1 / (x - 3)\n}\nlimit l: a <= 5 else clamp\n", "a *= 1 / (x - 3)", 3},
		{"rule r {\n  a += 1\n  a /= x over x ..2\n  a = 7\n}\n", "a /= x over x ..2", 0},
		{"rule r {\n  a *= g\n  a /= g - 1\n  a -= 2 over x 3..\n}\n", "a /= g - 1", 0},
		{"rule r {\n  a += held(x)\n}\n", "x", 5},
		{"rule r {\n  a += held(g * 5)\n}\n", "g * 5", 0},
		{"rule r {\n  a += held(g - 2) over x 2..\n}\n", "g - 2", 2},
		{"rule r when held(g * 5) > 1 {\n  a += 1\n}\n", "held(g * 5) > 1", -1},
		{"map b like a = 1 / (a - 4)\nrule r { b += 1 }\n", "map b like a = 1 / (a - 4)", 3},
		{"rule r {\n  a += 1\n  a -= 1 over x (g + 1)..g\n}\n", "x (g + 1)..g", -1},
	} {
		tr := &trial{text: ground + c.text}
		w := one(tr.text).open()
		if tr.refusedBy(t, w) {
			t.Fatalf("%s\nis refused", tr.text)
		}
		twoWays(t, tr, w)
		f := w.Eval().Tune(eval.Pure(w.Program, w.Plan.Tunes[0]), eval.Options{}).Fault
		if f == nil || f.Span.Text() != c.at || f.Cell != c.cell {
			t.Errorf("%s\nits fault is %s, and should be in cell %d, at %q", tr.text, told(f), c.cell, c.at)
		}
	}
}
