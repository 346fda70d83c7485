package session_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"maps"
	"math"
	"math/rand/v2"
	"reflect"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"

	"fettle/compiler"
	"fettle/compiler/emit"
	"fettle/compiler/eval"
	"fettle/compiler/limit"
	"fettle/compiler/plan"
	"fettle/compiler/report"
	"fettle/compiler/session"
	"fettle/compiler/target"
	"fettle/examples"
	"fettle/lang/diag"
	"fettle/lang/source"
)

func workspace(t testing.TB, at string) source.Memory {
	t.Helper()
	files, err := examples.Sources(at)
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// anew is what a whole check of the files gives.
func anew(t testing.TB, files fs.FS) (*compiler.Workspace, []*compiler.Outcome) {
	t.Helper()
	w := compiler.Open(files)
	if w.Diags.HasErrors() {
		return w, nil
	}
	var out []*compiler.Outcome
	w.Run(w.Plan.Tunes, compiler.RunOptions{Survey: true, Targets: w.Program.Targets}, func(o *compiler.Outcome) { out = append(out, o) })
	return w, out
}

// told is what `check` prints and what `check --json` writes.
func told(t testing.TB, w *compiler.Workspace, outcomes []*compiler.Outcome) string {
	t.Helper()
	var out bytes.Buffer
	if !w.Diags.HasErrors() {
		survey, v := w.NewSurvey(), report.NewVerdicts(w.Program)
		have := map[*plan.Tune]*compiler.Outcome{}
		for _, o := range outcomes {
			survey.Add(o)
			in := w.Input(o, emit.Source{})
			v.Add(o.Tune, o.Limits, o.Checks, emit.Reasons(in), emit.Warnings(in))
			v.AddTargets(in)
			have[o.Tune] = o
		}
		survey.Report(w.Diags)
		for _, b := range w.Bundles(w.Plan.Tunes, have, compiler.RunOptions{Targets: w.Program.Targets}) {
			v.AddBundle(b.Outcome)
		}
		v.Text(&out, report.Options{Width: 200})
		fmt.Fprintln(&out, v.Ask)
		b, err := json.MarshalIndent(report.Checked{Verdicts: v, Diagnostics: diag.NewReport(w.Diags.Sorted())}, "", " ")
		if err != nil {
			t.Fatal(err)
		}
		out.Write(b)
	}
	diag.Text(&out, w.Diags.Sorted(), diag.TextOptions{})
	fmt.Fprintln(&out, w.Files(), w.Digest())
	return out.String()
}

// compare holds what a session gives to what a whole check gives.
func compare(t testing.TB, got *session.Checked, files fs.FS) {
	t.Helper()
	w, want := anew(t, files)
	if len(got.Outcomes) != len(want) {
		t.Fatalf("%d outcomes, want %d", len(got.Outcomes), len(want))
	}
	for i, o := range got.Outcomes {
		if d := outcome(o, want[i]); d != "" {
			t.Fatalf("%s: %s", want[i].Tune.Name, d)
		}
	}
	if a, b := told(t, got.Workspace, got.Outcomes), told(t, w, want); a != b {
		t.Fatalf("check says\n%s\nwant\n%s", a, b)
	}
}

func outcome(a, b *compiler.Outcome) string {
	if a.Tune.Name != b.Tune.Name || a.Failed() != b.Failed() {
		return "the tune differs"
	}
	if d := result(a.Result, b.Result); d != "" {
		return d
	}
	if len(a.Limits) != len(b.Limits) || len(a.Checks) != len(b.Checks) || len(a.Targets) != len(b.Targets) {
		return "not as many limits, checks or targets"
	}
	for i := range a.Limits {
		if d := verdict(a.Limits[i], b.Limits[i]); d != "" {
			return d
		}
	}
	for i := range a.Checks {
		x, y := *a.Checks[i], *b.Checks[i]
		x.Check, y.Check = nil, nil
		if x.Expect.Text != y.Expect.Text || fmt.Sprintf("%v %v %v %v %v %v %v", x.OK, x.HasValues, math.Float64bits(x.Got), math.Float64bits(x.Want), x.Problem, x.Op, x.Compared) !=
			fmt.Sprintf("%v %v %v %v %v %v %v", y.OK, y.HasValues, math.Float64bits(y.Got), math.Float64bits(y.Want), y.Problem, y.Op, y.Compared) {
			return fmt.Sprintf("%s: %+v, want %+v", x.Expect.Text, x, y)
		}
	}
	for i := range a.Targets {
		if d := targeted(a.Targets[i], b.Targets[i]); d != "" {
			return "target: " + d
		}
	}
	return ""
}

func result(a, b *eval.Result) string {
	if (a.Fault == nil) != (b.Fault == nil) || a.Fault != nil && (a.Fault.Reason != b.Fault.Reason || a.Fault.Cell != b.Fault.Cell || a.Fault.Map.Name != b.Fault.Map.Name) {
		return fmt.Sprintf("fault %v, want %v", a.Fault, b.Fault)
	}
	if a.Fault != nil {
		return ""
	}
	for i := range a.Maps {
		if !same(a.Maps[i].Cells, b.Maps[i].Cells) {
			return fmt.Sprintf("map %d differs", i)
		}
	}
	for i := range a.Steps {
		x, y := a.Steps[i], b.Steps[i]
		if (x.Step == nil) != (y.Step == nil) || x.Applied != y.Applied || x.Touched != y.Touched || x.Changed != y.Changed || x.Touched > 0 && !reflect.DeepEqual(x.Weights, y.Weights) {
			return fmt.Sprintf("step %d: %+v, want %+v", i, x, y)
		}
	}
	for i := range a.Clamps {
		x, y := a.Clamps[i], b.Clamps[i]
		x.Limit, y.Limit = nil, nil
		if x != y {
			return fmt.Sprintf("clamp %d: %+v, want %+v", i, x, y)
		}
	}
	if len(a.Thrown) != len(b.Thrown) {
		return "thrown changes differ"
	}
	for i, x := range a.Thrown {
		if y := b.Thrown[i]; x.Earlier.Index != y.Earlier.Index || x.Later.Index != y.Later.Index || x.Cells != y.Cells {
			return fmt.Sprintf("thrown %d: %+v, want %+v", i, x, y)
		}
	}
	return ""
}

func verdict(a, b *limit.Verdict) string {
	text := func(v *limit.Verdict) string {
		s := fmt.Sprintf("%s %v %d %d %v %v %v %v %v %q %q", v.Limit.Name, v.State, v.Cells, v.Bad, v.At, v.HasMargin, v.Value, v.Bound, v.Margin, v.Unit.Text, v.Problem)
		if v.Blame != nil {
			s += fmt.Sprint(v.Blame.Main)
			for _, p := range v.Blame.Pushes {
				s += fmt.Sprintf("; %s %v %v", p.Name, p.Change, p.After)
			}
		}
		if v.HasMargin {
			s += fmt.Sprint(v.AtCell(v.Limit.Axes, v.At))
		}
		return s
	}
	if x, y := text(a), text(b); x != y {
		return x + ", want " + y
	}
	return ""
}

func targeted(a, b *target.Outcome) string {
	if d := result(a.Result, b.Result); d != "" {
		return d
	}
	if (a.Fault == nil) != (b.Fault == nil) || len(a.Tables) != len(b.Tables) || len(a.Limits) != len(b.Limits) || a.Fails() != b.Fails() {
		return "the outcome differs"
	}
	for i, x := range a.Tables {
		y := b.Tables[i]
		if !reflect.DeepEqual(x.Table, y.Table) || !reflect.DeepEqual(x.Exact, y.Exact) || !reflect.DeepEqual(x.Resampling, y.Resampling) || !reflect.DeepEqual(x.Rounding, y.Rounding) || !reflect.DeepEqual(x.Misfit, y.Misfit) {
			return "table " + x.Name + " differs"
		}
		on, want := a.LimitsOn(x.Spec), b.LimitsOn(y.Spec)
		for k := range on {
			if d := verdict(on[k].Verdict, want[k].Verdict); d != "" {
				return d
			}
		}
	}
	for i := range a.Limits {
		if d := verdict(a.Limits[i].Verdict, b.Limits[i].Verdict); d != "" {
			return d
		}
	}
	return ""
}

func same(a, b []float64) bool {
	for i := range a {
		if math.Float64bits(a[i]) != math.Float64bits(b[i]) {
			return false
		}
	}
	return len(a) == len(b)
}

var (
	number  = regexp.MustCompile(`[0-9]+\.[0-9]+`)
	gridRow = regexp.MustCompile(`(?m)^  +[0-9]* *\|.*$`)
)

// edit changes a number of a CSV file or a grid, most often by a little.
func edit(r *rand.Rand, files source.Memory, name string) {
	text := files[name]
	var cells [][]int
	if strings.HasSuffix(name, ".csv") {
		first := strings.IndexByte(text, '\n')
		for _, at := range number.FindAllStringIndex(text[first:], -1) {
			cells = append(cells, []int{at[0] + first, at[1] + first})
		}
	} else {
		for _, row := range gridRow.FindAllStringIndex(text, -1) {
			for _, at := range number.FindAllStringIndex(text[row[0]:row[1]], -1) {
				cells = append(cells, []int{at[0] + row[0], at[1] + row[0]})
			}
		}
	}
	at := cells[r.IntN(len(cells))]
	var x float64
	fmt.Sscan(text[at[0]:at[1]], &x)
	by := 0.97 + 0.06*r.Float64()
	if r.IntN(6) == 0 {
		by = 0.5 + r.Float64()
	}
	digits := at[1] - at[0] - 1 - strings.IndexByte(text[at[0]:at[1]], '.')
	files[name] = text[:at[0]] + fmt.Sprintf("%*.*f", at[1]-at[0], digits, x*by) + text[at[1]:]
}

// A sequence of edits, back and forth, gives each time what a whole check gives.
func TestAsAnew(t *testing.T) {
	for _, c := range []struct {
		name, at string
		edits    int
		in       []string
	}{
		{"tussock", "../../examples/tussock", 5, []string{"base.fettle", "base_fuel.csv", "base_fuel.csv"}},
		{"lantern", "../../examples/lantern", 15, []string{"engine.fettle"}},
		{"odd", "testdata/odd", 100, []string{"tune.fettle"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			files, r := workspace(t, c.at), rand.New(rand.NewPCG(1, 2))
			s, before := &session.Session{}, []source.Memory{}
			compare(t, s.Check(files), files)
			short := 0
			for range c.edits {
				before = append(before, maps.Clone(files))
				switch {
				case r.IntN(8) == 0:
					files = maps.Clone(before[r.IntN(len(before))])
				default:
					for name := c.in[r.IntN(len(c.in))]; ; {
						if edit(r, files, name); r.IntN(4) > 0 {
							break
						}
					}
				}
				got := s.Check(files)
				if got.Maps < got.All {
					short++
				}
				compare(t, got, files)
			}
			if short < c.edits/2 {
				t.Errorf("%d of %d edits took the short way", short, c.edits)
			}
		})
	}
}

// Cells that are as near as float noise can make are told apart by their order, as a
// search over all of them does.
func TestTies(t *testing.T) {
	const rows, cols = 7, 3
	r := rand.New(rand.NewPCG(3, 4))
	values := []string{"5.000000000", "5.000000002", "5.000000004", "5.000000006", "5.000000008", "5.000000010", "5.000000013", "5.100000000", "4.000000000"}
	var cells [rows][cols]string
	for i := range cells {
		for k := range cells[i] {
			cells[i][k] = values[r.IntN(len(values))]
		}
	}
	s := &session.Session{}
	for range 300 {
		cells[r.IntN(rows)][r.IntN(cols)] = values[r.IntN(len(values))]
		grid := ""
		for i := range cells {
			grid += fmt.Sprintf("  %d | %s\n", i, strings.Join(cells[i][:], " "))
		}
		files := source.Memory{source.MainName: "axis a 0..9\naxis b 0..9\nmap m {\n  a \\ b | 1 2 3\n" + grid + "}\n" +
			"limit most: m <= 10\nlimit few: m <= 10 where m >= 5\nlimit both: m <= 10 and m >= 0\nlimit near: step(m, a) <= 7 and m >= -5\nvariant only {\n}\n"}
		got := s.Check(files)
		w, want := anew(t, files)
		if w.Diags.HasErrors() {
			t.Fatal(w.Diags.Sorted()[0].Message)
		}
		if d := outcome(got.Outcomes[0], want[0]); d != "" {
			t.Fatal(d)
		}
	}
}

// A value that can't be computed fails the tunes, until it is mended.
func TestFaults(t *testing.T) {
	files := workspace(t, "testdata/odd")
	s := &session.Session{}
	compare(t, s.Check(files), files)
	for _, edit := range []struct{ from, to string }{{"|   4.5    6.5 ", "|   4.5    6.0 "}, {"7.50   7.20", "7.90   7.20"}, {"|   4.5    6.0 ", "|   4.5    6.4 "}, {"7.90   7.20", "8.90   7.20"}, {"8.90   7.20", "7.10   7.20"}} {
		files["tune.fettle"] = strings.Replace(files["tune.fettle"], edit.from, edit.to, 1)
		got := s.Check(files)
		if !strings.Contains(files["tune.fettle"], edit.to) || got.Maps == got.All {
			t.Fatalf("%s wasn't an edit of a cell", edit.to)
		}
		compare(t, got, files)
	}
}

// Whatever changes more than cells is done anew, and so is what comes after a source
// with errors.
func TestNotAgain(t *testing.T) {
	files := workspace(t, "testdata/odd")
	s := &session.Session{}
	compare(t, s.Check(files), files)
	for _, edit := range []struct{ from, to string }{
		{"most_fuel: fuel <= 7.40 mg", "most_fuel: fuel <= 7.30 mg"},
		{"  20             |", "  25             |"},
		{"1.20   1.30", "1.20   x.30"},
		{"1.20   x.30", "1.20   1.35"},
		{"# A file that", "# a file that"},
		{"0.01 {\n", "0.05 {\n"},
	} {
		for name, text := range files {
			files[name] = strings.Replace(text, edit.from, edit.to, 1)
		}
		got := s.Check(files)
		if got.Maps != got.All {
			t.Errorf("%q: only cells are said to have changed", edit.to)
		}
		compare(t, got, files)
	}
	if got := s.Check(files); got.Maps != 0 {
		t.Errorf("nothing changed, and %d maps were computed", got.Maps)
	}
}

// A source that lies there unused is told of as long as it does.
func TestStray(t *testing.T) {
	files := fstest.MapFS{}
	for name, text := range workspace(t, "testdata/odd") {
		files[name] = &fstest.MapFile{Data: []byte(text)}
	}
	s := &session.Session{}
	for _, stray := range []bool{false, true, true, false, false} {
		if stray {
			files["stray.fettle"] = &fstest.MapFile{}
		} else {
			delete(files, "stray.fettle")
		}
		compare(t, s.Check(files), files)
	}
}
