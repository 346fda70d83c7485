package importer

import (
	"slices"
	"strconv"
	"strings"

	"fettle/lang/unit"
)

// asMap writes a grid as a map.
func (j *job) asMap(g *region) string {
	if c := g.head[0]; c.number != "" {
		j.fault("E904", c, "%s stands where the names of the axes do", quote(c.text)).
			Hint("the first line has the columns' breakpoints behind a corner cell, as `throttle [%%] \\ rpm [rpm]`")
		return ""
	}
	label := g.rows[0][0]
	one := len(g.rows) == 1 && label.number == "" // over one axis: nothing, or a name, before the cells
	cols, okCols := j.points(g.head[1:], "column")
	rows, okRows := []cell(nil), true
	if !one {
		var side []cell
		for _, r := range g.rows {
			side = append(side, r[0])
		}
		rows, okRows = j.points(side, "row")
	}
	cells, okCells := j.cells(g)
	if !okCols || !okRows || !okCells {
		return ""
	}
	rowHead, colHead := j.corner(g.head[0], one)
	colAxis := j.axis(colHead, j.opt.Cols, cols, rows, rowHead, "columns", "--cols")
	rowAxis := Along{}
	if !one {
		rowAxis = j.axis(rowHead, j.opt.Rows, rows, cols, colHead, "rows", "--rows")
	}
	if j.errs.HasErrors() {
		return ""
	}
	if !one && rowAxis.Axis == colAxis.Axis {
		j.fault("E905", g.head[0], "`%s` stands for both axes", rowAxis.Axis).Hint("`--rows AXIS` and `--cols AXIS` name them")
		return ""
	}
	if c := g.head[0]; !one && !c.blank() && !strings.Contains(c.text, `\`) {
		if name := legal(headOf(c.text).name, "a"); name != rowAxis.Axis && name != colAxis.Axis {
			j.notef("the corner cell %s names neither axis and was passed over", quote(c.text))
		}
	}
	called := j.title
	if one && !label.blank() {
		called = headOf(label.text)
	}
	j.out.Name = j.name(called.name)
	unitText, ok := j.mapUnit(called, g, label)
	if !ok {
		return ""
	}
	j.out.Unit, j.out.Rows, j.out.Columns = unitText, len(g.rows), len(cols)
	if one {
		j.out.Axes = []Along{colAxis}
		j.said = append(j.said, "a map over the axis "+colAxis.String())
	} else {
		j.out.Axes = []Along{rowAxis, colAxis}
		j.said = append(j.said, "a map: axis "+rowAxis.String()+" down the rows", colAxis.String()+" along the columns")
	}
	return j.writeMap(one, rowAxis, colAxis, rows, cols, cells)
}

// String is the axis with its unit.
func (a Along) String() string { return withUnit(a.Axis, a.Unit) }

func withUnit(name, unit string) string {
	if unit == "" {
		return name
	}
	return name + " [" + unit + "]"
}

// points reads breakpoints: numbers that rise, or fall and are turned round later.
func (j *job) points(cells []cell, what string) ([]cell, bool) {
	ok := true
	for _, c := range cells {
		switch {
		case c.number != "":
		case c.blank():
			j.fault("E904", c, "a %s without its breakpoint", what)
			ok = false
		default:
			j.notNumber(c, "a breakpoint")
			ok = false
		}
	}
	if !ok {
		return nil, false
	}
	up, down := 0, 0
	for i := 1; i < len(cells); i++ {
		a, b := cells[i-1], cells[i]
		switch x, y := value(a), value(b); {
		case x < y:
			up++
		case x > y:
			down++
		default:
			j.fault("E205", b, "the %s breakpoint %s stands twice", what, quote(b.text)).Note(a.span, "%s: the first", a.at())
			return nil, false
		}
		if up > 0 && down > 0 {
			j.fault("E205", b, "the %s breakpoint %s comes after %s, and those before it go the other way", what, quote(b.text), quote(a.text)).
				Hint("sort them, and their cells with them")
			return nil, false
		}
	}
	return cells, j.percents(cells)
}

func value(c cell) float64 {
	x, _ := strconv.ParseFloat(c.number, 64) // asNumber has read it already
	return x
}

// percents looks that all of some numbers have a per cent sign, or none.
func (j *job) percents(cells []cell) bool {
	var with, without *cell
	for i := range cells {
		switch c := &cells[i]; {
		case c.number == "":
		case c.percent && with == nil:
			with = c
		case !c.percent && without == nil:
			without = c
		}
	}
	if with != nil && without != nil {
		j.fault("E906", *with, "%s has a per cent sign, and %s (%s) has none", quote(with.text), quote(without.text), without.at()).
			Hint("write the sign on all of them, or on none and give the unit")
		return false
	}
	return true
}

// notNumber says why a cell is none.
func (j *job) notNumber(c cell, what string) {
	switch s, _ := bare(c.text); {
	case c.date || isDate(c.text):
		j.fault("E903", c, "%s is a date, where %s should be: a spreadsheet makes days of texts such as 1/5 and 1-5", quote(c.text), what).
			Hint("write the number that it was, and format the cell as a number")
	case c.fault && c.text == "":
		j.fault("E903", c, "a formula that was never computed, where %s should be", what).Hint("open the workbook, let it compute, and save it")
	case c.fault:
		j.fault("E903", c, "the formula gives %s, where %s should be", quote(c.text), what)
	default:
		d := j.fault("E903", c, "%s is not a number, where %s should be", quote(c.text), what)
		for _, decimal := range []byte(".,") {
			if n, _, ok := asNumber(s, decimal); ok {
				d.Hint("it is %s by another decimal mark than the rest of the file", n)
			}
		}
	}
}

// cells reads the cells of a grid; blanks stay.
func (j *job) cells(g *region) ([][]cell, bool) {
	var out [][]cell
	var all []cell
	ok, given := true, false
	for _, row := range g.rows {
		out = append(out, row[1:])
		for _, c := range row[1:] {
			switch {
			case c.number != "":
				given = true
				all = append(all, c)
			case !c.blank() && c.text != "_":
				j.notNumber(c, "a cell")
				ok = false
			}
		}
	}
	if ok && !given {
		j.fault("E904", g.rows[0][0], "the grid has no numbers under its breakpoints")
		ok = false
	}
	return out, ok && j.percents(all)
}

// corner reads the names of the axes from the corner cell.
func (j *job) corner(c cell, one bool) (rows, cols head) {
	first, second, two := strings.Cut(c.text, `\`)
	switch {
	case two:
		rows, cols = headOf(first), headOf(second)
	case one:
		return head{}, headOf(c.text)
	}
	return rows, cols
}

// axis settles one axis: by the flag, by the corner cell, or by the workspace's
// axes, where its breakpoints lie within the range of one alone.
func (j *job) axis(h head, flag string, points, other []cell, otherHead head, along, flagName string) Along {
	c := points[0]
	if flag != "" {
		h = headOf(flag)
	}
	fit := j.fitting(points, otherHead.name)
	if h.name == "" {
		switch {
		case len(fit) == 1:
			h.name = fit[0]
		case len(fit) == 0:
			j.fault("E905", c, "which axis runs along the %s, %s to %s? Neither the corner cell nor the workspace tells", along, points[0].number, points[len(points)-1].number).
				Hint("name it by `%s AXIS`", flagName)
		default:
			j.fault("E905", c, "which axis runs along the %s, %s to %s? It may be %s", along, points[0].number, points[len(points)-1].number, strings.Join(fit, " or ")).
				Hint("name it by `%s %s`", flagName, fit[0])
		}
		if len(fit) != 1 {
			return Along{}
		}
	}
	name := legal(h.name, "a")
	if name == "" {
		j.fault("E908", c, "%s can't name an axis", quote(h.name)).Hint("name it by `%s AXIS`", flagName)
		return Along{}
	}
	j.renamed(h.name, name)
	out := Along{Axis: name, Along: along}
	if h.unit != "" {
		var ok bool
		if out.Unit, ok = j.unit(h.unit, "rpm", c); !ok { // what an axis has a minute is turns
			return out
		}
	}
	if c.percent {
		if h.bracket && out.Unit != "%" {
			j.fault("E906", c, "the breakpoints have a per cent sign, and the head says [%s]", out.Unit)
			return out
		}
		out.Unit = "%"
	}
	j.known(&out, points)
	if !slices.ContainsFunc(j.opt.Axes, func(a Axis) bool { return a.Name == out.Axis }) && len(j.opt.Axes) > 0 {
		hint := ""
		if len(fit) == 1 && flag == "" {
			hint = ": if it is `" + fit[0] + "`, say `" + flagName + " " + fit[0] + "`"
		}
		j.notef("the workspace has no axis `%s`%s", out.Axis, hint)
	}
	return out
}

// fitting lists the workspace's axes in whose range breakpoints lie.
func (j *job) fitting(points []cell, other string) []string {
	var fit []string
	lo, hi := bounds(points)
	for _, a := range j.opt.Axes {
		if a.Lo <= lo && hi <= a.Hi && a.Name != other {
			fit = append(fit, a.Name)
		}
	}
	return fit
}

// known holds an axis against that of the workspace.
func (j *job) known(out *Along, points []cell) {
	at := slices.IndexFunc(j.opt.Axes, func(a Axis) bool { return a.Name == out.Axis })
	if at < 0 {
		return
	}
	a := j.opt.Axes[at]
	conv := func(x float64) float64 { return x }
	if out.Unit == "" {
		out.Unit = a.Unit.Text
	} else {
		u, _ := unit.Parse(out.Unit)
		c, err := unit.NewConv(u, a.Unit)
		if err != nil {
			j.fault("E905", points[0], "axis `%s` of the workspace is in [%s], and this one in [%s]", a.Name, a.Unit.Text, out.Unit)
			return
		}
		conv = c.Apply
	}
	lo, hi := bounds(points)
	if conv(lo) < a.Lo || conv(hi) > a.Hi {
		j.notef("its breakpoints go beyond the workspace's axis `%s`", a.Name)
	}
}

func bounds(points []cell) (lo, hi float64) {
	lo, hi = value(points[0]), value(points[len(points)-1])
	return min(lo, hi), max(lo, hi)
}

// mapUnit settles the unit of the cells.
func (j *job) mapUnit(called head, g *region, label cell) (string, bool) {
	percent, at := false, label
	for _, row := range g.rows {
		for _, c := range row[1:] {
			if c.percent {
				percent, at = true, c
			}
		}
	}
	text, given := j.opt.Unit, j.opt.Unit != ""
	if !given && called.bracket {
		text, given = called.unit, true
	}
	if given {
		u, ok := j.unit(text, called.name, label)
		if ok && percent && u != "%" {
			j.fault("E906", at, "%s has a per cent sign, and the map is in [%s]", quote(at.text), u)
			ok = false
		}
		return u, ok
	}
	if percent {
		return "%", true
	}
	j.notef("the cells have no unit: `--unit UNIT` gives them one")
	return "", true
}

// writeMap writes the declaration; what falls is turned round.
func (j *job) writeMap(one bool, rowAxis, colAxis Along, rows, cols []cell, cells [][]cell) string {
	falls := func(points []cell) bool { return len(points) > 1 && value(points[0]) > value(points[1]) }
	if falls(rows) {
		j.notef("the rows' breakpoints fell and were turned round")
		rows, cells = slices.Clone(rows), slices.Clone(cells)
		slices.Reverse(rows)
		slices.Reverse(cells)
	}
	if falls(cols) {
		j.notef("the columns' breakpoints fell and were turned round")
		cols = slices.Clone(cols)
		slices.Reverse(cols)
		for i, row := range cells {
			cells[i] = slices.Clone(row)
			slices.Reverse(cells[i])
		}
	}
	var b strings.Builder
	b.WriteString("map " + withUnit(j.out.Name, j.out.Unit) + " {\n")
	if !one {
		b.WriteString(j.headText(rowAxis) + ` \ `)
	}
	b.WriteString(j.headText(colAxis) + " |")
	for _, c := range cols {
		b.WriteString(" " + c.number)
	}
	for r, row := range cells {
		b.WriteByte('\n')
		if !one {
			b.WriteString(rows[r].number)
		}
		b.WriteString(" |")
		for _, c := range row {
			if c.number == "" {
				b.WriteString(" _")
			} else {
				b.WriteString(" " + c.number)
			}
		}
	}
	b.WriteString("\n}\n")
	return b.String()
}

// headText is an axis in a grid's head: with its unit only where that isn't the
// one that the workspace says.
func (j *job) headText(a Along) string {
	for _, k := range j.opt.Axes {
		if k.Name != a.Axis {
			continue
		}
		if u, err := unit.Parse(a.Unit); err == nil && u.Same(k.Unit) || a.Unit == k.Unit.Text {
			return a.Axis
		}
	}
	return withUnit(a.Axis, a.Unit)
}
