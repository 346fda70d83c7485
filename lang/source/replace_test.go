package source

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
)

// names lists what is in a folder.
func names(t *testing.T, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return out
}

func read(t *testing.T, name string) string {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestReplace(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "a.txt")
	if err := Replace(name, "one"); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(name, 0o640); err != nil {
		t.Fatal(err)
	}
	link, nowhere := filepath.Join(dir, "link"), filepath.Join(dir, "nowhere")
	if os.Symlink("a.txt", link) != nil || os.Symlink("gone", nowhere) != nil {
		t.Skip("no symbolic links here")
	}
	if err := Replace(link, "two"); err != nil {
		t.Fatal(err)
	}
	if got := read(t, name); got != "two" {
		t.Errorf("%q", got)
	}
	if st, _ := os.Stat(name); st.Mode().Perm() != 0o640 {
		t.Errorf("permissions became %v", st.Mode())
	}
	if st, _ := os.Lstat(link); st.Mode()&os.ModeSymlink == 0 {
		t.Error("the link became a file")
	}
	for where, want := range map[string]string{
		dir:                               "isn't a plain file",
		nowhere:                           "is a link that leads nowhere",
		filepath.Join(dir, "no", "b.txt"): "there is no such file or folder",
		filepath.Join(name, "b.txt"):      "a part of its path is a file, not a folder",
	} {
		if err := Replace(where, "three"); err == nil || !strings.HasPrefix(err.Error(), where+" ") || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", where, err)
		}
	}
	if got := names(t, dir); !slices.Equal(got, []string{"a.txt", "link", "nowhere"}) {
		t.Errorf("there is %q", got)
	}
}

// A new file is as private as the user's umask makes it.
func TestReplaceMinds(t *testing.T) {
	dir := t.TempDir()
	plain, ours := filepath.Join(dir, "plain"), filepath.Join(dir, "ours")
	if err := os.WriteFile(plain, nil, 0o666); err != nil {
		t.Fatal(err)
	}
	if err := Replace(ours, "x"); err != nil {
		t.Fatal(err)
	}
	a, _ := os.Stat(plain)
	if b, err := os.Stat(ours); err != nil || a.Mode() != b.Mode() {
		t.Errorf("%v, and any other file gets %v (%v)", b.Mode(), a.Mode(), err)
	}
	// A name as long as a name may be.
	long := filepath.Join(dir, strings.Repeat("n", 250)+".csv")
	for _, text := range []string{"one", "two"} {
		if err := Replace(long, text); err != nil || read(t, long) != text {
			t.Error(err)
		}
	}
}

func TestCreate(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "a.txt")
	if err := Create(name, "one"); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("gone", filepath.Join(dir, "link")); err != nil {
		t.Skip("no symbolic links here")
	}
	for _, there := range []string{name, filepath.Join(dir, "link"), dir} {
		if err := Create(there, "two"); !errors.Is(err, fs.ErrExist) {
			t.Errorf("%s: %v", there, err)
		}
	}
	if got := read(t, name); got != "one" {
		t.Errorf("%q", got)
	}
	// Of several at once one is first, and no other is told that it was.
	var wg sync.WaitGroup
	made := make(chan string, 8)
	for _, text := range []string{"a", "b", "c", "d"} {
		wg.Go(func() {
			if Create(filepath.Join(dir, "b.txt"), text) == nil {
				made <- text
			}
		})
	}
	wg.Wait()
	close(made)
	var first []string
	for text := range made {
		first = append(first, text)
	}
	if got := read(t, filepath.Join(dir, "b.txt")); len(first) != 1 || first[0] != got {
		t.Errorf("%q say that they made it, and it is %q", first, got)
	}
	if got := names(t, dir); !slices.Equal(got, []string{"a.txt", "b.txt", "link"}) {
		t.Errorf("there is %q", got)
	}
}

// What a killed writer left is cleared away; what a living one has, and what only
// looks alike, isn't.
func TestLeftDrafts(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "a.txt")
	dead := filepath.Join(dir, ".a.txt.new-0badcafe")
	alike := []string{".a.txt.new-ideas", ".a.txt.newer", ".b.txt.new-00000000"}
	for _, n := range append(alike, filepath.Base(dead)) {
		if err := os.WriteFile(filepath.Join(dir, n), []byte("half"), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	old := time.Now().Add(-2 * staleDraft)
	if err := os.Chtimes(dead, old, old); err != nil {
		t.Fatal(err)
	}
	alive, err := newDraft(name, nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := Replace(name, "one"); err != nil {
		t.Fatal(err)
	}
	want := append([]string{filepath.Base(alive.file.Name()), "a.txt"}, alike...)
	slices.Sort(want)
	if got := names(t, dir); !slices.Equal(got, want) {
		t.Errorf("there is %q, want %q", got, want)
	}
	if err := alive.fill("two", nil); err != nil {
		t.Fatal(err)
	}
	if err := alive.rename(name); err != nil {
		t.Fatal(err)
	}
	alive.drop()
	if got := read(t, name); got != "two" {
		t.Errorf("%q", got)
	}
	if got := names(t, dir); !slices.Equal(got, append(alike, "a.txt")) {
		t.Errorf("there is %q", got)
	}
}

// Many at once: each says that it wrote, the file is always whole, and nothing is
// left.
func TestReplaceAtOnce(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "a.txt")
	texts := []string{strings.Repeat("a", 20_000), strings.Repeat("b", 30_000), ""}
	if err := Replace(name, texts[0]); err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for _, text := range texts {
		wg.Go(func() {
			for range 10 {
				if err := Replace(name, text); err != nil {
					t.Error(err)
				}
				b, err := os.ReadFile(name)
				if err != nil || !slices.Contains(texts, string(b)) {
					t.Errorf("%d bytes, %v", len(b), err)
				}
			}
		})
	}
	wg.Wait()
	if got := names(t, dir); !slices.Equal(got, []string{"a.txt"}) {
		t.Errorf("there is %q", got)
	}
}
