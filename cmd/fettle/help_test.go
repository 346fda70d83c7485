package main

import (
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/spf13/cobra"
)

// Every command that reports has an example in its help, and each example works
// in the Tussock workspace.
func TestExamplesOfHelpWork(t *testing.T) {
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS("../../examples/tussock")); err != nil {
		t.Fatal(err)
	}
	if err := os.RemoveAll(filepath.Join(dir, "out")); err != nil { // what was built there
		t.Fatal(err)
	}
	t.Chdir(dir)
	if out, err := exec.Command("git", "init", "-q").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	source, err := os.ReadFile("tune.fettle")
	if err != nil {
		t.Fatal(err)
	}
	order := []string{"build", "init", "check", "list", "show", "why", "log", "diff", "review", "merge", "fmt", "eval", "doc", "import", "verify", "codes", "git", "version"}
	commands := map[string]*cobra.Command{}
	for _, c := range (&app{out: io.Discard, err: io.Discard}).root().Commands() {
		commands[c.Name()] = c
	}
	for _, name := range order {
		c := commands[name]
		if c == nil || c.Example == "" {
			t.Errorf("%s has no example", name)
			continue
		}
		for _, line := range strings.Split(c.Example, "\n") {
			line, stdin, _ := strings.Cut(strings.TrimSpace(line), " < ")
			in := ""
			if stdin != "" {
				in = string(source)
			}
			var out, errw bytes.Buffer
			if got := run(words(line)[1:], strings.NewReader(in), &out, &errw); got == exitWrong {
				t.Errorf("%s: status %d: %s", line, got, errw.String())
			}
		}
	}
	for name := range commands {
		known := name == "help" || name == "completion"
		for _, n := range order {
			known = known || n == name
		}
		if !known {
			t.Errorf("%s isn't looked at here", name)
		}
	}
}
