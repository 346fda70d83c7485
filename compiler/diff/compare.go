package diff

import (
	"fmt"
	"math"
	"slices"

	"fettle/compiler/grid"
	"fettle/lang/unit"
)

// Compare compares two sides map by map, without attribution.
func Compare(old, new *Side) *Pair {
	p := &Pair{Old: old, New: new, Labels: [2]string{"A", "B"}}
	if old.Name == new.Name {
		p.Labels = [2]string{"old", "new"}
	}
	if old.Conditions != nil && new.Conditions != nil {
		p.Conditions = conditionDiffs(old.Conditions, new.Conditions)
	}
	if old.file && new.file {
		a, b := old.Tables[0], new.Tables[0]
		m := compareTables(a, b)
		if a.Map != b.Map {
			m.Notes = append([]string{fmt.Sprintf("other names: `%s` on one side, `%s` on the other; make sure that they are the same map", a.Map, b.Map)}, m.Notes...)
		}
		p.Maps = []*MapDiff{m}
		return p
	}
	oldTables, newTables := old.tablesFor(new), new.tablesFor(old)
	byName := map[string]*Table{}
	for _, t := range newTables {
		byName[t.Map] = t
	}
	seen := map[string]bool{}
	for _, t := range oldTables {
		seen[t.Map] = true
		if other := byName[t.Map]; other != nil {
			p.Maps = append(p.Maps, compareTables(t, other))
		} else {
			p.OldOnly = append(p.OldOnly, t.Map)
		}
	}
	for _, t := range newTables {
		if !seen[t.Map] {
			p.NewOnly = append(p.NewOnly, t.Map)
		}
	}
	return p
}

// tablesFor is a side's tables; beside a single file, the one of its name if
// there is one.
func (s *Side) tablesFor(other *Side) []*Table {
	if other.file && !s.file {
		for _, t := range s.Tables {
			if t.Map == other.Tables[0].Map {
				return []*Table{t}
			}
		}
	}
	return s.Tables
}

func conditionDiffs(old, new []Condition) []ConditionDiff {
	find := func(list []Condition, name string) (string, bool) {
		for _, c := range list {
			if c.Name == name {
				return c.Value, true
			}
		}
		return "", false
	}
	var out []ConditionDiff
	for _, c := range old {
		if v, _ := find(new, c.Name); v != c.Value {
			out = append(out, ConditionDiff{c.Name, c.Value, v})
		}
	}
	for _, c := range new {
		if _, ok := find(old, c.Name); !ok {
			out = append(out, ConditionDiff{c.Name, "", c.Value})
		}
	}
	return out
}

// compareTables compares two tables cell by cell: on their breakpoints where
// they are the same, else on the union of them.
func compareTables(old, new *Table) *MapDiff {
	m := &MapDiff{Map: old.Map, Unit: old.Unit, HasUnit: old.HasUnit, Rows: old.Rows, Cols: old.Cols, res: old.Res, decimals: -1}
	if !m.HasUnit && new.HasUnit {
		m.Unit, m.HasUnit = new.Unit, true
	}
	kind := kindOf(m.Unit, m.HasUnit)
	m.ChangeUnit = kind.change
	same := old.same(new)
	if !same {
		old.round()
		new.round()
	}
	written := new
	if new = m.inOldUnits(old, new); new == nil {
		return m
	}
	if old.decimals() >= 0 && new.decimals() >= 0 {
		m.decimals = max(old.decimals(), new.decimals())
	}
	for i, note := range []string{old.Note, new.Note} {
		if note != "" && (i == 0 || note != old.Note) {
			m.Notes = append(m.Notes, note)
		}
	}
	if !slices.Equal(old.Rows.Points, new.Rows.Points) || !slices.Equal(old.Cols.Points, new.Cols.Points) {
		m.Notes = append(m.Notes, otherBreakpoints(old, new))
		if old.Rows.Points != nil {
			m.Rows.Points = grid.Union(old.Rows.Points, new.Rows.Points)
		}
		m.Cols.Points = grid.Union(old.Cols.Points, new.Cols.Points)
		if !old.Res.Set() || !new.Res.Set() {
			m.decimals = -1 // what is looked up between has others
		}
	}
	if same { // as most are in most pairs
		m.Total, m.same = len(old.Exact), old
		return m
	}
	a, b := m.printed(old), m.printed(new)
	ea, eb := a, b
	if old.Exact != nil && new.Exact != nil {
		ea, eb = m.sample(old.table(old.Exact)), m.sample(new.table(new.Exact))
	}
	m.Total, m.old = len(a), a
	nc := len(m.Cols.Points)
	for i := range a {
		if x := math.Abs(a[i]); x > m.largest {
			m.largest = x
		}
		if a[i] == b[i] {
			continue
		}
		if x := math.Abs(b[i]); x > m.largest {
			m.largest = x
		}
		c := CellDiff{Row: i / nc, Col: i % nc, Old: a[i], New: b[i], Change: changeOf(a[i], b[i]), Exact: bounded(eb[i] - ea[i])}
		if kind.shares && c.Old != 0 {
			c.Share, c.HasShare = bounded(c.Change/math.Abs(c.Old)), true
		}
		m.Cells = append(m.Cells, c)
	}
	if len(m.Cells) == 0 {
		m.Reshaped = otherShape(old, written)
	}
	m.summarize()
	return m
}

// same says whether two computed tables are the same before they are rounded.
func (t *Table) same(o *Table) bool {
	axes := func(a, b Axis) bool { return a.Name == b.Name && a.Unit == b.Unit && slices.Equal(a.Points, b.Points) }
	return t.Exact != nil && o.Exact != nil && t.Res == o.Res && t.HasUnit && o.HasUnit && t.Unit == o.Unit && axes(t.Rows, o.Rows) && axes(t.Cols, o.Cols) &&
		slices.Equal(t.Exact, o.Exact)
}

// otherShape says how two tables are written differently whatever their cells
// are; "" where they aren't, or that can't be told.
func otherShape(old, new *Table) string {
	switch {
	case !slices.Equal(old.Rows.Points, new.Rows.Points) || !slices.Equal(old.Cols.Points, new.Cols.Points):
		return fmt.Sprintf("other breakpoints, %s (were %s)", sizeText(new), sizeText(old))
	case old.HasUnit && new.HasUnit && old.Unit != new.Unit:
		return fmt.Sprintf("in [%s] (was [%s])", new.Unit, old.Unit)
	case old.Rows.Unit != new.Rows.Unit || old.Cols.Unit != new.Cols.Unit:
		return "an axis is in another unit"
	case old.Exact != nil && new.Exact != nil && old.Res != new.Res:
		return "another resolution"
	}
	return ""
}

func sizeText(t *Table) string {
	if t.Rows.Points == nil {
		return fmt.Sprint(len(t.Cols.Points))
	}
	return fmt.Sprintf("%d by %d", len(t.Rows.Points), len(t.Cols.Points))
}

// sameValue is the printed value of a cell, for one that is the same on both
// sides.
func (m *MapDiff) sameValue(row, col int) string {
	return m.ValueText(m.Before()[row*len(m.Cols.Points)+col])
}

// printed is a table's printed values on the compared cells. They are not to be
// changed.
func (m *MapDiff) printed(t *Table) []float64 {
	if m.atPlace {
		return m.printedAt(t)
	}
	if m.hasPoints(t) {
		return t.Cells
	}
	v := m.sample(t.table(t.Cells))
	for i, x := range v {
		v[i] = t.Res.Round(x)
	}
	return v
}

// hasPoints says whether a table's breakpoints are those of the compared cells.
func (m *MapDiff) hasPoints(t *Table) bool {
	return slices.Equal(t.Cols.Points, m.Cols.Points) && slices.Equal(t.Rows.Points, m.Rows.Points)
}

// sample looks a table up at the compared cells; at its own breakpoints that
// is its own cells, which are not to be changed.
func (m *MapDiff) sample(t grid.Table) []float64 {
	if slices.Equal(t.Cols, m.Cols.Points) && slices.Equal(t.Rows, m.Rows.Points) {
		return t.Cells
	}
	rows := []grid.Knot{{}}
	if t.Rows != nil {
		rows = grid.KnotsOf(t.Rows, m.Rows.Points)
	}
	return t.Gather(make([]float64, 0, len(rows)*len(m.Cols.Points)), rows, grid.KnotsOf(t.Cols, m.Cols.Points))
}

func (t *Table) table(cells []float64) grid.Table {
	return grid.Table{Rows: t.Rows.Points, Cols: t.Cols.Points, Cells: cells}
}

func otherBreakpoints(old, new *Table) string {
	which := ""
	switch rows := !slices.Equal(old.Rows.Points, new.Rows.Points); {
	case rows && !slices.Equal(old.Cols.Points, new.Cols.Points):
		which = "both axes"
	case rows:
		which = "`" + old.Rows.Name + "`"
	default:
		which = "`" + old.Cols.Name + "`"
	}
	return "other breakpoints on " + which + ": both sides are looked up on all of them"
}

// inOldUnits brings the new table to the units of the old one. Nil, with a
// problem, where the two can't be compared.
func (m *MapDiff) inOldUnits(old, new *Table) *Table {
	refuse := func(format string, args ...any) *Table {
		m.Problem = fmt.Sprintf(format, args...)
		return nil
	}
	if old.Rows.Name != new.Rows.Name || old.Cols.Name != new.Cols.Name || (old.Rows.Points == nil) != (new.Rows.Points == nil) {
		return refuse("other axes: %s on one side, %s on the other", axesText(old), axesText(new))
	}
	out := *new
	for _, a := range []struct {
		old Axis
		new *Axis
	}{{old.Rows, &out.Rows}, {old.Cols, &out.Cols}} {
		if a.old.Unit == a.new.Unit {
			continue
		}
		c, err := convert(a.new.Unit, a.old.Unit)
		if err != nil {
			return refuse("axis `%s` is in [%s] on one side and in [%s] on the other", a.old.Name, a.old.Unit, a.new.Unit)
		}
		a.new.Points = applyAll(c, a.new.Points)
		a.new.Unit = a.old.Unit
		m.Notes = append(m.Notes, fmt.Sprintf("`%s` is in [%s] on one side only: compared in [%s]", a.old.Name, a.old.Unit, a.old.Unit))
	}
	if !old.HasUnit || !new.HasUnit || old.Unit == new.Unit {
		return &out
	}
	c, err := convert(new.Unit, old.Unit)
	if err != nil {
		return refuse("in [%s] on one side and in [%s] on the other", old.Unit, new.Unit)
	}
	if c.IsIdentity() {
		return &out
	}
	m.Notes = append(m.Notes, fmt.Sprintf("in [%s] on the other side: compared in [%s]", new.Unit, old.Unit))
	out.Res, out.uniform = grid.Res{}, 0 // its step is of the other unit
	out.Cells = applyAll(c, new.Cells)
	for i, x := range out.Cells {
		out.Cells[i] = out.Res.Round(x)
	}
	if new.Exact != nil {
		out.Exact = applyAll(c, new.Exact)
	}
	return &out
}

func axesText(t *Table) string {
	if t.Rows.Points == nil {
		return "`" + t.Cols.Name + "`"
	}
	return "`" + t.Rows.Name + ` \ ` + t.Cols.Name + "`"
}

func convert(from, to string) (unit.Conv, error) {
	f, err := readUnit(from)
	if err != nil {
		return unit.Conv{}, err
	}
	t, err := readUnit(to)
	if err != nil {
		return unit.Conv{}, err
	}
	return unit.NewConv(f, t)
}

func applyAll(c unit.Conv, list []float64) []float64 {
	if list == nil {
		return nil
	}
	out := make([]float64, len(list))
	for i, x := range list {
		out[i] = c.Apply(x)
	}
	return out
}

// summarize works out the summary of the cells that differ. The worst of them is
// the one of the largest change by its amount: a large share is often that of a
// small value, of which the rounding alone is a good part. Which cell has the
// largest share is kept beside it.
func (m *MapDiff) summarize() {
	if len(m.Cells) == 0 {
		return
	}
	s := &m.Summary
	n := float64(len(m.Cells))
	s.HasShare = true
	for i, c := range m.Cells {
		if math.Abs(c.Change) > math.Abs(m.Cells[s.Worst].Change) {
			s.Worst = i
		}
		if math.Abs(c.Share) > math.Abs(m.Cells[s.WorstShare].Share) {
			s.WorstShare = i
		}
		if i == 0 {
			s.Min, s.Max, s.MinShare, s.MaxShare = c.Change, c.Change, c.Share, c.Share
		}
		s.Min, s.Max = min(s.Min, c.Change), max(s.Max, c.Change)
		s.MinShare, s.MaxShare = min(s.MinShare, c.Share), max(s.MaxShare, c.Share)
		s.Mean += c.Change / n
		s.MeanShare += c.Share / n
		s.HasShare = s.HasShare && c.HasShare
	}
	if !s.HasShare {
		s.MinShare, s.MaxShare, s.MeanShare, s.WorstShare = 0, 0, 0, 0
	}
}

// weightOf is how much a map's worst change, by its amount, is of its largest
// value, to put maps of different units in an order.
func (m *MapDiff) weightOf() float64 {
	switch {
	case m.Problem != "":
		return math.Inf(1)
	case len(m.Cells) == 0 || m.largest == 0:
		return 0
	}
	return math.Abs(m.Cells[m.Summary.Worst].Change) / m.largest
}
