package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// The README's console blocks print what they say: each `$` line is run, in one
// folder, one after another, and its output compared. -update rewrites them.
func TestReadmeTour(t *testing.T) {
	path, err := filepath.Abs("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	var out []string
	lines := strings.Split(string(text), "\n")
	ran := 0
	for i := 0; i < len(lines); i++ {
		out = append(out, lines[i])
		if lines[i] != "```console" {
			continue
		}
		for i++; i < len(lines) && lines[i] != "```"; i++ {
			cmd, isCmd := strings.CutPrefix(lines[i], "$ ")
			if !isCmd {
				continue // old output: replaced by what the command prints
			}
			out = append(out, lines[i])
			if got := strings.TrimRight(runLine(t, cmd), "\n"); got != "" {
				out = append(out, strings.Split(got, "\n")...)
			}
			ran++
		}
		out = append(out, "```")
	}
	if ran == 0 {
		t.Fatal("README.md has no console block")
	}
	got := strings.Join(out, "\n")
	if got == string(text) {
		return
	}
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	t.Errorf("README.md doesn't say what the commands print; -update rewrites it. It would read:\n%s", firstDifference(string(text), got))
}

func firstDifference(a, b string) string {
	x, y := strings.Split(a, "\n"), strings.Split(b, "\n")
	for i := range y {
		if i >= len(x) || x[i] != y[i] {
			return strings.Join(y[i:min(len(y), i+8)], "\n")
		}
	}
	return ""
}

// runLine runs `fettle …`, `cd …`, `cat …`, `git …` or `sed …` of the tour.
func runLine(t *testing.T, line string) string {
	t.Helper()
	args := words(line)
	var out, errw bytes.Buffer
	switch args[0] {
	case "fettle":
		run(args[1:], strings.NewReader(""), &out, &errw)
	case "cd":
		t.Chdir(args[1])
	case "cat":
		b, err := os.ReadFile(args[1])
		if err != nil {
			t.Fatal(err)
		}
		out.Write(b)
	case "git", "sed": // the same commits every time
		cmd := exec.Command(args[0], args[1:]...)
		cmd.Env = append(os.Environ(), "GIT_CONFIG_GLOBAL="+os.DevNull, "GIT_CONFIG_SYSTEM="+os.DevNull)
		for _, who := range []string{"AUTHOR", "COMMITTER"} {
			cmd.Env = append(cmd.Env, "GIT_"+who+"_NAME=Tussock Tuner", "GIT_"+who+"_EMAIL=tuner@tussock.invalid", "GIT_"+who+"_DATE=2026-03-01T18:30:00+01:00")
		}
		cmd.Stdout, cmd.Stderr = &out, &errw
		if err := cmd.Run(); err != nil {
			t.Fatalf("%s: %v\n%s", line, err, &errw)
		}
	default:
		t.Fatalf("the tour runs %q", line)
	}
	return out.String() + errw.String()
}

// words splits a command line at spaces outside single quotes.
func words(line string) []string {
	var out []string
	cur, quoted, any := "", false, false
	for _, r := range line {
		switch {
		case r == '\'':
			quoted, any = !quoted, true
		case r == ' ' && !quoted:
			if any {
				out = append(out, cur)
			}
			cur, any = "", false
		default:
			cur += string(r)
			any = true
		}
	}
	if any {
		out = append(out, cur)
	}
	return out
}
