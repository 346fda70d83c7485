package diff

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fettle/compiler/grid"
)

// table makes a table over one axis, rpm, with a resolution of 0.01.
func table(name, unit string, points, cells []float64) *Table {
	res, err := grid.NewRes("0.01")
	if err != nil {
		panic(err)
	}
	return &Table{Map: name, Unit: unit, HasUnit: true, Cols: Axis{"rpm", "rpm", points}, Cells: cells, Res: res}
}

func side(name string, tables ...*Table) *Side { return &Side{Name: name, Tables: tables} }

func TestSummary(t *testing.T) {
	// Changes -0.2, 0, +0.3 and +0.4 of 4, 5, 6 and 8: shares -5 %, +5 %, +5 %;
	// means (-0.2+0.3+0.4)/3 = 1/6 and 5/3 %.
	r := Tables(side("a", table("fuel", "mg", []float64{1, 2, 3, 4}, []float64{4, 5, 6, 8})),
		side("b", table("fuel", "mg", []float64{1, 2, 3, 4}, []float64{3.8, 5, 6.3, 8.4})))
	m := mapOf(t, r, "fuel")
	s := m.Summary
	if len(m.Cells) != 3 || m.Total != 4 || s.Min != -0.2 || s.Max != 0.4 || m.Cells[s.Worst].Col != 3 || !s.HasShare {
		t.Errorf("got %+v of %d cells", s, len(m.Cells))
	}
	for _, x := range [][2]float64{{s.Mean, 1.0 / 6}, {s.MinShare, -0.05}, {s.MaxShare, 0.05}, {s.MeanShare, 0.05 / 3}} {
		if math.Abs(x[0]-x[1]) > 1e-12 {
			t.Errorf("got %v, want %v", x[0], x[1])
		}
	}
	if got, want := m.SummaryText(), "3 of 4 cells, -5.0 % to +5.0 %, mean +1.7 %"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestWhereAShareMakesSense(t *testing.T) {
	for _, c := range []struct{ unit, want string }{
		{"mg", "1 of 1 cell, +10.0 %"},
		{"", "1 of 1 cell, +10.0 %"}, // a plain number
		{"rpm", "1 of 1 cell, +10.0 %"},
		{"deg", "1 of 1 cell, +2.00 deg"},
		{"%", "1 of 1 cell, +2.00 points"},
		{"degC", "1 of 1 cell, +2.00 K"},
		{"degF", "1 of 1 cell, +2.00 degF"},
	} {
		m := compareTables(table("x", c.unit, []float64{1}, []float64{20}), table("x", c.unit, []float64{1}, []float64{22}))
		if got := m.SummaryText(); got != c.want {
			t.Errorf("[%s]: %q, want %q", c.unit, got, c.want)
		}
	}
	// From nothing, and below nothing.
	m := compareTables(table("x", "mg", []float64{1, 2}, []float64{0, -10}), table("x", "mg", []float64{1, 2}, []float64{1, -9}))
	if m.Cells[0].HasShare || m.Summary.HasShare || m.Cells[1].Share != 0.1 {
		t.Errorf("got %+v", m.Cells)
	}
	if got, want := m.SummaryText(), "2 of 2 cells, each +1.00 mg"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestOtherBreakpoints(t *testing.T) {
	// old is 10 at 1000 and 20 at 3000; new is 10, 16, 20 at 1000, 2000, 3000:
	// on all of them old is 10, 15, 20, so one cell of three differs, by +1.
	m := compareTables(table("fuel", "mg", []float64{1000, 3000}, []float64{10, 20}), table("fuel", "mg", []float64{1000, 2000, 3000}, []float64{10, 16, 20}))
	if m.Total != 3 || len(m.Cells) != 1 || m.Cells[0].Old != 15 || m.Cells[0].Change != 1 || m.Cols.Points[m.Cells[0].Col] != 2000 {
		t.Errorf("got %+v of %d", m.Cells, m.Total)
	}
	if len(m.Notes) != 1 || !strings.Contains(m.Notes[0], "other breakpoints on `rpm`") {
		t.Errorf("notes: %q", m.Notes)
	}
	// What is looked up is rounded as it would be printed: 10 + 10/3 is 13.33.
	m = compareTables(table("fuel", "mg", []float64{0, 3}, []float64{10, 20}), table("fuel", "mg", []float64{0, 1, 3}, []float64{10, 13.33, 20}))
	if len(m.Cells) > 0 {
		t.Errorf("got %+v", m.Cells)
	}
	// Another table is written all the same, and that counts.
	if !m.Differs() || m.Reshaped != "other breakpoints, 3 (were 2)" {
		t.Errorf("reshaped: %q", m.Reshaped)
	}
}

func TestOtherUnits(t *testing.T) {
	// 0.012 g is 12 mg; 2 krpm of another axis's unit would be 2000 rpm, and
	// 1 rev/s is 60 rpm.
	a := table("fuel", "mg", []float64{60, 120}, []float64{12, 13})
	b := table("fuel", "g", []float64{1, 2}, []float64{0.012, 0.0135})
	b.Cols.Unit, b.Res = "rev/s", grid.Res{}
	m := compareTables(a, b)
	if m.Problem != "" || len(m.Cells) != 1 || m.Cells[0].New != 13.5 || m.Cells[0].Change != 0.5 {
		t.Errorf("got %+v %s", m.Cells, m.Problem)
	}
	if len(m.Notes) != 2 {
		t.Errorf("notes: %q", m.Notes)
	}
	for _, c := range []struct {
		name string
		turn func(*Table)
		want string
	}{
		{"unit", func(t *Table) { t.Unit = "deg" }, "in [mg] on one side and in [deg] on the other"},
		{"axis's unit", func(t *Table) { t.Cols.Unit = "mg" }, "axis `rpm` is in [rpm] on one side and in [mg] on the other"},
		{"axis", func(t *Table) { t.Cols.Name = "volts" }, "other axes: `rpm` on one side, `volts` on the other"},
		{"axes", func(t *Table) { t.Rows = Axis{"throttle", "%", []float64{0}} }, "other axes: `rpm` on one side, `throttle \\ rpm` on the other"},
	} {
		other := table("fuel", "mg", []float64{60, 120}, []float64{12, 13})
		c.turn(other)
		r := Tables(side("a", a), side("b", other))
		m := mapOf(t, r, "fuel")
		if m.Problem != c.want || !r.Differs() {
			t.Errorf("%s: %q, want %q", c.name, m.Problem, c.want)
		}
		validates(t, r)
		if got := text(t, r, TextOptions{}); !strings.Contains(got, "can't be compared: "+c.want) {
			t.Errorf("%s: %s", c.name, got)
		}
	}
}

func TestMapsOnOneSide(t *testing.T) {
	one := []float64{1}
	r := Tables(side("a", table("fuel", "mg", one, one), table("spark", "deg", one, one)), side("b", table("fuel", "mg", one, one), table("duty", "%", one, one)))
	p := r.Pairs[0]
	if !r.Differs() || len(p.OldOnly) != 1 || p.OldOnly[0] != "spark" || len(p.NewOnly) != 1 || p.NewOnly[0] != "duty" {
		t.Errorf("got %v and %v", p.OldOnly, p.NewOnly)
	}
	validates(t, r)
	golden(t, "onesided.txt", text(t, r, TextOptions{}))
}

func TestChangeIsExactInDecimals(t *testing.T) {
	for _, c := range [][3]float64{{15.10, 15.55, 0.45}, {0.1, 0.3, 0.2}, {1.005, 1, -0.005}, {3, 3, 0}, {-0.1, 0.2, 0.3}, {1e15, 1e15 + 0.5, 0.5}} {
		if got := changeOf(c[0], c[1]); got != c[2] {
			t.Errorf("%v to %v is %v, want %v", c[0], c[1], got, c[2])
		}
	}
	if got := changeOf(-math.MaxFloat64, math.MaxFloat64); got != math.MaxFloat64 {
		t.Errorf("an enormous change is %v", got)
	}
	// Against whole numbers of hundredths.
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.IntRange(-1e7, 1e7).Draw(t, "a"), rapid.IntRange(-1e7, 1e7).Draw(t, "b")
		want := float64(b-a) / 100
		if got := changeOf(float64(a)/100, float64(b)/100); got != want || math.Signbit(got) != (want < 0) {
			t.Fatalf("%v, want %v", got, want)
		}
	})
}

func TestPercent(t *testing.T) {
	for _, c := range []struct {
		share float64
		want  string
	}{{0.03, "+3.0 %"}, {-0.009, "-0.9 %"}, {0.0003, "+0.03 %"}, {-0.0000049, "-0.0005 %"}, {12.344, "+1234 %"}, {0, "0.0 %"}, {1e-30, "0.000000000 %"}} {
		if got := Percent(c.share); got != c.want {
			t.Errorf("%v is %q, want %q", c.share, got, c.want)
		}
	}
}

// One workspace for each place where a given may stand: the element that it
// stands in is found by it alone.
func TestEveryPlaceThatAGivenCanStandIn(t *testing.T) {
	for _, c := range []struct{ place, text, want string }{
		{"amount", "rule r {\n  fuel += a * 1 mg\n}", "rule r"},
		{"when", "rule r when a > 0 {\n  fuel += 1 mg\n}", "rule r"},
		{"where", "rule r {\n  fuel += 1 mg where rpm > a * 3000 rpm\n}", "rule r"},
		{"lower end", "rule r {\n  fuel += 1 mg over rpm (a * 3000 rpm)..\n}", "rule r"},
		{"upper end", "rule r {\n  fuel += 1 mg over rpm ..(a * 3000 rpm)\n}", "rule r"},
		{"feather", "rule r {\n  fuel += 1 mg over rpm 6000.. feather (a * 8000 rpm)\n}", "rule r"},
		{"region", "region g = rpm (a * 3000 rpm)..\nrule r {\n  fuel += 1 mg over g\n}", "rule r"},
		{"let", "let k = a * 2\nrule r {\n  fuel *= 1 + k\n}", "rule r"},
		{"fn", "fn k(x) = x * 2\nrule r {\n  fuel *= 1 + k(a)\n}", "rule r"},
		{"formula", "map time [ms] like fuel = fuel / 10 [mg/ms] + a * 1 ms", "formula of time"},
		{"upper bound of a clamp", "limit l: fuel <= 15 mg + a * 1 mg else clamp", "limit l"},
		{"lower bound of a clamp", "limit l: fuel >= 15 mg + a * 1 mg else clamp", "limit l"},
		{"when of a clamp", "limit l: fuel <= 15 mg when a > 0 else clamp", "limit l"},
		{"where of a clamp", "limit l: fuel <= 15 mg where rpm > a * 5000 rpm else clamp", "limit l"},
		{"trim that both have", "variant base {\n  trim fuel += a * 1 mg\n}", "trim of base"},
	} {
		from := ""
		if strings.HasPrefix(c.text, "variant base") {
			from = " from base"
		}
		w := workspace(t, `
axis rpm [rpm] 1000..10000
given a = 0
map fuel [mg] {
  rpm | 2000 4000
      |   10   20
}
`+c.text+`
variant one`+from+` { }
variant two`+from+` {
  a = 1
}
`)
		r := w.diff(t, "one", "two")
		found := false
		for _, m := range r.Pairs[0].Maps {
			for _, p := range m.Parts {
				if p.Element.Name != c.want {
					t.Errorf("%s: a part of %s, want %s", c.place, p.Element.Name, c.want)
				}
				found = true
			}
		}
		if !found {
			t.Errorf("%s: no part", c.place)
		}
		addsUp(t, r)
		againstBruteForce(t, w, r, w.plan.Find("one"), w.plan.Find("two"))
	}
}
