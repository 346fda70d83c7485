// Package importer turns a table that someone else wrote into a declaration of
// the language.
//
// How it goes. The bytes become text (text.go), the text cells (split.go): the
// character that parts them is the one by which most lines have one number of
// cells, and most cells are numbers. A workbook's sheet becomes cells as well
// (sheet.go). Then all numbers are looked at together (number.go): one that can
// be read in one way alone settles the decimal mark for all; where none settles
// it the file is refused, with both readings. The table is found among titles
// and notes (region.go), and is a grid if its first line and column are numbers,
// a catalogue if its first column is names. A grid becomes a map (asmap.go): its
// axes come from the flags, from the corner cell, or from the workspace, where
// the breakpoints lie within the range of one axis alone. Names and units are
// made those of the language (words.go). What comes out is laid out by
// lang/format and read back by lang/syntax before anyone sees it.
//
// Nothing is guessed silently: what was recognised is told in ReadAs, what was
// changed in Notes, and what could be meant in two ways is an error that names
// the cell and the flag that settles it.
//
// In: a file's bytes, flags, the workspace's axes. Out: the text of one map or
// catalogue, or diagnostics. Imported by cmd.
package importer

import (
	_ "embed"
	"fmt"
	"strings"

	"fettle/lang/diag"
	"fettle/lang/format"
	"fettle/lang/source"
	"fettle/lang/syntax"
	"fettle/lang/unit"
)

// The limits of what is read.
const (
	MaxFile  = source.MaxFile // bytes
	MaxCells = 1_000_000
)

// Axis is an axis of the workspace that the table is for.
type Axis struct {
	Name   string
	Unit   unit.Unit
	Lo, Hi float64
}

// Options says what was settled by flags; what is empty is found out.
type Options struct {
	File       string // as it is called in messages
	Pasted     bool   // from standard input, so that the file names nothing
	As         string // map or catalog
	Sheet      string
	Name, Unit string
	Rows, Cols string // axes: a name, or a name and a unit
	Decimal    string // . or ,
	Delimiter  string // one of the names of delimiters
	Transpose  bool
	Axes       []Axis
}

// Schema is the JSON Schema (draft 2020-12) of Result.
//
//go:embed schema/import.schema.json
var Schema []byte

// Result is a table that was read, and what --json prints.
type Result struct {
	Schema  string   `json:"schema"`
	File    string   `json:"file"`
	As      string   `json:"as"`
	Name    string   `json:"name"`
	Unit    string   `json:"unit"`
	Rows    int      `json:"rows"`
	Columns int      `json:"columns"`
	Axes    []Along  `json:"axes"`
	Dialect Dialect  `json:"dialect"`
	ReadAs  string   `json:"read_as"`
	Notes   []string `json:"notes"`
	Text    string   `json:"text"`
}

// Along is an axis of the table.
type Along struct {
	Axis  string `json:"axis"`
	Unit  string `json:"unit"`
	Along string `json:"along"` // rows or columns
}

// Dialect is how the file was written.
type Dialect struct {
	Form      string `json:"form"`      // text or workbook
	Sheet     string `json:"sheet"`     // of a workbook
	Encoding  string `json:"encoding"`  // of a text
	LineEnds  string `json:"line_ends"` // of a text
	Delimiter string `json:"delimiter"` // of a text
	Decimal   string `json:"decimal"`   // dot, comma or none
	Thousands string `json:"thousands"` // the mark, or nothing
	Head      int    `json:"head"`      // the line of the head
}

// job is one import under way.
type job struct {
	opt  Options
	errs *diag.List
	file *source.File // what spans point into
	rows [][]cell
	dial Dialect
	said []string // more of how it was read
	note []string
	out  Result

	manySheets bool // so that the sheet names the table, and not the file
	title      head // a title that reads `fuel [mg]`
	names      []string
}

// cell is one cell of the table.
type cell struct {
	text     string // trimmed
	span     source.Span
	row, col int  // counted from 1
	stored   bool // a number of a workbook, as stored
	date     bool // a number that a workbook shows as a day
	fault    bool // a formula's failure
	formula  bool
	quoted   bool
	percent  bool
	number   string // as the language writes it; empty if it is none
}

// at names the cell as a spreadsheet does.
func (c cell) at() string { return column(c.col) + fmt.Sprint(c.row) }

func (c cell) blank() bool { return c.text == "" }

func column(n int) string {
	name := ""
	for ; n > 0; n = (n - 1) / 26 {
		name = string(rune('A'+(n-1)%26)) + name
	}
	return name
}

// Import reads a table. Nil where there are errors.
func Import(data []byte, opt Options) (*Result, *diag.List) {
	j := &job{opt: opt, errs: &diag.List{}, file: source.New(opt.File, "")}
	text := ""
	if j.options() && j.read(data) && j.numbers() {
		text = j.declaration()
	}
	if j.errs.HasErrors() || text == "" {
		return nil, j.errs
	}
	return j.finish(text), j.errs
}

// declaration finds the table and writes it as what it is.
func (j *job) declaration() string {
	g := j.region()
	if g == nil || !j.kind(g) {
		return ""
	}
	if j.out.As == "map" {
		return j.asMap(g)
	}
	return j.asCatalog(g)
}

// finish lays the text out and reads it back.
func (j *job) finish(text string) *Result {
	f := source.New("the result", text)
	laid, faults := format.Source(f)
	if !faults.HasErrors() {
		tree := syntax.Parse(source.New("the result", laid), faults)
		if !faults.HasErrors() && len(tree.Decls) != 1 {
			faults.Add("E901", source.Span{}, "the result reads as %d declarations", len(tree.Decls))
		}
	}
	j.errs.Merge(faults)
	if faults.HasErrors() {
		return nil
	}
	const most = 6
	if n := len(j.names); n > most {
		j.notef("names were made legal: %s, and %d more", strings.Join(j.names[:most], ", "), n-most)
	} else if n > 0 {
		j.notef("names were made legal: %s", strings.Join(j.names, ", "))
	}
	r := &j.out
	r.Schema, r.File, r.Dialect, r.Text = "fettle/import/1", j.opt.File, j.dial, laid
	r.ReadAs, r.Notes = j.readAs(), append([]string{}, j.note...)
	if r.Axes == nil {
		r.Axes = []Along{}
	}
	return r
}

// fault reports something about a cell.
func (j *job) fault(code string, c cell, msg string, args ...any) *diag.Diagnostic {
	return j.errs.Add(code, c.span, "%s: %s", c.at(), fmt.Sprintf(msg, args...))
}

func (j *job) notef(msg string, args ...any) {
	j.note = append(j.note, diag.Clean(fmt.Sprintf(msg, args...)))
}

// renamed keeps what a name of the table became.
func (j *job) renamed(from, to string) {
	if from != to {
		j.names = append(j.names, quote(from)+" is `"+to+"`")
	}
}

// clip shortens a text that is quoted in a message.
func clip(s string) string {
	const most = 40
	s = strings.ReplaceAll(s, "\n", " ")
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}

// quote puts a cell's text into a message.
func quote(s string) string { return "`" + strings.ReplaceAll(clip(s), "`", "'") + "`" }
