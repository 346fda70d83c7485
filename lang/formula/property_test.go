package formula_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fettle/lang/formula"
)

// expressions writes random expressions that are right in all but their values.
// Each production gives a text and how tightly it binds, so that parentheses
// stand where they must and, now and then, where they may.
type expressions struct {
	t    *rapid.T
	cell bool // axes and maps may stand there
}

// How tightly the operators bind, loosest first.
const (
	bindIf = iota
	bindOr
	bindAnd
	bindNot
	bindCompare
	bindSum
	bindProduct
	bindSign
	bindPower
	bindLeaf
)

type written struct {
	text string
	bind int
}

func (g *expressions) pick(list ...string) string { return rapid.SampledFrom(list).Draw(g.t, "pick") }

func (g *expressions) chance(percent int) bool {
	return rapid.IntRange(0, 99).Draw(g.t, "chance") < percent
}

// under puts an operand beneath an operator.
func (g *expressions) under(w written, least int) string {
	if w.bind < least || g.chance(15) {
		return g.pick("(", "( ", "(\n  ") + w.text + g.pick(")", " )", "\n)", " # (why)\n)")
	}
	return w.text
}

func (g *expressions) joined(a written, op string, b written, bind int) written {
	left, right := bind, bind+1
	switch bind {
	case bindCompare:
		left = bind + 1
	case bindPower:
		left, right = bind+1, bindSign
	}
	return written{g.under(a, left) + g.pick(" ", "  ") + op + g.pick(" ", " ", "\n  ") + g.under(b, right), bind}
}

func (g *expressions) branch(depth int, of func(int) written) written {
	return written{"if " + g.under(g.yesNo(depth), bindOr) + " then " + of(depth).text + " else " + of(depth).text, bindIf}
}

func (g *expressions) call(name string, args ...written) written {
	texts := make([]string, len(args))
	for i, a := range args {
		texts[i] = a.text
	}
	return written{name + g.pick("(", " (", "( ") + strings.Join(texts, g.pick(", ", ",\n  ")) + g.pick(")", " )"), bindLeaf}
}

func (g *expressions) leaf(list ...string) written { return written{g.pick(list...), bindLeaf} }

func (g *expressions) number() string {
	return g.pick("0", "1", "2", "3", "0.5", "2.5", "7", "10", "1e3", "0.1", "1.25e-3", "12.75")
}

func (g *expressions) negative(w written) written {
	text := g.under(w, bindSign)
	if text[0] == '-' { // two of them would be something else
		return written{"- " + text, bindSign}
	}
	return written{"-" + g.pick("", " ") + text, bindSign}
}

// plain is a plain number.
func (g *expressions) plain(depth int) written {
	if depth <= 0 {
		if g.cell && g.chance(30) {
			return g.leaf("lambda", "lambda(throttle, rpm)")
		}
		if g.chance(40) {
			return written{g.number(), bindLeaf}
		}
		return g.leaf("oil_ratio", "twice", "n1", "n3", "fuels.pump98.stoich", "blend.stoich", "3", "2.5")
	}
	d := depth - 1
	switch rapid.IntRange(0, 14).Draw(g.t, "plain") {
	case 0, 1:
		return g.joined(g.plain(d), g.pick("+", "-"), g.plain(d), bindSum)
	case 2, 3:
		return g.joined(g.plain(d), g.pick("*", "/"), g.plain(d), bindProduct)
	case 4:
		return g.joined(g.plain(d), "^", g.plain(d), bindPower)
	case 5:
		return g.negative(g.plain(d))
	case 6:
		return g.joined(g.mass(d), "/", g.mass(d), bindProduct)
	case 7:
		return g.call(g.pick("min", "max"), g.plain(d), g.plain(d), g.plain(d))
	case 8:
		return g.call("clamp", g.plain(d), written{"oil_ratio", bindLeaf}, g.plain(d))
	case 9:
		return g.call(g.pick("abs", "sqrt", "exp", "log", "round", "floor", "ceil"), g.plain(d))
	case 10:
		if g.chance(50) {
			return g.call("held", g.joined(g.leaf("oil_ratio", "n1"), g.pick("+", "-"), g.plain(d), bindSum)) // what is fixed would be refused at once
		}
		return g.call("blend_of", g.plain(d), g.plain(d))
	case 11:
		return g.call("kelvins", g.point(d))
	case 13:
		return g.joined(g.call("bend", g.joined(g.plain(d), "*", written{"1 V", bindLeaf}, bindProduct)), "/", written{"1 ms", bindLeaf}, bindProduct)
	case 12:
		return g.joined(g.kelvins(d), "/", written{"1 K", bindLeaf}, bindProduct)
	}
	return g.branch(d, g.plain)
}

// mass is a quantity of mass.
func (g *expressions) mass(depth int) written {
	if depth <= 0 {
		if g.cell && g.chance(40) {
			return g.leaf("fuel", "peak", "step(fuel, rpm)", "step(peak, rpm)")
		}
		return g.leaf("charge", "margin", "3 mg", "0.2 g", "1.5 [oz]", "0 mg")
	}
	d := depth - 1
	switch rapid.IntRange(0, 8).Draw(g.t, "mass") {
	case 0, 1:
		return g.joined(g.mass(d), g.pick("+", "-"), g.mass(d), bindSum)
	case 2:
		return g.joined(g.mass(d), g.pick("*", "/"), g.plain(d), bindProduct)
	case 3:
		return g.joined(g.plain(d), "*", g.mass(d), bindProduct)
	case 4:
		return g.negative(g.mass(d))
	case 5:
		return g.call(g.pick("min", "max"), g.mass(d), g.mass(d))
	case 6:
		return g.call("half", g.mass(d))
	case 7:
		if g.cell {
			return g.call("fuel", g.ratio(d), g.speed(d))
		}
		return g.call("abs", g.mass(d))
	}
	return g.branch(d, g.mass)
}

// ratio is a ratio in per cent.
func (g *expressions) ratio(depth int) written {
	if depth <= 0 {
		if g.cell && g.chance(40) {
			return g.leaf("throttle", "duty")
		}
		return g.leaf("humidity", "loss", "blend.share", "3 %", "12.5%", "40 %")
	}
	switch rapid.IntRange(0, 3).Draw(g.t, "ratio") {
	case 0:
		return g.joined(g.ratio(depth-1), g.pick("+", "-"), g.ratio(depth-1), bindSum)
	case 1:
		return g.call("part", g.ratio(depth-1))
	case 2:
		return g.call("max", g.ratio(depth-1), g.ratio(depth-1))
	}
	return g.branch(depth-1, g.ratio)
}

func (g *expressions) speed(depth int) written {
	if depth <= 0 {
		if g.cell && g.chance(40) {
			return g.leaf("rpm")
		}
		return g.leaf("speed", "9000 rpm", "10 [rev/s]", "360 [deg/s]")
	}
	if g.chance(50) {
		return g.joined(g.speed(depth-1), g.pick("*", "/"), g.plain(depth-1), bindProduct)
	}
	return g.joined(g.speed(depth-1), g.pick("+", "-"), g.speed(depth-1), bindSum)
}

// point is a temperature on a scale.
func (g *expressions) point(depth int) written {
	if depth <= 0 {
		if g.cell && g.chance(40) {
			return g.leaf("metal", "metal(rpm)")
		}
		return g.leaf("air_temp", "oil_temp", "20 degC", "-40 degC", "68.5 degF", "0 degF")
	}
	switch rapid.IntRange(0, 3).Draw(g.t, "point") {
	case 0:
		return g.joined(g.point(depth-1), g.pick("+", "-"), g.kelvins(depth-1), bindSum)
	case 1:
		return g.joined(g.kelvins(depth-1), "+", g.point(depth-1), bindSum)
	case 2:
		return g.call(g.pick("min", "max"), g.point(depth-1), g.point(depth-1))
	}
	return g.branch(depth-1, g.point)
}

// kelvins is a difference of two temperatures.
func (g *expressions) kelvins(depth int) written {
	if depth <= 0 {
		return g.leaf("5 K", "0.5 K", "300 K")
	}
	if g.chance(60) {
		return g.joined(g.point(depth-1), "-", g.point(depth-1), bindSum)
	}
	return g.joined(g.kelvins(depth-1), "*", g.plain(depth-1), bindProduct)
}

func (g *expressions) yesNo(depth int) written {
	if depth <= 0 {
		if g.chance(30) {
			return written{"blend is " + g.pick("pump98", "local91", "fuels.local91"), bindCompare}
		}
		return g.leaf("wet", "cold", "high", "blend.leaded", "fuels.pump98.leaded")
	}
	d := depth - 1
	compare := []string{"<", "<=", ">", ">=", "==", "!="}
	switch rapid.IntRange(0, 8).Draw(g.t, "yes/no") {
	case 0:
		return g.joined(g.plain(d), g.pick(compare...), g.plain(d), bindCompare)
	case 1:
		return g.joined(g.mass(d), g.pick(compare...), g.mass(d), bindCompare)
	case 2:
		return g.joined(g.point(d), g.pick(compare...), g.point(d), bindCompare)
	case 3:
		return g.joined(g.ratio(d), g.pick(compare...), g.ratio(d), bindCompare)
	case 4:
		return written{"not " + g.under(g.yesNo(d), bindNot), bindNot}
	case 5:
		return g.joined(g.yesNo(d), "and", g.yesNo(d), bindAnd)
	case 6:
		return g.joined(g.yesNo(d), "or", g.yesNo(d), bindOr)
	case 7:
		return g.call("hot", g.point(d))
	}
	return g.branch(d, g.yesNo)
}

func (g *expressions) any() string {
	depth := rapid.IntRange(0, 5).Draw(g.t, "depth")
	of := rapid.SampledFrom([]func(int) written{g.plain, g.mass, g.ratio, g.speed, g.point, g.kelvins, g.yesNo}).Draw(g.t, "kind")
	return of(depth).text
}

// shake gives the shop's conditions and cell other values.
func shake(t *rapid.T, s *shop) {
	v := rapid.SampledFrom([]float64{0, 1, 2, 3, 0.5, -1, 40, 1e-3, 1e6, math.Inf(1), math.Copysign(0, -1)})
	for _, name := range s.order {
		switch sym := s.names[name]; sym.Kind {
		case formula.SymGiven:
			s.given[sym.Index] = v.Draw(t, "given")
		case formula.SymSwitch, formula.SymChoice:
			s.given[sym.Index] = float64(rapid.IntRange(0, 1).Draw(t, "switch"))
		}
	}
	for i := range s.at {
		s.at[i] = v.Draw(t, "axis")
	}
	for i := range s.here {
		s.here[i] = v.Draw(t, "map")
	}
}

// Right expressions compile, and the ways of computing them agree bit for bit.
func TestTheEvaluatorsAgree(t *testing.T) {
	s := newShop(t)
	given := append([]float64(nil), s.given...)
	rapid.Check(t, func(t *rapid.T) {
		copy(s.given, given)
		g := &expressions{t, rapid.Bool().Draw(t, "cell")}
		text := g.any()
		ctx := noCell(s)
		if g.cell {
			ctx = anywhere(s)
		}
		v, errs := compileIn(ctx, text)
		for _, d := range errs.Sorted() {
			t.Fatalf("%s\n%s: %s at %q", text, d.Code, d.Message, d.Span.Text())
		}
		m, err := formula.CompileVM(v.Node)
		if err != nil {
			t.Fatalf("%s\n%v", text, err)
		}
		for range 3 {
			shake(t, s)
			got, err := m.Eval(s)
			want, werr := plainly(s, v.Node)
			if !same(got, want) && err == nil || !sameFault(err, werr) {
				t.Fatalf("%s\nby the VM %v (%v), plainly %v (%v)", text, got, err, want, werr)
			}
			if v.Node.OnCell() {
				continue
			}
			if x, serr := formula.Scalar(v.Node, s); !same(x, want) && serr == nil || !sameFault(serr, werr) {
				t.Fatalf("%s\nby Scalar %v (%v), plainly %v (%v)", text, x, serr, want, werr)
			}
		}
	})
}

func sameFault(a, b error) bool {
	var x, y *formula.OutOfRange
	if !errors.As(a, &x) || !errors.As(b, &y) {
		return a == nil && b == nil
	}
	return x.Bound == y.Bound && same(x.Value, y.Value)
}

// plainly computes a tree in the plainest way there is: what is asked first,
// left before right, nothing remembered.
func plainly(s *shop, n *formula.Node) (float64, error) {
	switch n.Op {
	case formula.Const:
		return n.Val, nil
	case formula.AxisVal:
		return s.at[n.A], nil
	case formula.GivenVal, formula.GivenYes:
		return s.given[n.A], nil
	case formula.GivenCol:
		return s.Column(n.A, n.B), nil
	case formula.GivenIs:
		if s.Row(n.A) == n.B {
			return 1, nil
		}
		return 0, nil
	case formula.MapHere:
		return s.here[n.A], nil
	case formula.StepOf:
		return s.Step(n.A, n.B), nil
	}
	kids := make([]float64, len(n.Kids))
	for i, k := range n.Kids {
		skip := n.Op == formula.And && i == 1 && kids[0] == 0 || n.Op == formula.Or && i == 1 && kids[0] != 0 ||
			n.Op == formula.If && (i == 1 && kids[0] == 0 || i == 2 && kids[0] != 0)
		if skip {
			continue
		}
		var err error
		if kids[i], err = plainly(s, k); err != nil {
			return 0, err
		}
	}
	switch n.Op {
	case formula.MapAt:
		return s.Lookup(n.A, kids...), nil
	case formula.Convert:
		return n.Conv.Apply(kids[0]), nil
	case formula.CurveAt:
		return n.Curve.At(kids[0]), nil
	case formula.Within:
		if !(kids[0] >= n.Range.Lo && kids[0] <= n.Range.Hi) {
			return 0, &formula.OutOfRange{Bound: n.Range, Value: kids[0], Node: n}
		}
		return kids[0], nil
	}
	return formula.Apply(n.Op, kids), nil
}

// The text under each node's place, taken by itself, means what the node means;
// and of a name that isn't there exactly that name is told.
func TestPlaces(t *testing.T) {
	s := newShop(t)
	rapid.Check(t, func(t *rapid.T) {
		text := (&expressions{t, true}).any()
		v, errs := compileIn(anywhere(s), text)
		for _, d := range errs.Sorted() {
			t.Fatalf("%s\n%s: %s at %q", text, d.Code, d.Message, d.Span.Text())
		}
		var names []*formula.Node
		v.Node.Walk(func(n *formula.Node) {
			if n.Span.File != v.Node.Span.File {
				return // in the body of a function or a value
			}
			if n.Span.From < 0 || n.Span.From >= n.Span.To || n.Span.To > len(text) {
				t.Fatalf("%s\na node stands at %d to %d of %d", text, n.Span.From, n.Span.To, len(text))
			}
			if _, ok := s.names[n.Span.Text()]; ok && len(n.Kids) == 0 && n.Op != formula.Const {
				names = append(names, n)
			}
			alone, errs := compileIn(anywhere(s), n.Span.Text())
			for _, d := range errs.Sorted() {
				t.Fatalf("%s\nthe part %q\n%s: %s", text, n.Span.Text(), d.Code, d.Message)
			}
			if alone.Node.Type.Kind == formula.Quantity {
				alone.Node = formula.ConvertTo(alone.Node, n.Type.Unit)
			}
			got, err := plainly(s, n)
			want, werr := plainly(s, alone.Node)
			if n.Type.Kind != alone.Node.Type.Kind || n.Op != formula.Within && err == nil && (werr != nil || !same(got, want)) {
				t.Fatalf("%s\nthe part %q is %v %s, and alone it is %v %s (%v)", text, n.Span.Text(), got, n.Type.Unit.Text, want, alone.Node.Type.Unit.Text, werr)
			}
		})
		if len(names) == 0 {
			return
		}
		at := rapid.SampledFrom(names).Draw(t, "name").Span
		wrong := text[:at.From] + "qqqqqq" + text[at.To:]
		_, errs = compileIn(anywhere(s), wrong)
		if got := errs.Sorted(); len(got) != 1 || got[0].Code != "E316" || got[0].Span.From != at.From || got[0].Span.Text() != "qqqqqq" {
			t.Fatalf("%s\n%s", wrong, fmt.Sprint(got))
		}
	})
}
