package emit

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// stats is every file and folder of an output, the output itself as ".".
func stats(t testing.TB, dir string) map[string]fs.FileInfo {
	t.Helper()
	out := map[string]fs.FileInfo{}
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name, _ := filepath.Rel(dir, path)
		out[filepath.ToSlash(name)], err = os.Stat(path)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// renewed lists what isn't the file that it was, or has another time.
func renewed(before, after map[string]fs.FileInfo) []string {
	out := []string{}
	for _, name := range sortedKeys(after) {
		if a, b := before[name], after[name]; a == nil || !os.SameFile(a, b) || !a.ModTime().Equal(b.ModTime()) {
			out = append(out, name)
		}
	}
	return out
}

// onlyFiles leaves the folders out, which are new in every output.
func onlyFiles(names []string) []string {
	return slices.DeleteFunc(names, func(s string) bool { return !strings.HasSuffix(s, ".csv") && !strings.HasSuffix(s, ".json") })
}

// What a build says that it did is the same, whether the files stood already.
func TestUnchangedOutputStays(t *testing.T) {
	dir := out(t)
	w := small(t, "30 mg", abc)
	first := w.mustBuild(dir, "*")
	before := stats(t, dir)
	again := w.mustBuild(dir, "*")
	same(t, "renewed", []string{}, renewed(before, stats(t, dir)))
	same(t, "summary", first, again)
	same(t, "beside", []string{"out"}, beside(t, dir))
	// A build of some tunes lists the others as kept, and the second one finds that done.
	w.mustBuild(dir, "c")
	same(t, "renewed by a pattern", []string{"index.json"}, onlyFiles(renewed(before, stats(t, dir))))
	before = stats(t, dir)
	w.mustBuild(dir, "c")
	same(t, "renewed by it again", []string{}, renewed(before, stats(t, dir)))
}

func TestUnchangedFilesStay(t *testing.T) {
	dir := out(t)
	small(t, "30 mg", abc).mustBuild(dir, "*")
	before := stats(t, dir)
	small(t, "30 mg", "variant a { }\nvariants b { h = 1000 m, 2000 m }\nvariant c { h = 3500 m }\n").mustBuild(dir, "*")
	same(t, "one tune changed", []string{"c/fuel.csv", "c/tune.json", "index.json"}, onlyFiles(renewed(before, stats(t, dir))))
	before = stats(t, dir)
	// Another limit is in every manifest, and in no table.
	small(t, "31 mg", "variant a { }\nvariants b { h = 1000 m, 2000 m }\nvariant c { h = 3500 m }\n").mustBuild(dir, "*")
	same(t, "manifests changed", []string{"a/tune.json", "b/1000m/tune.json", "b/2000m/tune.json", "c/tune.json", "index.json"}, onlyFiles(renewed(before, stats(t, dir))))
	before = stats(t, dir)
	small(t, "31 mg", "variant a { }\nvariant c { h = 3500 m }\n").mustBuild(dir, "*")
	same(t, "a tune less", []string{"index.json"}, onlyFiles(renewed(before, stats(t, dir))))
	same(t, "what is there", []string{"a/fuel.csv", "a/tune.json", "c/fuel.csv", "c/tune.json", "index.json"}, sortedKeys(tree(t, dir)))
}

// What someone did to an output is noticed by the bytes, whatever the size and the
// time say, and put right in a new file: other names of the old one keep what
// they had.
func TestChangedFilesAreRewritten(t *testing.T) {
	edit := func(text string) func(string) error {
		return func(path string) error {
			st, err := os.Stat(path)
			if err != nil {
				return err
			}
			return errors.Join(os.WriteFile(path, []byte(text), 0o666), os.Chtimes(path, time.Time{}, st.ModTime()))
		}
	}
	for what, spoil := range map[string]func(path string) error{
		"same size": edit("rpm [rpm],2000,4000\n,10.00,20.09\n"),
		"longer":    edit("rpm [rpm],2000,4000\n,10.00,20.00\n\n"),
		"shorter":   edit("rpm [rpm],2000,4000\n,10.00,20.0"),
		"empty":     edit(""),
		"gone":      os.Remove,
	} {
		for _, pattern := range []string{"*", "a"} {
			dir := out(t)
			w := small(t, "30 mg", abc)
			w.mustBuild(dir, "*")
			w.mustBuild(dir, pattern)
			path := filepath.Join(dir, "a", "fuel.csv")
			other := filepath.Join(filepath.Dir(dir), "other.csv")
			if err := os.Link(path, other); err != nil {
				t.Skip(err)
			}
			before, fresh := stats(t, dir), tree(t, dir)
			if err := spoil(path); err != nil {
				t.Fatal(err)
			}
			spoiled, err := os.ReadFile(other)
			if err != nil {
				t.Fatal(err)
			}
			w.mustBuild(dir, pattern)
			same(t, what+": the output", fresh, tree(t, dir))
			// The index is written with the rest of a new folder.
			same(t, what+": renewed", []string{"a/fuel.csv", "index.json"}, onlyFiles(renewed(before, stats(t, dir))))
			if now, err := os.ReadFile(other); err != nil || string(now) != string(spoiled) {
				t.Errorf("%s: the file's other name has %q, and had %q: %v", what, now, spoiled, err)
			}
		}
	}
}

// A link in the place of a file isn't the file, though it leads to the same bytes.
func TestLinkIsNoPlainFile(t *testing.T) {
	dir := t.TempDir()
	file, link := filepath.Join(dir, "file"), filepath.Join(dir, "link")
	if err := os.WriteFile(file, []byte("abc"), 0o666); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(file, link); err != nil {
		t.Skip(err)
	}
	var s scratch
	for _, c := range []struct {
		path, data string
		want       bool
	}{{file, "abc", true}, {file, "abcd", false}, {file, "ab", false}, {file, "abx", false}, {file, "", false}, {link, "abc", false}, {dir, "abc", false}, {dir, "", false}, {file + "x", "", false}} {
		if got := s.equal(anywhere, c.path, []byte(c.data)); got != c.want {
			t.Errorf("%s has %q: %v", filepath.Base(c.path), c.data, got)
		}
	}
}

// Where a disk has no second names, the files are written again.
func TestWithoutLinks(t *testing.T) {
	dir := out(t)
	small(t, "30 mg", abc).mustBuild(dir, "*")
	w := small(t, "30 mg", "variant a { }\nvariants b { h = 1000 m, 2000 m }\nvariant c { h = 3500 m }\n")
	f, err := NewFolder(dir, "", false)
	if err != nil {
		t.Fatal(err)
	}
	f.link = func(from, to string) error { return errors.New("no links here") }
	for _, in := range w.inputs(1, "*") {
		if err := f.Add(in); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := f.Close(nil); err != nil {
		t.Fatal(err)
	}
	got, whole := tree(t, dir), out(t)
	w.mustBuild(whole, "*")
	same(t, "the output", tree(t, whole), got)
}

// Tunes may be made by several goroutines at once, and abandoned at any moment:
// nothing is left then.
func TestMakeAtOnce(t *testing.T) {
	w := data(t, "shed")
	inputs, dir := w.inputs(2, "*"), out(t)
	w.mustBuild(dir, "*")
	want := tree(t, dir)
	for _, over := range []bool{false, true} {
		dir := out(t)
		if over {
			w.mustBuild(dir, inputs[0].Tune.Name)
		}
		f, err := NewFolder(dir, "", false)
		if err != nil {
			t.Fatal(err)
		}
		parts := makeAll(f, inputs)
		for _, p := range parts {
			if err := f.Take(<-p); err != nil {
				t.Fatal(err)
			}
		}
		if _, err := f.Close(nil); err != nil {
			t.Fatal(err)
		}
		same(t, "the output", want, tree(t, dir))
	}
	f, err := NewFolder(dir, "", false)
	if err != nil {
		t.Fatal(err)
	}
	parts := makeAll(f, inputs)
	if err := f.Take(<-parts[0]); err != nil {
		t.Fatal(err)
	}
	f.Abort()
	for _, p := range parts[1:] {
		<-p
	}
	same(t, "the output", want, tree(t, dir))
	same(t, "beside", []string{"out"}, beside(t, dir))
}

// makeAll makes every tune in a goroutine of its own.
func makeAll(f *Folder, inputs []Input) []chan *Part {
	parts := make([]chan *Part, len(inputs))
	for i, in := range inputs {
		parts[i] = make(chan *Part, 1)
		go func() { parts[i] <- f.Make(in) }()
	}
	return parts
}

// An old output that is moved away or removed while the build runs: there is a whole
// new one in its place, or the build says what it misses.
func TestOldOutputGoesMidway(t *testing.T) {
	dir := out(t)
	w := small(t, "30 mg", abc)
	w.mustBuild(dir, "*")
	want := tree(t, dir)
	all := func(f *Folder) error {
		for _, name := range []string{"a", "b/1000m", "b/2000m", "c"} {
			if err := f.Add(w.input(name)); err != nil {
				return err
			}
		}
		_, err := f.Close(nil)
		return err
	}
	f, err := NewFolder(dir, "", false)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(dir, dir+"2"); err != nil {
		t.Fatal(err)
	}
	if err := all(f); err != nil {
		t.Fatal(err)
	}
	same(t, "the new output", want, tree(t, dir))
	same(t, "the old output", want, tree(t, dir+"2"))
	same(t, "beside", []string{"out", "out2"}, beside(t, dir))

	if f, err = NewFolder(dir, "", false); err != nil {
		t.Fatal(err)
	}
	if err := f.Add(w.input("a")); err != nil {
		t.Fatal(err)
	}
	if err := os.RemoveAll(dir); err != nil {
		t.Fatal(err)
	}
	if _, err := f.Close(nil); err == nil || !strings.HasSuffix(err.Error(), "can't be read: there is no such file or folder") {
		t.Errorf("%v", err)
	}
	same(t, "beside", []string{"out2"}, beside(t, dir))
	w.mustBuild(dir, "*")
	same(t, "the next one", want, tree(t, dir))
}
