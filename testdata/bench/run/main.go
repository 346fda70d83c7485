// Command run computes the workload W(N) by fettle and by general-purpose
// programs that can do the same work, as many as are installed, checks that all
// give the same cells, and prints how long each took.
//
//	go run ./testdata/bench/run [-runs 5] [-only numpy]
//
// It needs nothing but Go for fettle and the loops written by hand. For the
// others: Debian's python3-numpy, libreoffice-calc with python3-uno, and the Go
// modules of jsonnet and cue, which have a go.mod of their own. What isn't there
// is left out with a word about it.
//
// The table goes to stdout. With five runs each it takes four minutes, most of it
// for jsonnet and CUE.
//
// A program is started as
//
//	PROGRAM ARGUMENTS work.json RUNS cells.bin
//
// computes once and writes the cells (float64, little-endian, fuel and then spark
// of each tune in order), then computes RUNS times more with a clock around the
// computing alone: not the program's start, nor reading its input, nor parsing a
// source. It prints a line "version TEXT" and for each run "run NANOSECONDS".
package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"fettle/testdata/bench/workload"
)

// A peer is one way to compute W(n).
type peer struct {
	name    string
	n       int
	command func(b *bench) ([]string, error) // what to start; an error says what is missing
}

var peers = []peer{
	{"loops written by hand in Go", 10_000, fettle("hand")},
	{"fettle, one processor", 10_000, fettle("one")},
	{"fettle, all processors", 10_000, fettle("all")},
	{"fettle --plain (expr's VM), one processor", 200, fettle("plain")},
	{"numpy, batches of 64 variants", 10_000, python("numpy", "numpy_tunes.py", "batch")},
	{"numpy, a variant at a time", 2000, python("numpy", "numpy_tunes.py", "single")},
	{"LibreOffice Calc, two formulas a cell", 200, calc("short")},
	{"LibreOffice Calc, a block of formulas a rule", 200, calc("blocks")},
	{"jsonnet", 200, module("jsonnet", "tunes.jsonnet")},
	{"CUE", 200, module("cue", "tunes.cue")},
}

// bench is what the programs share: the folder of their sources and one for what
// is built and written.
type bench struct {
	dir, tmp string
	runs     int
}

func main() {
	runs := flag.Int("runs", 5, "how often each program computes")
	only := flag.String("only", "", "only the programs whose name has this in it")
	flag.Parse()
	if err := run(*runs, *only); err != nil {
		fmt.Fprintln(os.Stderr, "run:", err)
		os.Exit(1)
	}
}

func run(runs int, only string) error {
	root, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "fettle").Output()
	if err != nil {
		return fmt.Errorf("start it in fettle's source folder: %w", err)
	}
	tmp, err := os.MkdirTemp("", "fettle-bench-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(tmp)
	b := &bench{dir: filepath.Join(strings.TrimSpace(string(root)), "testdata", "bench"), tmp: tmp, runs: runs}
	fmt.Print(machine(b.dir), load("before"), "\n")
	var done []result
	var failed []error
	for _, p := range peers {
		if !strings.Contains(p.name, only) {
			continue
		}
		fmt.Fprintln(os.Stderr, p.name)
		command, err := p.command(b)
		if err != nil {
			fmt.Fprintf(os.Stderr, "  left out: %v\n", err)
			continue
		}
		r, err := b.measure(p, command)
		if err == nil && !(r.apart <= tolerance) {
			err = fmt.Errorf("its cells differ from fettle's by %.1g of them", r.apart)
		}
		if err != nil {
			failed = append(failed, fmt.Errorf("%s: %w", p.name, err))
			continue
		}
		done = append(done, r)
	}
	fmt.Print(table(done), "\n", load("after"))
	return errors.Join(failed...)
}

// tolerance is how far a cell may be from fettle's, relative to it.
const tolerance = 1e-12

// measure lets a program compute W(n) and compares its cells with fettle's.
func (b *bench) measure(p peer, command []string) (result, error) {
	r := result{name: p.name, n: p.n}
	work, want := filepath.Join(b.tmp, fmt.Sprintf("work%d.json", p.n)), filepath.Join(b.tmp, fmt.Sprintf("cells%d.bin", p.n))
	if _, err := os.Stat(want); err != nil {
		if err := os.WriteFile(work, workJSON(p.n), 0o666); err != nil {
			return r, err
		}
		reference, err := fettle("one")(b)
		if err != nil {
			return r, err
		}
		if _, err := start(append(reference, work, "0", want)); err != nil {
			return r, err
		}
	}
	cells := filepath.Join(b.tmp, "cells.bin")
	defer os.Remove(cells)
	out, err := start(append(command, work, strconv.Itoa(b.runs), cells))
	if err != nil {
		return r, err
	}
	for line := bufio.NewScanner(bytes.NewReader(out)); line.Scan(); {
		word, rest, _ := strings.Cut(line.Text(), " ")
		switch word {
		case "version":
			r.version = rest
		case "run":
			ns, err := strconv.ParseInt(rest, 10, 64)
			if err != nil {
				return r, err
			}
			r.took = append(r.took, time.Duration(ns))
		}
	}
	if len(r.took) != b.runs || b.runs == 0 {
		return r, fmt.Errorf("%d runs asked for, %d measured", b.runs, len(r.took))
	}
	slices.Sort(r.took)
	r.apart, err = apart(cells, want)
	return r, err
}

// start runs a program and gives what it printed.
func start(command []string) ([]byte, error) {
	cmd := exec.Command(command[0], command[1:]...)
	cmd.Stderr = os.Stderr
	return cmd.Output()
}

// workJSON is W(n) as the programs read it.
func workJSON(n int) []byte {
	type tune struct {
		Altitude float64 `json:"altitude"`
		AirTemp  float64 `json:"air_temp"`
		Blend    string  `json:"blend"`
		Pipe     string  `json:"pipe"`
	}
	blends, pipes := map[string]any{}, map[string]any{}
	for _, b := range workload.Blends {
		blends[b.Name] = map[string]float64{"stoich": b.Stoich, "octane": b.Octane}
	}
	for _, p := range workload.Pipes {
		pipes[p.Name] = map[string]float64{"tuned": p.Tuned, "trust": p.Trust}
	}
	var tunes []tune
	alts, temps := workload.Size(n)
	for _, b := range workload.Blends {
		for _, p := range workload.Pipes {
			for a := range alts {
				for t := range temps {
					tunes = append(tunes, tune{workload.Altitude(a), workload.Temp(t, temps), b.Name, p.Name})
				}
			}
		}
	}
	out, err := json.Marshal(map[string]any{
		"rows": workload.Rows(), "cols": workload.Cols(), "fuel": workload.Fuel(), "spark": workload.Spark(),
		"blends": blends, "pipes": pipes, "tunes": tunes,
	})
	if err != nil {
		panic(err) // numbers and names always marshal
	}
	return out
}
