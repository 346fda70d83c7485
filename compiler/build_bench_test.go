//go:build linux

package compiler_test

import (
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"fettle/compiler"
	"fettle/compiler/emit"
	"fettle/testdata/bench/plainwrite"
)

// What a build takes beside what writing the same bytes takes, in one run: of the
// clock, and of all processors, which tells more where others use them too. The
// files go where TMPDIR says, best a file system in memory:
//
//	TMPDIR=/dev/shm go test ./compiler -run XXX -bench BuildW -count 5

const benchTunes = 1000

// buildW builds W into a folder.
func buildW(b *testing.B, w *compiler.Workspace, dir string, workers int) {
	f, err := emit.NewFolder(dir, "", false)
	if err != nil {
		b.Fatal(err)
	}
	src := emit.Source{Digest: w.Digest(), Version: "bench"}
	opt := compiler.RunOptions{Workers: workers, Also: func(o *compiler.Outcome) { o.Part = f.Make(w.Input(o, src)) }}
	w.Run(w.Plan.Tunes, opt, func(o *compiler.Outcome) {
		if err := f.Take(o.Part); err != nil {
			b.Fatal(err)
		}
	})
	if _, err := f.Close(nil); err != nil {
		b.Fatal(err)
	}
}

// emitW writes what is computed already.
func emitW(b *testing.B, w *compiler.Workspace, all []*compiler.Outcome, dir string, workers int) {
	f, err := emit.NewFolder(dir, "", false)
	if err != nil {
		b.Fatal(err)
	}
	src := emit.Source{Digest: w.Digest(), Version: "bench"}
	var next atomic.Int64
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			for i := next.Add(1) - 1; int(i) < len(all); i = next.Add(1) - 1 {
				all[i].Part = f.Make(w.Input(all[i], src))
			}
		})
	}
	wg.Wait()
	for _, o := range all {
		if err := f.Take(o.Part); err != nil {
			b.Fatal(err)
		}
	}
	if _, err := f.Close(nil); err != nil {
		b.Fatal(err)
	}
}

func BenchmarkBuildW(b *testing.B) {
	w := openW(b, benchTunes)
	dir := filepath.Join(b.TempDir(), "out")
	buildW(b, w, dir, 0)
	files, err := plainwrite.Read(dir)
	if err != nil {
		b.Fatal(err)
	}
	var all []*compiler.Outcome
	w.Run(w.Plan.Tunes, compiler.RunOptions{}, func(o *compiler.Outcome) { all = append(all, o) })
	for _, c := range []struct {
		name string
		run  func(workers int)
	}{
		{"plain", func(workers int) {
			if err := plainwrite.Write(dir, files, workers); err != nil {
				b.Fatal(err)
			}
		}},
		{"computed", func(workers int) { emitW(b, w, all, dir, workers) }},
		{"build", func(workers int) { buildW(b, w, dir, workers) }},
	} {
		for _, workers := range []int{1, 2} {
			b.Run(c.name+"/workers="+string(rune('0'+workers)), func(b *testing.B) {
				var used time.Duration
				for b.Loop() {
					b.StopTimer()
					if err := os.RemoveAll(dir); err != nil {
						b.Fatal(err)
					}
					before := processors(b)
					b.StartTimer()
					c.run(workers)
					b.StopTimer()
					used += processors(b) - before
					b.StartTimer()
				}
				b.ReportMetric(float64(used.Microseconds())/float64(b.N*benchTunes), "cpu-µs/tune")
				b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N*benchTunes), "µs/tune")
			})
		}
	}
}

// processors is the time that this process has had of processors.
func processors(b *testing.B) time.Duration {
	var u unix.Rusage
	if err := unix.Getrusage(unix.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
