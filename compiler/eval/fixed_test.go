package eval

import (
	"testing"

	"fettle/compiler/grid"
)

// A fixed map is its table as it stands: no base, no steps, no trims, no clamps;
// what reads it reads the table.
func TestFixed(t *testing.T) {
	b := lower(t, `
axis x 0..9
map a [mg] { x | 0 1 2
               | 1 2 3 }
map b [mg] like a = a * 2
rule more {
  a += 10 mg
  b += 1 mg
}
limit cap: a <= 12 mg else clamp
variant bench {
  trim a *= 2
  trim b *= 2
}
`)
	b.expect(t, b.run(t, "bench", Options{}), "b", 50, 50, 50)
	table := grid.Table{Cols: []float64{0, 1, 2}, Cells: []float64{20, 21, 22}}
	res := b.run(t, "bench", Options{Fixed: map[int]grid.Table{b.index(t, "a"): table}})
	b.expect(t, res, "a", 20, 21, 22)
	b.expect(t, res, "b", 82, 86, 90)
	if res.Clamps[0].Applied {
		t.Error("a clamp moved a fixed map")
	}
	if table.Cells[0] != 20 {
		t.Error("the table itself was changed")
	}
}
