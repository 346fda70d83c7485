package resample

import (
	"math"

	"fettle/compiler/table"
)

// Misfit is that values don't fit how they are stored.
type Misfit struct {
	Cells  int     // that don't
	At     int     // the cell that is farthest outside; the first of several
	Value  float64 // there
	Lo, Hi float64 // what the storage holds
}

// Store turns values into raw numbers, and gives what those mean. With values
// that don't fit nothing is stored.
func Store(cells []float64, s table.Storage) (raw, values []float64, bad *Misfit) {
	lo, hi := -math.MaxFloat32, math.MaxFloat32
	scale := scaleOf(s.Step, s.Offset)
	if s.Type != table.F32 {
		lo, hi = s.Type.Range()
		lo, hi = scale.worth(lo), scale.worth(hi)
	}
	raw, values = make([]float64, len(cells)), make([]float64, len(cells))
	worst := 0.0
	for i, x := range cells {
		var over float64
		if raw[i], over = one(x, s.Type, scale); over > 0 {
			if bad == nil {
				bad = &Misfit{Lo: lo, Hi: hi}
			}
			bad.Cells++
			if over > worst {
				worst, bad.At, bad.Value = over, i, x
			}
			continue
		}
		values[i] = raw[i]
		if s.Type != table.F32 {
			values[i] = scale.worth(raw[i])
		}
	}
	if bad != nil {
		return nil, nil, bad
	}
	return raw, values, nil
}

// one gives the raw number of a value, and by how much it is out of range.
func one(x float64, t table.Type, s *scale) (raw, over float64) {
	if t == table.F32 {
		raw = float64(float32(x))
		if math.IsInf(raw, 0) {
			over = math.Abs(x)
		}
		return raw, over
	}
	lo, hi := t.Range()
	raw = s.steps(x)
	return raw, max(lo-raw, raw-hi, 0)
}
