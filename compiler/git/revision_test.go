package git

import (
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
)

// Revision compares bytes: whatever the index and the attributes say.
func TestRevisionIsDirty(t *testing.T) {
	w := newWorld(t)
	w.write("ws/tune.fettle", "one\ntwo\n")
	w.write("ws/sub/a.csv", "1\n")
	w.write("ws/--all", "2\n")
	w.write("ws/:(glob)*", "3\n")
	if runtime.GOOS != "windows" {
		for name, to := range map[string]string{"ws/inside": "sub/a.csv", "ws/outside": "../../outside"} {
			if err := os.Symlink(to, filepath.Join(w.dir, name)); err != nil {
				t.Fatal(err)
			}
		}
	}
	hash := w.commit("one")
	ws := filepath.Join(w.dir, "ws")
	check := func(want bool, files ...string) {
		t.Helper()
		if rev, dirty := Revision(ws, files); rev != hash || dirty != want {
			t.Errorf("%q: %s %v, want %s %v", files, rev, dirty, hash, want)
		}
	}
	check(false)
	check(false, "tune.fettle", "sub/a.csv", "--all", ":(glob)*", "inside")
	check(true, "tune.fettle", "gone.csv")
	check(true, "outside") // what it leads to is nothing of the repository
	check(true, "sub")

	w.write("ws/new.csv", "1\n")
	check(true, "new.csv")
	check(false, "tune.fettle")
	w.write("ws/.gitignore", "*.csv\n")
	w.write("ws/ignored.csv", "1\n")
	check(true, "ignored.csv")
	// Line ends are turned for Windows, and nothing else is let pass.
	w.write("ws/tune.fettle", "one\r\ntwo\r\n")
	check(false, "tune.fettle")
	w.write("ws/tune.fettle", "one\n two\n")
	check(true, "tune.fettle")
	// Staged or not.
	w.git("add", "-A")
	check(true, "tune.fettle")
	w.write("ws/tune.fettle", "one\ntwo\n")
	check(false, "tune.fettle")
	// A filter that would make both the same, and leave a mark, isn't asked.
	mark := filepath.Join(w.dir, "mark")
	w.write("ws/.gitattributes", "* filter=it\n")
	w.git("config", "filter.it.clean", "touch '"+mark+"'; printf 'one\\ntwo\\n'")
	w.write("ws/tune.fettle", "other\n")
	check(true, "tune.fettle")
	if _, err := os.Stat(mark); err == nil {
		t.Error("a filter was run")
	}
	w.git("update-index", "--assume-unchanged", "ws/tune.fettle")
	check(true, "tune.fettle")
}

// What a partial clone lacks isn't fetched, and the message says what is to be done.
func TestPartialClone(t *testing.T) {
	w := newWorld(t)
	w.write("tune.fettle", "one\n")
	w.commit("one")
	w.write("tune.fettle", "two\n")
	w.commit("two")
	w.git("config", "uploadpack.allowFilter", "true")
	clone := filepath.Join(t.TempDir(), "clone")
	w.git("clone", "-q", "--filter=blob:none", "file://"+filepath.ToSlash(w.dir), clone)
	r := open(t, clone)
	tree := files(t, r, "HEAD~1")
	want := "this clone is partial and lacks it: `git fetch --refetch --no-filter` gets the rest"
	if _, err := tree.ReadFile("tune.fettle"); err == nil || !strings.Contains(err.Error(), want) {
		t.Errorf("%v, want %s", err, want)
	}
	if b, err := files(t, r, "HEAD").ReadFile("tune.fettle"); err != nil || string(b) != "two\n" {
		t.Errorf("%q %v", b, err)
	}
	w.in(clone, "-c", "gc.auto=0", "-c", "maintenance.auto=false", "fetch", "-q", "--refetch", "--no-filter")
	if b, err := files(t, open(t, clone), "HEAD~1").ReadFile("tune.fettle"); err != nil || string(b) != "one\n" {
		t.Errorf("%q %v", b, err)
	}
}
