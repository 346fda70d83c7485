package compiler_test

import (
	"encoding/json"
	"flag"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"sort"
	"strings"
	"testing"

	"fettle/compiler"
	"fettle/compiler/check"
	"fettle/compiler/grid"
	"fettle/compiler/limit"
	"fettle/compiler/plan"
	"fettle/lang/diag"
	"fettle/lang/formula"
	"fettle/lang/source"
)

// The compiler is held to a second, independent reading of the language:
// testdata/independent says what every cell of its workspaces must be.

// closeTo is how near two readings must come; tables print six digits.
const closeTo = 1e-9

var more = flag.String("independent", "", "a folder of further workspaces with expected.json to compare")

// reading is one expected.json.
type reading struct {
	Refused   string
	Axes      map[string][][]float64
	Filled    map[string][][2]int
	Excluded  []string
	EveryTune []string `json:"every_tune"`
	Tunes     []tuneReading
}

type tuneReading struct {
	Name       string
	Conditions map[string]json.RawMessage
	Rules      []string
	Error      string
	Maps       map[string]json.RawMessage // rows, or the name of the tune that has the same
	Limits     map[string]verdictReading
	Checks     map[string]string
}

type verdictReading struct {
	Verdict, Error          string
	Cells, Failing, Clamped int
}

func TestIndependentReading(t *testing.T) {
	folders := []string{filepath.Join("..", "testdata", "independent", "cases")}
	if *more != "" {
		folders = append(folders, *more)
	}
	for _, folder := range folders {
		cases := readings(t, folder)
		if len(cases) == 0 {
			t.Errorf("no cases in %s", folder)
		}
		for _, name := range cases {
			t.Run(name, func(t *testing.T) {
				t.Parallel()
				compareReading(t, os.DirFS(filepath.Join(folder, name)), readReading(t, filepath.Join(folder, name, "expected.json")))
			})
		}
	}
}

// The examples have their expected values beside them, tussock those of a few
// tunes. After a change to an example they are written anew:
//
//	python3 expect.py --to examples/lantern.json ../../examples/lantern
func TestIndependentExamples(t *testing.T) {
	found, err := filepath.Glob(filepath.Join("..", "testdata", "independent", "examples", "*.json"))
	if err != nil || len(found) == 0 {
		t.Fatalf("no expected values: %v", err)
	}
	for _, file := range found {
		name := strings.TrimSuffix(filepath.Base(file), ".json")
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			compareReading(t, os.DirFS(filepath.Join("..", "examples", name)), readReading(t, file))
			if t.Failed() {
				t.Logf("if examples/%s has changed, write its expected values anew with testdata/independent/expect.py", name)
			}
		})
	}
}

// readings lists the folders under one that hold an expected.json.
func readings(t *testing.T, folder string) []string {
	t.Helper()
	found, err := filepath.Glob(filepath.Join(folder, "*", "expected.json"))
	if err != nil {
		t.Fatal(err)
	}
	for i, f := range found {
		found[i] = filepath.Base(filepath.Dir(f))
	}
	return found
}

func readReading(t *testing.T, file string) *reading {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	r := &reading{}
	if err := json.Unmarshal(text, r); err != nil {
		t.Fatal(err)
	}
	return r
}

func compareReading(t *testing.T, fsys fs.FS, want *reading) {
	w := compiler.Open(fsys)
	if want.Refused != "" {
		if !w.Diags.HasErrors() {
			t.Errorf("accepted, but the other reading refuses it: %s", want.Refused)
		}
		return
	}
	if w.Diags.HasErrors() {
		for _, d := range w.Diags.Sorted() {
			if d.Severity != diag.Error {
				continue
			}
			t.Errorf("refused, but the other reading accepts it: %s: %s %s", place(d.Span), d.Code, d.Message)
		}
		return
	}
	comparison{t, w, want}.run()
}

func place(s source.Span) string {
	if s.File == nil {
		return "workspace"
	}
	return fmt.Sprintf("%s:%d", s.File.Name, 1+strings.Count(s.File.Text[:s.From], "\n"))
}

type comparison struct {
	t    *testing.T
	w    *compiler.Workspace
	want *reading
}

func (c comparison) run() {
	if got := c.w.Plan.Names(); !slices.Equal(got, c.want.EveryTune) {
		c.t.Errorf("tunes: %v, the other reading has %v", got, c.want.EveryTune)
		return
	}
	excluded := []string{}
	for _, e := range c.w.Plan.Excluded {
		excluded = append(excluded, e.Name)
	}
	sort.Strings(excluded)
	if !slices.Equal(excluded, c.want.Excluded) {
		c.t.Errorf("left out: %v, the other reading has %v", excluded, c.want.Excluded)
	}
	for _, m := range c.w.Program.Maps {
		c.shape(m)
	}
	rows := map[string]*mapReading{}
	for _, m := range c.w.Program.Maps {
		rows[m.Name] = &mapReading{by: map[string][][]float64{}}
	}
	for i := range c.want.Tunes {
		c.tune(&c.want.Tunes[i], rows)
	}
}

// shape compares a map's breakpoints and filled cells.
func (c comparison) shape(m *check.Map) {
	got := [][]float64{m.Base.Cols}
	if len(m.Axes) == 2 {
		got = [][]float64{m.Base.Rows, m.Base.Cols}
	}
	want := c.want.Axes[m.Name]
	for k := range got {
		if len(want) != len(got) || len(want[k]) != len(got[k]) {
			c.t.Fatalf("map %s: breakpoints %v, the other reading has %v", m.Name, got, want)
		}
		for i, x := range got[k] {
			if !near(x, want[k][i], math.Abs(want[k][len(want[k])-1])) {
				c.t.Errorf("map %s: breakpoint %v, the other reading has %v", m.Name, x, want[k][i])
			}
		}
	}
	var filled [][2]int
	for i, given := range m.Given {
		if !given {
			filled = append(filled, [2]int{i / len(m.Base.Cols), i % len(m.Base.Cols)})
		}
	}
	if !slices.Equal(filled, c.want.Filled[m.Name]) {
		c.t.Errorf("map %s: filled cells %v, the other reading has %v", m.Name, filled, c.want.Filled[m.Name])
	}
}

// near says whether two values are the same; scale is the size of what they
// were made from, which their difference may have cancelled.
func near(a, b, scale float64) bool {
	return math.Abs(a-b) <= max(closeTo*max(math.Abs(a), math.Abs(b)), 1e-12*max(scale, 1))
}

// mapReading is what was read of one map so far.
type mapReading struct {
	by    map[string][][]float64 // by tune
	scale float64                // the largest size of any cell
}

func (r *mapReading) add(tune string, raw json.RawMessage) error {
	var cells [][]float64
	var same string
	if json.Unmarshal(raw, &same) == nil {
		cells = r.by[same]
	} else if err := json.Unmarshal(raw, &cells); err != nil {
		return err
	}
	r.by[tune] = cells
	for _, row := range cells {
		for _, x := range row {
			r.scale = max(r.scale, math.Abs(x))
		}
	}
	return nil
}

func (c comparison) tune(want *tuneReading, rows map[string]*mapReading) {
	t := c.w.Plan.Find(want.Name)
	c.conditions(t, want)
	o := c.w.Tune(t, compiler.RunOptions{})
	if want.Error != "" || o.Result.Fault != nil {
		if want.Error == "" {
			c.t.Errorf("%s: fails (%s: %s), but not in the other reading", t.Name, place(o.Result.Fault.Span), o.Result.Fault.Reason)
		} else if o.Result.Fault == nil {
			c.t.Errorf("%s: doesn't fail, but in the other reading: %s", t.Name, want.Error)
		}
		return
	}
	rules := []string{}
	for _, r := range c.w.Program.Rules {
		yes := 1.0
		if r.When != nil {
			var err error
			if yes, err = formula.Scalar(r.When, t.Conditions(c.w.Program)); err != nil {
				c.t.Errorf("%s: rule %s: %v", t.Name, r.Name, err)
			}
		}
		for _, s := range r.Steps {
			if o.Result.Step(s).Applied != (yes != 0) {
				c.t.Errorf("%s: rule %s: applied: %v, its `when`: %v", t.Name, r.Name, o.Result.Step(s).Applied, yes)
			}
		}
		if yes != 0 {
			rules = append(rules, r.Name)
		}
	}
	if !slices.Equal(rules, want.Rules) {
		c.t.Errorf("%s: rules %v, the other reading has %v", t.Name, rules, want.Rules)
	}
	for _, m := range c.w.Program.Maps {
		r := rows[m.Name]
		if err := r.add(t.Name, want.Maps[m.Name]); err != nil {
			c.t.Fatalf("%s %s: %v", t.Name, m.Name, err)
		}
		c.cells(t, m, &o.Result.Maps[m.Index], r.by[t.Name], r.scale)
	}
	c.verdicts(o, want)
}

func (c comparison) conditions(t *plan.Tune, want *tuneReading) {
	for i, g := range c.w.Program.Givens {
		raw := want.Conditions[g.Name]
		if g.Kind == check.Number {
			var q struct {
				Value float64
				Unit  string
			}
			if err := json.Unmarshal(raw, &q); err != nil || q.Unit != g.Unit.Text || !near(q.Value, t.Values[i], 1) {
				c.t.Errorf("%s: %s = %s, the other reading has %s", t.Name, g.Name, plan.Text(g, t.Values[i]), raw)
			}
			continue
		}
		got := fmt.Sprintf("%q", plan.Text(g, t.Values[i]))
		if g.Kind == check.Switch {
			got = fmt.Sprint(t.Values[i] != 0)
		}
		if string(raw) != got {
			c.t.Errorf("%s: %s = %s, the other reading has %s", t.Name, g.Name, got, raw)
		}
	}
}

func (c comparison) cells(t *plan.Tune, m *check.Map, got *grid.Table, want [][]float64, scale float64) {
	nc := len(got.Cols)
	if len(want)*nc != len(got.Cells) {
		c.t.Errorf("%s: map %s has %d cells, the other reading %d rows of %d", t.Name, m.Name, len(got.Cells), len(want), nc)
		return
	}
	shown := 0
	for i, x := range got.Cells {
		if y := want[i/nc][i%nc]; !near(x, y, scale) {
			if shown++; shown <= 3 {
				c.t.Errorf("%s: map %s, row %d, column %d: %v, the other reading has %v", t.Name, m.Name, i/nc, i%nc, x, y)
			}
		}
	}
}

// states names the verdicts of limits as the other reading does.
var states = map[limit.State]string{limit.Holds: "pass", limit.NotHere: "not applied", limit.Clamped: "clamp", limit.Warns: "warn", limit.Fails: "fail"}

func (c comparison) verdicts(o *compiler.Outcome, want *tuneReading) {
	if len(o.Limits) != len(want.Limits) {
		c.t.Errorf("%s: %d limits, the other reading has %d", o.Tune.Name, len(o.Limits), len(want.Limits))
	}
	for _, v := range o.Limits {
		wanted := want.Limits[v.Limit.Name]
		if states[v.State] != wanted.Verdict || (v.Problem != "") != (wanted.Error != "") {
			c.t.Errorf("%s: limit %s: %s (%d of %d) %s, the other reading has %+v", o.Tune.Name, v.Limit.Name, states[v.State], v.Bad, v.Cells, v.Problem, wanted)
			continue
		}
		bad := wanted.Failing
		if v.State == limit.Clamped {
			bad = wanted.Clamped
		}
		if v.Problem == "" && v.State != limit.NotHere && (v.Bad != bad || v.Cells != wanted.Cells) {
			c.t.Errorf("%s: limit %s: %d of %d cells, the other reading has %d of %d", o.Tune.Name, v.Limit.Name, v.Bad, v.Cells, bad, wanted.Cells)
		}
	}
	checks := map[string]string{}
	for _, k := range c.w.Program.Checks {
		if len(k.Expects) == 0 {
			checks[k.Title] = "pass"
		}
	}
	for _, k := range o.Checks {
		if checks[k.Check.Title] == "" {
			checks[k.Check.Title] = "pass"
		}
		if !k.OK {
			checks[k.Check.Title] = "fail"
		}
	}
	for title, wanted := range want.Checks {
		if checks[title] != wanted {
			c.t.Errorf("%s: check %q: %s, the other reading has %s", o.Tune.Name, title, checks[title], wanted)
		}
	}
}
