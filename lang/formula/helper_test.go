package formula_test

import (
	"math"
	"strings"
	"testing"

	"fettle/lang/diag"
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/syntax"
	"fettle/lang/unit"
)

// shop is a small workspace's names, and one tune's and one cell's values of
// them. It is the scope, the tune and the cell of these tests.
type shop struct {
	names map[string]formula.Symbol
	order []string
	axes  []string
	units []unit.Unit
	// by axis, given and map
	at, given, here []float64
	fuels           *formula.Catalog
}

func (s *shop) Find(name string) (formula.Symbol, bool) { sym, ok := s.names[name]; return sym, ok }
func (s *shop) Names() []string                         { return append([]string(nil), s.order...) }
func (s *shop) AxisName(i int) string                   { return s.axes[i] }
func (s *shop) AxisUnit(i int) unit.Unit                { return s.units[i] }
func (s *shop) Axis(i int) float64                      { return s.at[i] }
func (s *shop) Given(i int) float64                     { return s.given[i] }
func (s *shop) Row(i int) int                           { return int(s.given[i]) }
func (s *shop) Column(i, col int) float64               { return s.fuels.Values[s.Row(i)][col] }
func (s *shop) Map(m int) float64                       { return s.here[m] }

// Lookup is any plain function of the place, so that a wrong place shows.
func (s *shop) Lookup(m int, at ...float64) float64 {
	v := float64(m + 1)
	for i, x := range at {
		v += float64(x * float64(i+1))
	}
	return v
}

func (s *shop) Step(m, axis int) float64 { return float64(100*(m+1) + axis) }

func (s *shop) put(name string, sym formula.Symbol) {
	s.names[name], s.order = sym, append(s.order, name)
}

func units(t testing.TB, text string) unit.Unit {
	t.Helper()
	if text == "" {
		return unit.None
	}
	u, err := unit.Parse(text)
	if err != nil {
		t.Fatalf("unit %s: %v", text, err)
	}
	return u
}

func (s *shop) axis(t testing.TB, name, u string, at float64) {
	s.put(name, formula.Symbol{Kind: formula.SymAxis, Index: len(s.axes), Unit: units(t, u), What: "axis"})
	s.axes, s.units, s.at = append(s.axes, name), append(s.units, units(t, u)), append(s.at, at)
}

func (s *shop) condition(t testing.TB, name, u string, v float64) {
	s.put(name, formula.Symbol{Kind: formula.SymGiven, Index: len(s.given), Unit: units(t, u), What: "given"})
	s.given = append(s.given, v)
}

func (s *shop) mapOf(t testing.TB, name, u string, v float64, axes ...int) {
	s.put(name, formula.Symbol{Kind: formula.SymMap, Index: len(s.here), Unit: units(t, u), Axes: axes, What: "map"})
	s.here = append(s.here, v)
}

// function adds a function; a parameter is "x [mg]" or "x [mg] 0..10".
func (s *shop) function(t testing.TB, name, params, body string) {
	t.Helper()
	f := &formula.Fn{Name: name}
	for _, p := range strings.Split(params, ",") {
		w := strings.Fields(strings.NewReplacer("[", "", "]", "").Replace(p))
		prm := formula.FnParam{Name: w[0]}
		if len(w) > 1 && w[1] != "-" {
			prm.Unit = units(t, w[1])
		}
		if len(w) > 2 {
			lo, hi, _ := strings.Cut(w[2], "..")
			b := &formula.Bound{Lo: math.Inf(-1), Hi: math.Inf(1), Fn: name, Param: w[0], Unit: prm.Unit}
			if v, ok := syntax.Float(lo); ok {
				b.Lo = v
			}
			if v, ok := syntax.Float(hi); ok {
				b.Hi = v
			}
			prm.Bound = b
		}
		f.Params = append(f.Params, prm)
	}
	v, errs := compileIn(formula.Context{Scope: s, Params: f.Params, What: "a function"}, body)
	for _, d := range errs.Sorted() {
		t.Fatalf("fn %s = %s: %s", name, body, d.Message)
	}
	f.Body = v.Node
	s.put(name, formula.Symbol{Kind: formula.SymFn, Fn: f, What: "function"})
}

// let adds a value; with a unit it is one that was declared with a bracket.
func (s *shop) let(t testing.TB, name, u, body string) {
	t.Helper()
	v, errs := compileIn(formula.Context{Scope: s, Givens: true, What: "a `let`"}, body)
	sym := formula.Symbol{Kind: formula.SymLet, What: "value"}
	if v != nil {
		sym.Node = v.Node
		if u != "" {
			sym.United, sym.Node = true, v.As(units(t, u), name, errs)
		}
	}
	for _, d := range errs.Sorted() {
		t.Fatalf("let %s = %s: %s", name, body, d.Message)
	}
	s.put(name, sym)
}

func newShop(t testing.TB) *shop {
	t.Helper()
	s := &shop{names: map[string]formula.Symbol{}}
	s.axis(t, "throttle", "%", 40)
	s.axis(t, "rpm", "rpm", 9000)
	s.axis(t, "coolant", "degC", 80)
	s.axis(t, "gear", "", 3)
	s.condition(t, "altitude", "m", 820)
	s.condition(t, "air_temp", "degC", 20)
	s.condition(t, "oil_temp", "degF", 212)
	s.condition(t, "humidity", "%", 40)
	s.condition(t, "oil_ratio", "", 32)
	s.condition(t, "speed", "rpm", 6000)
	s.condition(t, "charge", "g", 0.5)
	s.fuels = &formula.Catalog{Name: "fuels", Rows: []string{"local91", "pump98"},
		Cols: []formula.Column{{Name: "stoich"}, {Name: "density", Unit: units(t, "kg/m^3")}, {Name: "share", Unit: unit.Percent},
			{Name: "leaded", Kind: formula.YesNoCol}, {Name: "note", Kind: formula.TextCol}},
		Values: [][]float64{{14.5, 738, 10, 0, 0}, {14.6, 745, 20, 1, 0}}}
	s.put("fuels", formula.Symbol{Kind: formula.SymCatalog, Catalog: s.fuels, What: "catalogue"})
	s.put("blend", formula.Symbol{Kind: formula.SymChoice, Index: len(s.given), Catalog: s.fuels, What: "given"})
	s.given = append(s.given, 1)
	for i, name := range []string{"wet", "cold"} {
		s.put(name, formula.Symbol{Kind: formula.SymSwitch, Index: len(s.given), What: "given"})
		s.given = append(s.given, float64(i))
	}
	for i, name := range []string{"n1", "n2", "n3", "n4", "n5", "n6", "n7", "n8", "n9"} {
		s.condition(t, name, "", float64(i+1))
	}
	s.mapOf(t, "fuel", "mg", 12, 0, 1)
	s.mapOf(t, "spark", "deg", 18, 0, 1)
	s.mapOf(t, "duty", "%", 50, 0, 1)
	s.mapOf(t, "lambda", "", 0.9, 0, 1)
	s.mapOf(t, "peak", "mg", 15, 1)
	s.mapOf(t, "metal", "degC", 120, 1)
	s.mapOf(t, "ratio_of", "", 1.5, 3)
	s.let(t, "rail", "kPa", "52 psi")
	s.let(t, "loss", "%", "3 %")
	s.let(t, "twice", "", "oil_ratio * 2")
	s.let(t, "margin", "", "2 mg + 1 mg")
	s.let(t, "high", "", "altitude > 800 m")
	s.function(t, "half", "x [mg]", "x / 2")
	s.function(t, "hot", "t [degC]", "t > 20 degC")
	s.function(t, "kelvins", "t [K]", "t / 1 K")
	s.function(t, "held", "x - 0..10", "x * 2")
	s.function(t, "blend_of", "a, b", "if a > b then a - b else a * b + b")
	bend := &formula.Curve{Name: "bend", X: []float64{0, 1, 3}, Y: []float64{2, 0.1, 10}}
	s.put("bend", formula.Symbol{Kind: formula.SymFn, What: "curve", Fn: &formula.Fn{Name: "bend",
		Params: []formula.FnParam{{Name: "battery", Unit: units(t, "V")}}, Body: formula.OfCurve(bend, units(t, "V"), units(t, "ms"), source.Span{})}})
	s.function(t, "part", "x [%]", "100 % - x")
	return s
}

// anywhere is the freest place for an expression: a cell of a map over throttle
// and rpm.
func anywhere(s *shop) formula.Context {
	return formula.Context{Scope: s, Cell: true, Maps: true, Axes: []int{0, 1}, Givens: true, What: "a formula"}
}

// noCell is the place of a `when`.
func noCell(s *shop) formula.Context {
	return formula.Context{Scope: s, Givens: true, What: "`when`"}
}

func compileIn(ctx formula.Context, text string) (*formula.Value, *diag.List) {
	errs := &diag.List{}
	e := syntax.ParseExpr(source.New("tune.fettle", text), errs)
	if errs.HasErrors() {
		return nil, errs
	}
	return formula.Compile(e, ctx, errs), errs
}

// mustCompile compiles what has no faults.
func mustCompile(t testing.TB, ctx formula.Context, text string) *formula.Value {
	t.Helper()
	v, errs := compileIn(ctx, text)
	for _, d := range errs.Sorted() {
		t.Fatalf("%s: %s %s at %q", text, d.Code, d.Message, d.Span.Text())
	}
	if v == nil {
		t.Fatalf("%s: nothing is said against it, and nothing made of it", text)
	}
	return v
}

// fault is an expression's first error: "E321 at 3".
func fault(ctx formula.Context, text string) string {
	v, errs := compileIn(ctx, text)
	for _, d := range errs.Sorted() {
		if d.Severity == diag.Error {
			return d.Code + " at " + d.Span.Text()
		}
	}
	if v == nil {
		return "nothing"
	}
	return ""
}

func same(a, b float64) bool {
	return math.Float64bits(a) == math.Float64bits(b) || a != a && b != b
}

// value computes an expression by the VM at the shop's cell and, where it needs
// no cell, by Scalar; the two must agree.
func value(t testing.TB, s *shop, n *formula.Node) (float64, error) {
	t.Helper()
	m, err := formula.CompileVM(n)
	if err != nil {
		t.Fatalf("%s: %v", n.Span.Text(), err)
	}
	got, err := m.Eval(s)
	again, err2 := m.Eval(s)
	if !same(got, again) || (err == nil) != (err2 == nil) {
		t.Fatalf("%s: %v (%v), and the second time %v (%v)", n.Span.Text(), got, err, again, err2)
	}
	if n.OnCell() {
		return got, err
	}
	x, serr := formula.Scalar(n, s)
	if (err == nil) != (serr == nil) || err == nil && !same(x, got) {
		t.Fatalf("%s: %v (%v), and by the VM %v (%v)", n.Span.Text(), x, serr, got, err)
	}
	return got, err
}
