package eval

import (
	"fettle/compiler/check"
	"fettle/compiler/plan"
	"fettle/lang/formula"
)

// weight gives the weight of each cell under a step's `over`; nil means 1
// everywhere. reach says for each range whether it touches any breakpoint.
func (e *mapEval) weight(s *check.Step, env *plan.Conditions) (weight []float64, reach []bool, ok bool) {
	if len(s.Over) == 0 {
		return nil, nil, true
	}
	nc := len(e.cells.Cols)
	weight = make([]float64, e.cells.N())
	for i := range weight {
		weight[i] = 1
	}
	for i := range s.Over {
		over := &s.Over[i]
		points, rows := e.cells.Cols, false
		if over.Axis == e.cells.RowAxis {
			points, rows = e.cells.Rows, true
		}
		ends, err := endsOf(over, env)
		if err != nil {
			return nil, nil, e.fault(-1, s, over.Span, "%v", err)
		}
		if msg := ends.wrong(); msg != "" {
			return nil, nil, e.fault(-1, s, over.Span, "%s", msg)
		}
		touched := false
		for j, x := range points {
			w := ends.weight(x)
			touched = touched || w > 0
			if w == 1 {
				continue
			}
			if rows {
				for c := range nc {
					weight[j*nc+c] *= w
				}
			} else {
				for r := range e.cells.nrows() {
					weight[r*nc+j] *= w
				}
			}
		}
		reach = append(reach, touched)
	}
	return weight, reach, true
}

// ends is a range with its feather, in the axis's unit.
type ends struct {
	lo, hi, feather float64
	hasLo, hasHi    bool
}

func endsOf(w *check.Weight, env formula.Conditions) (ends, error) {
	var out ends
	var err error
	get := func(n *formula.Node) float64 {
		if n == nil || err != nil {
			return 0
		}
		var v float64
		v, err = formula.Scalar(n, env)
		return v
	}
	out.lo, out.hasLo = get(w.Lo), w.Lo != nil
	out.hi, out.hasHi = get(w.Hi), w.Hi != nil
	out.feather = get(w.Feather)
	return out, err
}

// wrong says what makes a range unusable in this tune.
func (e ends) wrong() string {
	switch {
	case e.lo != e.lo || e.hi != e.hi || e.feather != e.feather:
		return "the range has an end that isn't a number"
	case e.hasLo && e.hasHi && e.lo > e.hi:
		return "the range ends before it begins"
	case e.feather < 0:
		return "the feather is negative"
	}
	return ""
}

// weight is 1 inside the range and falls to 0 over the feather outside it.
func (e ends) weight(x float64) float64 {
	switch {
	case e.hasLo && x < e.lo:
		return e.outside(e.lo - x)
	case e.hasHi && x > e.hi:
		return e.outside(x - e.hi)
	}
	return 1
}

// outside is the weight at a distance from the range. A breakpoint at the
// feather's end has none, also where 1 - 0.9 comes out a little less than 0.1.
func (e ends) outside(d float64) float64 {
	if w := 1 - d/e.feather; d < e.feather && w > 1e-12 {
		return w
	}
	return 0
}

// mask sets the weight to 0 where a `where` doesn't hold.
func (e *mapEval) mask(weight []float64, mask operand) []float64 {
	nc := len(e.cells.Cols)
	if weight == nil {
		weight = make([]float64, e.cells.N())
		for i := range weight {
			weight[i] = 1
		}
	}
	for r := range e.cells.nrows() {
		for c := range nc {
			if mask.at(r, c) == 0 {
				weight[r*nc+c] = 0
			}
		}
	}
	return weight
}

// clamp caps a map's cells between the bounds of a clamping limit.
func (e *mapEval) clamp(l *check.Limit, env *plan.Conditions) bool {
	cr := ClampResult{At: -1}
	defer func() { e.res.Clamps[l] = cr }()
	skip := env == nil
	if !skip && l.When != nil {
		v, err := formula.Decide(l.When, env)
		if err != nil {
			return e.fault(-1, nil, l.Span, "%v", err)
		}
		skip = !v
	}
	if skip {
		if e.trace != nil {
			e.trace.Steps = append(e.trace.Steps, StepTrace{Clamp: l})
		}
		return true
	}
	cr.Applied = true
	ck := e.w.p.clamps[l]
	t := &e.w.cur[e.m.Index]
	n := len(t.Cells)
	lo, hi, where := make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range n {
		where[i] = 1
	}
	for _, part := range []struct {
		node *formula.Node
		k    *kernel
		dst  []float64
	}{{l.Where, ck.where, where}, {l.Lo, ck.lo, lo}, {l.Hi, ck.hi, hi}} {
		if part.node == nil {
			continue
		}
		v, ok := e.column(part.node, part.k, env, nil, where)
		if !ok {
			return false
		}
		e.spread(part.dst, v)
		for i := range n {
			if where[i] == 0 {
				part.dst[i] = 0 // a bound that nothing asks for
			}
		}
		if !e.finite(part.dst, nil) {
			return false
		}
	}
	var weight []float64
	if e.trace != nil {
		weight = make([]float64, n)
	}
	for i := range n {
		if where[i] == 0 {
			continue
		}
		old, now := t.Cells[i], t.Cells[i]
		if l.Hi != nil && now > hi[i] {
			now = hi[i]
		}
		if l.Lo != nil && now < lo[i] {
			now = lo[i]
		}
		if now == old {
			continue
		}
		if over := max(old-now, now-old); cr.At < 0 || over > cr.Worst {
			cr.Worst, cr.At, cr.Before = over, i, old
		}
		cr.Cells++
		t.Cells[i] = now
		if weight != nil {
			weight[i] = 1
		}
	}
	if e.trace != nil {
		bound := hi
		if l.Hi == nil {
			bound = lo
		}
		e.trace.Steps = append(e.trace.Steps, StepTrace{Clamp: l, Applied: true, Amount: bound, Weight: weight, After: clone(t.Cells)})
	}
	return true
}

// RangeWeight is the weight that one range gives to a place on its axis.
func RangeWeight(w *check.Weight, env formula.Conditions, x float64) float64 {
	e, err := endsOf(w, env)
	if err != nil {
		return 0
	}
	return e.weight(x)
}
