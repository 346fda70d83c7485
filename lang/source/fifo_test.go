//go:build unix

package source_test

import (
	"path/filepath"
	"syscall"
	"testing"
	"time"
)

// A pipe has no end until someone writes to it, so it may not even be opened.
func TestReadTextRefusesAPipe(t *testing.T) {
	dir, fsys := folder(t, map[string]string{"tune.fettle": ""})
	if err := syscall.Mkfifo(filepath.Join(dir, "pipe.csv"), 0o600); err != nil {
		t.Skip("no pipes here: ", err)
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		refused(t, fsys, "pipe.csv", "not a plain file")
	}()
	select {
	case <-done:
	case <-time.After(5 * time.Second):
		t.Fatal("reading waits for the pipe")
	}
}
