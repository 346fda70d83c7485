package check

import (
	"container/heap"
	"strings"
	"sync"

	"fettle/compiler/grid"
	"fettle/compiler/resolve"
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/syntax"
	"fettle/lang/unit"
	"fettle/lang/work"
)

// MaxCells is the most cells a map may have.
const MaxCells = 1_000_000

type mapDecl = syntax.Map

// mapHeads reads every map's unit, axes, breakpoints and grid, so that their
// names can be used; formulas are checked later.
func (c *checker) mapHeads() {
	byName := map[string]*Map{}
	var likes []*Map
	for _, d := range c.p.Resolved.Decls {
		md, ok := d.(*syntax.Map)
		if !ok || !c.owns(d) {
			continue
		}
		m := &Map{Name: md.Name.Text, Span: md.Span, Doc: md.Doc, decl: md}
		u, ok := formula.ReadUnit(md.Unit, c.errs)
		m.Unit = u
		if md.To != nil {
			c.resolution(m, md.To)
		}
		switch {
		case md.Body != nil:
			if g := syntax.ReadGrid(md.Span.File, *md.Body, c.errs); g == nil || !c.gridOf(m, g) {
				ok = false
			}
		case md.File != nil:
			ok = c.csvGrid(m, md.File) && ok
		default:
			byName[m.Name] = m
			if ok {
				likes = append(likes, m)
			}
			continue
		}
		byName[m.Name] = m
		if ok {
			c.register(m)
		}
	}
	c.likeMaps(likes, byName)
}

func (c *checker) register(m *Map) {
	before, most := c.mapCells, work.Most(work.Maps)
	if c.mapCells += max(1, len(m.Base.Rows)) * len(m.Base.Cols); c.mapCells > most && before <= most {
		c.errs.Add("E410", m.decl.Name.Span, "with `%s` the maps of the workspace have over %d cells together, the most that are computed", m.Name, most).Hint(work.Hint)
	}
	m.Index = len(c.p.Maps)
	c.p.Maps = append(c.p.Maps, m)
	c.root.symbols[m.Name] = formula.Symbol{Kind: formula.SymMap, Index: m.Index, Unit: m.Unit, Axes: m.Axes, What: "map", Span: m.decl.Name.Span}
}

// likeMaps takes breakpoints over from the maps that others are like; a map may
// be like one that is itself like another.
func (c *checker) likeMaps(likes []*Map, byName map[string]*Map) {
	done := map[string]bool{}
	for _, m := range c.p.Maps {
		done[m.Name] = true
	}
	// In rounds, of those that are like one that is done; each looks only at those
	// that were waiting for it.
	place := map[*Map]int{}
	waiting := map[*Map][]*Map{}
	var now, next []*Map
	for i, m := range likes {
		place[m] = i
		switch other := byName[m.decl.Like.Text]; {
		case other == nil:
		case done[other.Name]:
			now = append(now, m)
		default:
			waiting[other] = append(waiting[other], m)
		}
	}
	for ; len(now) > 0; now, next = next, nil {
		order := placeHeap{place: place, maps: now}
		for heap.Init(&order); order.Len() > 0; {
			m := heap.Pop(&order).(*Map)
			m.Like = byName[m.decl.Like.Text]
			m.Axes = m.Like.Axes
			m.Base = grid.Table{Rows: m.Like.Base.Rows, Cols: m.Like.Base.Cols}
			done[m.Name] = true
			c.register(m)
			for _, w := range waiting[m] {
				if place[w] > place[m] {
					heap.Push(&order, w)
				} else {
					next = append(next, w)
				}
			}
		}
	}
	var maps []string
	for _, m := range c.p.Maps {
		maps = append(maps, m.Name)
	}
	told := map[string]bool{} // those that lead to a map with errors, or into a circle
	for _, m := range likes {
		if done[m.Name] {
			continue
		}
		like := m.decl.Like
		if byName[like.Text] == nil {
			c.wanted(*like, "a map", maps)
			continue
		}
		if told[m.Name] {
			continue
		}
		seen, x := map[string]bool{}, m
		for x != nil && !seen[x.Name] {
			seen[x.Name] = true
			if x.decl.Like == nil || told[x.Name] {
				x = nil // like a map whose grid has errors
				break
			}
			x = byName[x.decl.Like.Text]
		}
		if x != nil && x == m {
			d := c.errs.Add("E601", like.Span, "`%s` gets its breakpoints from itself", m.Name)
			if like.Text != m.Name {
				d.Message += ", by way of `" + like.Text + "`"
			}
			d.Hint("one map of the circle must have a grid")
			for name := range seen { // one error for the circle
				done[name] = true
			}
			continue
		}
		for y := m; y != nil && y != x && y.decl.Like != nil && !told[y.Name]; y = byName[y.decl.Like.Text] {
			told[y.Name] = true
		}
	}
}

// placeHeap gives maps in the order of the source.
type placeHeap struct {
	place map[*Map]int
	maps  []*Map
}

func (h *placeHeap) Len() int           { return len(h.maps) }
func (h *placeHeap) Less(i, j int) bool { return h.place[h.maps[i]] < h.place[h.maps[j]] }
func (h *placeHeap) Swap(i, j int)      { h.maps[i], h.maps[j] = h.maps[j], h.maps[i] }
func (h *placeHeap) Push(m any)         { h.maps = append(h.maps, m.(*Map)) }
func (h *placeHeap) Pop() any {
	n := len(h.maps) - 1
	m := h.maps[n]
	h.maps = h.maps[:n]
	return m
}

func (c *checker) resolution(m *Map, e *syntax.Expr) {
	num := e.Toks[0]
	if num.Kind == syntax.Number && (len(e.Toks) == 1 || c.sameUnit(m, e)) {
		res, err := grid.NewRes(num.Text)
		if err == nil {
			m.Res = res
			return
		}
		c.errs.Add("E602", e.Span, "%v", err)
		return
	}
	c.errs.Add("E602", e.Span, "a resolution is a positive number in the map's unit").Hint("as in `to 0.01`")
}

// sameUnit accepts `to 0.01 mg` on a map in mg.
func (c *checker) sameUnit(m *Map, e *syntax.Expr) bool {
	if len(e.Toks) != 2 {
		return false
	}
	t := e.Toks[1].Text
	return t == m.Unit.Text || t == "["+m.Unit.Text+"]"
}

// gridOf makes a map's base of a grid in place.
func (c *checker) gridOf(m *Map, g *syntax.Grid) bool {
	f := m.Span.File
	if most := work.Most(MaxCells); len(g.Cells) > most {
		c.errs.Add("E603", m.decl.Name.Span, "`%s` has %d cells; the most is %d", m.Name, len(g.Cells), most).Hint(work.Hint)
		return false
	}
	ok := true
	points := func(h syntax.HeadCell, nums []syntax.Num) []float64 {
		out := make([]float64, len(nums))
		for i, n := range nums {
			out[i] = n.Value
		}
		return c.breakpoints(m, h, out, func(i int) source.Span { return nums[i].Span(f) }, &ok)
	}
	if g.RowAxis.Name.Text != "" {
		m.Base.Rows = points(g.RowAxis, g.Rows)
		if ok && len(m.Base.Rows) == 0 {
			ok = false
		}
	}
	m.Base.Cols = points(g.ColAxis, g.Cols)
	if !ok {
		return false
	}
	given := make([]bool, len(g.Cells))
	m.Places = make([]source.Span, len(g.Cells))
	m.Base.Cells = make([]float64, len(g.Cells))
	for i, n := range g.Cells {
		m.Base.Cells[i], given[i], m.Places[i] = n.Value, !n.Blank, n.Span(f)
	}
	return c.fill(m, given)
}

// breakpoints resolves an axis's name and converts and bounds its breakpoints.
func (c *checker) breakpoints(m *Map, h syntax.HeadCell, nums []float64, place func(i int) source.Span, ok *bool) []float64 {
	sym, found := c.root.symbols[h.Name.Text]
	if !found || sym.Kind != formula.SymAxis {
		if d, declared := c.root.names.Table[h.Name.Text]; !declared || d.Header().Keyword != "axis" {
			c.wanted(h.Name, "an axis", c.declared("axis"))
		}
		*ok = false
		return nil
	}
	a := c.p.Axes[sym.Index]
	for _, have := range m.Axes {
		if have == sym.Index {
			c.errs.Add("E604", h.Name.Span, "`%s` stands for both axes of this map", h.Name.Text)
			*ok = false
			return nil
		}
	}
	m.Axes = append(m.Axes, sym.Index)
	if h.Unit != nil {
		u, good := formula.ReadUnit(h.Unit, c.errs)
		if !good {
			*ok = false
			return nil
		}
		conv, err := unit.NewConv(u, a.Unit)
		if err != nil {
			c.errs.Add("E322", h.Unit.Span, "axis `%s` is in [%s], and this head says [%s]", a.Name, a.Unit.Text, u.Text)
			*ok = false
			return nil
		}
		for i, x := range nums {
			nums[i] = conv.Apply(x)
		}
	}
	for i, x := range nums {
		if x < a.Lo || x > a.Hi {
			c.errs.Add("E605", place(i), "the breakpoint %s is outside axis `%s`, %s..%s %s", grid.Exact(x), a.Name, grid.Exact(a.Lo), grid.Exact(a.Hi), a.Unit.Text).
				Note(a.Span, "its range") // the map keeps its shape, so that its users' own faults are told too
		}
	}
	return nums
}

// csvGrid makes a map's base of a CSV file.
func (c *checker) csvGrid(m *Map, at *syntax.Text) bool {
	f := c.p.Resolved.CSVs[resolve.FileName(at.Span.File, at.Value)]
	if f == nil {
		return false
	}
	t, faults := grid.ReadCSV([]byte(f.Text))
	if c.csvFaults(f, faults, at.Span) || t == nil {
		return false
	}
	if most := work.Most(MaxCells); len(t.Table.Cells) > most {
		c.errs.Add("E603", at.Span, "%q has %d cells; the most is %d", f.Name, len(t.Table.Cells), most).Hint(work.Hint)
		return false
	}
	ok := true
	records := sync.OnceValue(func() [][]grid.Field { r, _ := grid.Records([]byte(f.Text)); return r }) // places, for faults alone
	cell := func(i, j int) source.Span {
		return source.Span{File: f, From: records()[i][j].From, To: records()[i][j].To}
	}
	corner := source.Span{File: f}
	corner.From, corner.To = f.LineSpan(1)
	points := func(h grid.AxisHead, nums []float64, place func(i int) source.Span) []float64 {
		half := corner
		if i := strings.IndexByte(corner.Text(), '\\'); i >= 0 && h == t.RowHead {
			half.To = corner.From + i
		} else if i >= 0 {
			half.From += i + 1
		}
		return c.breakpoints(m, headAt(half, h.Name, h.Unit), append([]float64(nil), nums...), place, &ok)
	}
	told := c.errs.Len()
	if t.Table.Rows != nil {
		m.Base.Rows = points(t.RowHead, t.Table.Rows, func(i int) source.Span { return cell(i+1, 0) })
	}
	m.Base.Cols = points(t.ColHead, t.Table.Cols, func(j int) source.Span { return cell(0, j+1) })
	for _, d := range c.errs.Since(told) {
		d.Note(at.Span, "%s is used here", f.Name)
	}
	if !ok {
		return false
	}
	m.Base.Cells = t.Table.Cells
	m.Places = make([]source.Span, len(t.Table.Cells))
	for i := range m.Places {
		from, to := f.LineSpan(t.CellLine[i/len(m.Base.Cols)])
		m.Places[i] = source.Span{File: f, From: from, To: to}
	}
	return c.fill(m, t.Given)
}

// fill fills the blanks of a base.
func (c *checker) fill(m *Map, given []bool) bool {
	filled, from, bad, ok := grid.Fill(m.Base.Rows, m.Base.Cols, m.Base.Cells, given)
	if !ok {
		c.errs.Add("E606", m.Places[bad], "this blank has nothing to lean on: its row and its column are blank throughout").
			Hint("write at least one value in its row or column")
		return false
	}
	m.Base.Cells, m.Given, m.From = filled, given, from
	return true
}

// formulas checks the formulas of derived maps.
func (c *checker) formulas() {
	for _, m := range c.p.Maps {
		if m.Like == nil {
			continue
		}
		v := formula.Compile(m.decl.Expr, c.cellContext(m), c.errs)
		if c.unitForgotten(m, v) {
			continue
		}
		m.Formula = v.As(m.Unit, "`"+m.Name+"`", c.errs)
		if m.Formula != nil && m.decl.Unit == nil && v.Node.Type.Unit.Same(unit.Percent) {
			c.errs.Add("W011", m.decl.Name.Span, "`%s` is declared without a unit, and its formula is in %%: 85 %% is 0.85 in it, and a bare 85 beside it is 8500 %%", m.Name).
				Hint("write `map %s [%%]`", m.Name)
		}
	}
}

// unitForgotten finds a map without a unit whose formula has one.
func (c *checker) unitForgotten(m *Map, v *formula.Value) bool {
	if v == nil || m.decl.Unit != nil || v.Node.Type.Kind != formula.Quantity || v.Node.Type.Unit.Dim.IsNone() {
		return false
	}
	sym := c.root.symbols[m.Name] // so that its users aren't told as well
	m.Unit, sym.Unit = v.Node.Type.Unit, v.Node.Type.Unit
	c.root.symbols[m.Name] = sym
	u := v.Node.Type.Unit.Text
	at := source.Span{File: m.Span.File, From: m.decl.Name.Span.To, To: m.decl.Name.Span.To}
	c.errs.Add("E322", m.decl.Name.Span, "`%s` is declared without a unit, and its formula gives %s", m.Name, formula.KindOf(v.Node.Type.Unit)).
		Suggest(at, " ["+u+"]", "write `map %s [%s]`", m.Name, u)
	return true
}

func (c *checker) cellContext(m *Map) formula.Context {
	return formula.Context{Scope: c.root, Cell: true, Maps: true, Axes: m.Axes, Givens: true, What: "a formula"}
}

// FormulaSpan is where a derived map's formula stands.
func (m *Map) FormulaSpan() source.Span {
	if m.decl == nil || m.decl.Expr == nil {
		return source.Span{}
	}
	return m.decl.Expr.Span
}
