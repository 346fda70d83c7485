package emit

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestRefusedFolders(t *testing.T) {
	top := t.TempDir()
	make := func(parts ...string) string {
		dir := filepath.Join(append([]string{top}, parts...)...)
		if err := os.MkdirAll(dir, 0o777); err != nil {
			t.Fatal(err)
		}
		return dir
	}
	write := func(text string, parts ...string) string {
		file := filepath.Join(append([]string{top}, parts...)...)
		if err := os.WriteFile(file, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		return file
	}
	link := func(to, name string) string {
		at := filepath.Join(top, name)
		if err := os.Symlink(to, at); err != nil {
			t.Fatal(err)
		}
		return at
	}
	workspace := make("home", "bike")
	write("# a source", "home", "bike", "tune.fettle")
	photos := make("photos")
	write("cheese", "photos", "holiday.png")
	other := make("other")
	write(`{"schema": "someone/else"}`, "other", "index.json")
	newer := make("newer")
	write(`{"schema": "fettle/index/2"}`, "newer", "index.json")
	mine := filepath.Join(top, "mine")
	small(t, "30 mg", abc).mustBuild(mine, "*")
	make("mine", ".git")
	file := write("x", "file")
	for _, c := range []struct{ dir, want string }{
		{"", "has no name"},
		{workspace, "is the workspace itself"},
		{filepath.Dir(workspace), "holds the workspace"},
		{top, "holds the workspace"},
		{string(filepath.Separator), "holds the workspace"},
		{link(workspace, "to_workspace"), "is the workspace itself"},
		{photos, "photos is not a folder that fettle built"},
		{link(photos, "to_photos"), "is not a folder that fettle built"},
		{other, "is not a folder that fettle built"},
		{newer, "was built by another version of fettle (fettle/index/2)"},
		{mine, filepath.Join("mine", ".git") + " is not of a build"},
		{file, "is a file, not a folder"},
		{filepath.Join(file, "out"), "a part of its path is a file"},
		{link(filepath.Join(top, "nowhere"), "to_nowhere"), "is a link that leads nowhere"},
	} {
		before := tree(t, top)
		f, err := NewFolder(c.dir, workspace, false)
		if err == nil {
			f.Abort()
			t.Errorf("%s is accepted", c.dir)
			continue
		}
		var plain *Error
		if !errors.As(err, &plain) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.dir, err, c.want)
		}
		same(t, "files after "+c.dir, before, tree(t, top))
	}
	// A folder within the workspace, an empty one, and a link to one, are fine.
	for _, dir := range []string{filepath.Join(workspace, "out"), make("empty"), link(make("real"), "to_real")} {
		f, err := NewFolder(dir, workspace, false)
		if err != nil {
			t.Errorf("%s: %v", dir, err)
			continue
		}
		f.Abort()
	}
}

func TestLinkedOutput(t *testing.T) {
	top := t.TempDir()
	real, link := filepath.Join(top, "real"), filepath.Join(top, "link")
	if err := os.Mkdir(real, 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("real", link); err != nil {
		t.Fatal(err)
	}
	w := small(t, "30 mg", abc)
	for range 2 {
		w.mustBuild(link, "*")
		if st, err := os.Lstat(link); err != nil || st.Mode()&os.ModeSymlink == 0 {
			t.Fatalf("the link is gone: %v", err)
		}
		same(t, "index", 4, len(statuses(t, real)))
		same(t, "beside", []string{"link", "real"}, beside(t, real))
	}
}

func TestParentsAreMade(t *testing.T) {
	top := t.TempDir()
	dir := filepath.Join(top, "x", "y", "out")
	w := small(t, "30 mg", abc)
	f, err := NewFolder(dir, "", false)
	if err != nil {
		t.Fatal(err)
	}
	f.Abort()
	if got := beside(t, filepath.Join(top, "x")); len(got) > 0 {
		t.Errorf("a build that was given up leaves %v", got)
	}
	w.mustBuild(dir, "*")
	same(t, "index", 4, len(statuses(t, dir)))
	same(t, "beside", []string{"out"}, beside(t, dir))
}

func TestTwoBuildsAtOnce(t *testing.T) {
	dir := out(t)
	w := small(t, "30 mg", abc)
	one, err := NewFolder(dir, "", false)
	if err != nil {
		t.Fatal(err)
	}
	_, err = NewFolder(dir, "", false)
	if want := dir + " is being written by another build: wait until it is done"; err == nil || err.Error() != want {
		t.Errorf("the second build: %v", err)
	}
	other, err := NewFolder(dir+"2", "", false) // a neighbour is no hindrance
	if err != nil {
		t.Fatal(err)
	}
	other.Abort()
	if err := one.Add(w.input("a")); err != nil {
		t.Fatal(err)
	}
	if _, err := one.Close(nil); err != nil {
		t.Fatal(err)
	}
	same(t, "index", []string{"a written"}, statuses(t, dir))
	w.mustBuild(dir, "*")
	same(t, "beside", []string{"out"}, beside(t, dir))
}

// A lock's name that leads elsewhere is refused: nothing is made there.
func TestLockIsNoLink(t *testing.T) {
	dir := out(t)
	elsewhere := filepath.Join(t.TempDir(), "elsewhere")
	if err := os.Symlink(elsewhere, filepath.Join(filepath.Dir(dir), ".out.lock")); err != nil {
		t.Fatal(err)
	}
	if _, err := NewFolder(dir, "", false); err == nil || !strings.Contains(err.Error(), ".out.lock is in the way of the build's lock") {
		t.Errorf("%v", err)
	}
	if exists(elsewhere) {
		t.Error("a file was made where the link leads")
	}
}

// What a killed build leaves is cleared away, and nothing that only looks alike.
func TestLeftovers(t *testing.T) {
	dir := out(t)
	w := small(t, "30 mg", abc)
	w.mustBuild(dir, "*")
	for _, name := range []string{".out.new-0badcafe", ".out.new-old", ".out.new-ideas", ".out.newer", ".other.new-00000000"} {
		if err := os.MkdirAll(filepath.Join(filepath.Dir(dir), name, "a"), 0o777); err != nil {
			t.Fatal(err)
		}
	}
	w.mustBuild(dir, "*")
	same(t, "beside", []string{".other.new-00000000", ".out.new-ideas", ".out.newer", "out"}, beside(t, dir))
}

// A build that was killed between two renames is put right by the next one.
func TestOldOutputIsPutBack(t *testing.T) {
	dir := out(t)
	w := small(t, "30 mg", abc)
	w.mustBuild(dir, "*")
	before := tree(t, dir)
	if err := os.Rename(dir, filepath.Join(filepath.Dir(dir), ".out.new-old")); err != nil {
		t.Fatal(err)
	}
	f, err := NewFolder(dir, "", true)
	if err != nil {
		t.Fatal(err)
	}
	f.Abort()
	same(t, "the output", before, tree(t, dir))
	same(t, "beside", []string{"out"}, beside(t, dir))
}

func TestTwoRenames(t *testing.T) {
	top := t.TempDir()
	tmp, dir, away := filepath.Join(top, "tmp"), filepath.Join(top, "dir"), filepath.Join(top, "aside")
	for _, d := range []string{tmp, dir, away} { // away is of an earlier accident
		if err := os.MkdirAll(filepath.Join(d, filepath.Base(d)), 0o777); err != nil {
			t.Fatal(err)
		}
	}
	if err := twoRenames(tmp, dir, away); err != nil {
		t.Fatal(err)
	}
	for at, want := range map[string]string{dir: "tmp", tmp: "dir"} {
		if _, err := os.Stat(filepath.Join(at, want)); err != nil {
			t.Errorf("%s wasn't swapped: %v", at, err)
		}
	}
	if exists(away) {
		t.Error("something stays aside")
	}
	if err := twoRenames(filepath.Join(top, "none"), dir, away); err == nil || !exists(filepath.Join(dir, "tmp")) {
		t.Errorf("%v, and the old folder isn't put back", err)
	}
	for _, files := range []int{1, manyFiles} {
		if err := syncTree(top, files); err != nil {
			t.Error(err)
		}
		if err := syncTree(filepath.Join(top, "none"), files); err == nil {
			t.Error("a folder that isn't there is on the disk")
		}
	}
}
