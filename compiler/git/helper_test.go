package git

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// TestMain gives git no config but that of the repositories made here.
func TestMain(m *testing.M) {
	home, err := os.MkdirTemp("", "home")
	if err != nil {
		panic(err)
	}
	for k, v := range map[string]string{
		"HOME": home, "XDG_CONFIG_HOME": home, "GIT_CONFIG_GLOBAL": os.DevNull, "GIT_CONFIG_SYSTEM": os.DevNull,
	} {
		os.Setenv(k, v)
	}
	status := m.Run()
	os.RemoveAll(home)
	os.Exit(status)
}

// world is a folder with a repository in it, and a clock for its commits.
type world struct {
	t   *testing.T
	dir string
	env []string
	now int
}

func newWorld(t *testing.T) *world {
	w := &world{t: t, dir: filepath.Join(t.TempDir(), "repo"), now: 1_700_000_000}
	if err := os.Mkdir(w.dir, 0o755); err != nil {
		t.Fatal(err)
	}
	w.git("init", "-q", "-b", "main")
	return w
}

// git runs git in the repository, as a user would.
func (w *world) git(args ...string) string {
	w.t.Helper()
	return w.in(w.dir, args...)
}

func (w *world) in(dir string, args ...string) string {
	w.t.Helper()
	cmd := exec.Command("git", args...)
	cmd.Dir = dir
	date := fmt.Sprintf("%d +0130", w.now)
	cmd.Env = append(os.Environ(), "GIT_AUTHOR_NAME=Ann Driver", "GIT_AUTHOR_EMAIL=ann@example.com", "GIT_AUTHOR_DATE="+date,
		"GIT_COMMITTER_NAME=Bo Wrench", "GIT_COMMITTER_EMAIL=bo@example.com", "GIT_COMMITTER_DATE="+date)
	cmd.Env = append(cmd.Env, w.env...)
	out, err := cmd.CombinedOutput()
	if err != nil {
		w.t.Fatalf("git %s: %v\n%s", strings.Join(args, " "), err, out)
	}
	return strings.TrimSuffix(string(out), "\n")
}

func (w *world) write(name, text string) {
	w.t.Helper()
	path := filepath.Join(w.dir, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		w.t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		w.t.Fatal(err)
	}
}

// commit commits all there is, and gives the hash.
func (w *world) commit(subject string) string {
	w.t.Helper()
	w.now += 60
	w.git("add", "-A")
	w.git("commit", "-q", "--allow-empty", "-m", subject)
	return w.git("rev-parse", "HEAD")
}

// open opens the repository from one of its folders.
func (w *world) open(folder string) *Repo { return open(w.t, filepath.Join(w.dir, folder)) }

func open(t *testing.T, dir string) *Repo {
	t.Helper()
	r, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { r.Close() })
	return r
}

// at is the commit of a revision, which must be one.
func at(t *testing.T, r *Repo, rev string) Commit {
	t.Helper()
	c, err := r.Commit(rev)
	if err != nil {
		t.Fatalf("%s: %v", rev, err)
	}
	return c
}

func files(t *testing.T, r *Repo, rev string) *Tree {
	t.Helper()
	tree, err := r.Files(at(t, r, rev))
	if err != nil {
		t.Fatalf("%s: %v", rev, err)
	}
	return tree
}
