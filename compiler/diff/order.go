package diff

import (
	"math"
	"sort"
	"strings"
)

// InOrder sorts maps for reading: the one that changes most for its size first.
func (p *Pair) InOrder() []*MapDiff {
	maps := append([]*MapDiff(nil), p.Maps...)
	sort.SliceStable(maps, func(i, j int) bool { return maps[i].weightOf() > maps[j].weightOf() })
	return maps
}

// overview is a line a map, where more than two differ: in how many cells, how
// much, and which element has the largest part at the worst; in the order of the
// source, where causes stand before what follows from them.
func (t *textWriter) overview(maps []*MapDiff) {
	var rows [][4]string
	for _, m := range maps {
		if len(m.Cells) == 0 {
			continue
		}
		by, most := "", 0.0
		for _, part := range m.Parts {
			if x := math.Abs(part.Exact[m.Summary.Worst]); x > most {
				by, most = part.Element.Name, x
			}
		}
		if by != "" {
			by = "by " + by
		}
		head := m.Map
		if m.Unit != "" {
			head += " [" + m.Unit + "]"
		}
		cells, much, _ := strings.Cut(m.SummaryText(), ", ")
		much, _, _ = strings.Cut(much, ", mean")
		rows = append(rows, [4]string{head, strings.TrimSuffix(cells, " cells"), much, by})
	}
	if len(rows) < 3 {
		return
	}
	t.section()
	var wide [4]int
	for _, r := range rows {
		for i := range wide {
			wide[i] = max(wide[i], width(r[i]))
		}
	}
	full := wide[0]+wide[1]+wide[2]+wide[3]+9 <= t.opt.Width
	for _, r := range rows {
		line := pad(r[0], wide[0]) + "   " + pad(r[2], wide[2]) + "   " + r[3]
		if full {
			line = pad(r[0], wide[0]) + "   " + pad(r[1], wide[1]) + "   " + pad(r[2], wide[2]) + "   " + r[3]
		}
		t.line("%s", line)
	}
}
