package prove

import (
	"math"

	"fettle/compiler/eval"
	"fettle/compiler/grid"
	"fettle/compiler/plan"
	"fettle/lang/formula"
)

// spot is a tune at some conditions, to be looked at in any place a point at a time:
// it answers what expr's machine asks.
type spot struct {
	*plan.Conditions
	l       *limitCode
	res     *eval.Result
	at      [2]float64
	problem string // why the tune fails
	when    bool
	*machines
}

// machines are a limit's expressions for expr's machine.
type machines struct {
	where *formula.VM
	parts []struct{ left, right, cond *formula.VM }
}

// machines gives them, made once; nil where expr refuses one.
func (p *proving) machines() *machines {
	if p.vms != nil {
		return p.vms
	}
	good := true
	vm := func(n *formula.Node) *formula.VM {
		if n == nil {
			return nil
		}
		m, err := formula.CompileVM(n)
		good = good && err == nil
		return m
	}
	m := &machines{where: vm(p.l.Where)}
	for _, q := range p.l.parts {
		m.parts = append(m.parts, struct{ left, right, cond *formula.VM }{vm(q.Left), vm(q.Right), vm(q.Cond)})
	}
	if !good {
		return nil
	}
	p.vms = m
	return m
}

// spot computes a tune at some conditions; nil where expr refuses an expression.
func (p *proving) spot(values []float64, reference bool) *spot {
	env := p.at(values)
	s := &spot{Conditions: env, l: p.l, res: p.x.p.Tune(p.mix(env), p.options(p.l, reference)), when: true}
	if s.res.Fault != nil {
		s.problem = s.res.Fault.Reason
		return s
	}
	if p.l.When != nil {
		var err error
		if s.when, err = formula.Decide(p.l.When, env); err != nil {
			s.problem = err.Error()
			return s
		}
	}
	if s.machines = p.machines(); s.machines == nil {
		return nil
	}
	return s
}

// look looks at a place.
func (s *spot) look(values []float64, at [2]float64) found {
	s.at = at
	f := found{values: values, part: -1, room: math.Inf(1)}
	if !s.when {
		return f
	}
	value := func(m *formula.VM) float64 {
		if m == nil || f.problem != "" {
			return 0
		}
		x, err := m.Eval(s)
		if err != nil {
			f.problem = err.Error()
		}
		return x
	}
	if s.where != nil && value(s.where) == 0 && f.problem == "" {
		return f
	}
	for i := range s.parts {
		p := &s.l.parts[i]
		if p.Cond != nil {
			f.meet(i, p, value(s.parts[i].cond), 0, at)
			continue
		}
		x, y := value(s.parts[i].left), value(s.parts[i].right)
		if f.problem == "" && (x-x != 0 || y-y != 0) {
			f.problem = notFinite
		}
		f.meet(i, p, x, y, at)
	}
	if f.problem != "" {
		f = found{values: values, at: at, seen: true, broken: true, part: -1, problem: f.problem}
	}
	return f
}

// failing finds a place where the limit itself has no value.
func (s *spot) failing(values []float64) found {
	g := s.l.looks.cells
	for r := range nrows(g) {
		for _, x := range g.Cols {
			at := [2]float64{0, x}
			if g.RowAxis >= 0 {
				at[0] = g.Rows[r]
			}
			if f := s.look(values, at); f.problem != "" {
				return f
			}
		}
	}
	return found{}
}

// Axis implements formula.Cell.
func (s *spot) Axis(axis int) float64 {
	if axis == s.l.cells.RowAxis {
		return s.at[0]
	}
	return s.at[1]
}

// Map implements formula.Cell.
func (s *spot) Map(m int) float64 {
	t, axes := &s.res.Maps[m], s.Program.Maps[m].Axes
	if len(axes) == 1 {
		return t.Lookup(s.Axis(axes[0]))
	}
	return t.Lookup2(s.Axis(axes[0]), s.Axis(axes[1]))
}

// Lookup implements formula.Cell.
func (s *spot) Lookup(m int, at ...float64) float64 {
	if len(at) == 1 {
		return s.res.Maps[m].Lookup(at[0])
	}
	return s.res.Maps[m].Lookup2(at[0], at[1])
}

// Step implements formula.Cell.
func (s *spot) Step(m, axis int) float64 {
	here, was := s.Map(m), s.at
	k, points := 1, s.l.cells.Cols
	if axis == s.l.cells.RowAxis {
		k, points = 0, s.l.cells.Rows
	}
	s.at[k] = points[min(grid.Find(points, s.at[k]).I+1, len(points)-1)]
	next := s.Map(m)
	s.at = was
	return math.Abs(next - here)
}
