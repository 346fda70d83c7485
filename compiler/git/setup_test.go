package git

import (
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fettle/lang/source"
)

func TestSetup(t *testing.T) {
	w := newWorld(t)
	w.write("ws/tune.fettle", "one\n")
	w.write("ws/my fuel.csv", "one\n")
	w.git("config", "diff.fettle.binary", "false") // not ours
	config := filepath.Join(w.dir, ".git", "config")
	before, err := os.ReadFile(config)
	if err != nil {
		t.Fatal(err)
	}
	s := &Setup{Replace: source.Replace, Repo: w.open("ws"), Command: "'/opt/100%/fettle'", Files: []string{"my fuel.csv", "tune.fettle"}}
	changed, err := s.Apply()
	if err != nil || len(changed) != 5 {
		t.Fatalf("%q %v", changed, err)
	}
	if got := w.git("config", "merge.fettle.driver"); got != "'/opt/100%%/fettle' merge --marker-size %L --path %P -- %O %A %B" {
		t.Error(got)
	}
	if got := w.in(filepath.Join(w.dir, "ws"), "check-attr", "diff", "my fuel.csv", "tune.fettle", "other.csv"); got != "my fuel.csv: diff: fettle\ntune.fettle: diff: fettle\nother.csv: diff: unspecified" {
		t.Error(got)
	}
	if again, err := s.Apply(); err != nil || again != nil {
		t.Errorf("%q %v", again, err)
	}
	if faults, err := s.Check(); err != nil || faults != nil {
		t.Errorf("%q %v", faults, err)
	}

	// What differs is said, and put right.
	w.git("config", "--add", "diff.fettle.textconv", "other")
	w.git("config", "merge.fettle.driver", "other")
	w.git("config", "--unset", "merge.fettle.name")
	more := *s
	more.Files = []string{"new.csv", "tune.fettle"}
	faults, err := more.Check()
	want := []string{
		"this clone's config: diff.fettle.textconv is there 2 times",
		"this clone's config: merge.fettle.name is missing",
		"this clone's config: merge.fettle.driver is other, not '/opt/100%%/fettle' merge --marker-size %L --path %P -- %O %A %B",
		".gitattributes: a line is missing: /new.csv diff=fettle merge=fettle",
		`.gitattributes: a line is of no use: "/my fuel.csv" diff=fettle merge=fettle`,
	}
	if d := cmp.Diff(want, faults); d != "" || err != nil {
		t.Errorf("%v\n%s", err, d)
	}
	shared := more
	shared.Shared = true
	if faults, err := shared.Check(); err != nil || len(faults) != 2 {
		t.Errorf("%q %v", faults, err)
	}
	if _, err := s.Apply(); err != nil {
		t.Fatal(err)
	}

	// Attributes of others that weigh more are told of.
	w.write("ws/sub/.gitattributes", "*.csv -diff\n")
	w.write("ws/sub/a.csv", "x\n")
	w.write(".git/info/attributes", "tune.fettle merge=union\n")
	more.Files = []string{"my fuel.csv", "sub/a.csv", "tune.fettle"}
	if _, err := more.Apply(); err != nil {
		t.Fatal(err)
	}
	faults, err = more.Check()
	want = []string{
		"sub/a.csv: other attributes set diff to unset; `git check-attr diff` asks for it",
		"tune.fettle: other attributes set merge to union; `git check-attr merge` asks for it",
	}
	if d := cmp.Diff(want, faults); d != "" || err != nil {
		t.Errorf("%v\n%s", err, d)
	}

	// And all is undone.
	if changed, err := s.Remove(); err != nil || len(changed) != 5 {
		t.Errorf("%q %v", changed, err)
	}
	if after, err := os.ReadFile(config); err != nil || string(after) != string(before) {
		t.Errorf("the config was\n%s\nand is\n%s\n%v", before, after, err)
	}
	if _, err := os.Stat(filepath.Join(w.dir, "ws", AttributesFile)); !os.IsNotExist(err) {
		t.Error(err)
	}
	if changed, err := s.Remove(); err != nil || changed != nil {
		t.Errorf("%q %v", changed, err)
	}
}

func TestSetupKeepsTheFile(t *testing.T) {
	w := newWorld(t)
	w.write("tune.fettle", "one\n")
	name := filepath.Join(w.dir, AttributesFile)
	w.write(AttributesFile, "*.png binary")
	if err := os.Chmod(name, 0o600); err != nil {
		t.Fatal(err)
	}
	s := &Setup{Replace: source.Replace, Repo: w.open("."), Command: "fettle", Files: []string{"tune.fettle"}}
	for _, do := range []func() ([]string, error){s.Apply, s.Remove} {
		if changed, err := do(); err != nil || !strings.HasPrefix(changed[len(changed)-1], AttributesFile) {
			t.Fatalf("%q %v", changed, err)
		}
		if st, err := os.Stat(name); err != nil || st.Mode().Perm() != 0o600 {
			t.Errorf("%v %v", st, err)
		}
	}
	if b, err := os.ReadFile(name); err != nil || string(b) != "*.png binary" {
		t.Errorf("%q %v", b, err)
	}
	if left, err := filepath.Glob(filepath.Join(w.dir, ".gitattributes*")); err != nil || len(left) != 1 {
		t.Errorf("%q %v", left, err)
	}
	if runtime.GOOS == "windows" {
		return
	}
	if err := os.Remove(name); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("other", name); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Apply(); err == nil || !strings.Contains(err.Error(), "no plain file") {
		t.Error(err)
	}
}
