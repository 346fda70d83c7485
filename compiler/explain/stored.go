package explain

import (
	"fmt"
	"io"
	"math"
	"strings"

	"fettle/compiler/check"
	"fettle/compiler/grid"
	"fettle/compiler/target"
	"fettle/lang/unit"
)

// Stored is what a controller's table says of the place.
type Stored struct {
	Name    string   `json:"name"`
	Storage string   `json:"storage"`
	Value   float64  `json:"value"`         // looked up in the written table
	Off     float64  `json:"off"`           // from the map's value there
	Raw     *float64 `json:"raw,omitempty"` // the stored number, at a breakpoint
	Between []Corner `json:"between,omitempty"`
	Cell    []Coord  `json:"cell"`              // the table's cell that weighs most: the limits' cell
	Problem string   `json:"problem,omitempty"` // why nothing is stored
}

// noise is a share of a value that float arithmetic can make.
const noise = 1e-12

// stored looks a place up in a table.
func (c *Chain) stored(in Input, m *check.Map, at []float64) {
	t := in.Table
	if t == nil {
		return
	}
	s := &Stored{Name: t.Name, Storage: target.StorageText(t.Spec)}
	c.Table = s
	g := grid.Table{Rows: t.Exact.Rows, Cols: t.Exact.Cols, Cells: t.Cells}
	shaped := *m
	shaped.Base = g
	row, col := grid.Knot{}, grid.Find(g.Cols, at[len(at)-1])
	if g.Rows != nil {
		row = grid.Find(g.Rows, at[0])
	}
	if t.Misfit != nil {
		s.Cell = coords(in.Program, &shaped, (&Chain{}).corners(in, &shaped, &t.Exact, row, col))
		s.Problem = "nothing is stored: it holds " + grid.Screen(t.Misfit.Lo) + " to " + unit.With(grid.Screen(t.Misfit.Hi), t.Unit) + ", and the table has " + number(t.Misfit.Value, t.Unit)
		return
	}
	s.Value = g.LookupKnots(row, col)
	if s.Off = s.Value - c.Value; math.Abs(s.Off) <= noise*math.Abs(c.Value) {
		s.Off = 0
	}
	k := &Chain{}
	cell := k.corners(in, &shaped, &g, row, col)
	s.Cell = coords(in.Program, &shaped, cell)
	if s.Between = k.Between; s.Between == nil {
		s.Raw = num(t.Storage.Raw[cell])
	}
}

// leftTo is why a rule is left out that a target's controller compensates.
func leftTo(p *check.Program, t *check.Target) string {
	var names []string
	for _, g := range t.Compensates {
		names = append(names, p.Givens[g].Name)
	}
	return "left to the controller: " + t.Name + " compensates " + strings.Join(names, ", ")
}

// head is the table's value, for the first line.
func (s *Stored) head(unit string) string {
	if s.Problem != "" {
		return "doesn't fit"
	}
	return number(s.Value, unit)
}

// text says what the table says.
func (s *Stored) text(w io.Writer, c *Chain) {
	fmt.Fprintf(w, "\n  table %s.%s, %s\n", c.Target, s.Name, s.Storage)
	switch {
	case s.Problem != "":
		fmt.Fprintf(w, "    %s\n", s.Problem)
		return
	case s.Raw != nil:
		fmt.Fprintf(w, "    %s here, stored as %s", number(s.Value, c.Unit), grid.Exact(*s.Raw))
	default:
		fmt.Fprintf(w, "    %s here, between its breakpoints", number(s.Value, c.Unit))
	}
	if off := (grid.Res{}).Round(s.Off); off != 0 {
		sign := "over"
		if off < 0 {
			sign, off = "under", -off
		}
		fmt.Fprintf(w, ", %s %s the map's %s", number(off, c.Unit), sign, number(c.Value, c.Unit))
	}
	fmt.Fprintln(w)
	for _, k := range s.Between {
		fmt.Fprintf(w, "    %-34s %8s   weight %s\n", place(k.At), number(k.Value, c.Unit), short(k.Weight))
	}
}
