package merge

import (
	"cmp"
	"slices"
)

// table is a grid, a catalogue or a CSV file as cells that are known by their
// row and column.
type table struct {
	corner  label
	cols    []label
	rows    []row
	numeric bool // rows and columns are breakpoints, and ascend
	axes    [2]string
}

// label heads a row or a column.
type label struct {
	key   string  // what it is known by
	norm  string  // all that it says
	text  string  // as written
	value float64 // of a breakpoint
}

type row struct {
	label
	cells []cell
	said  string // the comments above and behind it
}

type cell struct{ norm, text string }

// how a cell is in conflict.
type how int

const (
	settled  how = iota
	edited       // both sides gave it another value
	rowGone      // one side gave it another value, the other removed its row
	colGone      // the other removed its column
	unfilled     // one side added its row, the other its column
)

// merged is a merged table. Its rows and columns are identities; which of them a
// side's version has differs only where a removal is in conflict.
type merged struct {
	v          [3]*table
	rows, cols []int
	all        [2]int         // how many identities rows and columns have
	rowAt      [3]map[int]int // where an identity stands on a side
	colAt      [3]map[int]int
	rowClash   map[int]bool // in conflict: a cell of it, its removal, its label
	rowGone    map[int]bool // its removal is in conflict
	colGone    map[int]bool
	headClash  bool // a column's head, or the corner
	how        map[[2]int]how
	blanks     [][2]int // cells that neither side gives
	dropped    [][2]int // cells of a row that one side added, in a column that the other removed; and the other way round
}

// mergeTables merges tables cell by cell; nil if they can't be: they have other
// axes, or a name stands twice, or both sides moved rows or columns, or nothing is
// left. blanksFill says that a cell which neither side gives may be left blank.
func mergeTables(v [3]*table, blanksFill bool) *merged {
	g := &merged{v: v, rowClash: map[int]bool{}, rowGone: map[int]bool{}, colGone: map[int]bool{}, how: map[[2]int]how{}}
	var rows, cols [3][]entry
	for side, t := range v {
		if t.numeric != v[base].numeric || (t.axes[0] == "") != (v[base].axes[0] == "") {
			return nil
		}
		for _, other := range v {
			if t.axes[0] != "" && t.axes[0] == other.axes[1] {
				return nil // rows and columns changed places
			}
		}
		for _, r := range t.rows {
			rows[side] = append(rows[side], entry{key: "row " + r.key}) // of a table over one axis it is ""
		}
		for _, c := range t.cols {
			cols[side] = append(cols[side], entry{key: c.key})
		}
		if repeats(rows[side]) || repeats(cols[side]) {
			return nil
		}
	}
	rowIDs, nRows := identify(rows[base], rows[ours], rows[theirs], byKey)
	colIDs, nCols := identify(cols[base], cols[ours], cols[theirs], byKey)
	for side := range v {
		g.rowAt[side], g.colAt[side] = places(rowIDs[side]), places(colIDs[side])
	}
	g.all = [2]int{nRows, nCols}
	g.removals()
	rowOrder, okRows := sequence(rowIDs, func(id int) bool { return g.stays(g.rowAt, g.rowGone, id) })
	colOrder, okCols := sequence(colIDs, func(id int) bool { return g.stays(g.colAt, g.colGone, id) })
	if v[ours].numeric { // breakpoints ascend, whatever was added where
		slices.SortStableFunc(rowOrder, func(x, y int) int { return cmp.Compare(g.rowLabel(x).value, g.rowLabel(y).value) })
		slices.SortStableFunc(colOrder, func(x, y int) int { return cmp.Compare(g.colLabel(x).value, g.colLabel(y).value) })
	} else if !okRows || !okCols {
		return nil
	}
	if len(rowOrder) == 0 || len(colOrder) == 0 {
		return nil // each side removed what the other left
	}
	g.rows, g.cols = rowOrder, colOrder
	g.cells(blanksFill)
	g.drops()
	g.labels()
	return g
}

func repeats(es []entry) bool {
	seen := map[string]bool{}
	for _, e := range es {
		if seen[e.key] {
			return true
		}
		seen[e.key] = true
	}
	return false
}

// has says whether a side has a row or column.
func has(at [3]map[int]int, side, id int) bool {
	_, ok := at[side][id]
	return ok
}

// stays says whether a row or column has a place in the result: both sides have
// it, or one added it, or its removal is in conflict.
func (g *merged) stays(at [3]map[int]int, gone map[int]bool, id int) bool {
	o, t := has(at, ours, id), has(at, theirs, id)
	return o && t || (o || t) && !has(at, base, id) || gone[id]
}

// cell is a cell of one version; nil if that has no such row or column.
func (g *merged) cell(side, r, c int) *cell {
	i, ok := g.rowAt[side][r]
	j, both := g.colAt[side][c]
	if !ok || !both {
		return nil
	}
	return &g.v[side].rows[i].cells[j]
}

// changed says whether a side gave a cell of the base another value.
func (g *merged) changed(side, r, c int) bool {
	b, s := g.cell(base, r, c), g.cell(side, r, c)
	return b != nil && s != nil && b.norm != s.norm
}

// removals finds the rows and columns that one side removed and in which the
// other changed a cell.
func (g *merged) removals() {
	for _, side := range []int{ours, theirs} {
		other := ours + theirs - side
		for r := range g.all[0] {
			gone := has(g.rowAt, base, r) && !has(g.rowAt, side, r)
			if gone && has(g.rowAt, other, r) && g.v[other].rows[g.rowAt[other][r]].said != g.v[base].rows[g.rowAt[base][r]].said {
				g.rowGone[r] = true
			}
			for c := range g.all[1] {
				lost := has(g.colAt, base, c) && !has(g.colAt, side, c)
				if !(gone || lost) || !g.changed(other, r, c) {
					continue
				}
				if gone {
					g.rowGone[r] = true
					g.how[[2]int{r, c}] = rowGone
				} else {
					g.how[[2]int{r, c}] = colGone
				}
				if lost {
					g.colGone[c] = true
				}
			}
		}
		for c := range g.all[1] { // its unit, say
			if has(g.colAt, base, c) && !has(g.colAt, side, c) && has(g.colAt, other, c) &&
				g.v[other].cols[g.colAt[other][c]].norm != g.v[base].cols[g.colAt[base][c]].norm {
				g.colGone[c] = true
			}
		}
	}
}

// cells finds the cells that are in conflict, and those that nobody gives.
func (g *merged) cells(blanksFill bool) {
	for _, r := range g.rows {
		if g.rowGone[r] {
			g.rowClash[r] = true
		}
		for _, c := range g.cols {
			b, o, t := g.cell(base, r, c), g.cell(ours, r, c), g.cell(theirs, r, c)
			switch {
			case o != nil && t != nil && o.norm != t.norm && (b == nil || o.norm != b.norm && t.norm != b.norm):
				g.how[[2]int{r, c}] = edited
				g.rowClash[r] = true
			case o == nil && t == nil && !g.rowGone[r] && !g.colGone[c]:
				g.blanks = append(g.blanks, [2]int{r, c})
				if !blanksFill {
					g.how[[2]int{r, c}] = unfilled
					g.rowClash[r] = true
				}
			}
		}
	}
}

// drops finds the cells that one side gave because it added their row, where the
// other removed their column, or the other way round.
func (g *merged) drops() {
	for _, side := range []int{ours, theirs} {
		other := ours + theirs - side
		newIn := func(at [3]map[int]int, id int) bool {
			return has(at, side, id) && !has(at, base, id) && !has(at, other, id)
		}
		lostBy := func(at [3]map[int]int, id int) bool {
			return has(at, side, id) && has(at, base, id) && !has(at, other, id)
		}
		for r := range g.all[0] {
			fresh, lost := newIn(g.rowAt, r), lostBy(g.rowAt, r) && !g.rowGone[r]
			if !fresh && !lost {
				continue
			}
			for c := range g.all[1] {
				if fresh && lostBy(g.colAt, c) && !g.colGone[c] || lost && newIn(g.colAt, c) {
					g.dropped = append(g.dropped, [2]int{r, c})
				}
			}
		}
	}
}

// labels looks whether both sides wrote a head anew, and not alike.
func (g *merged) labels() {
	clash := func(b, o, t *label) bool {
		return o != nil && t != nil && o.norm != t.norm && (b == nil || o.norm != b.norm && t.norm != b.norm)
	}
	g.headClash = clash(&g.v[base].corner, &g.v[ours].corner, &g.v[theirs].corner)
	for _, c := range g.cols {
		if clash(g.colOf(base, c), g.colOf(ours, c), g.colOf(theirs, c)) {
			g.headClash = true
		}
	}
}

func (g *merged) colOf(side, c int) *label {
	if j, ok := g.colAt[side][c]; ok {
		return &g.v[side].cols[j]
	}
	return nil
}

func (g *merged) rowOf(side, r int) *row {
	if i, ok := g.rowAt[side][r]; ok {
		return &g.v[side].rows[i]
	}
	return nil
}

// rowLabel and colLabel are how a label is written where no side is asked.
func (g *merged) rowLabel(r int) label {
	for _, side := range []int{ours, theirs, base} {
		if x := g.rowOf(side, r); x != nil {
			return x.label
		}
	}
	return label{}
}

func (g *merged) colLabel(c int) label {
	for _, side := range []int{ours, theirs, base} {
		if x := g.colOf(side, c); x != nil {
			return *x
		}
	}
	return label{}
}

// hasRow says whether the version of a side has a row; likewise hasCol.
func (g *merged) hasRow(side, r int) bool {
	if g.rowGone[r] {
		return has(g.rowAt, side, r)
	}
	if !has(g.rowAt, base, r) && g.unfilledIn(r) {
		return has(g.rowAt, side, r)
	}
	return true
}

func (g *merged) unfilledIn(r int) bool {
	return slices.ContainsFunc(g.cols, func(c int) bool { return g.how[[2]int{r, c}] == unfilled })
}

func (g *merged) hasCol(side, c int) bool { return !g.colGone[c] || has(g.colAt, side, c) }

// text is what a cell reads in the version of a side; blank where it has none.
func (g *merged) text(side, r, c int, blank string) string {
	b, o, t := g.cell(base, r, c), g.cell(ours, r, c), g.cell(theirs, r, c)
	if g.how[[2]int{r, c}] != settled || g.rowGone[r] || g.colGone[c] {
		if own := g.cell(side, r, c); own != nil {
			return own.text
		}
		if has(g.rowAt, base, r) && (g.rowGone[r] || g.colGone[c]) || g.how[[2]int{r, c}] != settled {
			return blank
		}
	}
	switch {
	case o == nil && t == nil:
		return blank
	case t == nil:
		return o.text
	case o == nil:
		return t.text
	case b != nil && o.norm == b.norm && (o.text == b.text || t.norm != b.norm):
		return t.text
	}
	return o.text
}

// pick is how a label reads in the version of a side.
func pick(b, o, t *label, side int) string {
	switch {
	case side == base && b != nil && (o == nil || t == nil):
		return b.text
	case o == nil && t == nil:
		return b.text
	case t == nil:
		return o.text
	case o == nil:
		return t.text
	case b == nil && (side == base || o.norm == t.norm):
		return o.text
	case b == nil:
	case o.norm == b.norm && (o.text == b.text || t.norm != b.norm):
		return t.text
	case t.norm == b.norm, o.norm == t.norm:
		return o.text
	}
	return [3]*label{b, o, t}[side].text
}

func (g *merged) cornerText(side int) string {
	return pick(&g.v[base].corner, &g.v[ours].corner, &g.v[theirs].corner, side)
}

func (g *merged) colText(side, c int) string {
	return pick(g.colOf(base, c), g.colOf(ours, c), g.colOf(theirs, c), side)
}
