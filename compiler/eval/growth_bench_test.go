package eval

import (
	"fmt"
	"runtime"
	"slices"
	"sync"
	"testing"
	"time"

	"fettle/compiler/check"
	"fettle/compiler/plan"
	"fettle/testdata/bench/workload"
)

// BenchmarkGrowth is W(N) for several N: a tune costs the same in each.
func BenchmarkGrowth(b *testing.B) {
	for _, n := range []int{100, 1_000, 10_000, 100_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			w := lower(b, string(workload.Files(n)["tune.fettle"].Data))
			var res Result
			least := time.Duration(1 << 62)
			for at := 0; b.Loop(); at = (at + 100) % n { // in turns of a hundred tunes
				start := time.Now()
				for _, t := range w.plan.Tunes[at : at+100] {
					w.TuneInto(&res, Mix{All: t.Conditions(w.Check)}, Options{})
				}
				least = min(least, time.Since(start))
			}
			b.ReportMetric(float64(least.Nanoseconds())/100, "ns/tune")
		})
	}
}

// BenchmarkCores is W(10,000) on one processor and on all, turn by turn: how many
// times as fast all are. It tells something on a machine that does nothing else.
func BenchmarkCores(b *testing.B) {
	w := lower(b, string(workload.Files(10_000)["tune.fettle"].Data))
	all := func(workers int) time.Duration {
		start := time.Now()
		var wg sync.WaitGroup
		for part := range slices.Chunk(w.plan.Tunes, len(w.plan.Tunes)/workers) {
			wg.Go(func() {
				var res Result
				for _, t := range part {
					w.TuneInto(&res, Mix{All: t.Conditions(w.Check)}, Options{})
				}
			})
		}
		wg.Wait()
		return time.Since(start)
	}
	one, many := time.Duration(1<<62), time.Duration(1<<62)
	for b.Loop() {
		one, many = min(one, all(1)), min(many, all(runtime.GOMAXPROCS(0)))
	}
	b.ReportMetric(float64(one)/float64(many), "times")
}

// BenchmarkChains is a tune with the chain of every cell of every map, and one
// without, turn by turn.
func BenchmarkChains(b *testing.B) {
	for _, c := range []struct {
		name string
		w    *bench
	}{{"W", lower(b, string(workload.Files(100)["tune.fettle"].Data))}, {"Tussock", tussock(b)}} {
		b.Run(c.name, func(b *testing.B) {
			var plain, traced []time.Duration
			var res, full Result
			turn := func(t *plan.Tune, res *Result, opt Options) time.Duration {
				start := time.Now()
				for range 5 {
					c.w.TuneInto(res, Mix{All: t.Conditions(c.w.Check), Trims: t.Trims}, opt)
				}
				return time.Since(start)
			}
			chains := Options{Trace: func(*check.Map) bool { return true }}
			for i := 0; b.Loop(); i++ {
				t := c.w.plan.Tunes[i%len(c.w.plan.Tunes)]
				plain = append(plain, turn(t, &res, Options{}))
				traced = append(traced, turn(t, &full, chains))
			}
			b.ReportMetric(float64(slices.Min(traced))/float64(slices.Min(plain)), "ratio")
			slices.Sort(plain)
			slices.Sort(traced)
			b.ReportMetric(float64(traced[len(traced)/2])/float64(plain[len(plain)/2]), "median-ratio")
		})
	}
}
