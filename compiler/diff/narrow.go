package diff

// Narrow gives the pair with fewer cells: of each map those that are kept, by
// their places in its cells. The others are said to be allowed. What is told of
// the cells, such as the worst of them, is of those that are kept.
func (p *Pair) Narrow(keep func(m *MapDiff) []int) *Pair {
	out := *p
	out.Maps = nil
	for _, m := range p.Maps {
		out.Maps = append(out.Maps, m.narrow(keep(m)))
	}
	return &out
}

func (m *MapDiff) narrow(keep []int) *MapDiff {
	if len(keep) == len(m.Cells) {
		return m
	}
	out := *m
	out.Cells, out.Parts, out.Summary, out.Clamps = nil, nil, Summary{}, nil
	kept := make([]bool, len(m.Cells))
	for _, i := range keep {
		kept[i] = true
	}
	out.allowed = map[[2]int]bool{}
	worst := -1
	for i, c := range m.Cells {
		switch {
		case !kept[i]:
			out.allowed[[2]int{c.Row, c.Col}] = true
			continue
		case i == m.Summary.Worst:
			worst = len(out.Cells)
		}
		out.Cells = append(out.Cells, c)
	}
	out.summarize()
	if len(out.Cells) > 0 && out.Summary.Worst == worst {
		out.Clamps = m.Clamps // they are of the worst cell
	}
	for _, p := range m.Parts {
		part := &Part{Element: p.Element}
		any := false
		for i := range m.Cells {
			if kept[i] {
				part.Exact, part.Printed = append(part.Exact, p.Exact[i]), append(part.Printed, p.Printed[i])
				any = any || p.Exact[i] != 0 || p.Printed[i] != 0
			}
		}
		if any {
			out.Parts = append(out.Parts, part)
		}
	}
	return &out
}
