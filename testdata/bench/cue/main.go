// Command cue computes the workload W(N) by tunes.cue, as a peer of fettle. Started
// by `go run ./testdata/bench/run`; by hand, in this folder:
//
//	go run . tunes.cue work.json RUNS cells.bin
//
// The clock goes around filling in the work and reading the result's numbers, in
// which CUE evaluates; not around parsing tunes.cue and work.json.
package main

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"os"
	"runtime"
	"runtime/debug"
	"strconv"
	"time"

	"cuelang.org/go/cue"
	"cuelang.org/go/cue/cuecontext"
	"cuelang.org/go/encoding/json"
)

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "cue:", err)
		os.Exit(1)
	}
}

// cells are the tables of some tunes.
type cells [][2][20][24]float64

func run(args []string) error {
	if len(args) != 4 {
		return fmt.Errorf("cue tunes.cue work.json RUNS cells.bin")
	}
	runs, err := strconv.Atoi(args[2])
	if err != nil {
		return err
	}
	source, err := os.ReadFile(args[0])
	if err != nil {
		return err
	}
	text, err := os.ReadFile(args[1])
	if err != nil {
		return err
	}
	work, err := json.Extract(args[1], text)
	if err != nil {
		return err
	}
	fmt.Println("version CUE", version())
	for i := range 1 + runs {
		ctx := cuecontext.New() // a new one each time, since it keeps what it has evaluated
		program := ctx.CompileBytes(source, cue.Filename(args[0]))
		runtime.GC()
		start := time.Now()
		var out cells
		filled := program.FillPath(cue.ParsePath("work"), ctx.BuildExpr(work))
		if err := filled.LookupPath(cue.ParsePath("result")).Decode(&out); err != nil {
			return err
		}
		took := time.Since(start)
		if i > 0 {
			fmt.Println("run", took.Nanoseconds())
		} else if err := write(args[3], out); err != nil {
			return err
		}
	}
	return nil
}

// version is that of the module which this program is built with.
func version() string {
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, m := range info.Deps {
			if m.Path == "cuelang.org/go" {
				return m.Version
			}
		}
	}
	return "unknown"
}

func write(path string, tunes cells) error {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	defer f.Close()
	out := bufio.NewWriter(f)
	if err := binary.Write(out, binary.LittleEndian, tunes); err != nil {
		return err
	}
	return out.Flush()
}
