// Command fettle computes the workload W(N) by fettle's own ways and by the loops
// written by hand, for `go run ./testdata/bench/run`, which says how it is started.
//
//	fettle (hand|one|all|plain) work.json RUNS cells.bin
//
// Of work.json only N, the number of tunes, is read: fettle computes its own source
// of W(N), and that both are the same work shows in the cells.
package main

import (
	"bufio"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"os"
	"runtime"
	"strconv"
	"time"

	"fettle/compiler"
	"fettle/testdata/bench/workload"
)

// A way computes all tunes, and hands over the tables of each in their order.
type way func(w *compiler.Workspace, n int, each func(fuel, spark []float64))

var ways = map[string]way{
	"hand":  hand,
	"one":   one(compiler.RunOptions{}),
	"plain": one(compiler.RunOptions{Reference: true}),
	"all":   all,
}

// hand goes through the loops written by hand.
func hand(_ *compiler.Workspace, n int, each func(fuel, spark []float64)) {
	h := workload.NewHand()
	fuel, spark := make([]float64, 480), make([]float64, 480)
	alts, temps := workload.Size(n)
	for _, b := range workload.Blends {
		for _, p := range workload.Pipes {
			for a := range alts {
				for t := range temps {
					h.Tune(workload.Altitude(a), workload.Temp(t, temps), b, p, fuel, spark)
					each(fuel, spark)
				}
			}
		}
	}
}

// one computes and judges a tune at a time.
func one(opt compiler.RunOptions) way {
	return func(w *compiler.Workspace, _ int, each func(fuel, spark []float64)) {
		for _, t := range w.Plan.Tunes {
			tables(w.Tune(t, opt), each)
		}
	}
}

// all computes and judges on all processors.
func all(w *compiler.Workspace, _ int, each func(fuel, spark []float64)) {
	w.Run(w.Plan.Tunes, compiler.RunOptions{}, func(o *compiler.Outcome) { tables(o, each) })
}

// tables hands over what a tune has; of one that failed nothing, and then the
// cells are too few.
func tables(o *compiler.Outcome, each func(fuel, spark []float64)) {
	if !o.Failed() {
		each(o.Result.Maps[0].Cells, o.Result.Maps[1].Cells)
	}
}

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "fettle:", err)
		os.Exit(1)
	}
}

func run(args []string) error {
	if len(args) != 4 || ways[args[0]] == nil {
		return fmt.Errorf("fettle (hand|one|all|plain) work.json RUNS cells.bin")
	}
	compute := ways[args[0]]
	runs, err := strconv.Atoi(args[2])
	if err != nil {
		return err
	}
	text, err := os.ReadFile(args[1])
	if err != nil {
		return err
	}
	var work struct{ Tunes []struct{} }
	if err := json.Unmarshal(text, &work); err != nil {
		return err
	}
	n := len(work.Tunes)
	w := compiler.Open(workload.Files(n))
	if w.Diags.HasErrors() {
		return fmt.Errorf("W(%d): %v", n, w.Diags.Sorted())
	}
	fmt.Println("version", runtime.Version())
	if err := write(args[3], func(each func(fuel, spark []float64)) { compute(w, n, each) }); err != nil {
		return err
	}
	for range runs {
		start := time.Now()
		compute(w, n, func(_, _ []float64) {})
		fmt.Println("run", time.Since(start).Nanoseconds())
	}
	return nil
}

// write writes the tables that compute hands over.
func write(path string, compute func(each func(fuel, spark []float64))) error {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	defer f.Close()
	out := bufio.NewWriter(f)
	compute(func(fuel, spark []float64) {
		for _, table := range [][]float64{fuel, spark} {
			binary.Write(out, binary.LittleEndian, table) // out keeps the first error
		}
	})
	return out.Flush()
}
