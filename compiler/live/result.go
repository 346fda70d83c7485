package live

import (
	"math"
	"strconv"

	"fettle/compiler/check"
	"fettle/compiler/grid"
	"fettle/compiler/workbook"
	"fettle/lang/elementary"
)

func nameUnit(m *check.Map) string { return grid.AxisHead{Name: m.Name, Unit: m.Unit.Text}.String() }

// corner names a map's axes.
func (b *builder) corner(m *check.Map) string {
	head := func(i int) string {
		a := b.p.Axes[m.Axes[i]]
		return grid.AxisHead{Name: a.Name, Unit: a.Unit.Text}.String()
	}
	if len(m.Axes) == 1 {
		return head(0)
	}
	return head(0) + ` \ ` + head(1)
}

// finish writes a map's result, as computed and as written, and holds it to what
// was compiled.
func (b *builder) finish(m *check.Map, last *block) {
	x := b.expr(m, nil, b.result)
	b.final[m.Index] = x.draw(full(m), m.Name+" as computed", m.Unit.Text, plain, func(r, c int) term {
		return term{last.ref(b.result, r, c), atom, last.at(r, c)}
	})
	final := b.final[m.Index]
	look := workbook.Look{Decimals: m.Res.Decimals(), Whole: m.Res.Set()}
	k := x.draw(full(m), m.Name+" as written", m.Unit.Text, look, func(r, c int) term {
		return rounded(m.Res, term{final.ref(b.result, r, c), atom, final.at(r, c)}, b.in.Result.Maps[m.Index].Cells[r*final.nc+c])
	})
	b.result.Shade(k.row, k.col, k.row+k.nr-1, k.col+k.nc-1)
	b.written[m.Index] = k
}

// rounded rounds a cell to a map's resolution. A spreadsheet rounds a half up and
// fettle to even, on the number as it is written; so for a cell that stands on a
// half, or so near that the last digit of the computation decides, the formula
// goes the way that the compiled value went.
func rounded(res grid.Res, t term, compiled float64) term {
	val := res.Round(t.val)
	away := math.Abs(res.Round(compiled)) > math.Abs(compiled)
	if !res.Set() {
		if t.val == 0 {
			return term{t.text, atom, 0}
		}
		digits := 5 - elementary.Decade(t.val)
		scale := math.Pow10(digits)
		if onHalf(t.val * scale) {
			return fixedWay(t, res.Round(compiled), away, digits)
		}
		return term{"IF(" + t.text + "=0,0,ROUND(" + t.text + ",5-INT(LOG10(ABS(" + t.text + ")))))", atom, val}
	}
	step := res.Step()
	if digits := res.Decimals(); step == 1/math.Pow10(digits) {
		if onHalf(t.val / step) {
			return fixedWay(t, res.Round(compiled), away, digits)
		}
		return term{"ROUND(" + t.text + "," + strconv.Itoa(digits) + ")", atom, val}
	}
	steps := t.text + "/" + number(step).text
	if onHalf(t.val / step) {
		down := term{"TRUNC(" + steps + ")*" + number(step).text, multiplies, res.Round(compiled)}
		if away {
			down.text = "(TRUNC(" + steps + ")+" + sign(t.val) + ")*" + number(step).text
		}
		return down
	}
	return term{"ROUND(" + steps + ",0)*" + number(step).text, multiplies, val}
}

// onHalf says whether a number of steps stands on a half, as far as a
// spreadsheet can tell.
func onHalf(steps float64) bool {
	s := math.Abs(steps)
	return math.Abs(s-math.Trunc(s)-0.5) < 1e-9*math.Max(1, s)
}

// fixedWay rounds a cell that stands on a half away from zero, or towards it.
func fixedWay(t term, val float64, away bool, digits int) term {
	name := "ROUNDDOWN"
	if away {
		name = "ROUNDUP"
	}
	return term{name + "(" + t.text + "," + strconv.Itoa(digits) + ")", atom, val}
}

func sign(x float64) string {
	if x < 0 {
		return "(-1)"
	}
	return "1"
}

// startCheck leaves room for the summary at the top of the sheet.
func (b *builder) startCheck() {
	b.check.heading("What fettle compiled, against the formulas", "the largest difference of any cell of each map, as written; all are zero")
	b.check.Width(2, 18)
	b.check.row++
}

// endCheck writes the summary and, for each map, the compiled values as plain
// numbers and the differences.
func (b *builder) endCheck() {
	s := b.check
	s.cells(head, "map", "largest difference", "unit")
	first := s.row
	s.row += len(b.p.Maps) + 1
	for i, m := range b.p.Maps {
		x := b.expr(m, nil, s)
		x.s.row++
		s.text(m.Name+" as compiled", bold)
		x.heads()
		k := &block{s: s, row: s.row, col: 2, nr: max(1, len(m.Base.Rows)), nc: len(m.Base.Cols)}
		look := workbook.Look{Decimals: m.Res.Decimals(), Whole: m.Res.Set()}
		for j, v := range b.in.Result.Maps[i].Cells {
			v = m.Res.Round(v)
			k.vals = append(k.vals, v)
			s.Number(k.row+j/k.nc, k.col+j%k.nc, v, look)
		}
		for r := range m.Base.Rows {
			s.Formula(k.row+r, 1, b.baseOf[i].side(s, r), m.Base.Rows[r], head)
		}
		s.row += k.nr
		w := b.written[i]
		d := x.draw(full(m), m.Name+": result minus compiled", m.Unit.Difference().Text, plain, func(r, c int) term {
			return term{w.ref(s, r, c) + "-" + k.ref(s, r, c), adds, w.at(r, c) - k.at(r, c)}
		})
		largest := 0.0
		for _, v := range d.vals {
			largest = math.Max(largest, math.Abs(v))
		}
		s.Text(first+i, 1, m.Name, plain)
		s.Formula(first+i, 2, "MAX(MAX("+d.all(s)+"),-MIN("+d.all(s)+"))", largest, plain)
		s.Text(first+i, 3, m.Unit.Difference().Text, plain)
	}
}
