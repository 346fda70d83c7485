package randomly_test

import (
	"testing"

	"fettle/compiler"
	"fettle/compiler/limit"
)

const six = "axis x 0..9\ngiven g = 1\nmap a {\n  x | 0 1 2 3 4 5\n  | 1 2 3 4 5 6\n}\nvariant bench { }\n"

func verdicts(t *testing.T, text string) []*limit.Verdict {
	t.Helper()
	tr := &trial{text: text}
	w := one(text).open()
	if tr.refusedBy(t, w) {
		t.Fatalf("%s\nis refused", text)
	}
	twoWays(t, tr, w)
	inFractions(t, tr, w)
	return w.Tune(w.Plan.Tunes[0], compiler.RunOptions{}).Limits
}

// Verdicts on the edge: bounds without a value, bounds that contradict each other,
// and what is looked at.
func TestVerdictsOnTheEdge(t *testing.T) {
	for _, c := range []struct {
		limits     string
		state      limit.State
		bad, cells int
		problem    bool
	}{
		{"limit l: a <= 1 / (x - 2)\n", limit.Fails, 0, 6, true},
		{"limit l: 1 / (x - 2) <= a\n", limit.Fails, 0, 6, true},
		{"limit l: a <= 9 / (x - 2) where x > 2\n", limit.Fails, 2, 3, false},
		{"limit l: a <= 3 else clamp\nlimit m: a >= 5 else clamp\n", limit.Fails, 6, 6, false},
		{"limit l: a <= 3 else clamp\n", limit.Clamped, 3, 6, false},
		{"limit l: a < 6\n", limit.Holds, 0, 6, false},
		{"limit l: a < 6 and a > 1\n", limit.Holds, 0, 6, false},
		{"limit l: not a > 5.5\n", limit.Fails, 1, 6, false},
		{"limit l: a <= 2 else warn\n", limit.Warns, 4, 6, false},
		{"limit l: a <= 2 when g > 1\n", limit.NotHere, 0, 6, false},
		{"limit l: a <= 2 where x > 7\n", limit.NotHere, 0, 0, false},
	} {
		v := verdicts(t, six+c.limits)[0]
		if v.State != c.state || v.Bad != c.bad || v.Cells != c.cells || (v.Problem != "") != c.problem {
			t.Errorf("%s%s in %d of %d cells (%s), want %s in %d of %d", c.limits, v.State, v.Bad, v.Cells, v.Problem, c.state, c.bad, c.cells)
		}
	}
}

// Of a limit that looks at fewer cells than it did, all that it looked at are counted.
func TestOldCellsAreThoseLookedAt(t *testing.T) {
	old := verdicts(t, six+"limit l: a <= 9 where x > 1\n")[0]
	now := verdicts(t, six+"limit l: a <= 8 where x > 3\n")[0]
	against := limit.Compare(old, now, nil)
	if !against.Known || against.OldCells != 4 || against.Fewer != 2 || against.More != 0 || against.Tighter != 2 || against.Eased != 0 {
		t.Errorf("%+v", against)
	}
}
