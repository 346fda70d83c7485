package diff

import (
	"fettle/compiler/eval"
	"fettle/compiler/grid"
	"fettle/compiler/plan"
	"fettle/lang/source"
)

// Side is one of the two things that are compared: a tune, or plain tables.
type Side struct {
	Name       string        // for people
	Program    *eval.Program // with Tune and Result; nil for plain tables
	Tune       *plan.Tune
	Result     *eval.Result
	Conditions []Condition
	Tables     []*Table
	Build      Build    // of tables that build wrote
	Failed     string   // why a built folder has no tables of this tune; "" if it has
	Edited     []string // files of a built folder that aren't what build wrote, by the digests that it noted
	Cautions   []string // that build wrote with them
	single     bool     // named by itself: it pairs with another such whatever their names
	file       bool     // one table, read from a file
}

// Build says what tables were built from; empty strings where that isn't known.
type Build struct {
	Digest, Revision string
	Dirty            bool
	Compiler         string
}

// Single says whether a side was named by itself, so that it pairs with another
// such whatever their names.
func (s *Side) Single() bool { return s.single }

// Condition is what a tune has one of its givens at, as text.
type Condition struct{ Name, Value string }

// Axis is an axis of a table with its breakpoints.
type Axis struct {
	Name, Unit string
	Points     []float64
}

// Table is one map of a side.
type Table struct {
	Map        string
	Unit       string
	HasUnit    bool      // a CSV file doesn't say its cells' unit
	Rows, Cols Axis      // Rows is zero over one axis
	Cells      []float64 // as printed; of a computed tune nil until that is asked for (Printed)
	Exact      []float64 // before rounding; nil where only what was printed is known
	Res        grid.Res
	Note       string // what was done to read it
	uniform    int    // the decimals that all its cells were written with; 0: not known
}

// decimals is how many decimals its values are written with; -1 for as many as
// each has.
func (t *Table) decimals() int {
	switch {
	case t.Res.Set():
		return t.Res.Decimals()
	case t.uniform > 0:
		return t.uniform
	}
	return -1
}

// Report is a whole comparison.
type Report struct {
	Old, New string  // the sides' names, where they are more than one tune each
	Pairs    []*Pair // tunes on both sides, in the order of the old side
	OldOnly  []Lone
	NewOnly  []Lone
	Folders  bool // tunes were paired by name
}

// Lone is a tune that only one side has, and why the other hasn't, if that is
// known.
type Lone struct {
	Name, Why  string
	Conditions []Condition // where they are worth telling
}

// Pair is two tunes, or two sets of tables, compared.
type Pair struct {
	Old, New   *Side
	Labels     [2]string // what the sides are called in sentences: A and B, or old and new
	Conditions []ConditionDiff
	Maps       []*MapDiff
	OldOnly    []string // maps on one side only
	NewOnly    []string
	Attributed bool
	Idle       []Idle
}

// ConditionDiff is a condition that differs. A side that doesn't have it has
// "".
type ConditionDiff struct{ Name, Old, New string }

// Idle is an element that applies, whose inputs differ, and that has no part in
// any cell that differs.
type Idle struct {
	Element *Element
	Undone  bool // it moves cells, but others move them back, or by less than is printed
}

// MapDiff is one map compared.
type MapDiff struct {
	Map        string
	Unit       string
	HasUnit    bool
	ChangeUnit string // of differences: K for degC, points for %
	Rows, Cols Axis   // of the cells compared
	Total      int    // cells compared
	Cells      []CellDiff
	Summary    Summary
	Notes      []string   // how they were compared, where it isn't cell by cell
	Problem    string     // why they can't be compared; it counts as a difference
	Reshaped   string     // how the table is written otherwise, where no cell differs; that counts as well
	Parts      []*Part    // in the order of the elements
	Clamps     []Clamping // those that cap the worst cell, and so swallow a part of what rules do there

	res      grid.Res
	decimals int             // that values are written with; -1: as many as they have
	largest  float64         // of all values, by size
	old      []float64       // every cell of the old side, as printed
	same     *Table          // the table of both sides, where they are the same; old is left out then
	atPlace  bool            // one place is compared, and looked up before it is rounded
	allowed  map[[2]int]bool // by row and column: cells that differ and were left out of Cells
}

// CellDiff is a cell that differs. Old, New and Change are as printed.
type CellDiff struct {
	Row, Col         int // places in the axes' points; Row is 0 over one axis
	Old, New, Change float64
	Exact            float64 // the change before rounding
	Share            float64 // Change as a part of the old value
	HasShare         bool    // where that makes sense
}

// Summary is about the cells that differ, as printed.
type Summary struct {
	Min, Max, Mean float64 // of the changes, in the map's unit
	MinShare       float64 // of the shares, where HasShare
	MaxShare       float64
	MeanShare      float64
	HasShare       bool // all cells have one
	Worst          int  // the cell of the largest change by its amount, the first of several
	WorstShare     int  // the cell of the largest change by its share, where HasShare
}

// Clamping is a clamp that caps a cell.
type Clamping struct {
	Limit string
	Place source.Span
	In    string // InBoth, InOld or InNew: on which sides it does
}

// The kinds of element.
const (
	KindBase     = "base"    // the cells of a grid
	KindFormula  = "formula" // of a map like another
	KindRule     = "rule"
	KindTrim     = "trim"
	KindClamp    = "clamp"
	KindAxis     = "axis"
	KindRow      = "row"     // of a catalogue
	KindCatalog  = "catalog" // as a whole
	KindValue    = "value"
	KindFunction = "function"
	KindCurve    = "curve"
	KindRegion   = "region"
	KindGiven    = "given"
	KindOrder    = "order"    // of rules, or of clamps
	KindTogether = "together" // several that can't be told apart
	KindRest     = "rest"     // of the source: what no other element accounts for
)

// Where an element applies.
const (
	InBoth = "both"
	InOld  = "old"
	InNew  = "new"
	InNone = "none"
)

// Element is a part of the source that has other inputs on the two sides.
type Element struct {
	Kind       string
	Name       string // "rule long_pipe"
	Place      source.Span
	Applies    string
	Why        string // in a tuner's words
	Conditions []ConditionDiff
	Members    []*Element     // of KindTogether
	Places     [2]source.Span // on the old side and on the new; both zero within one program
	Text       [2]string      // its text on both sides, on one line
	places     map[string]source.Span
}

// PlaceIn is where an element acts on a map: its adjustment there, or the
// element itself where that isn't one place.
func (e *Element) PlaceIn(mapName string) source.Span {
	if s, ok := e.places[mapName]; ok {
		return s
	}
	return e.Place
}

// Part is what one element did to the cells of a map that differ.
type Part struct {
	Element *Element
	Exact   []float64 // for each of MapDiff.Cells, before rounding
	Printed []float64 // what it moved the printed value by
}

// Differs says whether anything differs.
func (r *Report) Differs() bool {
	if len(r.OldOnly)+len(r.NewOnly) > 0 {
		return true
	}
	for _, p := range r.Pairs {
		if p.Differs() {
			return true
		}
	}
	return false
}

// Differs says whether a cell differs, or a map can't be compared.
func (p *Pair) Differs() bool {
	if len(p.OldOnly)+len(p.NewOnly) > 0 {
		return true
	}
	for _, m := range p.Maps {
		if m.Differs() {
			return true
		}
	}
	return false
}

// Differs says whether a cell differs, the map can't be compared, or its table is
// written otherwise.
func (m *MapDiff) Differs() bool { return len(m.Cells) > 0 || m.Odd() != "" }

// Odd says what there is to know of a map of which no cells can be shown.
func (m *MapDiff) Odd() string {
	switch {
	case m.Problem != "":
		return "can't be compared: " + m.Problem
	case m.Reshaped != "":
		return "no cell differs, but the table is written otherwise: " + m.Reshaped
	}
	return ""
}
