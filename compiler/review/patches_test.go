package review_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"fettle/compiler/review"
)

func TestPatchesInTussock(t *testing.T) {
	files := example(t, "tussock")
	for _, c := range []struct {
		edits []string
		want  string
	}{
		// A row, with a blank that leans on it and on the one beside; and a block.
		{[]string{"base_fuel.csv", "4,2.80,2.60,2.55,2.45,2.40,2.35,,2.30,2.25,2.25,2.30,2.45,2.55,2.70,2.80,2.90,2.85,2.80,2.65,2.50,2.30,2.20",
			"4,3.36,3.12,3.06,2.94,2.88,2.82,,2.76,2.70,2.70,2.76,2.94,3.06,3.24,3.36,3.48,3.42,3.36,3.18,3.00,2.76,2.64"},
			"25 cells of fuel, throttle 2..6 %, rpm 1500..14000: 0.39 to 0.18 (0.205 to 0.0841) in 192 beside 0 by base of fuel"},
		{[]string{"base_fuel.csv", "6.45,6.45,6.65,7.25,8.20,9.40,10.60", "6.45,7.10,7.30,7.25,8.20,9.40,10.60", "base_fuel.csv", "6.80,6.80,7.05,7.70,8.75", "6.80,7.48,7.75,7.70,8.75"},
			"4 cells of fuel, throttle 50..60 %, rpm 7500..8000: 0.57 to 0.56 (0.102 to 0.0974) in 192 beside 0 by base of fuel, also fuel_upper open_upper spray_upper duty_upper squirt_upper"},
	} {
		r := compare(t, files, edited(t, files, c.edits...), review.Options{})
		if len(r.Spikes) == 0 {
			t.Errorf("%q: nothing sticks out", c.edits)
			continue
		}
		if got := spikesText(r.Spikes[:1]); got != c.want {
			t.Errorf("%q:\n%s, want\n%s", c.edits, spikesText(r.Spikes), c.want)
		}
	}
}

func TestPatches(t *testing.T) {
	const row1, row2 = "1     | 11 12 13 14 15", "2     | 12 13 14 15 16"
	for _, c := range []struct {
		name, want string
		edits      []string
	}{
		{"two cells", "2 cells of m, y 1, x 2..3: 3 to 3 (0.231 to 0.214) in 1 beside 0 by base of m", []string{row1, "1     | 11 12 16 17 15"}},
		{"two corner to corner", "2 cells of m, y 1..2, x 2..3: 3 to 3 (0.231 to 0.2) in 1 beside 0 by base of m", []string{row1, "1     | 11 12 16 14 15", row2, "2     | 12 13 14 18 16"}},
		{"one up, one down", "", []string{row1, "1     | 11 12 16 10 15"}},
		{"a row", "5 cells of m, y 1, x 0..4: 2 to 2 (0.182 to 0.133) in 1 beside 0 by base of m", []string{row1, "1     | 13 14 15 16 17"}},
		{"more than a quarter", "", []string{row1, "1     | 13 14 15 14 15", row2, "2     | 14 15 16 15 16"}},
		{"less than 5 %", "", []string{row1, "1     | 11 12 13.6 14.6 15"}},
		{"with a slope on one side", "2 cells of m, y 1, x 2..3: 3 to 3 (0.231 to 0.214) in 1 beside 0.0333 by base of m", []string{row1, "1     | 11 12.4 16 17 15"}},
		{"a ramp to the end", "", []string{row1, "1     | 11 12 13 15 17", row2, "2     | 12 13 14 16 18", "0     | 10 11 12 13 14", "0     | 10 11 12 14 16", "3     | 13 14 15 16 17", "3     | 13 14 15 17 19"}},
		{"under a rule", "2 cells of m, y 1, x 2..3: 6.2 to 6.2 (0.477 to 0.457) in 1 beside 0.2 by base of m", []string{row1, "1     | 11 12 16 17 15", "rule r { m *= 1 }", "rule r { m += 20 % }"}},
		{"a rule's own region", "", []string{"rule r { m *= 1 }", "rule r { m += 10 % over y 1..1, x 2..3 }"}},
		{"over one axis", "2 cells of s, x 1..2: 3 to 3 (0 to 0) in 1 beside 0 by base of s", []string{"| 10 12 14 16 20", "| 10 15 17 16 20"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			files := one(plane)
			if c.name == "over one axis" { // of which two points are a quarter
				files = edited(t, files, "tune.fettle", "x | 0 1 2 3 4\n    | 10 12 14 16 20", "x | 0 1 2 3 4 5 6 7\n    | 10 12 14 16 20 22 24 26", "tune.fettle", "axis x 0..9", "axis x 0..20")
			}
			var edits []string
			for i := 0; i < len(c.edits); i += 2 {
				edits = append(edits, "tune.fettle", c.edits[i], c.edits[i+1])
			}
			r := compare(t, files, edited(t, files, edits...), review.Options{})
			if len(r.Entries) != 1 {
				t.Fatal("nothing differs")
			}
			if got := spikesText(r.Spikes); got != c.want {
				t.Errorf("\n%s, want\n%s", got, c.want)
			}
		})
	}
}

// TestABlockIsAPatch holds that a block of cells, no more than a quarter of the
// table, that is scaled by 0.9 or less, or 1.1 or more, is told as one patch of all
// its cells; and so it is where a rule moves the table as a whole.
func TestABlockIsAPatch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := smoothTable(t)
		rows, cols := len(s.rows), len(s.cols)
		r0 := rapid.IntRange(0, rows-1).Draw(t, "from row")
		r1 := rapid.IntRange(r0, rows-1).Draw(t, "to row")
		c0 := rapid.IntRange(0, cols-1).Draw(t, "from col")
		c1 := rapid.IntRange(c0, cols-1).Draw(t, "to col")
		n := (r1 - r0 + 1) * (c1 - c0 + 1)
		if n < 2 || n*4 > rows*cols {
			t.Skip("no patch")
		}
		k := rapid.Float64Range(1.1, 4).Draw(t, "k")
		if rapid.Bool().Draw(t, "less") {
			k = 1 / (k + 0.02)
		}
		new := s.edit(func(r, c int, v float64) float64 {
			if r >= r0 && r <= r1 && c >= c0 && c <= c1 {
				return v * k
			}
			return v
		})
		rule := ""
		if rapid.Bool().Draw(t, "rule") {
			rule = "rule r { m *= " + num(math.Round(1000*rapid.Float64Range(0.98, 1.02).Draw(t, "all"))/1000) + " }\n"
		}
		r := compare(t, one(s.source("")), one(new.source(rule)), review.Options{})
		if len(r.Spikes) != 1 || r.Spikes[0].Cells != n || r.Spikes[0].By == nil || r.Spikes[0].By.Name != "base of m" {
			t.Fatalf("%q, want one of %d\n%s\n%s", spikesText(r.Spikes), n, s.source(""), new.source(rule))
		}
	})
}
