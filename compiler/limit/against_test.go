package limit

import (
	"fmt"
	"math"
	"testing"
	"testing/fstest"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/plan"
	"fettle/compiler/resolve"
	"fettle/lang/diag"
)

// against writes what two texts of one limit come to: "eased 2, fewer 1; as it
// was: fails 1/3 …".
func against(t *testing.T, old, new string) string {
	t.Helper()
	a, _ := judge(t, ground+old+"\n")
	b, _ := judge(t, ground+new+"\n")
	x := Compare(a[0], b[0], nil)
	if !x.Known {
		return "not known"
	}
	out := ""
	for _, n := range []struct {
		word string
		n    int
	}{{"eased", x.Eased}, {"tighter", x.Tighter}, {"fewer", x.Fewer}, {"more", x.More}} {
		if n.n > 0 {
			out += fmt.Sprintf("%s %d, ", n.word, n.n)
		}
	}
	if x.AsItWas == nil {
		return out + "of old nothing"
	}
	return out + "as it was: " + show(x.AsItWas)
}

func TestCompareVerdicts(t *testing.T) {
	for _, c := range []struct{ old, new, want string }{
		{"limit l: m <= 15", "limit l: m <= 15", "as it was: holds 0/3 at [2]: 15, 15, 0 mg"},
		{"limit l: m <= 14", "limit l: m <= 16", "eased 3, as it was: fails 1/3 at [2]: 15, 14, -1 mg"},
		{"limit l: m <= 16", "limit l: m <= 14", "tighter 3, as it was: holds 0/3 at [2]: 15, 16, 1 mg"},
		{"limit l: m >= 11", "limit l: m >= 9", "eased 3, as it was: fails 1/3 at [0]: 10, 11, -1 mg"},
		{"limit l: m >= 9", "limit l: m >= 11", "tighter 3, as it was: holds 0/3 at [0]: 10, 9, 1 mg"},
		{"limit l: 11 <= m", "limit l: 9 <= m", "eased 3, as it was: fails 1/3 at [0]: 10, 11, -1 mg"},
		{"limit l: 14 >= m", "limit l: 16 >= m", "eased 3, as it was: fails 1/3 at [2]: 15, 14, -1 mg"},
		{"limit l: 9 <= m <= 20", "limit l: 10 <= m <= 21", "eased 3, tighter 3, as it was: holds 0/3 at [0]: 10, 9, 1 mg"},
		{"limit l: m == 12", "limit l: m == 15", "eased 3, as it was: fails 2/3 at [2]: 15, 12, -3 mg"},
		// The same bound in another unit is the same, or written in another way.
		{"limit l: m <= 14 mg", "limit l: 14 mg > m", "as it was: fails 1/3 at [2]: 15, 14, -1 mg"},
		{"limit l: m <= 14 mg", "limit l: m <= 0.014 g", "as it was: fails 1/3 at [2]: 15, 14, -1 mg"},
		{"limit l: m / peak <= 70 %", "limit l: m / peak <= 72 %", "eased 3, as it was: fails 1/3 at [2]: 75, 70, -5 %"},
		{"limit l: m / peak <= 0.7", "limit l: m / peak <= 72 %", "eased 3, as it was: fails 1/3 at [2]: 0.75, 0.7, -0.05 "},
		// Of a bound that follows the axis some cells may ease.
		{"limit l: m <= 14 mg + x * 0.5 mg", "limit l: m <= 15 mg", "eased 2, as it was: holds 0/3 at [2]: 15, 15, 0 mg"},
		{"limit l: m <= 14 mg where x < 2", "limit l: m <= 14 mg where x < 1", "fewer 1, as it was: holds 0/1 at [0]: 10, 14, 4 mg"},
		{"limit l: m <= 14 mg where x < 1", "limit l: m <= 14 mg where x < 2", "more 1, as it was: holds 0/1 at [0]: 10, 14, 4 mg"},
		{"limit l: m <= 14 mg", "limit l: m <= 14 mg else warn", "as it was: fails 1/3 at [2]: 15, 14, -1 mg"},
		{"limit l: m <= 14 mg else warn", "limit l: m <= 16 mg", "eased 3, as it was: warns 1/3 at [2]: 15, 14, -1 mg"},
		{"limit l: m <= 14 mg else clamp", "limit l: m <= 15 mg else clamp", "eased 3, as it was: clamped 1/3 at [2]: 15, 14, -1 mg"},
		// What fails is told before what has less room.
		{"limit l: m <= 14 and s <= 30 deg", "limit l: m <= 15 and s <= 30 deg", "eased 3, as it was: fails 1/3 at [2]: 15, 14, -1 mg"},
		{"limit l: let_bound >= m\nlet let_bound [mg] = 14", "limit l: let_bound >= m\nlet let_bound [mg] = 16", "eased 3, as it was: fails 1/3 at [2]: 15, 14, -1 mg"},
		// A bound that reads a map can't be put beside the new side's values.
		{"limit l: m <= late", "limit l: m <= late", "of old nothing"},
		{"limit l: m <= late", "limit l: m <= late + 1 mg", "not known"},
		{"limit l: m <= 14", "limit l: m >= 14", "not known"},
		{"limit l: m <= 14", "limit l: m + 0 mg <= 14 mg", "not known"},
		{"limit l: m <= 14", "limit l: m <= 14 and s <= 30 deg", "not known"},
		{"limit l: m <= 14 or wet", "limit l: m <= 14 or wet", "not known"},
		{"limit l: m <= 14", "limit l: m <= 14 when g > 5", "not known"},
		{"limit l: m / x <= 20 mg", "limit l: m / x <= 20 mg", "not known"},
	} {
		if got := against(t, c.old, c.new); got != c.want {
			t.Errorf("%s → %s\n%s, want\n%s", c.old, c.new, got, c.want)
		}
	}
}

// Cells that only one side has aren't compared.
func TestCompareOnSharedCells(t *testing.T) {
	const two = "axis x 0..9\nvariant bench { }\nmap m [mg] { x | 0 2 5\n | 10 12 %s }\nlimit l: m <= %s"
	const more = "axis x 0..9\nvariant bench { }\nmap m [mg] { x | 0 1 2\n | 10 99 12 }\nlimit l: m <= %s"
	a, _ := judge(t, fmt.Sprintf(two, "15", "11"))
	b, _ := judge(t, fmt.Sprintf(more, "99"))
	x := Compare(a[0], b[0], nil)
	if got, want := show(x.AsItWas), "fails 1/2 at [2]: 12, 11, -1 mg"; got != want || x.Eased != 2 || x.Fewer+x.More != 0 {
		t.Errorf("%s, want %s; %+v", got, want, x)
	}
}

// A limit judged without its own conditions tells the values in the cells that it
// looks at no longer, so that what it was can judge them.
func TestCompareWithTheWhole(t *testing.T) {
	for _, c := range []struct{ old, new, want string }{
		{"limit l: m <= 14 mg", "limit l: m <= 14 mg where x < 1", "fewer 2; as it was: fails 1/3 at [2]: 15, 14, -1 mg"},
		{"limit l: m <= 14 mg", "limit l: m <= 14 mg when g > 5", "fewer 3; as it was: fails 1/3 at [2]: 15, 14, -1 mg"},
		{"limit l: m <= 14 mg where x < 2", "limit l: m <= 20 mg when g > 5", "fewer 2; as it was: holds 0/2 at [1]: 12, 14, 2 mg"},
		{"limit l: m <= 14 mg where x < 2", "limit l: m <= 14 mg where x >= 1", "fewer 1, more 1; as it was: holds 0/2 at [1]: 12, 14, 2 mg"},
	} {
		a, _ := judge(t, ground+c.old+"\n")
		b, whole := judgeEverywhere(t, ground+c.new+"\n")
		x := Compare(a[0], b[0], whole)
		got := fmt.Sprintf("fewer %d", x.Fewer)
		if x.More > 0 {
			got += fmt.Sprintf(", more %d", x.More)
		}
		if x.Eased+x.Tighter > 0 || !x.Known {
			got += fmt.Sprintf("; %+v", x)
		}
		if got += "; as it was: " + show(x.AsItWas); got != c.want {
			t.Errorf("%s → %s\n%s, want\n%s", c.old, c.new, got, c.want)
		}
	}
}

// Of bounds that moved the one that moved furthest is told, as a part of it.
func TestFurthest(t *testing.T) {
	a, _ := judge(t, ground+"limit l: m <= 20 mg + x * 5 mg\n")
	b, _ := judge(t, ground+"limit l: m <= 0.03 g\n")
	x := Compare(a[0], b[0], nil)
	if m := x.Furthest; m == nil || m.Was != 20 || m.Is != 30 || m.Unit.Text != "mg" || m.Share != 0.5 || m.At[0] != 0 {
		t.Errorf("%+v", m)
	}
	if x := Compare(b[0], b[0], nil); x.Furthest != nil {
		t.Errorf("%+v of the same", x.Furthest)
	}
}

// An expectation judges other values, and is put beside another one.
func TestExpectations(t *testing.T) {
	_, list := judge(t, ground+`check "c" with bench {
  m(2) == 15 mg
  m(2) == 15 mg +- 2 mg
  m(2) <= 15 mg
  m(2) >= 14 mg
  m(2) > 10 mg and m(0) > 1 mg
}
`)
	for _, c := range []struct {
		i    int
		got  float64
		want bool
		away float64
	}{{0, 15, true, 0}, {0, 15.1, false, -0.1}, {1, 17, true, 0}, {1, 17.5, false, -0.5}, {2, 14, true, 1}, {2, 16, false, -1}, {3, 16, true, 2}, {3, 13, false, -1}} {
		if o := list[c.i]; o.Holds(c.got) != c.want || math.Abs(o.Away(c.got)-c.away) > 1e-9 {
			t.Errorf("%s of %g: %t, away %g", o.Expect.Text, c.got, o.Holds(c.got), o.Away(c.got))
		}
	}
	if o := list[4]; o.Compared || o.Holds(20) || !o.OK {
		t.Errorf("what doesn't compare: %+v", o)
	}
	for _, c := range []struct {
		i, k    int
		all, no bool
	}{{1, 0, true, false}, {0, 1, false, true}, {0, 0, true, true}, {2, 0, true, false}, {2, 3, false, false}, {3, 1, false, false}} {
		if all, no := list[c.i].Against(list[c.k]); all != c.all || no != c.no {
			t.Errorf("%s against %s: %t %t", list[c.i].Expect.Text, list[c.k].Expect.Text, all, no)
		}
	}
}

// judgeEverywhere is judge, and the first limit without its own conditions.
func judgeEverywhere(t *testing.T, text string) ([]*Verdict, *Verdict) {
	t.Helper()
	errs := &diag.List{}
	cp := check.Run(resolve.Load(fstest.MapFS{"tune.fettle": {Data: []byte(text)}}, errs), errs)
	tune := plan.Run(cp, errs).Find("bench")
	if errs.HasErrors() {
		t.Fatalf("%s: %v", text, errs.Sorted())
	}
	p := eval.Lower(cp)
	c, res := New(p), p.Tune(eval.Pure(cp, tune), eval.Options{})
	return c.Tune(tune, res, false), c.Everywhere(cp.Limits[0], tune, res)
}
