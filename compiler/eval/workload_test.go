package eval

import (
	"slices"
	"testing"
	"time"

	"fettle/compiler/plan"
	"fettle/testdata/bench/workload"
)

// byHandArgs reads a tune's conditions as the hand-written loops take them.
func byHandArgs(w *bench, t *plan.Tune) (altitude, temp float64, blend workload.Blend, pipe workload.Pipe) {
	v := map[string]float64{}
	for i, g := range w.Check.Givens {
		v[g.Name] = t.Values[i]
	}
	return v["altitude"], v["air_temp"], workload.Blends[int(v["blend"])], workload.Pipes[int(v["pipe"])]
}

// BenchmarkW is W(10,000) by the loops written by hand and by the evaluator, one
// after the other in short turns, on one processor. The least time of each counts,
// so that their ratio can be told on a machine that does other work too.
func BenchmarkW(b *testing.B) {
	const turn = 20 // tunes
	w, h := lower(b, string(workload.Files(10_000)["tune.fettle"].Data)), workload.NewHand()
	fuel, spark := make([]float64, 480), make([]float64, 480)
	byHand := make([]func(), len(w.plan.Tunes))
	for i, t := range w.plan.Tunes {
		altitude, temp, blend, pipe := byHandArgs(w, t)
		byHand[i] = func() { h.Tune(altitude, temp, blend, pipe, fuel, spark) }
	}
	var res Result
	var hand, compiled []time.Duration
	for at := 0; b.Loop(); at = (at + turn) % len(byHand) {
		start := time.Now()
		for _, f := range byHand[at : at+turn] {
			f()
		}
		middle := time.Now()
		for _, t := range w.plan.Tunes[at : at+turn] {
			w.TuneInto(&res, Mix{All: t.Conditions(w.Check)}, Options{})
		}
		end := time.Now()
		hand, compiled = append(hand, middle.Sub(start)), append(compiled, end.Sub(middle))
	}
	cells := float64(turn * 960)
	least := func(d []time.Duration) float64 { return float64(slices.Min(d).Nanoseconds()) / cells }
	median := func(d []time.Duration) float64 {
		slices.Sort(d)
		return float64(d[len(d)/2].Nanoseconds()) / cells
	}
	b.ReportMetric(least(hand), "hand-ns/cell")
	b.ReportMetric(least(compiled), "ns/cell")
	b.ReportMetric(least(compiled)/least(hand), "ratio")
	b.ReportMetric(median(compiled)/median(hand), "median-ratio")
}
