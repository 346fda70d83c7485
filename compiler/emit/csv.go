package emit

import (
	"fmt"

	"fettle/compiler/check"
	"fettle/compiler/grid"
)

// CSV is a table of a map as build writes it: heads with units, cells to the
// map's resolution.
func CSV(p *check.Program, m *check.Map, t *grid.Table) []byte {
	rows, cols := heads(p, m)
	return grid.AppendCSV(make([]byte, 0, 12*len(t.Cells)), t, rows, cols, m.Res)
}

// frame is the text of a map's tables but for the cells.
func frame(p *check.Program, m *check.Map) *grid.CSVFrame {
	rows, cols := heads(p, m)
	return grid.NewCSVFrame(m.Base.Rows, m.Base.Cols, rows, cols, m.Res)
}

// heads gives the heads of a map's axes; that of the rows is empty for a map
// over one axis.
func heads(p *check.Program, m *check.Map) (rows, cols grid.AxisHead) {
	head := func(i int) grid.AxisHead {
		a := p.Axes[m.Axes[i]]
		return grid.AxisHead{Name: a.Name, Unit: a.Unit.Text}
	}
	if len(m.Axes) == 2 {
		return head(0), head(1)
	}
	return grid.AxisHead{}, head(0)
}

// tableFile is the name of a map's table within its tune's folder.
func tableFile(m *check.Map) string { return m.Name + ".csv" }

// Tables gives the tables of a tune, one CSV file a map, in the order of the
// source. A tune that couldn't be computed has none.
func Tables(in Input) ([]File, error) {
	var s scratch
	err := s.tables(&in)
	return s.list, err
}

// tables adds a tune's tables to the files.
func (s *scratch) tables(in *Input) error {
	if err := finite(in); err != nil {
		return err
	}
	for _, m := range in.Program.Maps {
		from := len(s.text)
		s.text = in.fix().frames[m.Index].Append(s.text, in.Result.Maps[m.Index].Cells)
		s.add(tableFile(m), s.text[from:len(s.text):len(s.text)])
	}
	return nil
}

// finite refuses a tune that couldn't be computed.
func finite(in *Input) error {
	if in.Result.Fault != nil {
		return fmt.Errorf("%s has no tables: %s", in.Tune.Name, faultText(in))
	}
	for _, m := range in.Program.Maps {
		for i, x := range in.Result.Maps[m.Index].Cells {
			if x-x != 0 { // so it is of what isn't a number, and of infinities
				return fmt.Errorf("%s: %s isn't a finite number at %s", in.Tune.Name, m.Name, in.Program.PlaceText(m.Axes, cellAt(m, i)))
			}
		}
	}
	return nil
}

// cellAt gives the coordinates of a cell of a map, by its axes.
func cellAt(m *check.Map, i int) []float64 {
	nc := len(m.Base.Cols)
	if len(m.Axes) == 2 {
		return []float64{m.Base.Rows[i/nc], m.Base.Cols[i%nc]}
	}
	return []float64{m.Base.Cols[i]}
}
