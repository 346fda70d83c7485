package check

import (
	"strconv"

	"fettle/compiler/grid"
	"fettle/compiler/resample"
	"fettle/lang/formula"
	"fettle/lang/syntax"
)

// MaxPoints is the most breakpoints that an axis of a target's table may have,
// and MaxPlaces the most places among which `auto` may choose.
const (
	MaxPoints = 256
	MaxPlaces = 256
)

// points settles the breakpoints of a table: those written, and of an axis that
// isn't named the map's own.
func (c *checker) points(t *TargetTable, d *syntax.TargetTable) bool {
	t.Axes = make([]resample.Axis, len(t.Map.Axes))
	for i := range t.Axes {
		t.Axes[i].Points = t.Map.points(i)
	}
	good := true
	seen := map[int]syntax.Name{}
	for _, ax := range d.Points {
		sym, ok := c.root.symbols[ax.Axis.Text]
		if !ok || sym.Kind != formula.SymAxis {
			if decl, declared := c.root.names.Table[ax.Axis.Text]; !declared || decl.Header().Keyword != "axis" {
				c.wanted(ax.Axis, "an axis", c.declared("axis"))
			}
			good = false
			continue
		}
		if first, twice := seen[sym.Index]; twice {
			c.errs.Add("E824", ax.Axis.Span, "the breakpoints of `%s` stand twice", ax.Axis.Text).Note(first.Span, "the first")
			good = false
			continue
		}
		seen[sym.Index] = ax.Axis
		k := -1
		for i, a := range t.Map.Axes {
			if a == sym.Index {
				k = i
			}
		}
		if k < 0 {
			c.errs.Add("E707", ax.Axis.Span, "map `%s` has no axis `%s`", t.Map.Name, ax.Axis.Text).Note(t.Map.decl.Name.Span, "`%s` is declared here", t.Map.Name)
			good = false
			continue
		}
		if ax.Auto != nil {
			good = c.auto(&t.Axes[k], ax, t.Map, k) && good
		} else {
			var ok bool
			t.Axes[k].Points, ok = c.written(ax, c.p.Axes[sym.Index])
			good = ok && good
		}
	}
	return good
}

// points gives the breakpoints of one of a map's axes.
func (m *Map) points(i int) []float64 {
	if i == 0 && len(m.Axes) == 2 {
		return m.Base.Rows
	}
	return m.Base.Cols
}

// written reads the breakpoints of one axis, one by one and in ranges.
func (c *checker) written(ax syntax.AxisPoints, a *Axis) ([]float64, bool) {
	var out []float64
	what := "a breakpoint of `" + a.Name + "`"
	for _, item := range ax.Items {
		var points []float64
		if item.Range == nil {
			x, ok := c.value(c.root, item.Value, a.Unit, what)
			if !ok {
				return nil, false
			}
			points = []float64{x}
		} else {
			lo, hi, ok := c.constRange(c.root, item.Range, a.Unit, "the range of breakpoints")
			by, fine := c.apart(item.By, a)
			if !ok || !fine {
				return nil, false
			}
			var meets bool
			points, meets = resample.Ladder(lo, hi, by, MaxPoints)
			if points == nil {
				c.tooMany(item, a)
				return nil, false
			}
			if !meets {
				c.errs.Add("E825", item.Span, "this range doesn't end on a step of %s: its last breakpoint would be %s", grid.Exact(by), grid.Exact(points[len(points)-1])).
					Hint("write an end that is a whole number of steps from %s", grid.Exact(lo))
				return nil, false
			}
		}
		for _, x := range points {
			if x < a.Lo || x > a.Hi {
				c.errs.Add("E605", item.Span, "the breakpoint %s is outside axis `%s`, %s..%s %s", grid.Exact(x), a.Name, grid.Exact(a.Lo), grid.Exact(a.Hi), a.Unit.Text).
					Note(a.Span, "its range")
				return nil, false
			}
			if n := len(out); n > 0 && x <= out[n-1] {
				d := c.errs.Add("E825", item.Span, "the breakpoint %s comes after %s: breakpoints ascend", grid.Exact(x), grid.Exact(out[n-1]))
				if x == out[n-1] {
					d.Message = "the breakpoint " + grid.Exact(x) + " stands twice"
				}
				return nil, false
			}
			out = append(out, x)
		}
		if len(out) > MaxPoints {
			c.tooMany(item, a)
			return nil, false
		}
	}
	return out, len(out) > 0
}

func (c *checker) tooMany(item syntax.PointItem, a *Axis) {
	c.errs.Add("E825", item.Span, "the table has more than %d breakpoints of `%s`", MaxPoints, a.Name).Hint("no controller takes so many; take a coarser step")
}

// apart reads how far apart breakpoints are.
func (c *checker) apart(e *syntax.Expr, a *Axis) (float64, bool) {
	what := "the step of `" + a.Name + "`"
	n := c.amountOf(formula.Compile(e, formula.Context{Scope: c.root, What: "a fixed value"}, c.errs), a.Unit, what)
	if n == nil || !c.bound(e, what) {
		return 0, false
	}
	by, ok := c.fixed(n, what)
	if ok && !(by > 0) {
		c.errs.Add("E825", e.Span, "breakpoints are more than nothing apart")
		return 0, false
	}
	return by, ok
}

// auto reads how many breakpoints are to be chosen, and lists the places among
// which they are: the map's own breakpoints, or the whole multiples of a step
// between the map's outermost, which must be among them.
func (c *checker) auto(p *resample.Axis, ax syntax.AxisPoints, m *Map, k int) bool {
	own := m.points(k)
	a := c.p.Axes[m.Axes[k]]
	n, err := 0, error(nil)
	if t := ax.Auto.Toks; len(t) == 1 && t[0].Kind == syntax.Number {
		n, err = strconv.Atoi(t[0].Text)
	}
	if err != nil || n < 2 || n > MaxPoints {
		c.errs.Add("E825", ax.Auto.Span, "`auto` takes a whole number of breakpoints, from 2 to %d", MaxPoints).Hint("as in `%s auto 12 by 250`", a.Name)
		return false
	}
	p.Points, p.Auto, p.Grid = nil, n, own
	if ax.By != nil {
		by, ok := c.apart(ax.By, a)
		if !ok {
			return false
		}
		lo, hi := own[0], own[len(own)-1]
		for _, end := range []float64{lo, hi} {
			if !resample.Multiple(end, by) {
				c.errs.Add("E825", ax.By.Span, "the breakpoints would be whole multiples of %s, and the outermost of `%s`, %s, is none", grid.Exact(by), m.Name, grid.Exact(end)).
					Hint("its outermost breakpoints are kept: take a step that both %s and %s are multiples of", grid.Exact(lo), grid.Exact(hi))
				return false
			}
		}
		if p.Grid, _ = resample.Ladder(lo, hi, by, MaxPlaces); p.Grid == nil {
			c.errs.Add("E825", ax.By.Span, "there are more than %d places from %s to %s to choose from", MaxPlaces, grid.Exact(lo), grid.Exact(hi)).Hint("take a coarser step")
			return false
		}
	}
	if n > len(p.Grid) {
		d := c.errs.Add("E825", ax.Auto.Span, "there are only %d places to choose %d breakpoints from", len(p.Grid), n)
		if ax.By == nil {
			d.Hint("without a `by` they are chosen among the breakpoints of `%s`", m.Name)
		} else {
			d.Hint("take a finer step, or fewer breakpoints")
		}
		return false
	}
	return true
}
