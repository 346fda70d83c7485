package git

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"
)

// A tree holds what the folder held, and answers as a folder on the disk does.
func TestFilesAreThoseOfTheCommit(t *testing.T) {
	w := newWorld(t)
	texts := map[string]string{
		"ws/tune.fettle": "one\n", "ws/a b.csv": "spaced\n", "ws/sub/deep/x.csv": "", "ws/Füll tank.csv": "umlaut\n", "ws/sub.csv": "beside sub\n",
		"ws/line\nend.csv": "odd\n", "ws/\"q\".csv": "quoted\n", "ws/crlf.csv": "a\r\nb\r\n", "ws/-n": "dash\n", "ws/*.csv": "star\n",
		"outside.csv": "not of the workspace\n",
	}
	for name, text := range texts {
		w.write(name, text)
	}
	if err := os.Chmod(filepath.Join(w.dir, "ws", "-n"), 0o755); err != nil {
		t.Fatal(err)
	}
	w.git("config", "core.autocrlf", "false")
	w.commit("all")
	w.git("tag", "full")
	before := w.git("status", "--porcelain")
	for name := range texts {
		if name != "outside.csv" {
			w.git("--literal-pathspecs", "rm", "-q", "-f", "--", name) // one of the names is a pattern of the others
		}
	}
	w.commit("none")

	r := w.open(".")
	ws := files(t, open(t, filepath.Join(w.dir)), "full")
	sub, err := fs.Sub(ws, "ws")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(w.dir, "ws"), 0o755); err != nil { // the folder, now without its files
		t.Fatal(err)
	}
	tree := files(t, w.open("ws"), "full")
	var want []string
	for name, text := range texts {
		name, ok := strings.CutPrefix(name, "ws/")
		if !ok {
			continue
		}
		want = append(want, name)
		for _, fsys := range []fs.FS{tree, sub} {
			b, err := fs.ReadFile(fsys, name)
			st, err2 := fs.Stat(fsys, name)
			if err != nil || string(b) != text || err2 != nil || st.Size() != int64(len(text)) || !st.Mode().IsRegular() || st.Name() != filepath.Base(name) {
				t.Errorf("%q: %q %v %v %v", name, b, err, st, err2)
			}
		}
	}
	if err := fstest.TestFS(tree, want...); err != nil {
		t.Error(err)
	}
	if st, err := tree.Stat("-n"); err != nil || st.Mode().Perm()&0o111 == 0 {
		t.Errorf("%v %v", st, err)
	}
	for _, name := range []string{"outside.csv", "nothing", "sub/nothing", "sub/deep/x.csv/y"} {
		if _, err := tree.Open(name); err == nil || name != "sub/deep/x.csv/y" && !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, name := range []string{"../outside.csv", "/tune.fettle", "./tune.fettle", ""} {
		if _, err := tree.Open(name); !errors.Is(err, fs.ErrInvalid) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if tree.Hash() != w.git("rev-parse", "full:ws") {
		t.Error("the hash is the folder's")
	}
	// A folder that the commit hasn't got is empty.
	now := files(t, w.open("ws"), "HEAD")
	if _, err := now.Stat("tune.fettle"); !errors.Is(err, fs.ErrNotExist) || now.Hash() != "" {
		t.Errorf("%v %q", err, now.Hash())
	}
	if list, err := now.ReadDir("."); err != nil || len(list) != 0 {
		t.Errorf("%v %v", list, err)
	}
	if after := w.git("status", "--porcelain"); before != after {
		t.Errorf("the work tree is %q after reading, and was %q", after, before)
	}
	if _, err := r.Files(Commit{Hash: "--all"}); err == nil {
		t.Error("a hash is a hash")
	}
}

// A workspace that was never committed is an empty folder in every revision.
func TestUntrackedWorkspace(t *testing.T) {
	w := newWorld(t)
	w.write("README", "x\n")
	w.commit("one")
	w.write("ws/tune.fettle", "new\n")
	r := w.open("ws")
	if _, err := files(t, r, "HEAD").ReadFile("tune.fettle"); !errors.Is(err, fs.ErrNotExist) {
		t.Error(err)
	}
	if list, err := r.History(nil, 0); err != nil || len(list) != 0 {
		t.Errorf("%v %v", list, err)
	}
}

func TestLinksAndSubmodules(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("no symbolic links without leave")
	}
	w := newWorld(t)
	w.write("outside.csv", "out\n")
	w.write("ws/sub/a.csv", "in\n")
	for link, target := range map[string]string{
		"inside.csv": "sub/a.csv", "folder": "sub", "sub/back.csv": "../sub/./a.csv", "twice.csv": "inside.csv",
		"up.csv": "../outside.csv", "sub/up.csv": "../../outside.csv", "far.csv": filepath.Join(w.dir, "outside.csv"), "round.csv": "round.csv", "gone.csv": "nothing.csv",
		"through.csv": "sub/a.csv/../a.csv",
	} {
		if err := os.Symlink(target, filepath.Join(w.dir, "ws", filepath.FromSlash(link))); err != nil {
			t.Fatal(err)
		}
	}
	w.commit("one")
	w.git("update-index", "--add", "--cacheinfo", "160000,"+strings.Repeat("1", 40)+",ws/module")
	w.git("commit", "-q", "-m", "two")
	tree := files(t, w.open("ws"), "HEAD")
	root, err := os.OpenRoot(filepath.Join(w.dir, "ws"))
	if err != nil {
		t.Fatal(err)
	}
	defer root.Close()
	for name, want := range map[string]error{
		"inside.csv": nil, "folder/a.csv": nil, "sub/back.csv": nil, "twice.csv": nil, "folder/back.csv": nil,
		"up.csv": errLeadsOut, "sub/up.csv": errLeadsOut, "far.csv": errLeadsOut, "round.csv": errCircle, "gone.csv": fs.ErrNotExist, "through.csv": errNotFolder,
		"module": errModule, "module/a.csv": errModule,
	} {
		b, err := tree.ReadFile(name)
		if !errors.Is(err, want) || err == nil && string(b) != "in\n" {
			t.Errorf("%s: %q %v", name, b, err)
		}
		if _, err := fs.ReadFile(root.FS(), name); (err == nil) != (want == nil) {
			t.Errorf("%s: a folder on the disk says %v", name, err)
		}
	}
	if st, err := tree.Stat("module"); err != nil || st.Mode().IsRegular() || st.IsDir() {
		t.Errorf("%v %v", st, err)
	}
	list, err := tree.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range list {
		names = append(names, e.Type().String()+" "+e.Name())
	}
	want := []string{
		"L--------- far.csv", "L--------- folder", "L--------- gone.csv", "L--------- inside.csv", "?--------- module", "L--------- round.csv",
		"d--------- sub", "L--------- through.csv", "L--------- twice.csv", "L--------- up.csv",
	}
	if d := cmp.Diff(want, names); d != "" {
		t.Error(d)
	}
}

func TestLargeFiles(t *testing.T) {
	w := newWorld(t)
	w.write("most.csv", strings.Repeat("a", MaxBlob))
	w.write("over.csv", strings.Repeat("a", MaxBlob+1))
	w.write("tune.fettle", "small\n")
	w.commit("one")
	tree := files(t, w.open("."), "HEAD")
	if st, err := tree.Stat("over.csv"); err != nil || st.Size() != MaxBlob+1 {
		t.Errorf("%v %v", st, err)
	}
	if _, err := tree.ReadFile("over.csv"); err == nil || !strings.Contains(err.Error(), "the most that is read") {
		t.Error(err)
	}
	for _, name := range []string{"most.csv", "tune.fettle", "most.csv"} {
		st, err := tree.Stat(name)
		b, err2 := tree.ReadFile(name)
		if err != nil || err2 != nil || int64(len(b)) != st.Size() {
			t.Errorf("%s: %d bytes, %v %v", name, len(b), err, err2)
		}
	}
}

// Several goroutines read, and one asks for names that make git give up.
func TestConcurrentReading(t *testing.T) {
	w := newWorld(t)
	for i := range 20 {
		w.write(fmt.Sprintf("f%d.csv", i), strings.Repeat("x", i*100))
	}
	w.commit("one")
	r := w.open(".")
	tree := files(t, r, "HEAD")
	var wg sync.WaitGroup
	for g := range 4 {
		wg.Go(func() {
			for i := range 20 {
				if g == 0 {
					if _, err := r.Commit("@{u}"); !errors.Is(err, ErrUnknownRevision) {
						t.Error(err)
					}
				}
				if b, err := tree.ReadFile(fmt.Sprintf("f%d.csv", i)); err != nil || len(b) != i*100 {
					t.Errorf("%d bytes, %v", len(b), err)
				}
			}
		})
	}
	wg.Wait()
	if err := r.Close(); err != nil {
		t.Error(err)
	}
	if b, err := tree.ReadFile("f3.csv"); err != nil || len(b) != 300 { // it starts another
		t.Errorf("%d bytes, %v", len(b), err)
	}
}

// A repository of SHA-256 reads alike.
func TestLongHashes(t *testing.T) {
	w := &world{t: t, dir: filepath.Join(t.TempDir(), "repo"), now: 1_700_000_000}
	if err := os.Mkdir(w.dir, 0o755); err != nil {
		t.Fatal(err)
	}
	w.git("init", "-q", "-b", "main", "--object-format=sha256")
	w.write("sub/tune.fettle", "one\n")
	hash := w.commit("one")
	r := w.open("sub")
	if b, err := files(t, r, "main").ReadFile("tune.fettle"); err != nil || string(b) != "one\n" || len(hash) != 64 {
		t.Errorf("%q %v", b, err)
	}
}
