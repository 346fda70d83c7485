package review_test

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fettle/compiler/diff"
	"fettle/compiler/review"
)

// A wrong digit in a cell of the base is the first spike, in every tune: also in
// those of the long pipe, whose rule shifts the grid so that it is spread over
// two cells; and it is told of `fuel`, not of what follows from it.
func TestTypoInTussock(t *testing.T) {
	files := example(t, "tussock")
	for _, c := range []struct {
		edits []string
		want  string
	}{
		// A point left out, one slipped, two digits that changed places, beside blanks that are filled in.
		{[]string{"base_fuel.csv", "85,6.25,6.50,6.85,7.20,7.40", "85,6.25,6.50,6.85,72.0,7.40"},
			"fuel throttle=85 rpm=4500: 6.26 → 62.65 in 192 beside 0 by base of fuel, also fuel_lower open_lower spray_lower duty_lower squirt_lower pump_flow start_lower waits_lower"},
		{[]string{"base_fuel.csv", "7.65,8.40,9.60,11.15,12.70", "7.65,8.40,9.60,1.115,12.70"},
			"fuel throttle=85 rpm=9500: 10.15 → 1.01 in 192 beside 0 by base of fuel, also fuel_upper fuel_lower open_lower open_upper spray_lower spray_upper duty_lower duty_upper squirt_lower squirt_upper pump_flow start_lower start_upper waits_upper"},
		{[]string{"base_fuel.csv", "12.95,11.25,10.05", "12.95,12.15,10.05"},
			"fuel throttle=100 rpm=13500: 11.15 → 12.05 in 141 beside 0 by base of fuel, also fuel_upper fuel_lower open_lower open_upper spray_lower spray_upper duty_lower duty_upper squirt_lower squirt_upper pump_flow waits_lower waits_upper"},
		{[]string{"base_fuel.csv", "25,5.20,5.15,5.20,5.25,5.20,5.15,5.05,4.90,4.90,5.00,5.35,5.95,6.70,7.45,8.10,8.45,8.50,8.20,7.65,6.85,,", "25,5.20,5.15,5.20,5.25,5.20,5.15,5.05,4.90,4.90,5.00,5.35,5.95,6.70,7.45,8.10,8.45,8.50,8.20,7.65,8.65,,"},
			"fuel throttle=25 rpm=13000: 5.83 → 7.37 in 192 beside 0 by base of fuel, also fuel_upper fuel_lower open_lower open_upper spray_lower spray_upper duty_lower duty_upper squirt_lower squirt_upper pump_flow start_lower waits_lower"},
		// With a rule changed beside it.
		{[]string{"base_fuel.csv", "85,6.25,6.50,6.85,7.20,7.40", "85,6.25,6.50,6.85,2.70,7.40", "pipes.fettle", "fuel  += 4 % over rpm 7500..9000", "fuel  += 9 % over rpm 7500..9000", "weather.fettle", "let dyno_temp     [degC] = 22", "let dyno_temp     [degC] = 42"},
			"fuel throttle=85 rpm=4500: 6.68 → 2.73 in 192 beside 0.0922 by base of fuel, also fuel_lower open_lower spray_lower duty_lower squirt_lower pump_flow start_lower"},
	} {
		r := compare(t, files, edited(t, files, c.edits...), review.Options{})
		if len(r.Spikes) == 0 {
			t.Errorf("%q: no spike", c.edits)
			continue
		}
		if got := spikesText(r.Spikes[:1]); got != c.want {
			t.Errorf("%q:\n%s, want\n%s", c.edits, spikesText(r.Spikes), c.want)
		}
		if len(r.Spikes) > 1 {
			t.Errorf("%q: more than that one\n%s", c.edits, spikesText(r.Spikes))
		}
	}
}

// Edits as a tuner makes them on purpose.
func TestNoSpikesInTussock(t *testing.T) {
	files := example(t, "tussock")
	for _, edits := range [][]string{
		{"pipes.fettle", "fuel  += 2.5 % over the_hit", "fuel  += 9 % over the_hit"},
		{"pipes.fettle", "spark -= 0.5 deg over on_the_pipe", "spark -= 4 deg over on_the_pipe"},
		{"weather.fettle", "let dyno_temp     [degC] = 22", "let dyno_temp     [degC] = 35"},
		{"injectors.fettle", "|    1.75    1.44    1.20    0.99    0.82    0.69    0.59    0.52    0.46", "|    2.05    1.74    1.50    1.29    1.12    0.99    0.89    0.82    0.76"},
		// Where the upper injector opens, its maps begin: in other cells than before.
		{"injectors.fettle", "let worth_opening [mg] = 0.32 ms", "let worth_opening [mg] = 0.36 ms"},
	} {
		r := compareSome(t, "season/*-820m", files, edited(t, files, edits...))
		if len(r.Entries) == 0 || len(r.Spikes) > 0 {
			t.Errorf("%q: %d tunes differ\n%s", edits, len(r.Entries), spikesText(r.Spikes))
		}
	}
	for _, pair := range [][2]string{{"season/long-*", "season/stock-*"}, {"season/*-40m", "season/*-1640m"}, {"season/wide-club-pump98-*", "season/stock-club-race102-*"}} {
		if r := patterns(t, files, pair[0], pair[1]); len(r.Entries) == 0 || len(r.Spikes) > 0 {
			t.Errorf("%s: %d tunes differ\n%s", pair, len(r.Entries), spikesText(r.Spikes))
		}
	}
}

const plane = `axis y 0..9
axis x 0..9
map m [mg] to 0.01 {
  y \ x | 0 1 2 3 4
  0     | 10 11 12 13 14
  1     | 11 12 13 14 15
  2     | 12 13 14 15 16
  3     | 13 14 15 16 17
}
map s [deg] to 0.1 {
  x | 0 1 2 3 4
    | 10 12 14 16 20
}
map z [mg] to 0.01 {
  y \ x | 0 1 2
  0     | 0 0.02 4
  1     | 0 0.02 4
  2     | 0 0.02 4
}
map half [mg] to 0.01 like m = m / 2
rule r { m *= 1 }
variant bench { }
`

func TestSpikes(t *testing.T) {
	for _, c := range []struct{ name, old, new, want string }{
		{"one cell", "1     | 11 12 13 14 15", "1     | 11 12 16 14 15", "m y=1 x=2: 13 → 16 in 1 beside 0 by base of m, also half"},
		{"a corner", "0     | 10 11 12 13 14", "0     | 10 11 12 13 17", "m y=0 x=4: 14 → 17 in 1 beside 0 by base of m, also half"},
		{"an edge", "3     | 13 14 15 16 17", "3     | 13 14 12 16 17", "m y=3 x=2: 15 → 12 in 1 beside 0 by base of m, also half"},
		{"less than 5 %", "1     | 11 12 13 14 15", "1     | 11 12 13.6 14 15", ""},
		{"four times its neighbour", "1     | 11 12 13 14 15", "1     | 11 12.24 14.3 14 15", "m y=1 x=2: 13 → 14.3 in 1 beside 0.02 by base of m, also half"},
		{"three times its neighbour", "1     | 11 12 13 14 15", "1     | 11 12.4 14.3 14 15", ""},
		{"5.0 %", "1     | 11 12 13 14 15", "1     | 11 12 13 14.7 15", "m y=1 x=3: 14 → 14.7 in 1 beside 0 by base of m, also half"},
		{"a region of one cell", "rule r { m *= 1 }", "rule r { m += 10 % over y 1..1, x 2..2 }", "m y=1 x=2: 13 → 14.3 in 1 beside 0 by rule r, also half"},
		{"a region of two", "rule r { m *= 1 }", "rule r { m += 10 % over y 1..1, x 2..3 }", ""},
		{"a region of a corner", "rule r { m *= 1 }", "rule r { m += 10 % over y 2.., x 3.. }", ""},
		{"a region of one with a feather", "rule r { m *= 1 }", "rule r { m += 10 % over y 1..1 feather 2, x 2..2 feather 2 }", ""},
		{"on a slope of another rule", "rule r { m *= 1 }", "rule r { m += 20 % }\nrule q { m += 1.5 mg over y 1..1, x 2..2 }", "m y=1 x=2: 13 → 17.1 in 1 beside 0.2 by rule q, also half"},
		{"as much the other way", "1     | 11 12 13 14 15\n  2     | 12 13 14 15 16\n  3     | 13 14 15 16 17\n}", "1     | 11 12 15 14 15\n  2     | 12 13 14 15 16\n  3     | 13 14 15 16 17\n}\nrule q { m -= 1.9 mg over y 1..1, x 2..2 }", ""},
		{"over one axis", "| 10 12 14 16 20", "| 10 12 17 16 20", "s x=2: 14 → 17 in 1 beside 0 by base of s"},
		{"its end", "| 10 12 14 16 20", "| 10 12 14 16 12", "s x=4: 20 → 12 in 1 beside 0 by base of s"},
		{"a tilt about the last but one", "| 10 12 14 16 20", "| 4 8 12 16 22", ""},
		{"less than 5 % of the span", "| 10 12 14 16 20", "| 10 12 14.4 16 20", ""},
		{"a step of rounding of nearly nothing", "1     | 0 0.02 4", "1     | 0 0.03 4", ""},
		{"a few of them", "1     | 0 0.02 4", "1     | 0 0.05 4", ""},
		{"a large one from nearly nothing", "1     | 0 0.02 4", "1     | 0 2 4", "z y=1 x=1: 0.02 → 2 in 1 beside 0 by base of z"},
		{"from nothing", "1     | 0 0.02 4", "1     | 3 0.02 4", "z y=1 x=0: 0 → 3 in 1 beside 0 by base of z"},
		{"a like amount everywhere", "rule r { m *= 1 }", "rule r { z += 1 mg }", ""},
		{"other breakpoints", "x | 0 1 2 3 4\n    | 10 12 14 16 20", "x | 0 1 1.5 2 3 4\n    | 10 12 13.4 14 16 20", ""},
		{"other breakpoints, and one wrong", "x | 0 1 2 3 4\n    | 10 12 14 16 20", "x | 0 1 1.5 2 3 4\n    | 10 12 18 14 16 20", "s x=1.5: 13 → 18 in 1 beside 0 by base of s"},
		{"beside blanks", "1     | 11 12 13 14 15", "1     | _ _ 18 _ 15", "m y=1 x=2: 13 → 18 in 1 beside 0 by base of m, also half"},
		{"the formula of what follows", "like m = m / 2", "like m = m / 3", ""},
		{"two, worst first", "0     | 10 11 12 13 14\n  1     | 11 12 13 14 15\n  2     | 12 13 14 15 16\n  3     | 13 14 15 16 17", "0     | 10 11 12 13 18\n  1     | 11 12 13 14 15\n  2     | 12 13 14 15 16\n  3     | 1.3 14 15 16 17",
			"m y=3 x=0: 13 → 1.3 in 1 beside 0 by base of m, also half\nm y=0 x=4: 14 → 18 in 1 beside 0 by base of m, also half"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := compare(t, one(plane), edited(t, one(plane), "tune.fettle", c.old, c.new), review.Options{})
			if len(r.Entries) != 1 {
				t.Fatal("nothing differs")
			}
			if got := spikesText(r.Spikes); got != c.want {
				t.Errorf("\n%s, want\n%s", got, c.want)
			}
		})
	}
}

// A policy hides no cell that sticks out, and it counts as beyond it; a few of them
// among many that are hidden are shown alone.
func TestSpikesAndPolicy(t *testing.T) {
	const want = "m y=1 x=2: 13 → 14 in 1 beside 0 by base of m, also half"
	for _, allowed := range []within{0.1, 0.05} {
		r := compare(t, one(plane), edited(t, one(plane), "tune.fettle", "1     | 11 12 13 14 15", "1     | 11 12 14 14 15"), review.Options{Policy: allowed})
		if got := spikesText(r.Spikes); got != want {
			t.Errorf("%s, want %s", got, want)
		}
		if len(r.Entries) != 1 || len(r.Allowed) > 0 || r.Counts.Beyond != 1 || r.Hidden.Tunes != 0 || !r.Differs() || len(r.Groups) != 1 {
			t.Errorf("%+v, %+v", r.Counts, r.Hidden)
		}
	}
	r := compare(t, one(plane), edited(t, one(plane), "tune.fettle", "1     | 11 12 13 14 15", "1     | 11 12 14 14 15", "tune.fettle", "rule r { m *= 1 }", "rule r { m *= 1.01 }"), review.Options{Policy: within(0.1)})
	if e := r.Entries[0]; e.Maps[0].Diff.Map != "m" || len(e.Maps[0].Shown) != 1 || e.Maps[0].Hidden != 19 || r.Hidden.Cells != 39 {
		t.Errorf("%d shown, %d hidden, %+v", len(e.Maps[0].Shown), e.Maps[0].Hidden, r.Hidden)
	}
	r = compare(t, one(plane), edited(t, one(plane), "tune.fettle", "rule r { m *= 1 }", "rule r { m *= 1.05 }"), review.Options{Policy: within(0.1)})
	if len(r.Spikes)+len(r.Entries) > 0 || len(r.Allowed) != 1 || r.Differs() {
		t.Errorf("%s; %+v", spikesText(r.Spikes), r.Hidden)
	}
}

// Tables that were built or measured have spikes too; their unit may not be
// known, and what follows from what isn't either.
func TestSpikesOfTables(t *testing.T) {
	csv := func(name, text string) *review.Side {
		s, err := diff.FromCSV(name, []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		return &review.Side{Tables: []*diff.Side{s}, Single: true}
	}
	const table = "y \\ x,0,1,2,3\n0,10.0,11.0,12.0,13.0\n1,11.0,12.0,13.0,14.0\n2,12.0,13.0,14.0,15.0\n3,13.0,14.0,15.0,16.0\n"
	for _, c := range []struct{ old, new, want string }{
		{"13.0,14.0\n2,", "1.3,14.0\n2,", "m y=1 x=2: 13 → 1.3 in 1 beside 0"},
		{"13.0,14.0\n2,", "13.2,14.0\n2,", ""}, // under 5 % of the span
		{"13.0,14.0\n2,", "14.0,15.0\n2,", "2 cells of m, y 1, x 2..3: 1 to 1 (0 to 0) in 1 beside 0"},
	} {
		r, err := review.Make(csv("a/m.csv", table), csv("b/m.csv", strings.Replace(table, c.old, c.new, 1)), review.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if len(r.Entries) != 1 || len(r.Groups) != 1 || spikesText(r.Spikes) != c.want {
			t.Errorf("%d entries, %s, want %s", len(r.Entries), spikesText(r.Spikes), c.want)
		}
	}
}

// within allows a share of every value.
type within float64

func (w within) Within(_ string, old, new float64) bool {
	return math.Abs(new-old) <= float64(w)*math.Abs(old)
}

// smooth is a random table that changes little from cell to cell, over one axis
// or two.
type smooth struct {
	rows, cols []float64
	cells      [][]float64
}

func smoothTable(t *rapid.T) smooth {
	var s smooth
	axis := func(n int) []float64 {
		var out []float64
		at := 0.0
		for range n {
			out = append(out, at)
			at += float64(rapid.IntRange(1, 4).Draw(t, "gap"))
		}
		return out
	}
	s.cols = axis(rapid.IntRange(5, 9).Draw(t, "cols"))
	s.rows = []float64{0}
	if rapid.Bool().Draw(t, "two axes") {
		s.rows = axis(rapid.IntRange(3, 7).Draw(t, "rows"))
	}
	a, b := rapid.Float64Range(-0.6, 0.6).Draw(t, "a"), rapid.Float64Range(-0.6, 0.6).Draw(t, "b")
	hump := rapid.Float64Range(0, 8).Draw(t, "hump")
	for _, y := range s.rows {
		var row []float64
		for _, x := range s.cols {
			row = append(row, math.Round(1000*(20+a*y/3+b*x/3+hump/(1+((x-6)*(x-6)+(y-4)*(y-4))/30)))/1000)
		}
		s.cells = append(s.cells, row)
	}
	return s
}

// source writes the table as a workspace, with a rule.
func (s smooth) source(rule string) string {
	var b strings.Builder
	b.WriteString("axis y 0..99\naxis x 0..99\nmap m [mg] to 0.001 {\n")
	head, name := "x", func(int) string { return "" }
	if len(s.rows) > 1 {
		head, name = `y \ x`, func(r int) string { return num(s.rows[r]) }
	}
	fmt.Fprintf(&b, "  %s |", head)
	for _, x := range s.cols {
		b.WriteString(" " + num(x))
	}
	for r, row := range s.cells {
		fmt.Fprintf(&b, "\n  %s |", name(r))
		for _, v := range row {
			b.WriteString(" " + num(v))
		}
	}
	b.WriteString("\n}\n" + rule + "variant bench { }\n")
	return b.String()
}

func num(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// edit makes another table of each cell's own.
func (s smooth) edit(f func(r, c int, v float64) float64) smooth {
	out := smooth{rows: s.rows, cols: s.cols}
	for r, row := range s.cells {
		var line []float64
		for c, v := range row {
			line = append(line, math.Round(1000*f(r, c, v))/1000)
		}
		out.cells = append(out.cells, line)
	}
	return out
}

// TestSmoothEditsAreNoSpikes holds that edits of a table as a whole, by a tilt or a
// hump, or by a rule over a region with a feather are never told of.
func TestSmoothEditsAreNoSpikes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := smoothTable(t)
		two := len(s.rows) > 1
		k := rapid.Float64Range(0.5, 1.6).Draw(t, "k")
		new, rule := s, ""
		switch kind := rapid.SampledFrom([]string{"scale", "add", "tilt", "tilt both", "hump", "region"}).Draw(t, "kind"); {
		case kind == "scale":
			new = s.edit(func(_, _ int, v float64) float64 { return v * k })
		case kind == "add":
			new = s.edit(func(_, _ int, v float64) float64 { return v + 10*k })
		case kind == "tilt" || !two && kind == "tilt both":
			about := rapid.Float64Range(0, s.cols[len(s.cols)-1]).Draw(t, "about")
			new = s.edit(func(_, c int, v float64) float64 { return v * (1 + (s.cols[c]-about)*(k-1)/20) })
		case kind == "tilt both":
			new = s.edit(func(r, c int, v float64) float64 { return v * (1 + (s.cols[c]+s.rows[r]-8)*(k-1)/20) })
		case kind == "hump":
			// As wide as a cell beside its top takes part by more than a quarter.
			x, y := rapid.Float64Range(0, s.cols[len(s.cols)-1]).Draw(t, "x"), rapid.Float64Range(0, s.rows[len(s.rows)-1]).Draw(t, "y")
			new = s.edit(func(r, c int, v float64) float64 {
				d := (s.cols[c]-x)*(s.cols[c]-x) + (s.rows[r]-y)*(s.rows[r]-y)
				return v * (1 + (k-1)/(1+d/40))
			})
		default:
			// A feather wide enough to reach the cells beside it with a good part.
			at := rapid.Float64Range(0, s.cols[len(s.cols)-1]).Draw(t, "at")
			rule = fmt.Sprintf("rule r { m *= %s over x %s..%s feather %s", num(k), num(at), num(at), num(rapid.Float64Range(8, 20).Draw(t, "feather")))
			if two && rapid.Bool().Draw(t, "on y too") {
				up := rapid.Float64Range(0, s.rows[len(s.rows)-1]).Draw(t, "up")
				rule += fmt.Sprintf(", y %s.. feather 8", num(up))
			}
			rule += " }\n"
		}
		r := compare(t, one(s.source("")), one(new.source(rule)), review.Options{})
		if len(r.Spikes) > 0 {
			t.Fatalf("%s\n%s\n%s", spikesText(r.Spikes), s.source(""), new.source(rule))
		}
	})
}

// TestOneCellIsASpike holds that one cell that is scaled by 1.3 or more, or by
// 0.7 or less, is called a spike, and it alone; and so it is where a rule of the
// same change moves the table as a whole.
func TestOneCellIsASpike(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := smoothTable(t)
		k := rapid.Float64Range(1.3, 12).Draw(t, "k")
		if rapid.Bool().Draw(t, "less") {
			k = 1 / k
		}
		row, col := rapid.IntRange(0, len(s.rows)-1).Draw(t, "row"), rapid.IntRange(0, len(s.cols)-1).Draw(t, "col")
		new := s.edit(func(r, c int, v float64) float64 {
			if r == row && c == col {
				return v * k
			}
			return v
		})
		rule := ""
		if rapid.Bool().Draw(t, "rule") {
			rule = "rule r { m *= " + num(rapid.Float64Range(0.9, 1.1).Draw(t, "all")) + " }\n"
		}
		r := compare(t, one(s.source("")), one(new.source(rule)), review.Options{})
		at := "x=" + num(s.cols[col])
		if len(s.rows) > 1 {
			at = "y=" + num(s.rows[row]) + " " + at
		}
		if len(r.Spikes) != 1 || strings.Join(r.Spikes[0].AtArgs, " ") != at || r.Spikes[0].By == nil || r.Spikes[0].By.Name != "base of m" {
			t.Fatalf("%q, want one at %s\n%s\n%s", spikesText(r.Spikes), at, s.source(""), new.source(rule))
		}
	})
}
