package format_test

import (
	"fmt"
	"strings"
	"testing"

	"fettle/lang/diag"
	"fettle/lang/format"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// grids are laid out already; decimals is what their step or cells say.
var grids = []struct {
	name, head string
	decimals   int
}{
	{"no step", "map m [mg]", 1},
	{"step 0.01", "map m [mg] to 0.01", 2},
	{"step 1", "map m [mg] to 1", 0},
}

// TestOneCellIsOneLine: a cell of a grid in the layout that is edited to
// another number of the same precision makes a difference of one line.
func TestOneCellIsOneLine(t *testing.T) {
	for _, g := range grids {
		number := func(v float64) string { return fmt.Sprintf("%.*f", g.decimals, v) }
		rough := g.head + " {\n throttle \\ rpm | 800 2000 14000 # comment\n"
		for r := range 4 {
			rough += fmt.Sprintf(" %d | %s _ %s # comment\n", 30*r, number(float64(r)), number(10.5*float64(r)))
		}
		before, errs := format.Source(source.New("tune.fettle", rough+"}\n"))
		if errs.HasErrors() {
			t.Fatal(errs.Sorted()[0].Message)
		}
		f := source.New("tune.fettle", before)
		m := syntax.Parse(f, &diag.List{}).Decls[0].(*syntax.Map)
		cells := syntax.ReadGrid(f, *m.Body, &diag.List{}).Cells
		if len(cells) != 12 {
			t.Fatalf("%d cells", len(cells))
		}
		edits := []string{"_"}
		for _, v := range []float64{0, 5.5, 77.7, 123.4, 9999, -1.1, -22.2, -333.3, -999} {
			edits = append(edits, number(v))
		}
		for _, c := range cells {
			for _, e := range edits {
				if e == before[c.From:c.To] {
					continue
				}
				after, errs := format.Source(source.New("tune.fettle", before[:c.From]+e+before[c.To:]))
				if errs.HasErrors() {
					t.Fatal(errs.Sorted()[0].Message)
				}
				if n := linesThatDiffer(before, after); n != 1 {
					t.Errorf("%s: %s for %s: %d lines differ in\n%s", g.name, e, before[c.From:c.To], n, after)
				}
			}
		}
	}
}

func linesThatDiffer(a, b string) int {
	x, y := strings.Split(a, "\n"), strings.Split(b, "\n")
	if len(x) != len(y) {
		return max(len(x), len(y))
	}
	n := 0
	for i := range x {
		if x[i] != y[i] {
			n++
		}
	}
	return n
}
