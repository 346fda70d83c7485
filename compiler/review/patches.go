package review

import (
	"math"
	"slices"

	"fettle/compiler/diff"
	"fettle/compiler/grid"
	"fettle/lang/unit"
)

// A patch is two cells or more beside each other, of any shape, that were moved
// together and by a step: each by at least 5 %, and by at least four times as
// much as any cell around them; no more than a quarter of the map, or one whole
// row or column. Along an edge that goes on as a slope, inside of the patch or
// outside, there is no step: so tilts and humps are none.
const patchPart = 4

// patches finds them among the whole change of a map, each as its cells in order.
func (s *surface) patches() [][]int {
	if !s.steps() {
		return nil
	}
	var all []int
	for i := range s.old {
		if s.large(i, spikeChange) {
			all = append(all, i)
		}
	}
	var out [][]int
	s.split(all, &out)
	slices.SortFunc(out, func(a, b []int) int { return a[0] - b[0] })
	return out
}

// steps says whether any cell moved so much more than one beside it that there can
// be a patch at all.
func (s *surface) steps() bool {
	for i := range s.old {
		if !s.large(i, spikeChange) {
			continue
		}
		for _, j := range s.around(i) {
			if s.of(i) >= spikeRatio*s.size(s.change[j], s.old[j], s.old[i]) {
				return true
			}
		}
	}
	return false
}

// split parts cells into those that hang together and moved the same way. What
// isn't a patch is looked at again without its cells that moved least.
func (s *surface) split(cells []int, out *[][]int) {
	for _, block := range s.blocks(cells) {
		if len(block) < 2 {
			continue
		}
		if s.isPatch(block) {
			*out = append(*out, block)
			continue
		}
		least := math.Inf(1)
		for _, i := range block {
			least = min(least, s.of(i))
		}
		more := slices.DeleteFunc(slices.Clone(block), func(i int) bool { return s.of(i) <= least })
		s.split(more, out)
	}
}

// blocks parts cells into those that hang together and moved the same way.
func (s *surface) blocks(cells []int) [][]int {
	in := make([]bool, len(s.old))
	for _, i := range cells {
		in[i] = true
	}
	var out [][]int
	for _, first := range cells {
		if !in[first] {
			continue
		}
		in[first] = false
		block := []int{first}
		for k := 0; k < len(block); k++ {
			for _, j := range s.around(block[k]) {
				if in[j] && s.change[j] > 0 == (s.change[first] > 0) {
					in[j] = false
					block = append(block, j)
				}
			}
		}
		slices.Sort(block)
		out = append(out, block)
	}
	return out
}

func (s *surface) isPatch(block []int) bool {
	if len(block)*patchPart > len(s.old) && !s.isLine(block) {
		return false
	}
	in := make([]bool, len(s.old))
	for _, i := range block {
		in[i] = true
	}
	beside := 0
	for _, i := range block {
		for _, j := range s.around(i) {
			if in[j] {
				continue
			}
			beside++
			// Four times in shares; in amounts twice, as a spike.
			if s.of(i) < spikeRatio*s.size(s.change[j], s.old[j], s.old[i]) || abs(s.change[i]) < spikeAmount*max(abs(s.change[j]), s.step/2) {
				return false
			}
		}
	}
	return beside > 0 && s.stepped(block, in)
}

// isLine says whether cells are a whole row or column of a map with more of them.
func (s *surface) isLine(block []int) bool {
	sameRow, sameCol := true, true
	for _, i := range block {
		sameRow = sameRow && i/s.cols == block[0]/s.cols
		sameCol = sameCol && i%s.cols == block[0]%s.cols
	}
	return sameRow && len(block) == s.cols && s.rows > 2 || sameCol && len(block) == s.rows && s.cols > 2
}

// stepped says whether at least half of a patch's edge is a step.
func (s *surface) stepped(block []int, in []bool) bool {
	edges, steps := 0, 0
	for _, i := range block {
		for _, way := range [][2]int{{-1, 0}, {1, 0}, {0, -1}, {0, 1}} {
			out := s.beside(i, way[0], way[1])
			if out < 0 || in[out] {
				continue
			}
			edges++
			if inner := s.beside(i, -way[0], -way[1]); inner >= 0 && in[inner] && s.goesOn(inner, i, out) {
				continue
			}
			if further := s.beside(out, way[0], way[1]); further >= 0 && s.goesOn(further, out, i) {
				continue
			}
			steps++
		}
	}
	return steps*2 >= edges && steps > 0
}

// goesOn says whether the change from a to b is at least half as steep as that
// from b to c, and the same way.
func (s *surface) goesOn(a, b, c int) bool {
	slope := func(i, j int) float64 { return (s.moved(j) - s.moved(i)) / s.distance(i, j) }
	x, y := slope(a, b), slope(b, c)
	return x > 0 == (y > 0) && abs(x) >= abs(y)/2
}

// moved is a change with its sign, as it is judged.
func (s *surface) moved(i int) float64 { return math.Copysign(s.of(i), s.change[i]) }

// of is the size of a cell's change.
func (s *surface) of(i int) float64 { return s.size(s.change[i], s.old[i], s.old[i]) }

// distance is how far apart two cells of a row or a column are.
func (s *surface) distance(i, j int) float64 {
	if i/s.cols == j/s.cols {
		return abs(s.along[i%s.cols] - s.along[j%s.cols])
	}
	return abs(s.down[i/s.cols] - s.down[j/s.cols])
}

// around lists the neighbours of a cell.
func (s *surface) around(cell int) []int {
	var out []int
	for dr := -1; dr <= 1; dr++ {
		for dc := -1; dc <= 1; dc++ {
			if i := s.beside(cell, dr, dc); i >= 0 && !slices.Contains(out, i) {
				out = append(out, i)
			}
		}
	}
	return out
}

// outside is the largest change of a cell around some.
func (s *surface) outside(cells []int) float64 {
	in := make([]bool, len(s.old))
	for _, i := range cells {
		in[i] = true
	}
	most := 0.0
	for _, i := range cells {
		for _, j := range s.around(i) {
			if !in[j] {
				most = max(most, s.size(s.change[j], s.old[j], s.old[i]))
			}
		}
	}
	return most
}

// patchesIn finds the patches of one map of one tune: those of its base, in the
// cells that they moved here; and where no source tells what moved what, those
// of the whole change. Cells are places in Diff.Cells.
func (e *Entry) patchesIn(em *EntryMap, g *own, s *surface, base []basePatch) []*cellSpike {
	m := em.Diff
	told := e.OldT.program() != nil && e.NewT.program() != nil || len(e.Pair.Conditions) > 0 // at other conditions other rules apply
	if len(base) == 0 && told {
		return nil
	}
	at := make([]int, len(s.old)) // by own cell: its place in Diff.Cells, from 1
	for i, c := range m.Cells {
		if k := g.own(c); k >= 0 {
			at[k] = i + 1
		}
	}
	var out []*cellSpike
	take := func(cells []int, by *diff.Element) {
		p := &cellSpike{m: m, by: by, neighbours: s.outside(cells)}
		for _, k := range cells {
			p.cells = append(p.cells, at[k]-1)
		}
		p.cell = p.cells[0]
		for _, i := range p.cells {
			if sizeOf(m, m.Cells[i]) > sizeOf(m, m.Cells[p.cell]) {
				p.cell = i
			}
		}
		out = append(out, p)
	}
	for _, b := range base {
		var cells []int
		for _, place := range b {
			if k := g.at(place[0], place[1]); k >= 0 && at[k] > 0 && abs(m.Cells[at[k]-1].Change) > 1.5*s.step && s.large(k, spikeChange/2) {
				cells = append(cells, k)
			}
		}
		if len(cells) < 2 || len(cells)*2 < len(b) {
			continue
		}
		if by, some := partOf(m, at[cells[0]]-1, diff.KindBase); some {
			take(cells, by)
		}
	}
	if !told {
		for _, cells := range s.patches() {
			cells = slices.DeleteFunc(cells, func(k int) bool { return at[k] == 0 })
			if len(cells) > 1 {
				take(cells, nil)
			}
		}
	}
	return out
}

// blockText says where some cells of a map lie: "throttle 60..85 %, rpm
// 11000..12000".
func blockText(m *diff.MapDiff, cells []int) string {
	lo, hi := m.Cells[cells[0]], m.Cells[cells[0]]
	for _, i := range cells {
		c := m.Cells[i]
		lo.Row, lo.Col = min(lo.Row, c.Row), min(lo.Col, c.Col)
		hi.Row, hi.Col = max(hi.Row, c.Row), max(hi.Col, c.Col)
	}
	one := func(a diff.Axis, from, to int) string {
		text := a.Name + " " + grid.Exact(a.Points[from])
		if from != to {
			text += ".." + grid.Exact(a.Points[to])
		}
		if a.Unit == a.Name {
			return text
		}
		return unit.With(text, a.Unit)
	}
	if m.Rows.Points == nil {
		return one(m.Cols, lo.Col, hi.Col)
	}
	return one(m.Rows, lo.Row, hi.Row) + ", " + one(m.Cols, lo.Col, hi.Col)
}
