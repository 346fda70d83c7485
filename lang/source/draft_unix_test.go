//go:build linux || darwin || freebsd || netbsd || openbsd || dragonfly

package source

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"
)

// Root gives a file that is replaced back to whom it belongs.
func TestReplaceKeepsTheOwner(t *testing.T) {
	if os.Geteuid() != 0 {
		t.Skip("only root may give files away")
	}
	name := filepath.Join(t.TempDir(), "a.txt")
	if err := os.WriteFile(name, nil, 0o666); err != nil {
		t.Fatal(err)
	}
	if err := os.Chown(name, 65534, 65533); err != nil {
		t.Skip(err)
	}
	if err := os.Chmod(name, 0o604); err != nil {
		t.Fatal(err)
	}
	before, err := os.Stat(name)
	if err != nil {
		t.Fatal(err)
	}
	if err := Replace(name, "one"); err != nil {
		t.Fatal(err)
	}
	after, err := os.Stat(name)
	if err != nil || after.Mode() != before.Mode() || os.SameFile(before, after) {
		t.Errorf("%v %v", after, err)
	}
	if st := after.Sys().(*syscall.Stat_t); st.Uid != 65534 || st.Gid != 65533 {
		t.Errorf("it is of %d and %d", st.Uid, st.Gid)
	}
}
