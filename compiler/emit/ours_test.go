package emit

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// What no build wrote is never lost, however deep in the output it stands,
// whether its tune is built, kept or not looked at.
func TestForeignFilesAreRefused(t *testing.T) {
	file := func(text string) func(string) error {
		return func(path string) error { return os.WriteFile(path, []byte(text), 0o666) }
	}
	folder := func(path string) error { return os.Mkdir(path, 0o777) }
	link := func(to string) func(string) error {
		return func(path string) error {
			_ = os.Remove(path)
			return os.Symlink(to, path)
		}
	}
	const listless = " is in no list of a build, since the tune.json of its folder is gone or was changed, and a build replaces its whole folder: move it elsewhere"
	const foreign = " is not of a build, and a build replaces its whole folder: move it elsewhere"
	for _, c := range []struct {
		made    string
		make    func(string) error
		refused string
		why     string
	}{
		{"notes.txt", file("tried on Sunday"), "notes.txt", foreign},
		{"a/notes.txt", file("tried on Sunday"), "a/notes.txt", foreign},
		{"a/spark.csv", file("a table of someone's"), "a/spark.csv", foreign},
		{"a/tune.fettle", file("# a copy of the source"), "a/tune.fettle", foreign},
		{"a/customer", folder, "a/customer", foreign},
		{"a/1000m", folder, "a/1000m", foreign},
		{"b/fuel.csv", file("beside the folders of tunes"), "b/fuel.csv", foreign},
		{"b/3000m", folder, "b/3000m", foreign},
		{"b/2000m/index.json", file("{}"), "b/2000m/index.json", foreign},
		{"c/fuel.csv", link("../a/fuel.csv"), "c/fuel.csv", foreign},
		{"c/tune.json", file("{}"), "c/fuel.csv", listless},
		{"c/tune.json", os.Remove, "c/fuel.csv", listless},
		{"c/tune.json", link("../a/tune.json"), "c/tune.json", foreign},
		{"d", folder, "d", foreign}, // of a tune that failed
	} {
		for _, pattern := range []string{"*", "a"} {
			dir := out(t)
			w := small(t, "21 mg", abc+"variant d { trim fuel += 5 mg }\n")
			w.mustBuild(dir, "*")
			if err := c.make(filepath.Join(dir, filepath.FromSlash(c.made))); err != nil {
				t.Fatal(err)
			}
			before := tree(t, dir)
			_, err := w.build(dir, 1, pattern)
			if want := filepath.Join(dir, filepath.FromSlash(c.refused)) + c.why; err == nil || err.Error() != want {
				t.Errorf("%s, building %s: %v, want %s", c.made, pattern, err, want)
			}
			same(t, "the output", before, tree(t, dir))
			same(t, "beside", []string{"out"}, beside(t, dir))
		}
	}
}

// What a build wrote and someone changed or removed, and what file managers
// leave, is in nobody's way.
func TestWhatABuildReplaces(t *testing.T) {
	dir := out(t)
	w := small(t, "30 mg", abc)
	w.mustBuild(dir, "*")
	fresh := tree(t, dir)
	for _, name := range []string{".DS_Store", "b/Thumbs.db", "b/1000m/.DS_Store", "a/fuel.csv"} {
		if err := os.WriteFile(filepath.Join(dir, filepath.FromSlash(name)), []byte("x"), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range []string{"b/2000m", "c/fuel.csv", "c/tune.json"} {
		if err := os.RemoveAll(filepath.Join(dir, filepath.FromSlash(name))); err != nil {
			t.Fatal(err)
		}
	}
	w.mustBuild(dir, "*")
	same(t, "the output", fresh, tree(t, dir))
}

// A file that comes into a tune's folder while a build runs isn't lost either.
func TestForeignFileBeforeTheSwap(t *testing.T) {
	dir := out(t)
	w := small(t, "30 mg", abc)
	w.mustBuild(dir, "*")
	f, err := NewFolder(dir, "", true)
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Add(w.input("a")); err != nil {
		t.Fatal(err)
	}
	note := filepath.Join(dir, "b", "1000m", "note.txt")
	if err := os.WriteFile(note, []byte("tried on Sunday"), 0o666); err != nil {
		t.Fatal(err)
	}
	if _, err := f.Close(nil); err == nil || !strings.Contains(err.Error(), note+" is not of a build") {
		t.Errorf("%v", err)
	}
	if !exists(note) {
		t.Error("the note is gone")
	}
	same(t, "beside", []string{"out"}, beside(t, dir))
}
