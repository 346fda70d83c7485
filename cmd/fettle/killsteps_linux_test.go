package main

import (
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"testing"
)

// Moments at random seldom fall between two calls of the system. Here every one of
// them is met: strace kills the command as it enters its first, second, third …
// call of each kind that changes what is on the disk.

var everyStep = flag.Bool("steps", false, "kill builds before every call of the system, and not before some")

// changing are the calls that change what is on the disk, as Go makes them.
var changing = []string{"openat", "write", "fsync", "syncfs", "mkdirat", "linkat", "renameat", "renameat2", "unlinkat", "fchmod", "fchmodat", "fchown", "flock"}

// strace finds the program, or skips the test.
func strace(t testing.TB) string {
	t.Helper()
	path, err := exec.LookPath("strace")
	if err == nil {
		err = exec.Command(path, "-f", "-qq", "-o", os.DevNull, "true").Run()
	}
	if err != nil {
		t.Skipf("strace can't be used here: %v", err)
	}
	return path
}

// killedAt runs the command, and has it killed as one of its threads enters a call
// for the nth time. False if none did.
func killedAt(t testing.TB, strace, call string, n int, dir string, args []string) bool {
	t.Helper()
	cmd := exec.Command(strace, append([]string{"-f", "-qq", "-o", os.DevNull, "-e", "trace=" + call,
		"-e", "inject=" + call + ":signal=KILL:when=" + strconv.Itoa(n), "fettle"}, args...)...)
	cmd.Dir = dir
	err := cmd.Run()
	st, ok := cmd.ProcessState.Sys().(syscall.WaitStatus)
	if !ok {
		t.Fatal(err)
	}
	// It ends as what it traces does.
	return st.Signaled() && st.Signal() == syscall.SIGKILL
}

// draft is what a killed writer may leave beside its file.
var draft = regexp.MustCompile(`(^|/)\.[^/]+\.new-[0-9a-f]{8}$`)

// split parts the drafts from what else is in a folder, without git's own.
func split(all snapshot) (files snapshot, drafts []string) {
	files = snapshot{}
	for name, sum := range all {
		switch {
		case strings.HasPrefix(name, ".git/"):
		case draft.MatchString(name):
			drafts = append(drafts, name)
		default:
			files[name] = sum
		}
	}
	return files, drafts
}

// TestKilledWriters kills each command that writes a file in the place of another.
func TestKilledWriters(t *testing.T) {
	strace := strace(t)
	const messy = "axis rpm[rpm] 1000..9000\nmap fuel[mg]{\nrpm|2000 4000\n|10 20\n}\nvariant a{}\n"
	const tidy = "axis rpm [rpm] 1000..9000\nmap fuel [mg] {\n  rpm |    2000    4000\n      |   10      20\n}\nvariant a { }\nvariant b from a { }\n"
	const table = "rpm,2000,4000\n,10,20\n"
	for _, c := range []struct {
		name  string
		files map[string]string
		args  []string
		again int // the status of another run, once it is done
	}{
		{"fmt", map[string]string{"tune.fettle": messy}, []string{"fmt"}, exitOK},
		{"merge", map[string]string{"base.csv": table, "ours.csv": strings.Replace(table, ",10,", ",11,", 1), "theirs.csv": strings.Replace(table, ",20\n", ",21\n", 1)},
			[]string{"merge", "base.csv", "ours.csv", "theirs.csv"}, exitOK},
		{"import", map[string]string{"tune.fettle": tidy, "base.csv": table, "more.fettle": "map spark [deg] {\n  rpm | 2000\n      | 1\n}\n"},
			[]string{"import", "base.csv", "--name", "spark", "--unit", "deg", "-o", "more.fettle"}, exitOK},
		{"review", map[string]string{"tune.fettle": tidy, "page.html": "<!doctype html>\nan older one\n"}, []string{"review", "a", "b", "-o", "page.html"}, exitOK},
		{"init", map[string]string{"README": "mine\n"}, []string{"init"}, exitWrong},
		{"setup", map[string]string{"tune.fettle": tidy, ".gitattributes": "*.png binary\n"}, []string{"git", "setup", "--attributes"}, exitOK},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := memory(t)
			if out, err := exec.Command("git", "init", "-q", dir).CombinedOutput(); err != nil {
				t.Fatalf("%s", out)
			}
			begin := func() snapshot {
				entries, err := os.ReadDir(dir)
				if err != nil {
					t.Fatal(err)
				}
				for _, e := range entries {
					if e.Name() != ".git" {
						if err := os.RemoveAll(filepath.Join(dir, e.Name())); err != nil {
							t.Fatal(err)
						}
					}
				}
				for name, text := range c.files {
					if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
						t.Fatal(err)
					}
				}
				files, _ := split(snapshotOf(t, dir))
				return files
			}
			run := func(want int) {
				t.Helper()
				cmd := exec.Command("fettle", c.args...)
				cmd.Dir = dir
				if said, _ := cmd.CombinedOutput(); cmd.ProcessState.ExitCode() != want {
					t.Fatalf("fettle %v: %d\n%s", c.args, cmd.ProcessState.ExitCode(), said)
				}
			}
			old := begin()
			run(exitOK)
			new, _ := split(snapshotOf(t, dir))
			if old.differs(new) == "" {
				t.Fatal("it changes nothing")
			}
			killed, left := 0, 0
			for _, call := range changing {
				for n := 1; ; n++ {
					begin()
					if !killedAt(t, strace, call, n, dir, c.args) {
						break
					}
					killed++
					what := fmt.Sprintf("killed at %s %d", call, n)
					files, drafts := split(snapshotOf(t, dir))
					left += len(drafts)
					want := exitOK
					switch {
					case files.differs(new) == "":
						want = c.again
					case files.differs(old) != "":
						t.Fatalf("%s: there is neither the old file nor the new one: %s", what, old.differs(files))
					}
					run(want)
					files, drafts = split(snapshotOf(t, dir))
					if d := new.differs(files); d != "" || len(drafts) > 0 {
						t.Fatalf("%s: the next run: %s, and there is %q", what, d, drafts)
					}
				}
			}
			if left == 0 {
				t.Error("no moment was met at which something is left")
			}
			t.Logf("killed at %d calls; %d times a draft stayed, until the next run", killed, left)
		})
	}
}

// TestKilledBuildSteps kills a build that links some files, writes others and
// exchanges the folders.
func TestKilledBuildSteps(t *testing.T) {
	strace := strace(t)
	s := firstSite(t, filepath.Join(memory(t), "out"))
	s.build(s.args(work{}, s.out)...)
	old := mustBeWhole(t, s.out)
	kept := filepath.Join(memory(t), "kept")
	if err := os.CopyFS(kept, os.DirFS(s.out)); err != nil {
		t.Fatal(err)
	}
	s.prepare(work{value: 1})
	args := s.args(work{}, s.out)
	s.build(args...)
	new := mustBeWhole(t, s.out)
	stride := 4
	if *everyStep {
		stride = 1
	}
	killed, ends := 0, toll{}
	for _, call := range changing {
		for n := 1; ; n += stride {
			if err := os.RemoveAll(s.out); err != nil {
				t.Fatal(err)
			}
			if err := os.CopyFS(s.out, os.DirFS(kept)); err != nil {
				t.Fatal(err)
			}
			if !killedAt(t, strace, call, n, s.dir, args) {
				break
			}
			killed++
			what := fmt.Sprintf("killed at %s %d", call, n)
			switch is := mustBeWhole(t, s.out); {
			case is.differs(old) == "":
				ends.old++
			case is.differs(new) == "":
				ends.new++
			default:
				t.Fatalf("%s: the output is neither the old one (%s) nor the new one (%s)", what, old.differs(is), new.differs(is))
			}
			if others, litter := besides(t, s.out); len(others) > 0 {
				t.Fatalf("%s: beside the output there is %q", what, others)
			} else if len(litter) > 0 {
				ends.beside++
			}
			s.build(args...)
			if is := mustBeWhole(t, s.out); is.differs(new) != "" {
				t.Fatalf("%s: the next build: %s", what, new.differs(is))
			}
			if others, litter := besides(t, s.out); len(others)+len(litter) > 0 {
				t.Fatalf("%s: after the next build there is %q and %q", what, others, litter)
			}
		}
	}
	if ends.old == 0 || ends.new == 0 || ends.beside == 0 {
		t.Errorf("not every kind of moment was met: %+v", ends)
	}
	t.Logf("killed at %d calls: %d left the old output, %d the new one, %d something beside it", killed, ends.old, ends.new, ends.beside)
}
