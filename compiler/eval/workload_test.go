package eval

import (
	"slices"
	"testing"
	"time"

	"fettle/compiler/check"
	"fettle/compiler/plan"
	"fettle/testdata/bench/workload"
)

// valueOf gives what a given is in a tune.
func valueOf(w *bench, t *plan.Tune) func(name string) float64 {
	return func(name string) float64 {
		return t.Values[slices.IndexFunc(w.Check.Givens, func(g *check.Given) bool { return g.Name == name })]
	}
}

// byHandArgs reads a tune's conditions as the hand-written loops take them.
func byHandArgs(w *bench, t *plan.Tune) (altitude, temp float64, blend workload.Blend, pipe workload.Pipe) {
	v := valueOf(w, t)
	return v("altitude"), v("air_temp"), workload.Blends[int(v("blend"))], workload.Pipes[int(v("pipe"))]
}

// against computes a workload's tunes by the loops written by hand and by the
// evaluator, one after the other in short turns, on one processor. The least time
// of each counts, so that their ratio can be told on a machine that does other work
// too.
func against(b *testing.B, w *bench, byHand []func()) {
	const turn, turns = 20, 12 // tunes of each, from all over the plan
	var cells int
	for m := range w.Check.Maps {
		cells += turn * w.MapCells(m).N()
	}
	var mixes []Mix
	for i := range turn * turns {
		k := i * len(byHand) / (turn * turns)
		t := w.plan.Tunes[k]
		mixes, byHand[i] = append(mixes, Mix{All: t.Conditions(w.Check), Trims: t.Trims}), byHand[k]
	}
	var res Result
	var hand, compiled []time.Duration
	for at := 0; b.Loop(); at = (at + turn) % len(mixes) {
		start := time.Now()
		for _, f := range byHand[at : at+turn] {
			f()
		}
		middle := time.Now()
		for _, m := range mixes[at : at+turn] {
			w.TuneInto(&res, m, Options{})
		}
		end := time.Now()
		hand, compiled = append(hand, middle.Sub(start)), append(compiled, end.Sub(middle))
	}
	// The turns differ in their rules: each is told by its least time.
	perTurn := func(d []time.Duration) (least, median float64) {
		var some []time.Duration
		for k := range min(turns, len(d)) {
			some = some[:0]
			for i := k; i < len(d); i += turns {
				some = append(some, d[i])
			}
			slices.Sort(some)
			least += float64(some[0].Nanoseconds())
			median += float64(some[len(some)/2].Nanoseconds())
		}
		n := float64(cells * min(turns, len(d)))
		return least / n, median / n
	}
	h, hm := perTurn(hand)
	c, cm := perTurn(compiled)
	b.ReportMetric(h, "hand-ns/cell")
	b.ReportMetric(c, "ns/cell")
	b.ReportMetric(c/h, "ratio")
	b.ReportMetric(cm/hm, "median-ratio")
}

// BenchmarkW is W(10,000), of rules like those of most workshops.
func BenchmarkW(b *testing.B) {
	w, h := lower(b, string(workload.Files(10_000)["tune.fettle"].Data)), workload.NewHand()
	fuel, spark := make([]float64, 480), make([]float64, 480)
	byHand := make([]func(), len(w.plan.Tunes))
	for i, t := range w.plan.Tunes {
		altitude, temp, blend, pipe := byHandArgs(w, t)
		byHand[i] = func() { h.Tune(altitude, temp, blend, pipe, fuel, spark) }
	}
	against(b, w, byHand)
}

// BenchmarkDerived is the workload of formulas of other maps.
func BenchmarkDerived(b *testing.B) {
	w, d := lower(b, string(workload.DerivedFiles()["tune.fettle"].Data)), workload.NewDerived()
	tables := d.Tables()
	byHand := make([]func(), len(w.plan.Tunes))
	for i, t := range w.plan.Tunes {
		battery, temp, first, second := workload.DerivedTune(valueOf(w, t))
		byHand[i] = func() { d.Tune(battery, temp, first, second, tables) }
	}
	against(b, w, byHand)
}

// BenchmarkMixed is the workload of rules of every kind over grids of odd sizes.
func BenchmarkMixed(b *testing.B) {
	w, m := lower(b, string(workload.MixedFiles()["tune.fettle"].Data)), workload.NewMixed()
	fuel, spark, top := m.Tables()
	byHand := make([]func(), len(w.plan.Tunes))
	for i, t := range w.plan.Tunes {
		which, at, mix, tail := workload.MixedTune(t.Name, valueOf(w, t))
		byHand[i] = func() { m.Tune(which, at, mix, tail, fuel, spark, top) }
	}
	against(b, w, byHand)
}
