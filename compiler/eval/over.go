package eval

import (
	"errors"

	"fettle/compiler/plan"
)

// Probe evaluates expressions on the final maps of a result. It is for one
// goroutine, until it is closed.
type Probe struct {
	w     *worker
	opt   Options
	empty Result
}

// Probe begins to look at a result.
func (p *Program) Probe(res *Result, reference bool) *Probe {
	w := p.worker()
	w.cur = res.Maps
	return &Probe{w: w, opt: Options{Reference: reference}}
}

// Close ends it; the columns that it gave are no longer to be used.
func (p *Probe) Close() { p.w.p.release(p.w) }

// Columns of a probe stand in one of three places, each until that place is used
// again.
const (
	First  = memAmount
	Second = memWhere
	Third  = memMore
)

// Column evaluates an expression over a grid of the caller's. Values outside
// `only` (nil: all count) are of no use. The error says that a range of validity
// was left.
func (p *Probe) Column(x *Expr, env *plan.Conditions, only Column, place int) (Column, error) {
	e := &p.w.eval
	*e = mapEval{w: p.w, res: &p.empty, cells: x.k.cells, opt: &p.opt}
	v, ok := e.column(x.k, env, nil, nil, only, place)
	if !ok {
		err := errors.New(p.empty.Fault.Reason)
		p.empty.Fault = nil
		return Column{}, err
	}
	return v, nil
}
