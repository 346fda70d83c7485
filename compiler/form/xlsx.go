package form

import (
	"fmt"
	"strings"

	"fettle/compiler/emit"
	"fettle/compiler/grid"
	"fettle/compiler/table"
	"fettle/compiler/workbook"
)

var (
	title  = workbook.Look{Bold: true}
	head   = workbook.Look{Head: true}
	plain  = workbook.Look{}
	prose  = workbook.Look{Wrap: true}
	faint  = workbook.Look{Faint: true}
	legend = "Blue is the lowest value of a table, orange the highest."
)

// xlsx writes one workbook a tune: a sheet that tells what it is, and one for
// each table.
func xlsx(c *emit.Content) ([]emit.File, error) {
	b := workbook.New()
	first := b.Sheet("tune")
	names := make([]string, len(c.Tables))
	for i := range c.Tables {
		names[i] = tableSheet(b, &c.Tables[i])
	}
	tuneSheet(first, c, names)
	data, err := b.Bytes()
	if err != nil {
		return nil, err
	}
	return []emit.File{{Path: "tables.xlsx", Data: data}}, nil
}

// tableSheet adds a sheet of one table. The table stands under its head, in the
// shape of a CSV file.
func tableSheet(b *workbook.Book, t *table.Table) string {
	s := b.Sheet(t.Name)
	s.Text(1, 1, grid.AxisHead{Name: t.Name, Unit: t.Unit}.String(), title)
	s.Text(2, 1, strings.ReplaceAll(t.Doc, "\n", " "), faint)
	const top = 4
	s.Text(top, 1, t.Corner(), head)
	s.Width(1, float64(min(max(len(t.Corner())+2, 12), 40)))
	for c, x := range t.Cols.Points {
		s.Number(top, c+2, x, head)
	}
	look := workbook.Look{Decimals: t.Res.Decimals(), Whole: t.Res.Set()}
	if t.Storage != nil {
		look = decimalsOf(t)
	}
	for r := range t.NRows() {
		if t.Rows.Points != nil {
			s.Number(top+1+r, 1, t.Rows.Points[r], head)
		}
		for c, x := range t.Row(r) {
			s.Number(top+1+r, c+2, x, look)
		}
	}
	s.Shade(top+1, 2, top+t.NRows(), 1+len(t.Cols.Points))
	s.Fix(top+1, 2)
	return s.Name
}

// decimalsOf shows stored values with the decimals of their step and offset.
func decimalsOf(t *table.Table) workbook.Look {
	if t.Storage.Type == table.F32 {
		return plain
	}
	n := 0
	for _, x := range []float64{t.Storage.Step, t.Storage.Offset} {
		_, frac, _ := strings.Cut(grid.Exact(x), ".")
		n = max(n, len(frac))
	}
	return workbook.Look{Decimals: n, Whole: n == 0}
}

// tuneSheet tells what the workbook is: conditions, sheets, limits, cautions.
func tuneSheet(s *workbook.Sheet, c *emit.Content, names []string) {
	t := c.About
	row := 1
	next := func(look workbook.Look, texts ...string) {
		for i, text := range texts {
			if text != "" {
				s.Text(row, i+1, text, look)
			}
		}
		row++
	}
	name := t.Name
	if c.Target != "" {
		name += ", for " + c.Target
	}
	next(title, name)
	if t.Doc != "" {
		next(plain, strings.ReplaceAll(t.Doc, "\n", " "))
	}
	next(plain, "written by fettle "+t.Compiler)
	next(plain, "source "+t.Source.Digest)
	if t.Source.Revision != nil {
		changed := ""
		if t.Source.Dirty {
			changed = ", changed since"
		}
		next(plain, "revision "+*t.Source.Revision+changed)
	}
	row++
	next(title, "Cautions")
	for _, text := range t.Cautions {
		next(plain, text)
	}
	row++
	next(head, "condition", "value", "unit", "set by the tune")
	for _, x := range t.Conditions {
		set := "default"
		if x.Set {
			set = "yes"
		}
		if n, ok := x.Value.(emit.Number); ok {
			s.Number(row, 2, float64(n), plain)
			next(plain, x.Name, "", x.Unit, set)
			continue
		}
		next(plain, x.Name, x.Text, "", set)
	}
	row++
	next(head, "sheet", "table", "unit", "stored as")
	for i := range c.Tables {
		next(plain, names[i], c.Tables[i].Name, c.Tables[i].Unit, storedAs(&c.Tables[i]))
	}
	next(faint, legend)
	row++
	next(head, "limit", "what must hold", "how it came out", "nearest")
	for i := range t.Limits {
		next(prose, t.Limits[i].Name, t.Limits[i].Text, t.Limits[i].State, nearest(&t.Limits[i]))
	}
	s.Width(1, 24)
	s.Width(2, 56)
	s.Width(3, 18)
	s.Width(4, 56)
}

func storedAs(t *table.Table) string {
	switch s := t.Storage; {
	case s != nil && s.Type == table.F32:
		return "f32"
	case s != nil:
		return fmt.Sprintf("%s, value = %s + raw * %s", s.Type, grid.Exact(s.Offset), grid.Exact(s.Step))
	case t.Res.Set():
		return "to " + grid.Exact(t.Res.Step())
	}
	return "to six significant digits"
}

// nearest says which cell is nearest to a limit's bound.
func nearest(l *emit.Limit) string {
	w := l.Worst
	if w == nil {
		return l.Reason
	}
	var at []string
	for _, x := range w.At {
		at = append(at, x.Axis+" "+grid.Exact(float64(x.Value)))
	}
	text := "at " + strings.Join(at, ", ")
	if w.Value == nil || w.Bound == nil {
		return text
	}
	return strings.TrimSpace(grid.Exact(float64(*w.Value))+" "+w.Unit) + " for " + strings.TrimSpace(grid.Exact(float64(*w.Bound))+" "+w.Unit) + " " + text
}
