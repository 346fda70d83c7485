package emit

import (
	"fmt"

	"fettle/compiler/table"
)

// Format is an output format beside CSV. It is given to a build by the caller
// (Input.Formats), so that this package knows no format's library.
type Format struct {
	Name string
	// Files gives the files of one tune, or of one target of it.
	Files func(c *Content) ([]File, error)
}

// CSVFormat is the name of the format that is written here.
const CSVFormat = "csv"

// Content is what a format writes.
type Content struct {
	Input  Input
	Target string        // "" for the maps' own tables
	Tables []table.Table // what is written, rounded
	About  *Tune         // what tune.json will say, but for the files
}

// WantsCSV says whether the maps' tables are written as CSV: with no format
// named they are.
func (in *Input) WantsCSV() bool {
	for _, f := range in.Formats {
		if f.Name == CSVFormat {
			return true
		}
	}
	return len(in.Formats) == 0
}

// MapTables gives the tables of a tune's maps as they are written, in the order
// of the source. A tune that couldn't be computed has none.
func MapTables(in *Input) ([]table.Table, error) {
	if err := finite(in); err != nil {
		return nil, err
	}
	out := make([]table.Table, 0, len(in.Program.Maps))
	for _, m := range in.Program.Maps {
		t := table.Table{Name: m.Name, Map: m.Name, Unit: m.Unit.Text, Doc: m.Doc, Res: m.Res}
		axis := func(i int, points []float64) table.Axis {
			a := in.Program.Axes[m.Axes[i]]
			return table.Axis{Name: a.Name, Unit: a.Unit.Text, Points: points}
		}
		if len(m.Axes) == 2 {
			t.Rows = axis(0, m.Base.Rows)
		}
		t.Cols = axis(len(m.Axes)-1, m.Base.Cols)
		from := in.Result.Maps[m.Index].Cells
		t.Cells = make([]float64, len(from))
		for i, x := range from {
			t.Cells[i] = m.Res.Round(x)
		}
		out = append(out, t)
	}
	return out, nil
}

// formatFiles gives the files of the formats beside CSV, and lists them in the
// manifest.
func formatFiles(in Input, t *Tune) ([]File, error) {
	var out []File
	var tables []table.Table
	for _, f := range in.Formats {
		if f.Name == CSVFormat {
			continue
		}
		if tables == nil {
			var err error
			if tables, err = MapTables(&in); err != nil {
				return nil, err
			}
		}
		made, err := f.Files(&Content{Input: in, Tables: tables, About: t})
		if err != nil {
			return nil, fmt.Errorf("%s can't be written as %s: %w", in.Tune.Name, f.Name, err)
		}
		for _, file := range made {
			t.Files = append(t.Files, FormatFile{Format: f.Name, File: file.Path, SHA256: sum(file.Data)})
		}
		out = append(out, made...)
	}
	return out, nil
}
