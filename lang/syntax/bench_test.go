package syntax

import (
	"fmt"
	"strings"
	"testing"

	"fettle/lang/diag"
	"fettle/lang/source"
)

// BenchmarkReadGrids reads a source of a megabyte that is nearly all grids: its
// declarations, and each map's breakpoints and cells.
func BenchmarkReadGrids(b *testing.B) {
	var s strings.Builder
	for n := 0; s.Len() < 1<<20; n++ {
		fmt.Fprintf(&s, "# Grid %d.\nmap fuel_%d [mg] to 0.01 {\n  throttle \\ rpm |", n, n)
		for col := range 40 {
			fmt.Fprintf(&s, " %5d", 1000+250*col)
		}
		for row := range 40 {
			fmt.Fprintf(&s, "\n  %14.1f |", 2.5*float64(row))
			for col := range 40 {
				fmt.Fprintf(&s, " %5.2f", 2+float64((row*7+col*3+n)%1900)/100)
			}
		}
		s.WriteString("\n}\n\n")
	}
	f := source.New("tune.fettle", s.String())
	b.SetBytes(int64(s.Len()))
	b.ReportAllocs()
	for b.Loop() {
		errs := &diag.List{}
		for _, d := range Parse(f, errs).Decls {
			if g := ReadGrid(f, *d.(*Map).Body, errs); g == nil || len(g.Cells) != 1600 {
				b.Fatal(errs.Sorted()[0].Message)
			}
		}
	}
}
