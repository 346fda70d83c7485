package emit

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// At whichever file the disk fills up, the build says which, the old output
// stands, and nothing is left beside it.
func TestDiskFull(t *testing.T) {
	dir := out(t)
	w := small(t, "30 mg", abc)
	w.mustBuild(dir, "*")
	before := tree(t, dir)
	for _, keep := range []bool{false, true} {
		for n := 1; ; n++ {
			f, err := NewFolder(dir, "", keep)
			if err != nil {
				t.Fatal(err)
			}
			count, at := 0, ""
			f.link = func(from, to string) error { return errors.New("no links here") }
			f.write = func(path string, data []byte) error {
				if count++; count == n {
					at, _ = filepath.Rel(f.tmp, path)
					_ = os.WriteFile(path, data[:len(data)/2], 0o666)
					return &fs.PathError{Op: "write", Path: path, Err: syscall.ENOSPC}
				}
				return anywhere.create(path, data)
			}
			for _, name := range []string{"a", "c"} {
				if err = f.Add(w.input(name)); err != nil {
					break
				}
			}
			if err == nil {
				_, err = f.Close(nil)
			}
			if at == "" {
				if err != nil || n < 5 {
					t.Errorf("after %d files: %v", n, err)
				}
				break
			}
			want := filepath.Join(dir, at) + " can't be written: the disk is full: make room, and try again"
			if err == nil || err.Error() != want || !errors.Is(err, syscall.ENOSPC) {
				t.Errorf("file %d: %v, want %s", n, err, want)
			}
			if again := f.Add(w.input("b/1000m")); !errors.Is(again, err) {
				t.Errorf("file %d: a later tune is told %v", n, again)
			}
			same(t, fmt.Sprintf("the output after file %d", n), before, tree(t, dir))
			same(t, "beside", []string{"out"}, beside(t, dir))
		}
		dir = out(t) // the last round wrote it
		w.mustBuild(dir, "*")
		before = tree(t, dir)
	}
}

// A tune whose name the system can't make a folder of is told in plain words.
func TestNameTooLong(t *testing.T) {
	dir := out(t)
	f, err := NewFolder(dir, "", false)
	if err != nil {
		t.Fatal(err)
	}
	err = f.mkdir(strings.Repeat("a", 300)) // of a matrix: one word may have 200
	f.Abort()
	if err == nil || !strings.HasSuffix(err.Error(), "can't be made: its name is too long for this disk") {
		t.Errorf("%v", err)
	}
	if got := beside(t, dir); len(got) > 0 {
		t.Errorf("there is %v", got)
	}
}
