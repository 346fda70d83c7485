// Command fettle compiles tunes: base maps and named rules in, lookup tables
// out, with a reason for every cell.
package main

import "os"

func main() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }
