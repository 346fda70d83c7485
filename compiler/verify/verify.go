// Package verify tells which tune a table is that was read back from a bike.
//
// How it goes. What was read is a file or a folder (read.go, folder.go,
// readers.go): tables with their names, breakpoints and cells. Of a folder every
// file that tables can be read from is read, whatever its format, and the others
// are named as not looked at. A tune has several sets of tables, the maps' own and
// those of each target, and a folder has to be one of them as a whole, in every
// format. Each table is set beside the one of its name in the set; where the set
// has none of the name, beside every one over the same axes (compare.go). Cells
// are compared as they are written: two are the same if they are within half a
// step of the tune's table, its resolution or storage. Tables over other
// breakpoints are looked up at those of both; where they agree there, they agree
// everywhere. A file may have been written with fewer decimals than that, so
// tunes that agree only as far as its decimals tell come second, and count where
// no tune agrees in full.
//
// The tunes of the work tree are looked at first, computed without their limits;
// if none of them is it, those of every git tag, a source that was seen already
// left out (search.go). Where none is it at all, the nearest is named: the one
// with the fewest cells that differ, of such the one with the least largest
// difference, in steps of the tune's table, and then with the least on average.
//
// Besides, every file that a tune.json, a bundle.json or an image.json records the
// SHA-256 of is held to it (digests.go). A file that was changed makes the answer
// no, even where nothing that was read from it differs: it isn't what was built.
//
// In: a path, a sides.Finder. Out: a Result, as text and JSON. Imported by cmd.
package verify

import (
	"fettle/compiler/check"
	"fettle/compiler/plan"
	"fettle/compiler/sides"
	"fettle/compiler/table"
)

// Table is a table that was read.
type Table struct {
	Name       string // of the file, the sheet, the array
	File       string
	Rows, Cols table.Axis
	Cells      []float64
	Filled     int // blank cells that were filled in from their neighbours, as in a source
	Decimals   int // that the cells are written with at most; -1: they are exact
}

// Group is the tables of a folder in one form: its CSVs, its TSVs, or one file
// that holds several. All groups of a folder belong to one set.
type Group struct {
	Folder string // within what was read; names a target in a tune's own folder
	Tables []*Table
}

// Read is what was read back.
type Read struct {
	Title   string
	Folder  bool
	Groups  []Group
	Files   []File // whose tables were read
	Over    []File // that weren't looked at
	Missing []File // of which a SHA-256 is recorded, and which aren't there
}

// File is a file of what was read back.
type File struct {
	Name  string
	Why   string // it wasn't looked at
	State State
	By    string // where its SHA-256 is recorded
}

// State says how a file stands to the SHA-256 that is recorded of it.
type State int

// The states.
const (
	Unrecorded State = iota
	AsWritten
	Changed
	Missing
)

func (r *Read) tables() int {
	n := 0
	for _, g := range r.Groups {
		n += len(g.Tables)
	}
	return n
}

// Grade says how well a tune agrees with what was read.
type Grade int

// The grades, the best first.
const (
	Same  Grade = iota // in every cell, as the tune's table is written
	AsFar              // as far as the decimals of what was read tell
	Differs
)

// Found is a tune beside what was read.
type Found struct {
	Source *sides.Source
	Tag    string // "" of the work tree
	Tune   *plan.Tune
	Sets   []Set // by folder
	Grade  Grade
	Fails  bool // build doesn't write it
	far    far
}

// Set is the set of tables that the groups of a folder were matched with.
type Set struct {
	Target *check.Target // nil: the maps' own
	Pairs  []*Pair       // by group and table
}

// Pair is a table that was read beside one of a tune.
type Pair struct {
	Read  *Table
	Tune  *table.Table
	Union bool // their breakpoints differ
	Cells int  // compared
	Cell  []Cell
	Grade Grade
	Steps float64 // the largest difference, in steps of the tune's table
	Mean  float64 // in steps, over all cells
	step  float64
}

// Cell is one that differs.
type Cell struct {
	At         []float64
	Tune, Read float64
}

// Name is how a user names the tune: "bench", "v1.2:bench".
func (f *Found) Name() string {
	if f.Tag != "" {
		return f.Tag + ":" + f.Tune.Name
	}
	return f.Tune.Name
}

// Result is what there is to say.
type Result struct {
	Read    *Read
	Against *Found   // what was asked about, if anything
	Is      []*Found // the tunes that it is
	Nearest *Found   // where it is none
	Tags    int      // looked at
	Skipped []string // tags whose workspace can't be read
}

// Yes says whether the answer is yes: it is the tune that was asked about, or
// some tune if none was, and no file was changed since it was written.
func (r *Result) Yes() bool {
	if len(r.Read.Changed()) > 0 {
		return false
	}
	if r.Against != nil {
		return r.Against.Grade != Differs
	}
	return len(r.Is) > 0
}

// far orders tunes: by the grade, the cells that differ, the largest difference,
// the mean.
type far struct {
	grade       Grade
	cells       int
	steps, mean float64
}

func (a far) less(b far) bool {
	switch {
	case a.grade != b.grade:
		return a.grade < b.grade
	case a.cells != b.cells:
		return a.cells < b.cells
	case a.steps != b.steps:
		return a.steps < b.steps
	}
	return a.mean < b.mean
}
