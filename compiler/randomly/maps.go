package randomly

import (
	"fmt"
	"strings"
)

type tmap struct {
	name string
	kind int
	unit measure
	axes []int
}

func (g *gen) theMaps() {
	for i := range g.n(1, 6) {
		name := fmt.Sprintf("m%d", i)
		if i > 0 && g.once(2) {
			g.likeMap(name)
		} else {
			g.gridMap(name)
		}
	}
}

func (g *gen) likeMap(name string) {
	other := pick(g, g.maps)
	m := tmap{name: name, kind: g.anyKind(), axes: other.axes}
	m.unit = g.unit(m.kind)
	sc := &scope{axes: m.axes, maps: len(g.maps), givens: true, lets: true, fns: true}
	g.add("map", fmt.Sprintf("map %s%s like %s = %s", Mark(m.name), m.unit.head()+g.resolution(m.kind), Mark(other.name), g.expr(m.kind, sc, g.n(0, 3))))
	g.maps = append(g.maps, m)
}

func (g *gen) resolution(k int) string {
	if g.once(4) {
		return g.one(" to 0.01", " to 0.5", " to 1")
	}
	return ""
}

func (g *gen) gridMap(name string) {
	m := tmap{name: name, kind: g.anyKind()}
	m.unit = g.unit(m.kind)
	m.axes = []int{g.n(0, len(g.axes)-1)}
	if !g.once(4) {
		if b := g.n(0, len(g.axes)-1); b != m.axes[0] {
			m.axes = []int{b, m.axes[0]}
		}
	}
	var b strings.Builder
	fmt.Fprintf(&b, "map %s%s {\n  ", Mark(m.name), m.unit.head()+g.resolution(m.kind))
	heads := make([]string, len(m.axes))
	points := make([][]string, len(m.axes))
	for i, a := range m.axes {
		x := &g.axes[a]
		u := x.unit
		heads[i] = Mark(x.name)
		if g.once(5) {
			u = pick(g, kinds[x.kind].units)
			heads[i] += u.head()
		}
		most := 5
		if i == len(m.axes)-1 && g.once(4) {
			most = 14
		}
		points[i] = g.ascending(x.kind, u, g.n(1, most))
	}
	fmt.Fprintf(&b, "%s | %s\n", strings.Join(heads, " \\ "), strings.Join(points[len(points)-1], " "))
	rows := []string{""}
	if len(points) == 2 {
		rows = points[0]
	}
	for i, line := range g.cells(&m, len(rows), len(points[len(points)-1])) {
		fmt.Fprintf(&b, "  %s | %s\n", rows[i], strings.Join(line, " "))
	}
	b.WriteString("}")
	g.maps = append(g.maps, m)
	g.add("map", b.String())
}

// cells draws a grid. Where it has blanks, one row or one column has none, so that
// each blank has something to lean on.
func (g *gen) cells(m *tmap, nr, nc int) [][]string {
	blanks := g.once(3)
	keepRow, keepCol := -1, -1
	if blanks && g.once(2) {
		keepRow = g.n(0, nr-1)
	} else {
		keepCol = g.n(0, nc-1)
	}
	out := make([][]string, nr)
	for r := range out {
		for c := range nc {
			x := g.size(m.kind)
			if g.once(4) {
				x += float64(kinds[m.kind].step*float64(g.n(1, 9))) / 10
			}
			text := m.unit.in(x)
			if blanks && r != keepRow && c != keepCol && g.once(3) {
				text = "_"
			}
			out[r] = append(out[r], text)
		}
	}
	return out
}
