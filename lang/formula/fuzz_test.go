package formula_test

import (
	"testing"
	"unicode/utf8"

	"fettle/lang/formula"
	"fettle/lang/source"
)

var fuzzSeeds = []string{
	"", "1", "-2 ^ 2", "2 ^ 3 ^ 2", "not a == b", "if wet then fuel else charge", "(oil_ratio + 3) * 2 mg", "1 < 2 < 3", "fuel(throttle, rpm * 2) - step(fuel, rpm)",
	"blend is pump98 and blend.stoich > 14 or not cold", "air_temp - 22 degC + 5 K", "half(3) + half(charge)", "held(held(oil_ratio))", "min(1, 2, oil_ratio) / 0 - -0", "sqrt(9 [m^2])", "(9 [cm^2]) ^ 0.5",
	"52 psi + rail", "1e308 * 10", "0 / 0 == 0 / 0", "round(2.5) + floor(-1.5) + ceil(1.5)", "part(50) + loss", "fuels.pump98.stoich", "if if wet then cold else wet then 1 else 2",
	"((((1))))", "1 +\n # (\n 2", "\"text\"", "a.b.c(d)", "[mg", "5 [mg/", "yes", "x is not y", "1_000 0x1F .5 5.", "é µm ≤ 3", "3 mm ^ 2", "over .. = %", "1 2 3", ")(", "t1 + t0", "clamp(1, 3, 2)",
	"speed ^ 2 / (1 [rpm^2])", "wet + (2345678901234567890 + 123456789012345678901234567 # é\n)", "-0 * oil_ratio", "exp(-oil_ratio) ^ log(0)",
}

// Any text at all is compiled or refused with a reason, and what is compiled is
// computed by Scalar and by the VM to the same bits.
func FuzzExpr(f *testing.F) {
	for _, s := range fuzzSeeds {
		f.Add(s)
	}
	s := newShop(f)
	places := []formula.Context{noCell(s), anywhere(s),
		{Scope: s, Cell: true, Maps: true, AnyAx: true, Givens: true, Chain: true, What: "a limit"},
		{Scope: s, Maps: true, Givens: true, Judge: true, What: "a check"},
		{Scope: s, Params: []formula.FnParam{{Name: "a"}, {Name: "b", Unit: units(f, "mg")}}, What: "a function"}}
	f.Fuzz(func(t *testing.T, text string) {
		for _, ctx := range places {
			v, errs := compileIn(ctx, text)
			if v == nil {
				if !errs.HasErrors() {
					t.Fatalf("%q: nothing is said against it in %s, and nothing made of it", text, ctx.What)
				}
				for _, d := range errs.Sorted() {
					if utf8.ValidString(text) && !utf8.ValidString(d.Message) {
						t.Fatalf("%q: %s cuts a character in two: %q", text, d.Code, d.Message)
					}
					inside(t, text, d.Span)
					for _, n := range d.Notes {
						inside(t, text, n.Span)
					}
					if d.Fix != nil {
						inside(t, text, d.Fix.Span)
					}
				}
				continue
			}
			if errs.HasErrors() {
				t.Fatalf("%q: it has errors, and something is made of it", text)
			}
			param := false
			v.Node.Walk(func(n *formula.Node) {
				param = param || n.Op == formula.Param
				if n.Span.File == v.Node.Span.File {
					inside(t, text, n.Span)
				}
			})
			if !param { // a body has no value of its own
				value(t, s, v.Node)
			}
			v.As(units(t, "mg"), "`here`", errs)
			formula.WithSlack(v.Node, 1e-9)
		}
	})
}

func inside(t *testing.T, text string, s source.Span) {
	t.Helper()
	if s.File != nil && s.File.Name == "tune.fettle" && s.File.Text == text && (s.From < 0 || s.From > s.To || s.To > len(text)) {
		t.Fatalf("%q: a place outside it, %d to %d of %d", text, s.From, s.To, len(text))
	}
}
