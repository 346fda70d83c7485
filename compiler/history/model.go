package history

import (
	_ "embed"

	"fettle/compiler/explain"
)

// SchemaName is the form of a Log's JSON, with its version.
const SchemaName = "fettle/log/1"

// Schema is the JSON Schema (draft 2020-12) of it.
//
//go:embed schema/log.schema.json
var Schema string

// Log is the history of a cell, newest first.
type Log struct {
	Schema   string          `json:"schema"`
	Tune     string          `json:"tune"` // as it is called where it was found
	Map      string          `json:"map"`
	Unit     string          `json:"unit"`
	At       []explain.Coord `json:"at"`
	Now      *Value          `json:"now"` // of the work tree; null where it has none
	Fault    string          `json:"fault,omitempty"`
	Rows     []*Row          `json:"history"`
	Looked   int             `json:"looked_at"` // commits
	Left     int             `json:"left"`      // commits farther back that weren't looked at, since there were enough rows
	Shallow  bool            `json:"shallow"`   // a shallow clone lacks what came before
	Cautions []string        `json:"cautions"`
	fails    bool            // the work tree's source doesn't compile
}

// The kinds of row.
const (
	Changed = "change"  // the value changed
	First   = "first"   // the cell is there for the first time
	Again   = "again"   // it is there again
	New     = "new"     // it is there, and wasn't before; whether it ever was hasn't been looked at
	Gone    = "gone"    // it isn't there any more
	Renamed = "renamed" // the tune had another name before, with the same tables
	Broken  = "broken"  // the source doesn't compile, or the tune can't be computed
	Cut     = "cut"     // a shallow clone has nothing before
)

// Row is what a commit did to the cell.
type Row struct {
	Kind       string   `json:"kind"`
	Commit     *Commit  `json:"commit"` // null: not committed yet
	Before     *Value   `json:"before"` // null where the cell isn't there
	After      *Value   `json:"after"`
	Since      string   `json:"since,omitempty"` // the commit that Before is of
	Over       []string `json:"over,omitempty"`  // broken commits between the two
	Change     *float64 `json:"change"`          // as printed, in ChangeUnit
	ChangeUnit string   `json:"change_unit"`
	Share      *float64 `json:"share"` // of the value before, where that makes sense
	Parts      []Part   `json:"parts"` // the largest first; they add up to the change
	Merged     []Side   `json:"merged,omitempty"`
	Why        string   `json:"why,omitempty"` // of what isn't there, is called otherwise, or is broken
	Place      string   `json:"place,omitempty"`
	Errors     int      `json:"errors,omitempty"`
	text       rowText
}

// Value is the cell at a commit.
type Value struct {
	Value   float64 `json:"value"`   // before rounding
	Printed string  `json:"printed"` // as build writes it
	Unit    string  `json:"unit"`
	Tune    string  `json:"tune"` // as it was called there
}

// Side is another parent of a merge.
type Side struct {
	Commit string `json:"commit"`
	Value  *Value `json:"value"`
}

// Part is what one element of the source did.
type Part struct {
	Kind     string  `json:"kind"` // as in `fettle diff --json`
	Name     string  `json:"name"`
	Exact    float64 `json:"exact"`  // before rounding
	Change   float64 `json:"change"` // of the printed value
	Why      string  `json:"why,omitempty"`
	Place    string  `json:"place,omitempty"`
	OldPlace string  `json:"old_place,omitempty"`
	text     string
}

// Commit is who made a commit, and when.
type Commit struct {
	Hash    string `json:"hash"`
	Short   string `json:"short"`
	Author  string `json:"author"`
	Date    string `json:"date"` // of authorship, as recorded
	Subject string `json:"subject"`
	Merge   bool   `json:"merge,omitempty"`
}
