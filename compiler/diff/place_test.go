package diff

import (
	"math"
	"testing"
)

// At one place, on breakpoints and between them, the values are those of the
// tables there, and the parts add up.
func TestAt(t *testing.T) {
	w := workspace(t, `
axis throttle [%] 0..100
axis rpm [rpm] 1000..9000
given hot = no
map fuel [mg] to 0.01 {
  throttle \ rpm | 2000 6000
  20             |    3    5
  100            |    8   12
}
map spark [deg] { rpm | 2000 6000
                      |   30   20 }
rule warm when hot { fuel += 3 % over rpm 4000.. feather 4000
                     spark -= 1.5 deg }
rule last when hot { fuel -= 0.04 mg }
variant a { }
variant b { hot = yes }
`)
	old, err := FromTune(w.p, w.plan.Find("a"))
	if err != nil {
		t.Fatal(err)
	}
	new, err := FromTune(w.p, w.plan.Find("b"))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name          string
		at            []float64
		before, after float64
		share         bool
	}{
		{"fuel", []float64{100, 6000}, 12, 12.32, true},
		{"fuel", []float64{60, 3000}, 6.25, 6.34, true}, // the rule is at half weight at 2000
		{"fuel", []float64{200, 9999}, 12, 12.32, true},
		{"spark", []float64{3000}, 27.5, 26, false},
	} {
		p := At(old, new, c.name, c.at)
		AttributeTunes(p)
		if len(p.Maps) != 1 || len(p.Maps[0].Cells) != 1 {
			t.Fatalf("%+v", p)
		}
		m := p.Maps[0]
		cell := m.Cells[0]
		if cell.Old != c.before || cell.New != c.after || cell.HasShare != c.share {
			t.Errorf("%s at %v: %+v", c.name, c.at, cell)
		}
		exact, printed := 0.0, 0.0
		for _, part := range m.Parts {
			exact += part.Exact[0]
			printed += part.Printed[0]
		}
		if math.Abs(exact-cell.Exact) > 1e-12 || math.Abs(printed-cell.Change) > 1e-12 || len(m.Parts) == 0 {
			t.Errorf("%s at %v: parts come to %v and %v: %+v", c.name, c.at, exact, printed, cell)
		}
	}
	if p := At(old, new, "nothing", nil); len(p.Maps) != 0 {
		t.Errorf("%+v", p.Maps)
	}
}
