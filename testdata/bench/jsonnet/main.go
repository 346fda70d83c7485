// Command jsonnet computes the workload W(N) by tunes.jsonnet, as a peer of fettle.
// Started by `go run ./testdata/bench/run`; by hand, in this folder:
//
//	go run . tunes.jsonnet work.json RUNS cells.bin
//
// The clock goes around an evaluation, which hands the tables over as JSON text,
// the only way jsonnet has; not around parsing tunes.jsonnet, nor reading that text.
package main

import (
	"bufio"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"os"
	"strconv"
	"time"

	"github.com/google/go-jsonnet"
)

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "jsonnet:", err)
		os.Exit(1)
	}
}

func run(args []string) error {
	if len(args) != 4 {
		return fmt.Errorf("jsonnet tunes.jsonnet work.json RUNS cells.bin")
	}
	runs, err := strconv.Atoi(args[2])
	if err != nil {
		return err
	}
	source, err := os.ReadFile(args[0])
	if err != nil {
		return err
	}
	work, err := os.ReadFile(args[1])
	if err != nil {
		return err
	}
	tree, err := jsonnet.SnippetToAST(args[0], string(source))
	if err != nil {
		return err
	}
	vm := jsonnet.MakeVM()
	vm.TLACode("work", string(work))
	fmt.Println("version go-jsonnet", jsonnet.Version())
	text, err := vm.Evaluate(tree)
	if err != nil {
		return err
	}
	if err := write(args[3], text); err != nil {
		return err
	}
	for range runs {
		start := time.Now()
		if _, err := vm.Evaluate(tree); err != nil {
			return err
		}
		fmt.Println("run", time.Since(start).Nanoseconds())
	}
	return nil
}

// write writes the cells of the tables in JSON text.
func write(path, text string) error {
	var tunes [][2][20][24]float64
	if err := json.Unmarshal([]byte(text), &tunes); err != nil {
		return err
	}
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
