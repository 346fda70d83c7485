package history

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"fettle/compiler/git"
)

// TestMain gives git no config but that of the repositories made here.
func TestMain(m *testing.M) {
	for k, v := range map[string]string{"GIT_CONFIG_GLOBAL": os.DevNull, "GIT_CONFIG_SYSTEM": os.DevNull} {
		os.Setenv(k, v)
	}
	os.Exit(m.Run())
}

// world is a repository with a workspace at its top.
type world struct {
	t   *testing.T
	dir string
	now int
}

func newWorld(t *testing.T) *world {
	w := &world{t: t, dir: t.TempDir(), now: 1_700_000_000}
	w.git("init", "-q", "-b", "main")
	return w
}

func (w *world) git(args ...string) string {
	w.t.Helper()
	cmd := exec.Command("git", args...)
	cmd.Dir = w.dir
	date := fmt.Sprintf("%d +0000", w.now)
	cmd.Env = append(os.Environ(), "GIT_AUTHOR_NAME=Ann Driver", "GIT_AUTHOR_EMAIL=ann@tussock.invalid", "GIT_AUTHOR_DATE="+date,
		"GIT_COMMITTER_NAME=Bo Wrench", "GIT_COMMITTER_EMAIL=bo@tussock.invalid", "GIT_COMMITTER_DATE="+date)
	out, err := cmd.CombinedOutput()
	if err != nil {
		w.t.Fatalf("git %s: %v\n%s", strings.Join(args, " "), err, out)
	}
	return strings.TrimSpace(string(out))
}

func (w *world) write(name, text string) {
	w.t.Helper()
	if err := os.WriteFile(filepath.Join(w.dir, name), []byte(text), 0o666); err != nil {
		w.t.Fatal(err)
	}
}

// commit writes a file and commits it.
func (w *world) commit(name, text string) {
	w.t.Helper()
	w.write(name, text)
	w.now += 3600
	w.git("add", "-A")
	w.git("commit", "-q", "-m", fmt.Sprintf("step %d", (w.now-1_700_000_000)/3600))
}

func (w *world) open() *git.Repo {
	w.t.Helper()
	r, err := git.Open(w.dir)
	if err != nil {
		w.t.Fatal(err)
	}
	w.t.Cleanup(func() { r.Close() })
	return r
}

// ask asks for the history of a cell.
func (w *world) ask(tune, mapName string, at ...string) *Log {
	w.t.Helper()
	l, err := Of(Question{Repo: w.open(), WorkTree: os.DirFS(w.dir), Tune: tune, Map: mapName, At: at})
	if err != nil {
		w.t.Fatal(err)
	}
	return l
}
