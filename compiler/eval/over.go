package eval

import (
	"errors"

	"fettle/compiler/plan"
)

// Column evaluates an expression over a grid of the caller's, on the final maps
// of a result. The values are copied out, one a cell; those outside `only` (nil:
// all count) are of no use. The error says that a
// range of validity was left.
func (p *Program) Column(res *Result, x *Expr, env *plan.Conditions, reference bool, only []bool) ([]float64, error) {
	w := p.worker()
	defer p.release(w)
	w.cur = res.Maps
	probe := &Result{}
	e := &mapEval{w: w, res: probe, cells: x.k.cells, opt: Options{Reference: reference}}
	var weight []float64
	if only != nil {
		weight = make([]float64, len(only))
		for i, yes := range only {
			if yes {
				weight[i] = 1
			}
		}
	}
	v, ok := e.column(x.k.node, x.k, env, nil, weight)
	if !ok {
		return nil, errors.New(probe.Fault.Reason)
	}
	out := make([]float64, x.k.cells.N())
	e.spread(out, v)
	return out, nil
}
