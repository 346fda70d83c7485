package emit

import (
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// small is a workspace of which some tunes fail once its limit is lowered.
func small(t testing.TB, limit, variants string) *work {
	return text(t, `axis rpm [rpm] 1000..9000
given h [m] = 0 within 0..4000
map fuel [mg] to 0.01 {
  rpm | 2000 4000
      | 10   20
}
rule thin corrects h { fuel *= 1 - 0.1 * h / 1000 m }
limit most: fuel <= `+limit+"\n"+variants)
}

const abc = "variant a { }\nvariants b { h = 1000 m, 2000 m }\nvariant c { h = 3000 m }\n"

// beside lists what stands in the folder that holds an output.
func beside(t testing.TB, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(filepath.Dir(dir))
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return out
}

func out(t testing.TB) string {
	t.Helper()
	return filepath.Join(t.TempDir(), "out")
}

// statuses is what an index says of each tune, in its order.
func statuses(t testing.TB, dir string) []string {
	t.Helper()
	x, err := ReadIndex(os.DirFS(dir))
	if err != nil {
		t.Fatal(err)
	}
	var list []string
	counts := Counts{}
	for _, e := range x.Tunes {
		list = append(list, e.Name+" "+e.Status)
		switch e.Status {
		case Written:
			counts.Written++
		case Failed:
			counts.Failed++
		case Kept:
			counts.Kept++
		}
		counts.add(e.Targets)
	}
	if !reflect.DeepEqual(counts, x.Counts) {
		t.Errorf("the index counts %+v, and lists %+v", x.Counts, counts)
	}
	return list
}

func same(t testing.TB, what string, want, got any) {
	t.Helper()
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("%s (-want +got)\n%s", what, diff)
	}
}

func TestSameBytesWhateverTheWorkers(t *testing.T) {
	for _, w := range []*work{data(t, "shed"), example(t, "lantern")} {
		var first map[string]string
		for _, workers := range []int{1, 8, 8} {
			dir := out(t)
			if _, err := w.build(dir, workers, "*"); err != nil {
				t.Fatal(err)
			}
			got := tree(t, dir)
			if first == nil {
				first = got
			}
			same(t, "the output", first, got)
		}
	}
	// A source read anew gives the same bytes as well.
	a, b := out(t), out(t)
	data(t, "shed").mustBuild(a, "*")
	data(t, "shed").mustBuild(b, "*")
	same(t, "the output", tree(t, a), tree(t, b))
}

func TestBuildReplacesTheWhole(t *testing.T) {
	dir := out(t)
	small(t, "30 mg", abc).mustBuild(dir, "*")
	same(t, "first", []string{"a written", "b/1000m written", "b/2000m written", "c written"}, statuses(t, dir))
	s := small(t, "19 mg", "variant a { }\nvariants b { h = 2000 m, 500 m }\n").mustBuild(dir, "*")
	same(t, "second", []string{"a failed", "b/2000m written", "b/500m written"}, statuses(t, dir))
	same(t, "summary", Summary{Dir: dir, Written: []string{"b/2000m", "b/500m"}, Failed: []string{"a"}, Removed: []string{"a"}, Files: 5, Bytes: s.Bytes}, s)
	same(t, "files", []string{"b/2000m/fuel.csv", "b/2000m/tune.json", "b/500m/fuel.csv", "b/500m/tune.json", "index.json"}, sortedKeys(tree(t, dir)))
	same(t, "beside", []string{"out"}, beside(t, dir))
	if fuel := tree(t, dir)["b/500m/fuel.csv"]; fuel != "rpm [rpm],2000,4000\n,9.50,19.00\n" {
		t.Errorf("%q", fuel)
	}
}

func TestPatternKeepsTheOthers(t *testing.T) {
	dir := out(t)
	small(t, "19 mg", abc).mustBuild(dir, "*")
	before := tree(t, dir)
	later := small(t, "30 mg", "variant c { h = 2500 m }\n"+strings.Replace(abc, "variant c { h = 3000 m }", "variant d { }", 1))
	later.source.Digest = sum([]byte("a later source"))
	s := later.mustBuild(dir, "c")
	same(t, "order of the later source", []string{"c written", "a failed", "b/1000m kept", "b/2000m kept"}, statuses(t, dir))
	same(t, "kept", []string{"b/1000m", "b/2000m"}, s.Kept)
	same(t, "failed before", []string{"a"}, s.FailedBefore)
	if len(s.Failed) > 0 || len(s.Dropped) > 0 {
		t.Errorf("%+v", s)
	}
	after := tree(t, dir)
	for _, name := range []string{"b/1000m/fuel.csv", "b/1000m/tune.json", "b/2000m/fuel.csv"} {
		if before[name] == "" || before[name] != after[name] {
			t.Errorf("%s was %q and is %q", name, before[name], after[name])
		}
	}
	x, err := ReadIndex(os.DirFS(dir))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range x.Tunes {
		if kept := e.SourceDigest != later.source.Digest; kept != (e.Name != "c") {
			t.Errorf("%s says that it comes from source %s", e.Name, e.SourceDigest)
		}
	}
	// What was kept may be kept again, and a whole build clears all of it away.
	later.mustBuild(dir, "a")
	same(t, "again", []string{"c kept", "a written", "b/1000m kept", "b/2000m kept"}, statuses(t, dir))
	small(t, "30 mg", "variant z { }\n").mustBuild(dir, "*")
	same(t, "all", []string{"z written"}, statuses(t, dir))
}

func TestFailingTuneLosesItsOldTables(t *testing.T) {
	dir := out(t)
	small(t, "30 mg", abc).mustBuild(dir, "*")
	s := small(t, "19 mg", abc).mustBuild(dir, "a")
	same(t, "removed", []string{"a"}, s.Removed)
	same(t, "index", []string{"a failed", "b/1000m kept", "b/2000m kept", "c kept"}, statuses(t, dir))
	if _, err := os.Stat(filepath.Join(dir, "a")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a failed tune's folder: %v", err)
	}
	x, err := ReadIndex(os.DirFS(dir))
	if err != nil {
		t.Fatal(err)
	}
	same(t, "reasons", []string{"a: fuel is 20 mg at rpm 4000, 1 mg past the 19 mg of limit most; 1 of 2 cells; the base is past it before any rule"}, x.Tunes[0].Reasons)
	// There is nothing left of it to lose, nor of one that someone removed.
	s = small(t, "19 mg", abc).mustBuild(dir, "a")
	same(t, "removed again", []string(nil), s.Removed)
	if err := os.RemoveAll(filepath.Join(dir, "c")); err != nil {
		t.Fatal(err)
	}
	s = small(t, "9 mg", abc).mustBuild(dir, "*")
	same(t, "removed by a whole build", []string{"b/1000m", "b/2000m"}, s.Removed)
}

func TestKeptTunesThatAreGone(t *testing.T) {
	dir := out(t)
	small(t, "30 mg", abc).mustBuild(dir, "*")
	if err := os.RemoveAll(filepath.Join(dir, "b", "2000m")); err != nil {
		t.Fatal(err)
	}
	s := small(t, "30 mg", "variant a { }\nvariants b { h = 1000 m, 2000 m }\n").mustBuild(dir, "a")
	same(t, "dropped", []Dropped{{"b/2000m", "its files are gone: build it again"}, {"c", "the source has no such tune any more"}}, s.Dropped)
	same(t, "index", []string{"a written", "b/1000m kept"}, statuses(t, dir))
}

func TestKeptTuneThatWasEdited(t *testing.T) {
	for _, c := range []struct{ file, text string }{
		{"fuel.csv", "rpm [rpm],2000,4000\n,9.00,18.50\n"},
		{"fuel.csv", "not a table"},
		{"tune.json", `{"schema": "fettle/tune/1", "maps": [{"file": "fuel.csv"}]}`},
	} {
		dir := out(t)
		w := small(t, "30 mg", abc)
		w.mustBuild(dir, "*")
		if err := os.WriteFile(filepath.Join(dir, "c", c.file), []byte(c.text), 0o666); err != nil {
			t.Fatal(err)
		}
		before := tree(t, dir)
		_, err := w.build(dir, 1, "a")
		want := filepath.Join(dir, "c") + " was changed after it was built: build it too, or move it elsewhere"
		if err == nil || err.Error() != want {
			t.Errorf("%s: %v", c.file, err)
		}
		same(t, "the output", before, tree(t, dir))
		same(t, "beside", []string{"out"}, beside(t, dir))
		w.mustBuild(dir, "*") // a whole build takes no notice
	}
}

func TestStopAndAbort(t *testing.T) {
	dir := out(t)
	w := small(t, "30 mg", abc)
	w.mustBuild(dir, "*")
	before := tree(t, dir)
	stop := make(chan struct{})
	close(stop)
	for what, end := range map[string]func(f *Folder) error{
		"stop":  func(f *Folder) error { _, err := f.Close(stop); return err },
		"abort": func(f *Folder) error { f.Abort(); return f.Add(w.input("b/1000m")) },
	} {
		f, err := NewFolder(dir, "", true)
		if err != nil {
			t.Fatal(err)
		}
		if err := f.Add(w.input("a")); err != nil {
			t.Fatal(err)
		}
		if err := end(f); !errors.Is(err, ErrStopped) {
			t.Errorf("%s: %v", what, err)
		}
		f.Abort()
		if _, err := f.Close(nil); !errors.Is(err, ErrStopped) {
			t.Errorf("closing after %s: %v", what, err)
		}
		same(t, "the output after "+what, before, tree(t, dir))
		same(t, "beside after "+what, []string{"out"}, beside(t, dir))
	}
}

// A stop that comes while kept tunes are brought over, or just before the swap,
// leaves everything as it was too.
func TestStopMidway(t *testing.T) {
	dir := out(t)
	w := small(t, "30 mg", abc)
	w.mustBuild(dir, "*")
	before := tree(t, dir)
	for _, last := range []string{filepath.Join("b", "1000m", "fuel.csv"), indexFile} {
		f, err := NewFolder(dir, "", true)
		if err != nil {
			t.Fatal(err)
		}
		stop := make(chan struct{})
		f.link = func(from, to string) error { return errors.New("no links here") }
		f.write = func(path string, data []byte) error {
			if strings.HasSuffix(path, last) {
				close(stop)
			}
			return anywhere.create(path, data)
		}
		if err := f.Add(w.input("a")); err != nil {
			t.Fatal(err)
		}
		if _, err := f.Close(stop); !errors.Is(err, ErrStopped) {
			t.Errorf("%s: %v", last, err)
		}
		same(t, "the output", before, tree(t, dir))
		same(t, "beside", []string{"out"}, beside(t, dir))
	}
}

func TestCloseWithoutTunes(t *testing.T) {
	dir := out(t)
	f, err := NewFolder(dir, "", false)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.Close(nil); err == nil || !strings.Contains(err.Error(), "there is no tune to write") {
		t.Errorf("%v", err)
	}
	if got := beside(t, dir); len(got) > 0 {
		t.Errorf("there is %v", got)
	}
}

func TestClosedIsClosed(t *testing.T) {
	dir := out(t)
	w := small(t, "30 mg", abc)
	f, err := NewFolder(dir, "", false)
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Add(w.input("a")); err != nil {
		t.Fatal(err)
	}
	if _, err := f.Close(nil); err != nil {
		t.Fatal(err)
	}
	f.Abort()
	if err := f.Add(w.input("c")); err == nil || !strings.Contains(err.Error(), "is closed already") {
		t.Errorf("%v", err)
	}
	same(t, "index", []string{"a written"}, statuses(t, dir))
}

// Something that comes into the old output while a build runs isn't lost.
func TestStrayFileBeforeTheSwap(t *testing.T) {
	dir := out(t)
	w := small(t, "30 mg", abc)
	w.mustBuild(dir, "*")
	f, err := NewFolder(dir, "", false)
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Add(w.input("a")); err != nil {
		t.Fatal(err)
	}
	note := filepath.Join(dir, "note.txt")
	if err := os.WriteFile(note, []byte("tried on Sunday"), 0o666); err != nil {
		t.Fatal(err)
	}
	if _, err := f.Close(nil); err == nil || !strings.Contains(err.Error(), note+" is not of a build") {
		t.Errorf("%v", err)
	}
	if !exists(note) || !slices.Equal(beside(t, dir), []string{"out"}) {
		t.Errorf("beside %v", beside(t, dir))
	}
}

// Digest is what a person gets with sha256sum.
func TestDigest(t *testing.T) {
	// printf 'b' > fuel.csv; printf 'a' > tune.json; printf 'c' > a.csv; LC_ALL=C sha256sum * | sha256sum
	got := Digest([]File{{"fuel.csv", []byte("b")}, {"tune.json", []byte("a")}, {"a.csv", []byte("c")}})
	if want := "05ce6375fddd67d07aedc7f2a1c090b3bca2138008c865f921cdac0605b0044b"; got != want {
		t.Errorf("%s", got)
	}
}
