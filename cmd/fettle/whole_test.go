package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fettle/compiler/emit"
)

// What the tests of killed, crowded and starved builds share: an output looked at
// from the outside.

// snapshot is every file of a folder with the digest of its bytes; a folder is a
// name that ends with a slash.
type snapshot map[string]string

func snapshotOf(t testing.TB, dir string) snapshot {
	t.Helper()
	out := snapshot{}
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name, _ := filepath.Rel(dir, path)
		name = filepath.ToSlash(name)
		if d.IsDir() {
			out[name+"/"] = ""
			return nil
		}
		b, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		sum := sha256.Sum256(b)
		out[name] = hex.EncodeToString(sum[:])
		return nil
	})
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		t.Fatal(err)
	}
	return out
}

// differs tells the first places in which two snapshots differ; "" if in none.
func (a snapshot) differs(b snapshot) string {
	var lines []string
	for name, sum := range a {
		if other, ok := b[name]; !ok {
			lines = append(lines, name+" is gone")
		} else if other != sum {
			lines = append(lines, name+" differs")
		}
	}
	for name := range b {
		if _, ok := a[name]; !ok {
			lines = append(lines, name+" is new")
		}
	}
	slices.Sort(lines)
	if len(lines) > 5 {
		lines = append(lines[:5], fmt.Sprintf("and %d more", len(lines)-5))
	}
	return strings.Join(lines, "; ")
}

// unlike says what is wrong with an output by its own index: a file that no digest
// answers for, or a tune or bundle whose files aren't those that were digested. "" if
// nothing is.
func (a snapshot) unlike(index []byte) string {
	var x emit.Index
	if err := json.Unmarshal(index, &x); err != nil {
		return "index.json can't be read: " + err.Error()
	}
	left := map[string]bool{}
	for name := range a {
		left[name] = !strings.HasSuffix(name, "/")
	}
	left["index.json"] = false
	digest := func(folder string, want *string) string {
		var lines []string
		for name, sum := range a {
			if rest, ok := strings.CutPrefix(name, folder+"/"); ok && left[name] {
				lines = append(lines, rest+"\x00"+sum)
				left[name] = false
			}
		}
		if want == nil {
			if len(lines) > 0 {
				return folder + " has files and isn't written"
			}
			return ""
		}
		slices.Sort(lines)
		h := sha256.New()
		for _, l := range lines {
			name, sum, _ := strings.Cut(l, "\x00")
			fmt.Fprintf(h, "%s  %s\n", sum, name)
		}
		if got := hex.EncodeToString(h.Sum(nil)); got != *want {
			return fmt.Sprintf("%s: %d files have the digest %s, and the index says %s", folder, len(lines), got, *want)
		}
		return ""
	}
	for _, b := range x.Bundles {
		if fault := digest("bundles/"+b.Name, b.Digest); fault != "" {
			return fault
		}
	}
	for _, e := range x.Tunes {
		if fault := digest(e.Name, e.Digest); fault != "" {
			return fault
		}
	}
	for name, open := range left {
		if open {
			return name + " is in no tune of the index"
		}
	}
	return ""
}

// litter is what a build that was killed may leave beside its output until the next.
var litter = regexp.MustCompile(`^\.out\.(lock|new-[0-9a-f]{8})$`)

// besides lists what stands beside an output.
func besides(t testing.TB, out string) (others, litters []string) {
	t.Helper()
	entries, err := os.ReadDir(filepath.Dir(out))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		switch {
		case e.Name() == filepath.Base(out):
		case litter.MatchString(e.Name()):
			litters = append(litters, e.Name())
		default:
			others = append(others, e.Name())
		}
	}
	return others, litters
}

// mustBeWhole holds an output to its index.
func mustBeWhole(t testing.TB, out string) snapshot {
	t.Helper()
	s := snapshotOf(t, out)
	index, err := os.ReadFile(filepath.Join(out, "index.json"))
	if err != nil {
		t.Fatal(err)
	}
	if fault := s.unlike(index); fault != "" {
		t.Fatal(fault)
	}
	return s
}

// fettle runs the command, and gives its exit status and what it says.
func fettle(t testing.TB, args ...string) (int, string) {
	t.Helper()
	var said bytes.Buffer
	cmd := exec.Command("fettle", args...)
	cmd.Stdout, cmd.Stderr = &said, &said
	err := cmd.Run()
	var ee *exec.ExitError
	if err != nil && !errors.As(err, &ee) {
		t.Fatal(err)
	}
	return cmd.ProcessState.ExitCode(), said.String()
}

// mustRun runs the command, which must end well.
func mustRun(t testing.TB, args ...string) string {
	t.Helper()
	code, said := fettle(t, args...)
	if code != exitOK {
		t.Fatalf("fettle %s: %d\n%s", strings.Join(args, " "), code, said)
	}
	return said
}

// The test's own eye is tried: a changed file, one too many, one missing.
func TestUnlikeSeesMixtures(t *testing.T) {
	ws, out := t.TempDir(), filepath.Join(t.TempDir(), "out")
	mustRun(t, "init", ws)
	mustRun(t, "-C", ws, "build", "-o", out)
	whole := mustBeWhole(t, out)
	index, err := os.ReadFile(filepath.Join(out, "index.json"))
	if err != nil {
		t.Fatal(err)
	}
	for want, change := range map[string]func(s snapshot){
		"home: 2 files have the digest": func(s snapshot) { s["home/fuel.csv"] = s["hill/fuel.csv"] },
		"home: 3 files have the digest": func(s snapshot) { s["home/more.csv"] = "" },
		"home: 1 files have the digest": func(s snapshot) { delete(s, "home/tune.json") },
		"stray is in no tune":           func(s snapshot) { s["stray"] = "" },
	} {
		s := snapshot{}
		for name, sum := range whole {
			s[name] = sum
		}
		change(s)
		if fault := s.unlike(index); !strings.HasPrefix(fault, want) {
			t.Errorf("%q, want %q", fault, want)
		}
		if whole.differs(s) == "" {
			t.Errorf("%s: no difference is seen", want)
		}
	}
}
