package eval

import (
	"math"
	"slices"

	"fettle/compiler/check"
	"fettle/compiler/plan"
	"fettle/lang/formula"
)

// step is one adjustment lowered.
type step struct {
	*check.Step
	amount, where *kernel
	when          condition
	always        *weights    // where the ranges are the same in every tune; nil where not
	rows          []bool      // for each range: it is of the rows' axis
	ends          []value     // for each range: lo, hi, feather
	known         [][]float64 // for each range: its weights, where they are the same in every tune
	ones          []one
	factor        *factor
	joined        *kernel // amount, mask and change in one; nil where they aren't
	scales        bool    // multiplies the whole map by a number of the conditions
}

// condition is a `when`, pooled.
type condition struct {
	node *formula.Node // nil: always
	value
	ones []one
}

// value is a number in the pool; -1 for none.
type value int32

func (p *Program) value(n *formula.Node) value {
	if n == nil {
		return -1
	}
	return value(p.pool.add(n))
}

func (p *Program) condition(n *formula.Node) condition {
	p.mu.Lock()
	defer p.mu.Unlock()
	c := condition{node: n, value: p.value(n)}
	c.ones = p.pool.ones
	return c
}

// holds decides a condition. Where the pooled value can't be trusted to decide,
// the exact way says why not.
func (w *worker) holds(c *condition, env *plan.Conditions) (bool, error) {
	switch {
	case env == nil:
		return false, nil
	case c.node == nil:
		return true, nil
	}
	if v, ok := w.frame(env, len(c.ones)).get(c.ones, int32(c.value)); ok {
		return v != 0, nil
	}
	return formula.Decide(c.node, env)
}

func (p *Program) lowerStep(s *check.Step) *step {
	c := p.cells[s.Map.Index]
	out := &step{Step: s, amount: p.lower(s.Amount, c), where: p.lower(s.Where, c)}
	if s.Rule != nil {
		out.when = p.condition(s.Rule.When)
	}
	p.lowerRanges(out, c)
	out.factor = constantFactor(out, c)
	from := out.amount.slots[out.amount.out].from
	out.joined = p.join(out, c)
	out.scales = s.Op == "*=" && len(s.Over) == 0 && out.where == nil && len(out.amount.code) == 0 && from == pooled
	return out
}

func (p *Program) lowerRanges(s *step, c *Cells) {
	if len(s.Over) == 0 {
		s.always = everywhere(c)
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	always := true
	var ranges []ends
	for i := range s.Over {
		over := &s.Over[i]
		s.rows = append(s.rows, over.Axis == c.RowAxis)
		constant := true
		for _, n := range []*formula.Node{over.Lo, over.Hi, over.Feather} {
			s.ends = append(s.ends, p.value(n))
			constant = constant && (n == nil || n.Givens == 0)
		}
		e, known := ends{}, []float64(nil)
		if constant {
			var err error
			e, err = endsOf(over, (*plan.Conditions)(nil))
			if constant = err == nil && e.wrong() == ""; constant {
				known = make([]float64, len(c.points(over.Axis)))
				e.weights(known, c.points(over.Axis))
			}
		}
		always = always && constant
		ranges, s.known = append(ranges, e), append(s.known, known)
	}
	s.ones = p.pool.ones
	if always {
		s.always = &weights{}
		s.always.weigh(ranges, s.known, s.rows, c)
		s.always.flatten(c)
		s.always.fill(len(c.Cols))
	}
}

// weights gives a step's weights in a tune.
func (e *mapEval) weights(s *step, env *plan.Conditions) (*weights, bool) {
	if s.always != nil {
		return s.always, true
	}
	w := e.w
	f := w.frame(env, len(s.ones))
	ranges := w.ranges[:0]
	for i := range s.Over {
		over := &s.Over[i]
		one := ends{hasLo: over.Lo != nil, hasHi: over.Hi != nil}
		good := true
		for k, dst := range [...]*float64{&one.lo, &one.hi, &one.feather} {
			if id := s.ends[3*i+k]; id >= 0 {
				v, ok := f.get(s.ones, int32(id))
				*dst, good = v, good && ok
			}
		}
		if !good {
			var err error
			if one, err = endsOf(over, env); err != nil {
				return nil, e.fault(-1, s.Step, over.Span, "%v", err)
			}
		}
		if msg := one.wrong(); msg != "" {
			return nil, e.fault(-1, s.Step, over.Span, "%s", msg)
		}
		ranges = append(ranges, one)
	}
	w.ranges = ranges
	out := &w.weights
	if e.trace != nil {
		out = &weights{} // the chain keeps it
	}
	out.weigh(ranges, s.known, s.rows, e.cells)
	if e.joins(s, out) {
		out.flatten(e.cells)
	} else {
		out.fill(len(e.cells.Cols))
	}
	return out, true
}

// factor is what a step multiplies its area by, in every tune the same.
type factor struct {
	cells []float64
	area  span
}

// constantFactor works out the factor of a step whose amount and weights are the
// same in every tune. Cell by cell it is the arithmetic of adjust.
func constantFactor(s *step, c *Cells) *factor {
	k := s.amount
	if s.always == nil || s.where != nil || k.never || k.slots[k.out].from != fixed {
		return nil
	}
	var at func(a, w float64) float64
	switch {
	case s.Op == "*=":
		at = func(a, w float64) float64 {
			if w == 1 {
				return a
			}
			return 1 + float64(w*(a-1))
		}
	case s.Op == "+=" && s.Relative:
		at = func(a, w float64) float64 { return 1 + float64(w*a) }
	case s.Op == "-=" && s.Relative:
		at = func(a, w float64) float64 { return 1 - float64(w*a) }
	default:
		return nil
	}
	f := &factor{area: s.always.area}
	a := c.column(k.slots[k.out].fixed, k.slots[k.out].shape)
	for r := f.area.r0; r < f.area.r1; r++ {
		for col := f.area.c0; col < f.area.c1; col++ {
			f.cells = append(f.cells, at(a.At(r, col), s.always.at(r, col)))
		}
	}
	return f
}

// throws says whether a step can throw away what was done before it.
func throws(s *check.Step) bool { return s.Op == "=" && !s.Self }

// trimsOf finds the lowered trims of a map, in the order that the mix gives.
func (p *Program) trimsOf(trims []*check.Step, m int) []*step {
	if !slices.ContainsFunc(trims, func(s *check.Step) bool { return s.Map.Index == m }) {
		return nil
	}
	var out []*step
	for _, s := range trims {
		if s.Map.Index == m {
			out = append(out, p.trims[s])
		}
	}
	return out
}

// adjust is the meaning of the five adjustments at a weight in (0, 1], for one
// cell. At full weight the plain operation is used, so that nothing is lost to
// rounding. The whole-column ways are held to this one.
func adjust(s *check.Step, old, a, w float64) float64 {
	switch s.Op {
	case "=":
		if w == 1 {
			return a
		}
		return old + float64(w*(a-old))
	case "+=":
		if s.Relative {
			return old * (1 + float64(w*a))
		}
		return old + float64(w*a)
	case "-=":
		if s.Relative {
			return old * (1 - float64(w*a))
		}
		return old - float64(w*a)
	case "*=":
		if w == 1 {
			return old * a
		}
		return old * (1 + float64(w*(a-1)))
	case "/=":
		if w == 1 {
			return old / a
		}
		return old * (1 + float64(w*(1/a-1)))
	}
	return math.NaN()
}
