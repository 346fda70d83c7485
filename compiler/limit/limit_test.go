package limit

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/plan"
	"fettle/compiler/resolve"
	"fettle/lang/diag"
	"fettle/lang/formula"
)

// judge computes the tune `bench` of a source and judges it, in both ways.
func judge(t *testing.T, text string) ([]*Verdict, []*Outcome) {
	t.Helper()
	errs := &diag.List{}
	cp := check.Run(resolve.Load(fstest.MapFS{"tune.fettle": {Data: []byte(text)}}, errs), errs)
	p := plan.Run(cp, errs)
	for _, d := range errs.Sorted() {
		if d.Severity == diag.Error {
			t.Fatalf("%s\n%s %s: %s at %q", text, d.Code, d.Span, d.Message, d.Span.Text())
		}
	}
	lowered := eval.Lower(cp)
	c := New(lowered)
	tune := p.Find("bench")
	res := lowered.Tune(eval.Pure(cp, tune), eval.Options{})
	if res.Fault != nil {
		t.Fatalf("%s\n%s", text, res.Fault.Reason)
	}
	verdicts, outcomes := c.Tune(tune, res, false), c.Checks(tune, res, false)
	c.Explain(tune, res, verdicts)
	again, ref := c.Tune(tune, res, true), c.Checks(tune, res, true)
	c.Explain(tune, res, again)
	for i, v := range verdicts {
		if a, b := show(v), show(again[i]); a != b {
			t.Fatalf("%s is %s, and plainly %s", v.Limit.Name, a, b)
		}
	}
	for i, o := range outcomes {
		if o.OK != ref[i].OK || o.HasValues && !(o.Got == ref[i].Got || o.Got != o.Got) {
			t.Fatalf("%s is %+v, and plainly %+v", o.Expect.Text, o, ref[i])
		}
	}
	return verdicts, outcomes
}

// show writes a verdict: "fails 1/3 at [2]: 15 mg, 14 mg, -1".
func show(v *Verdict) string {
	out := fmt.Sprintf("%s %d/%d", v.State, v.Bad, v.Cells)
	if v.Problem != "" {
		return out + ": " + v.Problem
	}
	if v.At != nil {
		out += fmt.Sprintf(" at %v", v.At)
	}
	if v.HasMargin {
		out += fmt.Sprintf(": %.10g, %.10g, %.10g %s", v.Value, v.Bound, v.Margin, v.Unit.Text)
	}
	return out
}

func TestCompare(t *testing.T) {
	lt, le, gt, ge, eq := formula.Lt, formula.Le, formula.Gt, formula.Ge, formula.Eq
	for _, c := range []struct {
		op           formula.Op
		l, r, margin float64
		ok           bool
	}{
		{le, 14, 15, 1, true}, {le, 15, 15, 0, true}, {le, 16, 15, -1, false}, {lt, 15, 15, 0, true}, {lt, 16, 15, -1, false}, {ge, 15, 14, 1, true}, {ge, 14, 15, -1, false}, {gt, 15, 15, 0, true}, {gt, 14, 15, -1, false},
		{eq, 15, 15, 0, true}, {eq, 14, 15, -1, false}, {eq, 16, 15, -1, false},
		// One part in 10^9 of the larger side.
		{le, 1e9 + 1, 1e9, -1, true}, {le, 1e9 + 3, 1e9, -3, false}, {lt, 1e9 + 1, 1e9, -1, true}, {lt, 1e9 + 3, 1e9, -3, false}, {ge, 1e9, 1e9 + 1, -1, true}, {ge, 1e9, 1e9 + 3, -3, false},
		{gt, 1e9, 1e9 + 1, -1, true}, {gt, 1e9, 1e9 + 3, -3, false}, {eq, 1e9, 1e9 + 1, -1, true}, {eq, 1e9 + 3, 1e9, -3, false}, {le, -1e9, -1e9 - 1, -1, true}, {le, -1e9, -1e9 - 3, -3, false},
		// Beside nothing there is none.
		{le, 0, 0, 0, true}, {lt, 0, 0, 0, true}, {gt, 0, 0, 0, true}, {le, 1e-300, 0, -1e-300, false}, {ge, 0, 1e-300, -1e-300, false}, {eq, 0, 1e-300, -1e-300, false}, {eq, 0, math.Copysign(0, -1), 0, true},
	} {
		margin, ok := compare(c.op, c.l, c.r)
		if margin != c.margin || ok != c.ok {
			t.Errorf("%v %v %v: %v %v, want %v %v", c.l, c.op, c.r, margin, ok, c.margin, c.ok)
		}
	}
}

const ground = `
axis x 0..9
axis y 0..9
given g = 2
given wet = no
map m [mg] { x | 0 1 2
               | 10 12 15 }
map s [deg] { x | 0 1 2
                | 30 20 10 }
map peak [mg] { x | 0 2
                  | 20 20 }
map hot [degC] { x | 0 1 2
                   | 80 90 100 }
map share [%] { x | 0 1 2
                  | 50 60 70 }
map late [mg] { x | 0.5 3
                  | 14 19 }
map two [mg] {
  y \ x | 0 2
  0 | 1 5
  4 | 3 7
}
map tall { y | 0 1 4
             | 0 1 4 }
variant bench { }
`

func TestVerdicts(t *testing.T) {
	for _, c := range []struct{ limit, want string }{
		{"m <= 15 mg", "holds 0/3 at [2]: 15, 15, 0 mg"},
		{"m < 15", "holds 0/3 at [2]: 15, 15, 0 mg"},
		{"m <= 14", "fails 1/3 at [2]: 15, 14, -1 mg"},
		{"14 >= m", "fails 1/3 at [2]: 15, 14, -1 mg"},
		{"m >= 10.5 mg", "fails 1/3 at [0]: 10, 10.5, -0.5 mg"},
		{"10.5 mg < m", "fails 1/3 at [0]: 10, 10.5, -0.5 mg"},
		{"m <= 30", "holds 0/3 at [2]: 15, 30, 15 mg"},
		{"m == 12", "fails 2/3 at [2]: 15, 12, -3 mg"},
		{"11 <= m <= 14", "fails 2/3 at [0]: 10, 11, -1 mg"}, // both ends are missed by 1: the first cell
		{"14 >= m >= 11", "fails 2/3 at [0]: 10, 11, -1 mg"},
		{"9 < m < 17", "holds 0/3 at [0]: 10, 9, 1 mg"},
		// In the map's unit, however the bounds are written.
		{"0.011 g <= m <= 0.014 g", "fails 2/3 at [0]: 10, 11, -1 mg"},
		{"0.009 g <= m <= 17 mg", "holds 0/3 at [0]: 10, 9, 1 mg"},
		{"0.001 g <= m and m <= 15.5 mg", "holds 0/3 at [2]: 15, 15.5, 0.5 mg"},
		{"hot <= 99 degC", "fails 1/3 at [2]: 100, 99, -1 degC"},
		{"210 degF >= hot", "fails 1/3 at [2]: 100, 98.88888889, -1.111111111 degC"},
		{"hot <= 373.15 K", "holds 0/3 at [2]: 100, 100, 0 degC"},
		{"share <= 65", "fails 1/3 at [2]: 70, 65, -5 %"},
		{"m / peak <= 70 %", "fails 1/3 at [2]: 75, 70, -5 %"},
		{"70 % >= m / peak", "fails 1/3 at [2]: 75, 70, -5 %"},
		{"m / peak <= 0.7", "fails 1/3 at [2]: 0.75, 0.7, -0.05 "},
		{"m <= peak - 6 mg", "fails 1/3 at [2]: 15, 14, -1 mg"},
		{"m(x) <= 14", "fails 1/3 at [2]: 15, 14, -1 mg"},
		{"step(m, x) <= 2.5 mg", "fails 1/3 at [1]: 3, 2.5, -0.5 mg"},
		{"step(hot, x) < 10.5 K", "holds 0/3 at [0]: 10, 10.5, 0.5 K"},
		// where, when, else.
		{"m <= 14 where x < 2", "holds 0/2 at [1]: 12, 14, 2 mg"},
		{"m <= 9 where m > 11 mg", "fails 2/2 at [2]: 15, 9, -6 mg"},
		{"m <= 1 where x > 2", "not here 0/0"},
		{"m <= 14 when g > 5", "not here 0/3"},
		{"m <= 14 when g < 5", "fails 1/3 at [2]: 15, 14, -1 mg"},
		{"m <= 14 else warn", "warns 1/3 at [2]: 15, 14, -1 mg"},
		{"m <= 14 else clamp", "clamped 1/3 at [2]: 15, 14, -1 mg"},
		{"m >= 11 else clamp", "clamped 1/3 at [0]: 10, 11, -1 mg"},
		{"11 <= m <= 11.5 else clamp", "clamped 3/3 at [2]: 15, 11.5, -3.5 mg"},
		{"m <= 30 else clamp", "holds 0/3 at [2]: 15, 30, 15 mg"},
		// A condition with or, not, if has no margin.
		{"m <= 11 or m >= 15", "fails 1/3 at [1]"},
		{"m <= 12 or m >= 15", "holds 0/3 at [0]"},
		{"not m > 14", "fails 1/3 at [2]"},
		{"if x > 1 then m <= 14 else m <= 11", "fails 2/3 at [1]"},
		{"m != 12 mg", "fails 1/3 at [1]"},
		{"not m > 15", "holds 0/3 at [0]"},
		{"wet or m <= 15", "holds 0/3 at [0]"},
		// Joined by and, each has its own; what is told is of one that fails, in its unit.
		{"m <= 14 and s <= 60 deg", "fails 1/3 at [2]: 15, 14, -1 mg"},
		{"m <= 15 and s <= 29.5 deg", "fails 1/3 at [0]: 30, 29.5, -0.5 deg"},
		{"s <= 29.5 deg and m <= 15", "fails 1/3 at [0]: 30, 29.5, -0.5 deg"},
		{"m <= 20 and (wet or m <= 14)", "fails 1/3 at [2]"},
		{"m <= 14 and (wet or m <= 14)", "fails 1/3 at [2]: 15, 14, -1 mg"},
		{"m <= 20 and (wet or m <= 15)", "holds 0/3 at [2]: 15, 20, 5 mg"},
		// A limit without a finite value in a cell that it looks at fails.
		{"m / x <= 20 mg", "fails 0/3: it has no finite value in some cell"},
		{"m / x <= 20 mg where x > 0", "holds 0/2 at [1]: 12, 20, 8 mg"},
		{"held(x) * m <= 90 mg", "fails 0/3: `v` of `held` is 0, outside its range of validity 1.."},
		{"held(x) * m <= 90 mg where x >= 1", "holds 0/2 at [2]: 30, 90, 60 mg"},
		{"m <= 14 when held(g - 2) > 0", "fails 0/3: `v` of `held` is 0, outside its range of validity 1.."},
	} {
		v, _ := judge(t, ground+"fn held(v within 1..) = v\nlimit l: "+c.limit+"\n")
		if got := show(v[0]); got != c.want {
			t.Errorf("%s\n%s, want\n%s", c.limit, got, c.want)
		}
	}
}

// A limit is looked at in every crossing of the breakpoints of the maps that it
// names, wherever it names them; of cells that are equally bad the first counts.
func TestUnion(t *testing.T) {
	for _, c := range []struct{ limit, want string }{
		{"m <= late", "holds 0/5 at [2]: 15, 17, 2 mg"}, // 0 0.5 1 2 3: late holds its edge, m too
		{"m < late - 1.5 mg", "holds 0/5 at [2]: 15, 15.5, 0.5 mg"},
		{"late - m >= 2.5 mg", "fails 1/5 at [2]: 2, 2.5, -0.5 mg"}, // 4 3 3 2 4
		{"late(x) - m >= 2.5 mg", "fails 1/5 at [2]: 2, 2.5, -0.5 mg"},
		{"m <= 14 mg where late > 14 mg", "fails 2/3 at [2]: 15, 14, -1 mg"}, // looked at in 1, 2 and 3
		{"two <= 6 mg", "fails 1/4 at [4 2]: 7, 6, -1 mg"},
		{"two <= 6 mg and m >= 0 mg", "fails 1/6 at [4 2]: 7, 6, -1 mg"},
		{"two + tall * 1 mg <= 9.5 mg", "fails 1/6 at [4 2]: 11, 9.5, -1.5 mg"}, // rows 0 1 4
		{"m + tall * 1 mg <= 18 mg", "fails 1/9 at [2 4]: 19, 18, -1 mg"},       // no map over both: x first, as m is
		{"peak <= 19 mg", "fails 2/2 at [0]: 20, 19, -1 mg"},
		{"19 mg <= peak <= 20 mg", "holds 0/2 at [0]: 20, 20, 0 mg"},
		{"two(y, 2) <= 6 mg", "fails 2/4 at [4 0]: 7, 6, -1 mg"},
	} {
		v, _ := judge(t, ground+"limit l: "+c.limit+"\n")
		if got := show(v[0]); got != c.want {
			t.Errorf("%s\n%s, want\n%s", c.limit, got, c.want)
		}
	}
}

// A verdict tells of each of its cells.
func TestAtCell(t *testing.T) {
	v, _ := judge(t, ground+"limit l: two <= 6 mg and m >= 11 mg where x < 2\n")
	x, y := v[0].Limit.Axes[1], v[0].Limit.Axes[0]
	for _, c := range []struct {
		axes []int
		at   []float64
		want Here
	}{
		{[]int{y, x}, []float64{4, 1}, Here{Looks: true, Holds: true, HasMargin: true, Value: 5, Bound: 6, Margin: 1}},
		{[]int{x, y}, []float64{1, 4}, Here{Looks: true, Holds: true, HasMargin: true, Value: 5, Bound: 6, Margin: 1}},
		{[]int{y, x}, []float64{0, 0}, Here{Looks: true, HasMargin: true, Value: 10, Bound: 11, Margin: -1}},
		{[]int{y, x}, []float64{0, 2}, Here{}}, {[]int{y, x}, []float64{0, 0.5}, Here{}}, {[]int{x}, []float64{1}, Here{}},
	} {
		got := v[0].AtCell(c.axes, c.at)
		if c.want.HasMargin {
			if got.Unit.Text != "mg" {
				t.Errorf("at %v it is in [%s]", c.at, got.Unit.Text)
			}
			got.Unit = c.want.Unit
		}
		if fmt.Sprint(got) != fmt.Sprint(c.want) {
			t.Errorf("at %v: %+v, want %+v", c.at, got, c.want)
		}
	}
	if v[0].AtNoCell() {
		t.Error("it looks at cells")
	}
	v, _ = judge(t, ground+"limit l: m <= 6 mg where x > 5\nlimit k: m <= 6 mg when wet\n")
	if !v[0].AtNoCell() || v[1].AtNoCell() || v[1].AtCell(v[1].Limit.Axes, []float64{0}).Looks {
		t.Error("a `where` that holds nowhere, and a `when` that doesn't hold")
	}
}

// pushes writes a blame: "base 5, rule a 2 (-3), rule b -2 (-4): rule b".
func pushes(v *Verdict) string {
	if v.Blame == nil {
		return "none"
	}
	var out []string
	for i, p := range v.Blame.Pushes {
		s := fmt.Sprintf("%s %.10g", p.Name, p.After)
		if i > 0 {
			s += fmt.Sprintf(" (%.10g)", p.Change)
		}
		out = append(out, s)
	}
	return strings.Join(out, ", ") + ": " + v.Blame.Pushes[v.Blame.Main].Name
}

// What pushed the worst cell there, worked by hand: the margin under a bound of
// 15 after the base and after each rule that applies.
func TestBlame(t *testing.T) {
	for _, c := range []struct{ base, rules, limit, want string }{
		{"10", "rule a { m += 3 }\nrule b { m += 4 }", "m <= 15", "base 5, rule a 2 (-3), rule b -2 (-4): rule b"},
		{"10", "rule a { m += 6 }\nrule b { m += 1 }", "m <= 15", "base 5, rule a -1 (-6), rule b -2 (-1): rule a"},
		{"10", "rule a { m += 6 }\nrule b { m -= 3 }\nrule c { m += 4 }", "m <= 15", "base 5, rule a -1 (-6), rule b 2 (3), rule c -2 (-4): rule c"}, // the last to cross
		{"10", "rule a when wet { m += 6 }\nrule b { m += 7 }", "m <= 15", "base 5, rule b -2 (-7): rule b"},
		{"10", "rule a {\n m += 3\n m += 3\n}", "m <= 15", "base 5, rule a -1 (-6): rule a"},
		{"10", "rule a { s += 1 }\nrule b { m += 6 }", "m <= 15", "base 5, rule a 5 (0), rule b -1 (-6): rule b"},
		{"10", "rule a { m -= 6 }", "m >= 5", "base 5, rule a -1 (-6): rule a"},
		// The base is past it already: it is to blame, whatever rules add.
		{"16", "", "m <= 15", "base -1: base"},
		{"16", "rule a { m += 0.5 }", "m <= 15", "base -1, rule a -1.5 (-0.5): base"},
		{"16", "rule a { m += 0.5 }\nrule b { m += 3 }\nrule c { m += 2 }", "m <= 15", "base -1, rule a -1.5 (-0.5), rule b -4.5 (-3), rule c -6.5 (-2): base"},
		{"16", "rule a { m -= 3 }\nrule b { m += 4 }", "m <= 15", "base -1, rule a 2 (3), rule b -2 (-4): rule b"},
		// By way of another map, of a rule of half weight, of a trim, of a clamp.
		{"10", "rule a { m += 6 }\nmap made [mg] like m = m * 2", "made <= 30 mg", "base 10, rule a -2 (-12): rule a"},
		{"10", "rule a { m += 12 over x 1.. feather 2 }", "m <= 15 where x < 1", "base 5, rule a -1 (-6): rule a"},
		{"10", "rule a { m += 3 }\nTRIM m += 3", "m <= 15", "base 5, rule a 2 (-3), trim -1 (-3): trim"},
		{"10", "rule a { m += 3 }\nlimit k: m >= 17 mg else clamp", "m <= 15", "base 5, rule a 2 (-3), clamp k -2 (-4): clamp k"},
		{"10", "rule a { m += 8 }\nlimit k: m <= 16 mg else clamp", "m <= 15", "base 5, rule a -3 (-8), clamp k -1 (2): rule a"},
		// Of several comparisons the one that fails in the end is followed.
		{"10", "rule a { m += 4 }\nrule b { s += 20 }", "m <= 15 and s <= 49 deg", "base 19, rule a 19 (0), rule b -1 (-20): rule b"},
		{"10", "rule a { m += 6 }", "m <= 15 or wet", "none"},
		{"10", "rule a { m += 5 }", "m <= 15", "none"},
		{"10", "rule a { m += 6 }", "m <= 15 else warn", "base 5, rule a -1 (-6): rule a"},
	} {
		text := "axis x 0..9\ngiven wet = no\nmap m [mg] { x | 0 9\n | " + c.base + " " + c.base + " }\nmap s [deg] { x | 0 9\n | 30 30 }\n"
		trim := ""
		if at := strings.Index(c.rules, "\nTRIM"); at >= 0 {
			c.rules, trim = c.rules[:at], "trim"+c.rules[at+len("\nTRIM"):]
		}
		v, _ := judge(t, text+c.rules+"\nvariant bench { "+trim+" }\nlimit l: "+c.limit+"\n")
		if got := pushes(v[len(v)-1]); got != c.want {
			t.Errorf("%s; %s; %s\n%s, want\n%s", c.base, c.rules, c.limit, got, c.want)
		}
	}
}

func TestBlameNamesPlaces(t *testing.T) {
	v, _ := judge(t, "axis x 0..9\nmap m { x | 0 9\n | 10 10 }\nrule a { m += 3 }\nvariant bench { trim m += 4 }\nlimit l: m <= 15\n")
	b := v[0].Blame
	if len(b.Pushes) != 3 || b.Pushes[1].Rule.Name != "a" || b.Pushes[1].Step.Span.Text() != "m += 3" || b.Pushes[2].Rule != nil || b.Pushes[2].Step.Span.Text() != "trim m += 4" {
		t.Errorf("%+v", b.Pushes)
	}
}

func TestChecks(t *testing.T) {
	for _, c := range []struct {
		expect string
		ok     bool
	}{
		{"m(2) == 15 mg", true}, {"m(2) == 15", true}, {"m(2) == 0.015 g", true}, {"m(2) == 15.0001 mg", false}, {"m(2) == 15.00004 mg", true}, {"m(2) == 14.99996 mg", true}, {"m(2) == 14.9999 mg", false},
		{"m(2) == 16 mg +- 1 mg", true}, {"m(2) == 16.1 mg +- 1 mg", false}, {"m(2) == 16 mg +- 1", true}, {"m(2) == 16 +- 0.001 g", true}, {"m(2) == 20 mg +- 25 %", true}, {"m(2) == 20 mg +- 24.9 %", false},
		{"m(2) == 12 mg +- 25 %", true}, {"m(2) == 12 mg +- 24 %", false}, {"-m(2) == -20 mg +- 25 %", true}, {"hot(0) == 81 degC +- 1", true}, {"hot(0) == 81 degC +- 1 K", true}, {"hot(0) == 176 degF", true}, {"hot(0) == 81.1 degC +- 1 K", false},
		{"m(0) - 10 mg == 0 mg", true}, {"m(0) - 9.9999999 mg == 0 mg", false}, {"m(0) - m(0) == 0 mg", true}, {"g / 2e13 == 0", true}, {"g / 2e11 == 0", false},
		{"m(0) < 10.5", true}, {"m(0) < 10", false}, {"m(0) <= 10 mg", true}, {"m(0) != 10 mg", false}, {"m(0) > 9.9999999999", true}, {"not wet", true}, {"wet", false}, {"g == 2 and not wet", true}, {"m(0) == 10.00001 mg and not wet", false},
		{"share(1) == 60 %", true}, {"share(1) == m(0) / 20 mg", false}, {"share(0) == m(0) / 20 mg", true}, {"1 / (g - 2) == 1", false}, {"0 / (g - 2) == 0", false}, {"held(g - 2) == 0", false}, {"held(g) == 2", true},
		{"m(0.5) == 11 mg", true}, {"two(4, 1) == 5 mg", true}, {"g * 61728.2 == 123456", true}, {"g * 61728.3 == 123456", false}, {"g * 49999.98 == 100000", true},
	} {
		_, out := judge(t, ground+"fn held(v within 1..) = v\ncheck \"c\" with bench { "+c.expect+" }\ncheck \"not here\" with far { 1 == 2 }\nvariant far { g = 3 }\n")
		if len(out) != 1 || out[0].OK != c.ok {
			t.Errorf("%s: %d outcomes, the first %+v", c.expect, len(out), out[0])
		}
	}
	_, out := judge(t, ground+"fn held(v within 1..) = v\ncheck \"c\" with b* {\n m(2) == 0.016 g +- 1 mg\n held(g - 2) == 0\n wet\n}\n")
	if len(out) != 3 || out[0].Got != 15 || out[0].Want != 16 || out[0].Unit.Text != "mg" || !out[0].HasValues || !strings.Contains(out[1].Problem, "held") || out[2].HasValues {
		t.Errorf("%+v %+v %+v", out[0], out[1], out[2])
	}
}

func TestSixDigits(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		got, want float64
		same      bool
	}{
		{1, 1, true}, {1.0000049, 1, true}, {1.000006, 1, false}, {0.9999951, 1, true}, {0.99999, 1, false}, {123456.5, 123456, true}, {123456.51, 123456, false}, {-1.0000049, -1, true}, {1, -1, false},
		{9.9e-13, 0, true}, {-9.9e-13, 0, true}, {1e-12, 0, false}, {0, 1e-20, false}, {nan, 1, false}, {1, nan, false}, {nan, nan, false}, {math.Inf(1), 1, false}, {1e-20, 1.0000049e-20, true}, {3.33333333, 3.33333, true}, {0.0123457, 0.01234565, true},
	} {
		if got := sixDigits(c.got, c.want); got != c.same {
			t.Errorf("%v for %v: %v", c.got, c.want, got)
		}
	}
}

// Near a point a verdict tells of the nearest cells that the limit looks at, and
// of those of the one with the least room.
func TestNear(t *testing.T) {
	v, _ := judge(t, ground+"limit l: two <= 6 mg where y > 0\n")
	x, y := v[0].Limit.Axes[1], v[0].Limit.Axes[0]
	for _, c := range []struct {
		axes  []int
		at    []float64
		value float64
		where []float64
	}{
		{[]int{x, y}, []float64{0.9, 3.5}, 3, []float64{4, 0}},
		{[]int{y}, []float64{3.9}, 7, []float64{4, 2}},
		{[]int{x, y}, []float64{2, 0}, 0, nil}, // not looked at
	} {
		got, where := v[0].Near(c.axes, c.at)
		if got.Looks != (c.where != nil) || got.Value != c.value || !slices.Equal(where, c.where) {
			t.Errorf("near %v of %v: %+v at %v", c.at, c.axes, got, where)
		}
	}
}
