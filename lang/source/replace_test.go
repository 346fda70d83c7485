package source

import (
	"os"
	"path/filepath"
	"testing"
)

func TestReplace(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "a.txt")
	if err := Replace(name, "one"); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(name, 0o600); err != nil {
		t.Fatal(err)
	}
	link := filepath.Join(dir, "link")
	if err := os.Symlink("a.txt", link); err != nil {
		t.Skip("no symbolic links here")
	}
	if err := Replace(link, "two"); err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(name)
	if err != nil || string(b) != "two" {
		t.Errorf("%q, %v", b, err)
	}
	if st, _ := os.Stat(name); st.Mode().Perm() != 0o600 {
		t.Errorf("permissions became %v", st.Mode())
	}
	if st, _ := os.Lstat(link); st.Mode()&os.ModeSymlink == 0 {
		t.Error("the link became a file")
	}
	if err := Replace(dir, "three"); err == nil {
		t.Error("a folder was replaced")
	}
	if err := Replace(filepath.Join(dir, "no", "b.txt"), "four"); err == nil {
		t.Error("a file was written to a folder that isn't there")
	}
	left, _ := os.ReadDir(dir)
	if len(left) != 2 {
		t.Errorf("left behind: %v", left)
	}
}
