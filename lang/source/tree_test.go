package source_test

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"fettle/lang/source"
)

// folder makes a workspace in a fresh folder; a name that ends with / is a
// folder. It gives the workspace's path and its files.
func folder(t *testing.T, files map[string]string) (string, fs.FS) {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "workspace")
	for name, text := range files {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if strings.HasSuffix(name, "/") {
			if err := os.MkdirAll(path, 0o755); err != nil {
				t.Fatal(err)
			}
			continue
		}
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	fsys, closer, err := source.OpenFolder(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { closer.Close() })
	return dir, fsys
}

// refused holds the answer for one name against the words it must have.
func refused(t *testing.T, fsys fs.FS, name, words string) {
	t.Helper()
	f, err := source.ReadText(fsys, name)
	switch {
	case err == nil:
		t.Errorf("%q was read: %d bytes", name, len(f.Text))
	case !strings.Contains(err.Error(), words) || !strings.Contains(err.Error(), filepath.Base(name)):
		t.Errorf("%q: %v; want the name and %q", name, err, words)
	}
}

func TestReadText(t *testing.T) {
	_, fsys := folder(t, map[string]string{"tune.fettle": "use air\n", "sub/pipes.csv": "name\n", "empty.csv": ""})
	for name, want := range map[string]string{"tune.fettle": "use air\n", "sub/pipes.csv": "name\n", "empty.csv": ""} {
		f, err := source.ReadText(fsys, name)
		if err != nil {
			t.Errorf("%s: %v", name, err)
		} else if f.Text != want || f.Name != name {
			t.Errorf("%s: %q called %q", name, f.Text, f.Name)
		}
	}
}

func TestReadTextStaysInside(t *testing.T) {
	dir, fsys := folder(t, map[string]string{"tune.fettle": "", "sub/a.csv": "in", "plain.csv": "in"})
	secret := filepath.Join(filepath.Dir(dir), "secret.csv")
	if err := os.WriteFile(secret, []byte("out"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"../secret.csv", "sub/../../secret.csv", "sub/../plain.csv", secret, "/plain.csv", "./plain.csv", "sub//a.csv", ""} {
		refused(t, fsys, name, "leads out of the workspace")
	}
	if _, err := source.ReadText(fsys, `sub\a.csv`); err == nil || !strings.Contains(err.Error(), "backslash") {
		t.Errorf("a backslash: %v", err)
	}
	for link, target := range map[string]string{"up.csv": "../secret.csv", "far.csv": secret, "sub/up.csv": "../../secret.csv", "inside.csv": "sub/a.csv", "round.csv": "round.csv"} {
		if err := os.Symlink(target, filepath.Join(dir, filepath.FromSlash(link))); err != nil {
			t.Skip("no symbolic links here: ", err)
		}
	}
	if err := os.Symlink("..", filepath.Join(dir, "out")); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"up.csv", "far.csv", "sub/up.csv", "out/secret.csv", "round.csv"} {
		refused(t, fsys, name, "can't be")
	}
	if f, err := source.ReadText(fsys, "inside.csv"); err != nil || f.Text != "in" {
		t.Errorf("a link that stays inside: %v %v", f, err)
	}
}

func TestReadTextRefuses(t *testing.T) {
	dir, fsys := folder(t, map[string]string{
		"tune.fettle": "", "sub/": "", "latin1.csv": "caf\xe9", "utf16.csv": "\xff\xfea\x00",
		"most.csv": strings.Repeat("a", source.MaxFile), "over.csv": strings.Repeat("a", source.MaxFile+1),
	})
	refused(t, fsys, "missing.csv", "no file")
	refused(t, fsys, "sub", "not a plain file")
	refused(t, fsys, ".", "not a plain file")
	refused(t, fsys, "tune.fettle/a.csv", "a.csv")
	refused(t, fsys, "latin1.csv", "not UTF-8")
	refused(t, fsys, "utf16.csv", "not UTF-8")
	refused(t, fsys, "over.csv", "the most that is read")
	if f, err := source.ReadText(fsys, "most.csv"); err != nil || len(f.Text) != source.MaxFile {
		t.Errorf("a file of the largest size: %v", err)
	}
	if err := os.Chmod(filepath.Join(dir, "tune.fettle"), 0); err != nil {
		t.Fatal(err)
	}
	if _, err := os.ReadFile(filepath.Join(dir, "tune.fettle")); err != nil { // not for those who may read everything
		refused(t, fsys, "tune.fettle", "permission denied")
	}
}

// growing is a file that says it is small and never ends.
type growing struct{ fs.File }

func (growing) Read(b []byte) (int, error) {
	for i := range b {
		b[i] = 'a'
	}
	return len(b), nil
}

type growingFS struct{ fstest.MapFS }

func (g growingFS) Open(name string) (fs.File, error) {
	f, err := g.MapFS.Open(name)
	return growing{f}, err
}

func TestReadTextStopsAtTheLargestSize(t *testing.T) {
	refused(t, growingFS{fstest.MapFS{"grows.csv": {Data: []byte("a")}}}, "grows.csv", "the most that is read")
}

func TestFindWorkspace(t *testing.T) {
	dir, _ := folder(t, map[string]string{"tune.fettle": "", "a/b/": "", "inner/tune.fettle": "", "inner/c/": "", "odd/tune.fettle/": ""})
	for from, want := range map[string]string{".": ".", "a": ".", "a/b": ".", "inner": "inner", "inner/c": "inner", "odd": "."} {
		got, err := source.FindWorkspace(filepath.Join(dir, from))
		if err != nil || got != filepath.Join(dir, want) {
			t.Errorf("from %s: %s %v, want %s", from, got, err, want)
		}
	}
	t.Chdir(filepath.Join(dir, "a", "b"))
	if got, err := source.FindWorkspace("."); err != nil || !sameFolder(t, got, dir) {
		t.Errorf("from the current folder: %s %v", got, err)
	}
	if got, err := source.FindWorkspace(filepath.Dir(dir)); !errors.Is(err, source.ErrNoWorkspace) {
		t.Errorf("above every workspace: %s %v", got, err)
	}
}

func sameFolder(t *testing.T, a, b string) bool {
	t.Helper()
	x, err := os.Stat(a)
	if err != nil {
		t.Fatal(err)
	}
	y, err := os.Stat(b)
	if err != nil {
		t.Fatal(err)
	}
	return os.SameFile(x, y)
}

func TestOpenFolderOfNothing(t *testing.T) {
	if _, _, err := source.OpenFolder(filepath.Join(t.TempDir(), "nothing")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("got %v", err)
	}
}
