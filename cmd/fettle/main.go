// Command fettle compiles tunes: base maps and named rules in, lookup tables
// out, with a reason for every cell.
package main

import (
	"os"
	"runtime/debug"
)

func main() {
	// Most runs read a workspace and end: half of the collections of garbage would
	// be over heaps of a few megabytes.
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(200)
	}
	os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}
