package verify

import (
	_ "embed"

	"fettle/compiler/emit"
	"fettle/compiler/grid"
)

// Schema is the published schema of this package's JSON.
//
//go:embed schema/verify.schema.json
var Schema string

// Report is what `verify --json` prints.
type Report struct {
	Schema  string   `json:"schema"`
	Read    string   `json:"read"`
	Answer  string   `json:"answer"` // yes or no
	Against *Tune    `json:"against,omitempty"`
	Is      []Tune   `json:"is"`
	Nearest *Tune    `json:"nearest,omitempty"`
	Tags    int      `json:"tags"` // looked at
	Skipped []string `json:"skipped_tags"`
	Files   []OfFile `json:"files"`
	Over    []OfFile `json:"not_looked_at"`
	Missing []OfFile `json:"missing"`
}

// OfFile is a file of what was read.
type OfFile struct {
	File     string `json:"file"`
	Why      string `json:"why,omitempty"` // it wasn't looked at
	SHA256   string `json:"sha256"`        // unrecorded, as written, changed or missing
	Recorded string `json:"recorded_in,omitempty"`
}

func ofFiles(list []File) []OfFile {
	out := []OfFile{}
	for _, f := range list {
		out = append(out, OfFile{f.Name, f.Why, [...]string{"unrecorded", "as written", "changed", "missing"}[f.State], f.By})
	}
	return out
}

// Tune is a tune beside what was read.
type Tune struct {
	Name     string      `json:"name"` // as on a command line: "v1.2:bench"
	Tune     string      `json:"tune"`
	Tag      string      `json:"tag,omitempty"`
	Digest   string      `json:"source_digest"`
	Revision string      `json:"revision,omitempty"`
	Dirty    bool        `json:"dirty"`
	Agrees   string      `json:"agrees"` // in full, as far as written, or no
	Fails    bool        `json:"fails"`  // build doesn't write it
	Tables   []TuneTable `json:"tables"`
}

// TuneTable is a table that was read beside the tune's.
type TuneTable struct {
	Read    string      `json:"read"`
	File    string      `json:"file"`
	Target  string      `json:"target,omitempty"`
	Table   string      `json:"table"`
	Map     string      `json:"map"`
	Unit    string      `json:"unit"`
	Union   bool        `json:"other_breakpoints"`
	Cells   int         `json:"cells"`
	Step    emit.Number `json:"step"`    // what differences are counted in
	Largest emit.Number `json:"largest"` // in steps
	Mean    emit.Number `json:"mean"`    // in steps, over all cells
	Differ  []TuneCell  `json:"differ"`
}

// TuneCell is a cell that differs.
type TuneCell struct {
	At   []emit.Coordinate `json:"at"`
	Tune emit.Number       `json:"tune"`
	Read emit.Number       `json:"read"`
}

// JSON puts a result in the form of its JSON.
func (r *Result) JSON() *Report {
	out := &Report{Schema: "fettle/verify/1", Read: r.Read.Title, Answer: "no", Is: []Tune{}, Tags: r.Tags, Skipped: append([]string{}, r.Skipped...),
		Files: ofFiles(r.Read.Files), Over: ofFiles(r.Read.Over), Missing: ofFiles(r.Read.Missing)}
	if r.Yes() {
		out.Answer = "yes"
	}
	if r.Against != nil {
		t := r.Against.json()
		out.Against = &t
	}
	for _, f := range r.Is {
		out.Is = append(out.Is, f.json())
	}
	if r.Nearest != nil {
		t := r.Nearest.json()
		out.Nearest = &t
	}
	return out
}

func (f *Found) json() Tune {
	o := f.Source.Origin
	t := Tune{Name: f.Name(), Tune: f.Tune.Name, Tag: f.Tag, Digest: f.Source.Digest(), Revision: o.Revision, Dirty: o.Dirty,
		Agrees: [...]string{"in full", "as far as written", "no"}[f.Grade], Fails: f.Fails, Tables: []TuneTable{}}
	for _, set := range f.Sets {
		for _, p := range set.Pairs {
			one := TuneTable{Read: p.Read.Name, File: p.Read.File, Table: p.Tune.Name, Map: p.Tune.Map, Unit: p.Tune.Unit, Union: p.Union, Cells: p.Cells,
				Step: six(p.step), Largest: six(p.Steps), Mean: six(p.Mean), Differ: []TuneCell{}}
			if set.Target != nil {
				one.Target = set.Target.Name
			}
			for _, c := range p.Cell {
				cell := TuneCell{At: []emit.Coordinate{}, Tune: emit.Number(c.Tune), Read: emit.Number(c.Read)}
				for i, a := range p.Tune.Axes() {
					cell.At = append(cell.At, emit.Coordinate{Axis: a.Name, Value: emit.Number(c.At[i]), Unit: a.Unit})
				}
				one.Differ = append(one.Differ, cell)
			}
			t.Tables = append(t.Tables, one)
		}
	}
	return t
}

func six(x float64) emit.Number { return emit.Number(grid.Res{}.Round(x)) }
