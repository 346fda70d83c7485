package compiler_test

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"fettle/compiler"
	"fettle/compiler/check"
	"fettle/compiler/plan"
)

// worked is a file of testdata/worked: tunes of one example that a plain program
// of numpy and scipy worked out. It has the rules and formulas in its own words,
// and reads no more of a source than the numbers of its grids.
type worked struct {
	About, Program string
	MadeWith       string `json:"made_with"`
	Tunes          map[string]map[string]workedMap
}

type workedMap struct {
	Unit          string
	Rows, Columns []float64
	Cells         [][]float64
}

// Every cell of every map of the worked tunes is what the plain program says.
// Between them those tunes let every line of every rule, and every clamp, change
// a cell, so that none goes unproven.
func TestWorked(t *testing.T) {
	if len(exampleNames) == 0 {
		t.Fatal("no examples")
	}
	for _, name := range exampleNames {
		t.Run(name, func(t *testing.T) {
			want := readWorked(t, name)
			w := openExample(t, name)
			cells, seen := 0, map[int]bool{}
			capped := map[int]bool{}
			for _, tune := range w.Plan.Tunes {
				maps, ok := want.Tunes[tune.Name]
				if !ok {
					continue
				}
				delete(want.Tunes, tune.Name)
				n, o := compareWorked(t, w, tune, maps)
				cells += n
				for step, did := range o.Result.Steps {
					seen[step] = seen[step] || did.Changed > 0
				}
				for _, s := range tune.Trims {
					if !seen[s.Index] {
						t.Errorf("%s: a trim of %s changes no cell", tune.Name, s.Map.Name)
					}
				}
				for l, did := range o.Result.Clamps {
					capped[l] = capped[l] || did.Cells > 0
				}
			}
			for tune := range want.Tunes {
				t.Errorf("%s: worked, but no tune of the example", tune)
			}
			if cells == 0 {
				t.Fatal("no cell was compared")
			}
			for _, m := range w.Program.Maps {
				for _, s := range m.Steps {
					if !seen[s.Index] {
						t.Errorf("rule %s changes no cell of %s in any worked tune", s.Rule.Name, m.Name)
					}
				}
				for _, l := range m.Clamps {
					if !capped[l.Index] {
						t.Errorf("limit %s caps no cell in any worked tune", l.Name)
					}
				}
			}
			t.Logf("%d cells, made with %s", cells, want.MadeWith)
		})
	}
}

func readWorked(t *testing.T, example string) *worked {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "testdata", "worked", example+".json"))
	if err != nil {
		t.Fatal(err)
	}
	out := &worked{}
	if err := json.Unmarshal(text, out); err != nil {
		t.Fatal(err)
	}
	return out
}

// compareWorked compares one tune and gives how many cells agree.
func compareWorked(t *testing.T, w *compiler.Workspace, tune *plan.Tune, want map[string]workedMap) (agree int, o *compiler.Outcome) {
	t.Helper()
	o = w.Tune(tune, compiler.RunOptions{})
	if o.Result.Fault != nil {
		t.Fatalf("%s: %s", tune.Name, o.Result.Fault.Reason)
	}
	for name := range want {
		if !hasMap(w.Program, name) {
			t.Errorf("%s: map %s was worked, but isn't in the example", tune.Name, name)
		}
	}
	for i, m := range w.Program.Maps {
		ours := &o.Result.Maps[i]
		theirs, ok := want[m.Name]
		if !ok {
			t.Errorf("%s: map %s wasn't worked", tune.Name, m.Name)
			continue
		}
		if m.Unit.Text != theirs.Unit {
			t.Errorf("%s: map %s is in %q, and was worked in %q", tune.Name, m.Name, m.Unit.Text, theirs.Unit)
		}
		if !sameNumbers(ours.Rows, theirs.Rows) || !sameNumbers(ours.Cols, theirs.Columns) || len(theirs.Cells) != ours.NRows() {
			t.Errorf("%s: map %s has other breakpoints than were worked", tune.Name, m.Name)
			continue
		}
		for r, row := range theirs.Cells {
			if len(row) != len(ours.Cols) {
				t.Errorf("%s: map %s: row %d was worked with %d cells", tune.Name, m.Name, r, len(row))
				continue
			}
			for c, value := range row {
				got := ours.Cells[r*len(ours.Cols)+c]
				if !sameNumber(got, value) {
					t.Errorf("%s: map %s, row %d, column %v: %.17g, worked was %.17g", tune.Name, m.Name, r, ours.Cols[c], got, value)
					continue
				}
				agree++
			}
		}
	}
	return agree, o
}

func hasMap(p *check.Program, name string) bool {
	for _, m := range p.Maps {
		if m.Name == name {
			return true
		}
	}
	return false
}

// sameNumber allows for the order in which two programs multiply: a part in 10^9,
// and 10^-12 at zero.
func sameNumber(got, want float64) bool {
	return math.Abs(got-want) <= max(1e-9*math.Abs(want), 1e-12)
}

func sameNumbers(got, want []float64) bool {
	if len(got) != len(want) {
		return false
	}
	for i := range got {
		if !sameNumber(got[i], want[i]) {
			return false
		}
	}
	return true
}
