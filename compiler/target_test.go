package compiler_test

import (
	"regexp"
	"slices"
	"testing"
	"testing/fstest"

	"fettle/compiler"
	"fettle/compiler/resample"
)

// sourcesOf is the example with targets, as files that a test may change.
func sourcesOf(t *testing.T) fstest.MapFS {
	t.Helper()
	out := fstest.MapFS{}
	for name, text := range texts(t, "tussock") {
		out[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return out
}

func opened(t *testing.T, files fstest.MapFS) *compiler.Workspace {
	t.Helper()
	w := compiler.Open(files)
	for _, d := range w.Diags.Sorted() {
		if w.Diags.HasErrors() {
			t.Fatalf("%s: %s", d.Span, d.Message)
		}
	}
	return w
}

// What a controller compensates is left out: the tune for it is, bit for bit, the
// tune of a source that never had those rules.
func TestCompensatedRulesAreLeftOut(t *testing.T) {
	files := sourcesOf(t)
	w := opened(t, files)
	shop := w.Program.Targets[0]
	if len(shop.LeavesOut) < 2 || len(shop.Tables) < 4 {
		t.Fatalf("the target leaves out %d rules and has %d tables", len(shop.LeavesOut), len(shop.Tables))
	}
	without := sourcesOf(t)
	for _, r := range shop.LeavesOut {
		cut := regexp.MustCompile(`(?ms)^rule ` + r.Name + ` .*?^}$`)
		f := without[r.Span.File.Name]
		left := cut.ReplaceAll(f.Data, nil)
		if len(left) == len(f.Data) {
			t.Fatalf("rule %s isn't found", r.Name)
		}
		f.Data = left
	}
	delete(without, "target.fettle")
	main := without["tune.fettle"]
	main.Data = regexp.MustCompile(`(?m)^use "target.fettle"\n`).ReplaceAll(main.Data, nil)
	plain := opened(t, without)
	moved := 0
	for _, tune := range some(w.Plan.Tunes, 12) {
		o := w.Tune(tune, compiler.RunOptions{Targets: w.Program.Targets})
		want := plain.Tune(plain.Plan.Find(tune.Name), compiler.RunOptions{})
		for i, m := range w.Program.Maps {
			if !slices.Equal(o.Targets[0].Result.Maps[i].Cells, want.Result.Maps[i].Cells) {
				t.Errorf("%s for %s: %s isn't as without the rules", tune.Name, shop.Name, m.Name)
			}
			if !slices.Equal(o.Targets[0].Result.Maps[i].Cells, o.Result.Maps[i].Cells) {
				moved++
			}
		}
	}
	if moved == 0 {
		t.Error("leaving the rules out changes nothing")
	}
}

// Chosen breakpoints are nearer to the map than even ones in every tune, both
// evaluators choose the same, and every tune fits.
func TestChosenBreakpointsOfTheExample(t *testing.T) {
	w := opened(t, sourcesOf(t))
	chosen := 0
	for _, tune := range some(w.Plan.Tunes, 40) {
		o := w.Tune(tune, compiler.RunOptions{Targets: w.Program.Targets})
		plain := w.Tune(tune, compiler.RunOptions{Targets: w.Program.Targets, Reference: true})
		for i, on := range o.Targets {
			if on.Fails() {
				t.Errorf("%s fails for %s", tune.Name, on.Target.Name)
			}
			for k, table := range on.Tables {
				other := plain.Targets[i].Tables[k]
				if !slices.Equal(table.Cells, other.Cells) || !slices.Equal(table.Cols.Points, other.Cols.Points) {
					t.Errorf("%s: %s by the plain evaluator is another", tune.Name, table.Name)
				}
				axis := table.Spec.Axes[len(table.Spec.Axes)-1]
				if axis.Auto == 0 {
					continue
				}
				chosen++
				from := &on.Result.Maps[table.Spec.Map.Index]
				even := resample.To(from, table.Rows.Points, resample.Even(axis.Grid, axis.Auto))
				if e := resample.Compare(from, &even); !table.Resampling.Less(e) {
					t.Errorf("%s: %s is off by %g, %g on average; even breakpoints by %g, %g", tune.Name, table.Name, table.Resampling.Largest, table.Resampling.Mean, e.Largest, e.Mean)
				}
			}
		}
	}
	if chosen < 40 {
		t.Errorf("only %d tables have chosen breakpoints", chosen)
	}
}

// Tunes on several workers come out as one by one: the maker of a target serves
// them all.
func TestTargetsOnManyWorkers(t *testing.T) {
	w := opened(t, sourcesOf(t))
	tunes := some(w.Plan.Tunes, 12)
	i := 0
	w.Run(tunes, compiler.RunOptions{Targets: w.Program.Targets, Workers: 4}, func(o *compiler.Outcome) {
		alone := w.Tune(tunes[i], compiler.RunOptions{Targets: w.Program.Targets})
		i++
		for k, on := range o.Targets {
			for j, table := range on.Tables {
				other := alone.Targets[k].Tables[j]
				if !slices.Equal(table.Storage.Raw, other.Storage.Raw) || !slices.Equal(table.Cols.Points, other.Cols.Points) {
					t.Errorf("%s: %s differs", o.Tune.Name, table.Name)
				}
			}
			for j, v := range on.Limits {
				if other := alone.Targets[k].Limits[j]; v.State != other.State || v.Margin != other.Margin {
					t.Errorf("%s: limit %s differs", o.Tune.Name, v.Limit.Name)
				}
			}
		}
	})
	if i != len(tunes) {
		t.Errorf("%d of %d tunes", i, len(tunes))
	}
}
