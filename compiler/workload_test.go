package compiler_test

import (
	"math"
	"slices"
	"testing"

	"fettle/compiler"
	"fettle/compiler/check"
	"fettle/compiler/plan"
	"fettle/testdata/bench/workload"
)

// handArgs reads a tune's conditions as the hand-written loops take them.
func handArgs(w *compiler.Workspace, t *plan.Tune) (altitude, temp float64, blend workload.Blend, pipe workload.Pipe) {
	v := map[string]float64{}
	for i, g := range w.Program.Givens {
		v[g.Name] = t.Values[i]
	}
	return v["altitude"], v["air_temp"], workload.Blends[int(v["blend"])], workload.Pipes[int(v["pipe"])]
}

// valueOf gives what a given is in a tune.
func valueOf(w *compiler.Workspace, t *plan.Tune) func(name string) float64 {
	return func(name string) float64 {
		return t.Values[slices.IndexFunc(w.Program.Givens, func(g *check.Given) bool { return g.Name == name })]
	}
}

func openW(t testing.TB, n int) *compiler.Workspace {
	w := compiler.Open(workload.Files(n))
	if w.Diags.HasErrors() || len(w.Plan.Tunes) != n {
		t.Fatalf("%d tunes; %v", len(w.Plan.Tunes), w.Diags.Sorted())
	}
	return w
}

// The loops written by hand give the cells that the compiler gives, so that their
// times can be compared.
func TestHandWrittenLoopsAgree(t *testing.T) {
	w, h := openW(t, 2000), workload.NewHand()
	fuel, spark := make([]float64, 480), make([]float64, 480)
	capped, guarded := 0, 0
	for _, tune := range w.Plan.Tunes {
		o := w.Tune(tune, compiler.RunOptions{})
		if o.Failed() {
			t.Fatalf("%s: %+v", tune.Name, o.Result.Fault)
		}
		altitude, temp, blend, pipe := handArgs(w, tune)
		h.Tune(altitude, temp, blend, pipe, fuel, spark)
		if temp < 12 || temp > 28 {
			guarded++
		}
		for m, hand := range [][]float64{fuel, spark} {
			for i, want := range hand {
				got := o.Result.Maps[m].Cells[i]
				if math.Abs(got-want) > 1e-12*math.Abs(want) {
					t.Fatalf("%s, map %d, cell %d: %v, by hand %v", tune.Name, m, i, got, want)
				}
				if want == 21 || want == 29.5 {
					capped++
				}
			}
		}
	}
	if capped == 0 || guarded == 0 || guarded == len(w.Plan.Tunes) {
		t.Errorf("%d cells capped, %d of %d tunes guarded: not much of a comparison", capped, guarded, len(w.Plan.Tunes))
	}
}

// agree holds a map's cells to those of the loops written by hand.
func agree(t *testing.T, tune, m string, got, hand []float64) {
	t.Helper()
	for i, want := range hand {
		if !(math.Abs(got[i]-want) <= 1e-12*max(math.Abs(want), 1)) {
			t.Fatalf("%s, map %s, cell %d: %v, by hand %v", tune, m, i, got[i], want)
		}
	}
}

// So do those of the workload that is made of formulas.
func TestHandWrittenFormulasAgree(t *testing.T) {
	w := compiler.Open(workload.DerivedFiles())
	if w.Diags.HasErrors() || len(w.Plan.Tunes) != 1400 {
		t.Fatalf("%d tunes; %v", len(w.Plan.Tunes), w.Diags.Sorted())
	}
	d := workload.NewDerived()
	tables := d.Tables()
	second, shut, full, held := 0, 0, 0, 0
	for _, tune := range w.Plan.Tunes {
		o := w.Tune(tune, compiler.RunOptions{})
		if o.Failed() {
			t.Fatalf("%s: %+v", tune.Name, o.Result.Fault)
		}
		battery, temp, first, rear := workload.DerivedTune(valueOf(w, tune))
		d.Tune(battery, temp, first, rear, tables)
		for m, hand := range tables.All() {
			if w.Program.Maps[m].Name != workload.DerivedMaps()[m] {
				t.Fatalf("map %d is %s", m, w.Program.Maps[m].Name)
			}
			agree(t, tune.Name, w.Program.Maps[m].Name, o.Result.Maps[m].Cells, hand)
		}
		for i, x := range tables.Rear {
			if x > 0 {
				second++
			} else {
				shut++
			}
			if tables.Most[i] == 100 {
				full++
			}
		}
		for _, x := range tables.Lambda {
			if x == 0.85 || x == 1.01 {
				held++
			}
		}
	}
	if second == 0 || shut == 0 || full == 0 || held == 0 {
		t.Errorf("%d cells with a second injector, %d without, %d at the most, %d held: not much of a comparison", second, shut, full, held)
	}
}

// And those of the one with rules of every kind.
func TestHandWrittenMixtureAgrees(t *testing.T) {
	w := compiler.Open(workload.MixedFiles())
	if w.Diags.HasErrors() || len(w.Plan.Tunes) != 1920 {
		t.Fatalf("%d tunes; %v", len(w.Plan.Tunes), w.Diags.Sorted())
	}
	m := workload.NewMixed()
	fuel, spark, top := m.Tables()
	least, most, capped := 0, 0, 0
	for _, tune := range w.Plan.Tunes {
		o := w.Tune(tune, compiler.RunOptions{})
		if o.Failed() {
			t.Fatalf("%s: %+v", tune.Name, o.Result.Fault)
		}
		which, at, mix, tail := workload.MixedTune(tune.Name, valueOf(w, tune))
		m.Tune(which, at, mix, tail, fuel, spark, top)
		for i, hand := range [][]float64{fuel, spark, top} {
			agree(t, tune.Name, w.Program.Maps[i].Name, o.Result.Maps[i].Cells, hand)
		}
		for _, x := range fuel {
			if x == 1.2 {
				least++
			}
			if x == 17.5 {
				most++
			}
		}
		for _, c := range o.Result.Clamps {
			if c.Limit.Name == "spark_most" {
				capped += c.Cells
			}
		}
	}
	if least == 0 || most == 0 || capped == 0 {
		t.Errorf("%d cells at the least, %d at the most, %d sparks capped: not much of a comparison", least, most, capped)
	}
}
