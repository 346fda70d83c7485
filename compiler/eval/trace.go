package eval

import "fettle/compiler/check"

// Trace is the chain of every cell of one map.
type Trace struct {
	Map   *check.Map
	Base  []float64
	Steps []StepTrace
	Final []float64
}

// StepTrace is one link of the chain, for every cell.
type StepTrace struct {
	Step    *check.Step
	Clamp   *check.Limit
	Applied bool
	After   []float64
	amount  Column
	weights *weights
	mask    Column
	nc      int
}

// Amount is what a step's amount is at a cell, in the step's unit.
func (s *StepTrace) Amount(cell int) float64 { return s.amount.At(cell/s.nc, cell%s.nc) }

// Weight is how much of the step a cell got: from 0 to 1.
func (s *StepTrace) Weight(cell int) float64 {
	r, c := cell/s.nc, cell%s.nc
	switch {
	case s.mask.v != nil && s.mask.At(r, c) == 0:
		return 0
	case s.weights == nil:
		return 1
	}
	return s.weights.at(r, c)
}

// record adds a link to the chain, before the step is carried out.
func (e *mapEval) record(s *step, amount Column, w *weights, mask Column) {
	if e.trace == nil {
		return
	}
	st := StepTrace{Step: s.Step, Applied: true, nc: len(e.cells.Cols), amount: e.kept(s.amount, amount), weights: w}
	if mask.v != nil {
		st.mask = e.kept(s.where, mask)
	}
	e.trace.Steps = append(e.trace.Steps, st)
}

// kept is a column that stays: itself where it never changes, else a copy.
func (e *mapEval) kept(k *kernel, c Column) Column {
	if k.slots[k.out].from != fixed || e.opt.Reference {
		c.v = e.res.keep(c.v[:c.stored(e.cells.nrows(), len(e.cells.Cols))])
	}
	return c
}

// stands gives the cells as they stand after the last link, to be kept.
func (e *mapEval) stands() []float64 {
	for i := len(e.trace.Steps) - 1; i >= 0; i-- {
		if last := &e.trace.Steps[i]; last.After != nil {
			return last.After
		}
	}
	return e.trace.Base
}

// keep copies values into the result's memory for chains, which an earlier result's
// chains may have had.
func (res *Result) keep(v []float64) []float64 {
	if cap(res.chains)-len(res.chains) < len(v) {
		res.chains = make([]float64, 0, max(2*cap(res.chains), 16*len(v)))
	}
	from := len(res.chains)
	res.chains = append(res.chains, v...)
	return res.chains[from:len(res.chains):len(res.chains)]
}

// Amounts and Weights are those of all cells.
func (s *StepTrace) Amounts() []float64 { return s.all(s.Amount) }

// Weights are as Weight tells them.
func (s *StepTrace) Weights() []float64 { return s.all(s.Weight) }

func (s *StepTrace) all(of func(cell int) float64) []float64 {
	out := make([]float64, len(s.After))
	for i := range out {
		out[i] = of(i)
	}
	return out
}
