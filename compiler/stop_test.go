package compiler_test

import (
	"slices"
	"sync"
	"sync/atomic"
	"testing"

	"fettle/compiler"
)

// A run that is stopped begins no other tune: with a full disk, or at Ctrl-C, what
// comes after would be computed for nothing. What was begun is handed over, so that
// whoever stopped it hears why.
func TestRunStopsAtOnce(t *testing.T) {
	w := openW(t, 1000)
	for _, workers := range []int{1, 2, 8} {
		stop := make(chan struct{})
		var once sync.Once
		var computed atomic.Int64
		var reason atomic.Pointer[compiler.Outcome]
		var handed []*compiler.Outcome
		ended := w.Run(w.Plan.Tunes, compiler.RunOptions{Workers: workers, Stop: stop, Also: func(o *compiler.Outcome) {
			if computed.Add(1) >= 100 {
				once.Do(func() {
					reason.Store(o)
					close(stop)
				})
			}
		}}, func(o *compiler.Outcome) { handed = append(handed, o) })
		if n := computed.Load(); ended || n < 100 || n >= int64(100+workers) {
			t.Errorf("%d workers: ended %v, and %d tunes were computed", workers, ended, n)
		}
		if len(handed) != int(computed.Load()) || !slices.Contains(handed, reason.Load()) {
			t.Errorf("%d workers: %d tunes were computed, and %d handed over", workers, computed.Load(), len(handed))
		}
	}
}
