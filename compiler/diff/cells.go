package diff

// Before is every compared cell of the old side, as printed, a row after the
// other. They are not to be changed.
func (m *MapDiff) Before() []float64 {
	if m.same != nil {
		return m.same.Printed()
	}
	return m.old
}

// After is every compared cell of the new side, as printed.
func (m *MapDiff) After() []float64 {
	out := append([]float64(nil), m.Before()...)
	for _, c := range m.Cells {
		out[c.Row*len(m.Cols.Points)+c.Col] = c.New
	}
	return out
}

// Decimals is how many decimals the map's values are written with; -1 for as
// many as each has.
func (m *MapDiff) Decimals() int { return m.decimals }
