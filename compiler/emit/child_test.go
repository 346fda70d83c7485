//go:build linux

package emit

import (
	"bufio"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// TestChild is what the tests below run in a process of its own: a build whose
// error is printed, under a limit of the system.
func TestChild(t *testing.T) {
	dir := os.Getenv("EMIT_TEST_DIR")
	if dir == "" {
		t.Skip("only run by other tests")
	}
	w := small(t, "30 mg", abc)
	say := func(err error) { os.Stdout.WriteString("said: " + err.Error() + "\n") }
	switch os.Getenv("EMIT_TEST_MODE") {
	case "small files":
		signal.Ignore(syscall.SIGXFSZ)
		var usual syscall.Rlimit
		if err := syscall.Getrlimit(syscall.RLIMIT_FSIZE, &usual); err != nil {
			t.Fatal(err)
		}
		if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: 1000, Max: usual.Max}); err != nil {
			t.Fatal(err)
		}
		defer func() { _ = syscall.Setrlimit(syscall.RLIMIT_FSIZE, &usual) }()
	case "nobody", "write protected":
		if os.Geteuid() == 0 {
			if err := syscall.Setuid(65534); err != nil {
				t.Skip(err)
			}
		}
		if os.Getenv("EMIT_TEST_MODE") == "nobody" {
			break
		}
		w.mustBuild(dir, "*")
		for _, name := range sortedKeys(tree(t, dir)) {
			if err := os.Chmod(filepath.Join(dir, name), 0o444); err != nil {
				t.Fatal(err)
			}
		}
		w = small(t, "19 mg", abc)
	case "wait":
		f, err := NewFolder(dir, "", false)
		if err != nil {
			t.Fatal(err)
		}
		if err := f.Add(w.input("a")); err != nil {
			t.Fatal(err)
		}
		os.Stdout.WriteString("said: ready\n")
		_, _ = io.Copy(io.Discard, os.Stdin) // until it is killed
		return
	}
	if _, err := w.build(dir, 1, "*"); err != nil {
		say(err)
	}
}

// What stands and is linked into the new output needn't be writable.
func TestWriteProtectedOutput(t *testing.T) {
	dir := out(t)
	for _, p := range []string{filepath.Dir(filepath.Dir(dir)), filepath.Dir(dir)} {
		if err := os.Chmod(p, 0o777); err != nil {
			t.Fatal(err)
		}
	}
	same(t, "said", "", hear(t, "write protected", dir))
	same(t, "index", []string{"a failed", "b/1000m written", "b/2000m written", "c written"}, statuses(t, dir))
	same(t, "beside", []string{"out"}, beside(t, dir))
}

// child starts TestChild.
func child(t *testing.T, mode, dir string) (cmd *exec.Cmd, stdin io.Closer, said *bufio.Scanner) {
	t.Helper()
	cmd = exec.Command(os.Args[0], "-test.run=^TestChild$")
	cmd.Env = append(os.Environ(), "EMIT_TEST_MODE="+mode, "EMIT_TEST_DIR="+dir)
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	pipe, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	return cmd, in, bufio.NewScanner(pipe)
}

// hear is what a child says, to its end.
func hear(t *testing.T, mode, dir string) string {
	t.Helper()
	cmd, in, said := child(t, mode, dir)
	_ = in.Close()
	text, all := "", ""
	for said.Scan() {
		all += said.Text() + "\n"
		if s, ok := strings.CutPrefix(said.Text(), "said: "); ok {
			text = s
		}
	}
	if err := cmd.Wait(); err != nil {
		t.Fatalf("%v: %s", err, all)
	}
	return text
}

func TestFileTooLarge(t *testing.T) {
	dir := out(t)
	small(t, "31 mg", abc).mustBuild(dir, "*")
	before := tree(t, dir)
	want := filepath.Join(dir, "a", "tune.json") + " can't be written: it is larger than files may be here"
	same(t, "said", want, hear(t, "small files", dir))
	same(t, "the output", before, tree(t, dir))
	same(t, "beside", []string{"out"}, beside(t, dir))
}

func TestReadOnlyFolder(t *testing.T) {
	dir := out(t)
	small(t, "30 mg", abc).mustBuild(dir, "*")
	before := tree(t, dir)
	parent := filepath.Dir(dir)
	for _, c := range []struct {
		mode os.FileMode
		path string
		want string
	}{
		{0o555, parent, parent + " can't be written in: permission denied"},
		{0, dir, dir + " can't be read: permission denied"},
	} {
		// Who isn't root has to reach the folder, and root has to be someone else.
		for _, p := range []string{filepath.Dir(parent), parent} {
			if err := os.Chmod(p, 0o777); err != nil {
				t.Fatal(err)
			}
		}
		if err := os.Chmod(c.path, c.mode); err != nil {
			t.Fatal(err)
		}
		said := hear(t, "nobody", dir)
		if err := os.Chmod(c.path, 0o777); err != nil {
			t.Fatal(err)
		}
		same(t, "said", c.want, said)
		same(t, "the output", before, tree(t, dir))
		same(t, "beside", []string{"out"}, beside(t, dir))
	}
}

// A build that is killed leaves the old output, and no lock; the next one clears
// away what it began.
func TestKilledBuild(t *testing.T) {
	dir := out(t)
	w := small(t, "30 mg", abc)
	w.mustBuild(dir, "*")
	before := tree(t, dir)
	cmd, in, said := child(t, "wait", dir)
	defer in.Close()
	for said.Scan() && said.Text() != "said: ready" {
	}
	if _, err := w.build(dir, 1, "*"); err == nil || !strings.Contains(err.Error(), "is being written by another build") {
		t.Errorf("while another process builds: %v", err)
	}
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = cmd.Wait()
	same(t, "the output", before, tree(t, dir))
	if left := beside(t, dir); len(left) != 3 {
		t.Errorf("a lock and a new folder are to be left over, and there is %v", left)
	}
	w.mustBuild(dir, "c")
	same(t, "index", []string{"a kept", "b/1000m kept", "b/2000m kept", "c written"}, statuses(t, dir))
	same(t, "beside", []string{"out"}, beside(t, dir))
}
