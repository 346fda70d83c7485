// Mutants breaks the evaluator and the limit checker in small ways, one at a time,
// and looks whether the tests notice: a test that notices nothing says nothing.
//
// How it goes. mutants.txt lists what is to be broken: a file, a text that stands in
// it once, and the text in its place. Each is handed to `go test -overlay`, so the
// work tree stays as it is. The tests are those of the rooms concerned, with -short,
// until one fails. They are run first on what isn't broken, where they must pass, or
// all that follows would say nothing. A mutant that doesn't build is no mutant, and
// one whose text isn't found exactly once is a mistake in the list; both are told.
//
// Out: a line for each, and status 0 if all were noticed, 1 if not, 2 if the list is
// wrong or the tests fail as it is. With -few only five are tried, evenly spread; with -find nothing is run.
package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// rooms are the packages whose tests are to notice what is broken in a folder, those
// that are likely to first.
var rooms = map[string][]string{
	"compiler/eval":  {"compiler/eval", "compiler/randomly"},
	"compiler/limit": {"compiler/limit", "compiler/randomly"},
	"compiler/grid":  {"compiler/grid", "compiler/randomly"},
	"lang/formula":   {"lang/formula", "compiler/randomly"},
}

type mutant struct {
	file     string
	old, new string
	line     int // of the list
}

func main() {
	few := flag.Bool("few", false, "only five, evenly spread")
	find := flag.Bool("find", false, "only look whether each text is found once")
	only := flag.String("only", "", "only those whose file or text contains this")
	flag.Parse()
	list, err := read(filepath.Join("testdata", "mutants", "mutants.txt"))
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(2)
	}
	wrong := 0
	for _, m := range list {
		if _, err := m.broken(); err != nil {
			fmt.Printf("line %d: %v\n", m.line, err)
			wrong++
		}
	}
	if wrong > 0 {
		os.Exit(2)
	}
	if *find {
		fmt.Printf("%d mutants, each text found once\n", len(list))
		return
	}
	list = slices.DeleteFunc(list, func(m mutant) bool { return !strings.Contains(m.file+m.old, *only) })
	if *few {
		list = spread(list, 5)
	}
	if err := sound(list); err != nil {
		fmt.Println(err)
		os.Exit(2)
	}
	missed := 0
	for _, m := range list {
		began := time.Now()
		by, err := m.noticed()
		switch {
		case err != nil:
			wrong++
			by = err.Error()
		case by == "":
			missed++
			by = "NOT NOTICED"
		}
		fmt.Printf("%-60s %s (%.0f s)\n", m, by, time.Since(began).Seconds())
	}
	fmt.Printf("%d of %d mutants were noticed\n", len(list)-missed-wrong, len(list))
	switch {
	case wrong > 0:
		os.Exit(2)
	case missed > 0:
		os.Exit(1)
	}
}

// sound runs the tests of all rooms concerned on what isn't broken.
func sound(list []mutant) error {
	done := map[string]bool{}
	for _, m := range list {
		for _, room := range m.rooms() {
			if done[room] {
				continue
			}
			done[room] = true
			if out, err := test(room); err != nil {
				return fmt.Errorf("the tests of %s fail as it is:\n%s", room, out)
			}
		}
	}
	return nil
}

func (m mutant) rooms() []string { return rooms[filepath.ToSlash(filepath.Dir(m.file))] }

// test runs a room's short tests.
func test(room string, flags ...string) (out string, err error) {
	args := append([]string{"test", "-short", "-failfast", "-count=1", "-vet=off", "-timeout", "5m"}, flags...)
	cmd := exec.Command("go", append(args, "./"+room)...)
	cmd.Env = append(os.Environ(), "RAPID_SHRINKTIME=1ms", "RAPID_NOFAILFILE=true", "FETTLE_KEEP=no")
	text, err := cmd.CombinedOutput()
	return string(text), err
}

// read reads the list: a line `== FILE`, lines that begin with `- ` for the old text
// and with `+ ` for the new. Others are remarks.
func read(name string) (list []mutant, err error) {
	text, err := os.ReadFile(name)
	if err != nil {
		return nil, err
	}
	file := ""
	for i, line := range strings.Split(string(text), "\n") {
		last := len(list) - 1
		switch {
		case strings.HasPrefix(line, "== "):
			file = strings.TrimPrefix(line, "== ")
		case strings.HasPrefix(line, "- "):
			list = append(list, mutant{file: file, old: line[2:], line: i + 1})
		case strings.HasPrefix(line, "+") && last >= 0 && list[last].new == "":
			list[last].new = strings.TrimPrefix(strings.TrimPrefix(line, "+"), " ")
		}
	}
	return list, nil
}

func (m mutant) String() string {
	text := strings.TrimSpace(m.old)
	if len(text) > 34 {
		text = text[:32] + "…"
	}
	return filepath.Base(m.file) + ": " + text
}

// broken is the file's text with the mutant in it.
func (m mutant) broken() (string, error) {
	text, err := os.ReadFile(m.file)
	if err != nil {
		return "", err
	}
	if n := strings.Count(string(text), m.old); n != 1 || m.old == m.new {
		return "", fmt.Errorf("%q stands %d times in %s", m.old, n, m.file)
	}
	return strings.Replace(string(text), m.old, m.new, 1), nil
}

// noticed gives the room whose tests noticed, or nothing.
func (m mutant) noticed() (by string, err error) {
	text, err := m.broken()
	if err != nil {
		return "", err
	}
	dir, err := os.MkdirTemp("", "mutant")
	if err != nil {
		return "", err
	}
	defer os.RemoveAll(dir)
	here, err := filepath.Abs(m.file)
	if err != nil {
		return "", err
	}
	there := filepath.Join(dir, "mutant.go")
	overlay, err := json.Marshal(map[string]map[string]string{"Replace": {here: there}})
	if err != nil {
		return "", err
	}
	list := filepath.Join(dir, "overlay.json")
	for name, content := range map[string][]byte{there: []byte(text), list: overlay} {
		if err := os.WriteFile(name, content, 0o666); err != nil {
			return "", err
		}
	}
	for _, room := range m.rooms() {
		out, err := test(room, "-overlay", list)
		switch {
		case strings.Contains(out, "[build failed]"):
			return "", fmt.Errorf("it doesn't build:\n%s", out)
		case err != nil:
			return room, nil
		}
	}
	return "", nil
}

// spread picks n of a list, evenly.
func spread(list []mutant, n int) (out []mutant) {
	for i := range min(n, len(list)) {
		out = append(out, list[i*len(list)/n])
	}
	return out
}
