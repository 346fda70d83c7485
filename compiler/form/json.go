package form

import (
	_ "embed"

	"fettle/compiler/emit"
	"fettle/compiler/table"
)

// TablesVersion is the version of tables.json.
const TablesVersion = "fettle/tables/1"

// TablesSchema is the JSON Schema of tables.json.
//
//go:embed schema/tables.schema.json
var TablesSchema string

// Tables is a tables.json: every table of a tune, with what it is for.
type Tables struct {
	Schema     string          `json:"schema"`
	Tune       string          `json:"tune"`
	Target     string          `json:"target,omitempty"`
	Source     emit.SourceInfo `json:"source"`
	Compiler   string          `json:"compiler"`
	Conditions []Condition     `json:"conditions"`
	Tables     []Table         `json:"tables"`
	Limits     []Limit         `json:"limits"`
	Cautions   []string        `json:"cautions"`
}

// Condition is the value of a given: a number in its unit, the name of a row, or
// a bool.
type Condition struct {
	Name  string `json:"name"`
	Value any    `json:"value"`
	Unit  string `json:"unit"`
	Text  string `json:"text"`
}

// Limit says how a limit came out.
type Limit struct {
	Name  string `json:"name"`
	Text  string `json:"text"`
	State string `json:"state"`
}

// Table is one table. Cells are a list of rows, or of numbers over one axis.
type Table struct {
	Name       string       `json:"name"`
	Map        string       `json:"map"`
	Unit       string       `json:"unit"`
	Doc        string       `json:"doc,omitempty"`
	Axes       []emit.Axis  `json:"axes"`
	Resolution *emit.Number `json:"resolution"` // nil: six significant digits, or a storage
	Cells      any          `json:"cells"`
	Storage    *Storage     `json:"storage,omitempty"`
}

// Storage is how a controller keeps a table: value = offset + raw * step. Raw has
// the shape of the cells.
type Storage struct {
	Type      table.Type  `json:"type"`
	Step      emit.Number `json:"step"`
	Offset    emit.Number `json:"offset"`
	ByteOrder string      `json:"byte_order"`
	Raw       any         `json:"raw"`
}

// jsonFile writes one file a tune.
func jsonFile(c *emit.Content) ([]emit.File, error) {
	out := Tables{Schema: TablesVersion, Tune: c.About.Name, Target: c.Target, Source: c.About.Source, Compiler: c.About.Compiler,
		Conditions: []Condition{}, Tables: []Table{}, Limits: []Limit{}, Cautions: c.About.Cautions}
	for _, x := range c.About.Conditions {
		out.Conditions = append(out.Conditions, Condition{x.Name, x.Value, x.Unit, x.Text})
	}
	for _, l := range c.About.Limits {
		out.Limits = append(out.Limits, Limit{l.Name, l.Text, l.State})
	}
	for i := range c.Tables {
		out.Tables = append(out.Tables, jsonTable(&c.Tables[i]))
	}
	data, err := emit.Encode(&out)
	if err != nil {
		return nil, err
	}
	return []emit.File{{Path: "tables.json", Data: data}}, nil
}

func jsonTable(t *table.Table) Table {
	out := Table{Name: t.Name, Map: t.Map, Unit: t.Unit, Doc: t.Doc, Cells: shaped(t, t.Cells)}
	for _, a := range t.Axes() {
		out.Axes = append(out.Axes, emit.Axis{Name: a.Name, Unit: a.Unit, Breakpoints: numbers(a.Points)})
	}
	if s := t.Storage; s != nil {
		out.Storage = &Storage{s.Type, emit.Number(s.Step), emit.Number(s.Offset), byteOrder(s.Big), shaped(t, s.Raw)}
	} else if t.Res.Set() {
		step := emit.Number(t.Res.Step())
		out.Resolution = &step
	}
	return out
}

// shaped gives values as rows, or as they are over one axis.
func shaped(t *table.Table, xs []float64) any {
	if t.Rows.Points == nil {
		return numbers(xs)
	}
	n := len(t.Cols.Points)
	rows := make([][]emit.Number, t.NRows())
	for r := range rows {
		rows[r] = numbers(xs[r*n : (r+1)*n])
	}
	return rows
}

func numbers(xs []float64) []emit.Number {
	out := make([]emit.Number, len(xs))
	for i, x := range xs {
		out[i] = emit.Number(x)
	}
	return out
}

func byteOrder(big bool) string {
	if big {
		return "big"
	}
	return "little"
}
