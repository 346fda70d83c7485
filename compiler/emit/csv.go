package emit

import (
	"fmt"
	"math"

	"fettle/compiler/check"
	"fettle/compiler/grid"
)

// CSV is a table of a map as build writes it: heads with units, cells to the
// map's resolution.
func CSV(p *check.Program, m *check.Map, t *grid.Table) []byte {
	rows, cols := heads(p, m)
	return grid.AppendCSV(make([]byte, 0, 12*len(t.Cells)), t, rows, cols, m.Res)
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
	if err := finite(&in); err != nil {
		return nil, err
	}
	out := make([]File, 0, len(in.Program.Maps))
	for _, m := range in.Program.Maps {
		out = append(out, File{tableFile(m), CSV(in.Program, m, &in.Result.Maps[m.Index])})
	}
	return out, nil
}

// finite refuses a tune that couldn't be computed.
func finite(in *Input) error {
	if in.Result.Fault != nil {
		return fmt.Errorf("%s has no tables: %s", in.Tune.Name, faultText(in))
	}
	for _, m := range in.Program.Maps {
		for i, x := range in.Result.Maps[m.Index].Cells {
			if math.IsNaN(x) || math.IsInf(x, 0) {
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
