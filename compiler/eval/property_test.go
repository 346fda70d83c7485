package eval

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// cellExpr writes a random plain number in a cell, of maps with other
// breakpoints, over other axes, and turned round.
func cellExpr(t *rapid.T, depth int) string {
	leaf := func(list ...string) string { return rapid.SampledFrom(list).Draw(t, "leaf") }
	if depth <= 0 {
		return leaf("a", "b", "turned", "along_x", "along_y", "x", "y", "g", "h", "2", "0.5", "rows.one.v", "row.v", "step(a, x)", "step(b, y)", "step(turned, x)", "step(turned, y)", "step(along_x, x)")
	}
	e := func() string { return cellExpr(t, depth-1) }
	switch rapid.IntRange(0, 12).Draw(t, "op") {
	case 0, 1:
		return "(" + e() + leaf(" + ", " - ", " * ", " / ", " ^ ") + e() + ")"
	case 2:
		return "-(" + e() + ")"
	case 3:
		return leaf("min(", "max(") + e() + ", " + e() + ", " + e() + ")"
	case 4:
		return leaf("abs(", "sqrt(", "exp(", "log(", "round(", "floor(", "ceil(") + e() + ")"
	case 5:
		return leaf("a(", "b(", "turned(") + e() + ", " + e() + ")"
	case 6:
		return leaf("along_x(", "along_y(", "square(", "bend(") + e() + ")"
	case 7:
		return "(if " + cellYesNo(t, depth-1) + " then " + e() + " else " + e() + ")"
	case 8:
		return "clamp(" + e() + ", g, " + e() + ")"
	case 9:
		return "(if x > 1 then held(x) else " + e() + ")"
	case 10:
		return "held(x * h + " + e() + ")"
	case 11:
		return "((" + e() + ") * 1 km / 3 [ft])"
	}
	return "square(square(" + e() + "))"
}

func cellYesNo(t *rapid.T, depth int) string {
	if depth <= 0 {
		return rapid.SampledFrom([]string{"wet", "x > 1", "y < g", "row is one", "row.odd", "a > b", "along_x == 2"}).Draw(t, "yes/no")
	}
	e := func() string { return cellYesNo(t, depth-1) }
	switch rapid.IntRange(0, 4).Draw(t, "yes/no op") {
	case 0:
		return "(" + e() + " and " + e() + ")"
	case 1:
		return "(" + e() + " or " + e() + ")"
	case 2:
		return "not (" + e() + ")"
	case 3:
		return "(if " + e() + " then " + e() + " else " + e() + ")"
	}
	return "(" + cellExpr(t, depth-1) + rapid.SampledFrom([]string{" < ", " <= ", " > ", " >= ", " == ", " != "}).Draw(t, "compare") + cellExpr(t, depth-1) + ")"
}

const propertyGround = `
axis x 0..9
axis y 0..9
given g = 2
given h = 0
given wet = no
given row from rows = two
catalog rows {
  name | v | odd
  one  | 1 | yes
  two  | 2.5 | no
}
curve bend {
  of | 0 1 4
     | 3 -1 2.5
}
fn square(v) = v * v
fn held(v within 0..6) = v + 1
map a {
  y \ x | 0 1 3
  0 | 1 2 3
  2 | 0.5 -1 4
}
map b {
  y \ x | 0.5 1 2.5 7
  1 | 1 0 3 1
  2 | 5 -1 4 2
  8 | 2 2 0.25 9
}
map turned {
  x \ y | 0 2 5
  0 | 3 1 4
  1 | 1 5 9
  6 | 2 6 5
}
map along_x {
  x | 0 1 3
    | 2 0 7
}
map along_y {
  y | 0 2
    | 1 -3
}
variant bench { }
variant far {
  g = -1
  h = 3
  wet = yes
  row = one
}
`

// Whatever is computed, the columns and the plain evaluator say the same, bit
// for bit, or fail at the same cell for the same reason.
func TestColumnsAgreeWithTheReference(t *testing.T) {
	computed, failed := 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		var text strings.Builder
		text.WriteString(propertyGround)
		like := rapid.SampledFrom([]string{"a", "b", "turned"})
		for i := range 2 {
			fmt.Fprintf(&text, "map made%d like %s = %s\n", i, like.Draw(rt, "like"), cellExpr(rt, rapid.IntRange(0, 3).Draw(rt, "depth")))
		}
		fmt.Fprintf(&text, "map calm like b = 1\n")
		for i := range 3 {
			region := rapid.SampledFrom([]string{"", " over x 1..2 feather 2", " over x g.. feather 3, y ..3", " over y 2.."}).Draw(rt, "over")
			if rapid.Bool().Draw(rt, "where") {
				region += " where x > 1 and " + cellYesNo(rt, 2)
			}
			op := rapid.SampledFrom([]string{"=", "+=", "-=", "*=", "/="}).Draw(rt, "op")
			fmt.Fprintf(&text, "rule r%d when %s { calm %s %s%s }\n", i, rapid.SampledFrom([]string{"wet", "not wet", "g > -9"}).Draw(rt, "when"), op, cellExpr(rt, 2), region)
		}
		b, errs := tryLower(text.String())
		for _, d := range errs {
			if d.Code != "E330" && d.Code != "E502" { // a fixed part of it has no value
				rt.Fatalf("%s\n%s %s: %s at %q", text.String(), d.Code, d.Span, d.Message, d.Span.Text())
			}
		}
		if b == nil {
			return
		}
		rt.Log(text.String())
		for _, name := range []string{"bench", "far"} {
			b.run(rt, name, Options{})
			if res := b.run(rt, name, Options{Thrown: true}); res.Fault == nil {
				computed++
			} else {
				failed++
			}
		}
	})
	least := 20
	if testing.Short() {
		least = 4 // of a fifth as many
	}
	if computed < least || failed < least {
		t.Errorf("only %d were computed and %d failed", computed, failed)
	}
}
