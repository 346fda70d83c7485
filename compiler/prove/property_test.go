package prove

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"pgregory.net/rapid"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/interval"
	"fettle/compiler/plan"
	"fettle/compiler/resolve"
	"fettle/lang/diag"
)

// number writes a random plain number of a cell, of maps with other breakpoints,
// over other axes, and turned round.
func number(t *rapid.T, depth int) string {
	leaf := func(list ...string) string { return rapid.SampledFrom(list).Draw(t, "leaf") }
	if depth <= 0 {
		return leaf("a", "b", "turned", "along_x", "along_y", "x", "y", "g", "h", "g", "h", "k", "2", "0.5", "rows.one.v", "row.v", "step(a, x)", "step(b, y)", "shifted")
	}
	e := func() string { return number(t, depth-1) }
	switch rapid.IntRange(0, 13).Draw(t, "op") {
	case 0, 1, 2:
		return "(" + e() + leaf(" + ", " - ", " * ", " / ", " * ") + e() + ")"
	case 3:
		return leaf("min(", "max(") + e() + ", " + e() + ", " + e() + ")"
	case 4:
		return leaf("abs(", "round(", "floor(", "ceil(", "-(") + e() + ")"
	case 5:
		return leaf("a(", "b(", "turned(") + e() + ", " + e() + ")"
	case 6:
		return leaf("along_x(", "along_y(", "square(", "bend(") + e() + ")"
	case 7:
		return "(if " + yesNo(t, depth-1) + " then " + e() + " else " + e() + ")"
	case 8:
		return "clamp(" + e() + ", g, " + e() + ")"
	case 9:
		return "(if x > 1 then held(x) else " + e() + ")"
	case 10:
		return "((" + e() + ") * 1 km / 3 [ft])"
	case 11:
		return leaf("exp(-abs(", "log(1 + abs(", "sqrt(0.5 + abs(") + e() + "))"
	case 12:
		return "(1 + abs(" + e() + ")) ^ " + leaf("2", "-1", "0.7", "(g / 4)", "3")
	}
	return "(" + e() + leaf(") ^ 2", ") ^ 3", ") ^ (-2)")
}

func yesNo(t *rapid.T, depth int) string {
	if depth <= 0 {
		return rapid.SampledFrom([]string{"wet", "x > 1", "y < g", "row is one", "row.odd", "a > b", "h > 1", "along_x == 2"}).Draw(t, "yes/no")
	}
	e := func() string { return yesNo(t, depth-1) }
	switch rapid.IntRange(0, 5).Draw(t, "yes/no op") {
	case 0:
		return "(" + e() + " and " + e() + ")"
	case 1:
		return "(" + e() + " or " + e() + ")"
	case 2:
		return "not (" + e() + ")"
	}
	return "(" + number(t, depth-1) + rapid.SampledFrom([]string{" < ", " <= ", " > ", " >= ", " == ", " != "}).Draw(t, "compare") + number(t, depth-1) + ")"
}

const ground = `
axis x 0..9
axis y 0..9
given g = 2 within -9..9
given h = 0 within -9..9
given k = 1 within -9..9
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
map shifted like a = a
rule by_conditions { shifted *= 1 + g / 30 + h * k / 100 }
variant bench { }
variant other {
  wet = yes
  row = one
  trim shifted += h / 10 over x 1.. feather 1
}
`

// program writes a random program with two made maps, a map that rules change, and a
// limit over a range.
func program(t *rapid.T) string {
	var text strings.Builder
	text.WriteString(ground)
	like := rapid.SampledFrom([]string{"a", "b", "turned"})
	for i := range 2 {
		fmt.Fprintf(&text, "map made%d like %s = %s\n", i, like.Draw(t, "like"), number(t, rapid.IntRange(0, 3).Draw(t, "depth")))
	}
	fmt.Fprintf(&text, "map calm like b = 1\n")
	for i := range 3 {
		region := rapid.SampledFrom([]string{"", " over x 1..2 feather 2", " over x g.. feather 3, y ..3", " over y 2..", " over x 1.. feather (1 + abs(h))"}).Draw(t, "over")
		if rapid.Bool().Draw(t, "where") {
			region += " where x > 1 and " + yesNo(t, 2)
		}
		op := rapid.SampledFrom([]string{"=", "+=", "-=", "*=", "/="}).Draw(t, "op")
		when := rapid.SampledFrom([]string{"", "when wet", "when not wet", "when g > 1", "when h * k < 1"}).Draw(t, "when")
		fmt.Fprintf(&text, "rule r%d %s { calm %s %s%s }\n", i, when, op, number(t, 2), region)
	}
	if rapid.Bool().Draw(t, "clamp") {
		fmt.Fprintf(&text, "limit capped: calm <= %s else clamp\n", rapid.SampledFrom([]string{"3", "2 + g / 4", "h", "shifted"}).Draw(t, "cap"))
	}
	cond := rapid.SampledFrom([]string{"calm <= %s", "made0 + made1 >= %s", "abs(made0 - shifted) <= %s", "max(calm, shifted) < 3 * %s", "made1 * x + y < %s", "-9 <= calm and made0 <= %s", "calm > %s or made0 < 2", "%s > calm / 2 - x"}).Draw(t, "cond")
	where := rapid.SampledFrom([]string{"", "", " where x >= 1", " where y > g and a > 0", " where shifted > 1"}).Draw(t, "limit where")
	fmt.Fprintf(&text, "limit held_to: "+cond+"%s for g -2..4, h 0..2, k -1..1\n", number(t, rapid.IntRange(0, 1).Draw(t, "bound")), where)
	return text.String()
}

func tryLoad(text string) (*bench, []*diag.Diagnostic) {
	errs := &diag.List{}
	cp := check.Run(resolve.Load(fstest.MapFS{"tune.fettle": {Data: []byte(text)}}, errs), errs)
	p := plan.Run(cp, errs)
	var out []*diag.Diagnostic
	for _, d := range errs.Sorted() {
		if d.Severity == diag.Error {
			out = append(out, d)
		}
	}
	if len(out) > 0 {
		return nil, out
	}
	return &bench{New(eval.Lower(cp)), p}, nil
}

// within draws a number of an interval, its ends now and then.
func within(t *rapid.T, x interval.I) float64 {
	switch rapid.IntRange(0, 9).Draw(t, "end") {
	case 0:
		return x.Lo
	case 1:
		return x.Hi
	case 2:
		return x.Mid()
	}
	return rapid.Float64Range(x.Lo, x.Hi).Draw(t, "within")
}

// Whatever the evaluator computes at conditions of a box lies in what is known of the
// box: the interval and the linear part of every cell of every map, and the room of
// the limit at every place.
func TestBoxesHoldWhatTheEvaluatorComputes(t *testing.T) {
	sound, unknown, bounded := 0, 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		text := program(rt)
		x, errs := tryLoad(text)
		for _, d := range errs {
			if d.Code != "E330" && d.Code != "E502" && d.Code != "E802" && d.Code != "E703" { // a fixed part of it has no value, or it is no limit of its kind
				rt.Fatalf("%s\n%s %s: %s at %q", text, d.Code, d.Span, d.Message, d.Span.Text())
			}
		}
		if x == nil || len(x.limits) == 0 {
			return
		}
		rt.Log(text)
		l := x.limits[0]
		for _, name := range []string{"bench", "other"} {
			s, _ := x.session(nil, l, x.plan.Find(name))
			span := make([]interval.I, len(s.dims))
			size := rapid.SampledFrom([]float64{1, 0.3, 0.01, 1e-6}).Draw(rt, "size")
			for k, d := range s.dims {
				lo := rapid.Float64Range(d.Lo, d.Hi).Draw(rt, "lo")
				span[k] = interval.I{Lo: lo, Hi: min(lo+size*(d.Hi-d.Lo), d.Hi)}
			}
			if s.base = x.p.Tune(s.mix(s.at(middle(span))), s.options(l, false)); s.base.Fault != nil {
				continue
			}
			b, _ := s.box(span, l.total)
			if !b.need(l.need) {
				unknown++
				continue
			}
			room := b.judge(l, math.Inf(1))
			sound++
			if !math.IsInf(room.room, 0) {
				bounded++
			}
			for range 4 {
				values := make([]float64, len(span))
				for k := range span {
					values[k] = within(rt, span[k])
				}
				holdsCells(rt, b, l, values)
				p := &proving{session: s, l: l}
				sp := p.spot(values, false)
				for range 6 {
					g := l.cells
					at := [2]float64{0, within(rt, interval.I{Lo: g.Cols[0], Hi: g.Cols[len(g.Cols)-1]})}
					if g.RowAxis >= 0 {
						at[0] = within(rt, interval.I{Lo: g.Rows[0], Hi: g.Rows[len(g.Rows)-1]})
					}
					if l.steps {
						at[1] = rapid.SampledFrom(g.Cols).Draw(rt, "col")
						if g.RowAxis >= 0 {
							at[0] = rapid.SampledFrom(g.Rows).Draw(rt, "row")
						}
					}
					f := sp.look(values, at)
					if f.broken && room.holds {
						rt.Fatalf("%s at %v %v: it doesn't hold, %+v, but is taken to: %+v", name, values, at, f, room)
					}
					if f.part >= 0 && !l.mixed() && f.room < room.room {
						rt.Fatalf("%s at %v %v: the room is %v, but is taken to be %+v", name, values, at, f, room)
					}
				}
			}
		}
	})
	t.Log(sound, unknown, bounded)
	least := 20
	if testing.Short() {
		least = 4
	}
	if sound < least || bounded < least/2 {
		t.Errorf("only %d boxes were computed, and %d had a bound", sound, bounded)
	}
}

// mixed says that the limit has conditions without a margin.
func (l *limitCode) mixed() bool {
	for _, p := range l.parts {
		if p.cond != nil {
			return true
		}
	}
	return false
}

func holdsCells(t tester, b *box, l *limitCode, values []float64) {
	res := b.x.p.Tune(b.mix(b.at(values)), b.options(l, false))
	if res.Fault != nil {
		t.Fatalf("at %v the tune fails, %s, but was taken to have cells", values, res.Fault.Reason)
	}
	for i := range b.tables {
		if !l.need[i] {
			continue
		}
		for k := range b.tables[i].cells {
			f, v := &b.tables[i].cells[k], res.Maps[i].Cells[k]
			if !f.Has(v) {
				t.Fatalf("cell %d of %s is %v at %v, and not in %+v", k, b.x.check.Maps[i].Name, v, values, f)
			}
			// The linear part at these conditions.
			at, off := f.c, f.e+math.Abs(f.a[ownSymbol])
			for n, x := range b.span {
				if n < maxConditions && !x.IsPoint() {
					at += f.a[firstCondition+n] * (values[n] - x.Mid()) / x.Rad()
				}
			}
			if pad := 1e-13 * (math.Abs(f.c) + f.linear()); math.Abs(v-at) > off+pad {
				t.Fatalf("cell %d of %s is %v at %v, and off its line, %v to within %v: %+v", k, b.x.check.Maps[i].Name, v, values, at, off, f)
			}
		}
	}
}
