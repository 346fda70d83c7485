package main

import (
	"errors"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// The commands are tested only by scripts: real command lines, real files, real
// git, output compared exactly. They stand in testdata/script.

var update = flag.Bool("update", false, "rewrite the expected output in the scripts")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"fettle": func() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) },
	})
}

func TestScripts(t *testing.T) {
	root, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir:           "../../testdata/script",
		UpdateScripts: *update,
		Cmds:          map[string]func(*testscript.TestScript, bool, []string){"exits": exits},
		Setup: func(e *testscript.Env) error {
			e.Setenv("ROOT", root)
			e.Setenv("EXAMPLES", filepath.Join(root, "examples"))
			e.Setenv("GIT_CONFIG_GLOBAL", os.DevNull)
			e.Setenv("GIT_CONFIG_SYSTEM", os.DevNull)
			// The same commits every time, by nobody real.
			for _, who := range []string{"AUTHOR", "COMMITTER"} {
				e.Setenv("GIT_"+who+"_NAME", "Tussock Tuner")
				e.Setenv("GIT_"+who+"_EMAIL", "tuner@tussock.invalid")
				e.Setenv("GIT_"+who+"_DATE", "2026-03-01T18:30:00+01:00")
			}
			return nil
		},
	})
}

// exits runs a command that must end with an exact status: exits 2 fettle …
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits STATUS command…")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		var ee *exec.ExitError
		if !errors.As(err, &ee) {
			ts.Fatalf("%v", err)
		}
		got = ee.ExitCode()
	}
	if got != want {
		ts.Fatalf("it exits with %d, not %d", got, want)
	}
}
