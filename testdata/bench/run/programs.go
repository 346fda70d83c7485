package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
)

// fettle gives the program beside this one that computes by fettle itself.
func fettle(way string) func(*bench) ([]string, error) {
	return func(b *bench) ([]string, error) {
		exe, err := b.build("fettle")
		return []string{exe, way}, err
	}
}

// module gives a program that is a Go module of its own, and its source.
func module(name, source string) func(*bench) ([]string, error) {
	return func(b *bench) ([]string, error) {
		exe, err := b.build(name)
		return []string{exe, filepath.Join(b.dir, name, source)}, err
	}
}

// build builds the program in a folder, once.
func (b *bench) build(name string) (string, error) {
	exe := filepath.Join(b.tmp, name)
	if _, err := os.Stat(exe); err == nil {
		return exe, nil
	}
	cmd := exec.Command("go", "build", "-o", exe, ".")
	cmd.Dir = filepath.Join(b.dir, name)
	if out, err := cmd.CombinedOutput(); err != nil {
		return "", fmt.Errorf("%s doesn't build: %w\n%s", name, err, out)
	}
	return exe, nil
}

// python gives a script under the first Python that has a module. The system's
// own comes second, since Debian's packages are there even where another Python
// is first on the path.
func python(needs, script string, args ...string) func(*bench) ([]string, error) {
	return func(b *bench) ([]string, error) {
		for _, exe := range []string{"python3", "/usr/bin/python3"} {
			if exec.Command(exe, "-c", "import "+needs).Run() == nil {
				return append([]string{exe, filepath.Join(b.dir, script)}, args...), nil
			}
		}
		return nil, fmt.Errorf("no python3 with the module %s", needs)
	}
}

// calc gives the script that drives LibreOffice.
func calc(way string) func(*bench) ([]string, error) {
	return func(b *bench) ([]string, error) {
		if _, err := exec.LookPath("soffice"); err != nil {
			return nil, err
		}
		return python("uno", "calc_tunes.py", way)(b)
	}
}
