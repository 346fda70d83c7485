package eval

import (
	"fettle/compiler/plan"
	"fettle/lang/formula"
)

// Flat is the values of a column with one index for all cells, row by row: a value
// for each cell, or one for all. The second result is the step from a cell's value
// to the next cell's, 1 or 0; the third is false where the column has another
// shape, and must be spread.
func (o Column) Flat(c *Cells) (v []float64, step int, ok bool) {
	switch {
	case o.sr == 0 && o.sc == 0:
		return o.v[:1], 0, true
	case o.sc == 1 && (o.sr == len(c.Cols) || c.nrows() == 1):
		return o.v[:c.N()], 1, true
	}
	return nil, 0, false
}

// Condition is a `when` of a limit, lowered.
type Condition struct{ condition }

// LowerCondition lowers a condition; nil always holds.
func (p *Program) LowerCondition(n *formula.Node) *Condition { return &Condition{p.condition(n)} }

// Holds decides a condition. The error says why it can't be decided.
func (p *Probe) Holds(c *Condition, env *plan.Conditions) (bool, error) {
	return p.w.holds(&c.condition, env)
}

// Extent is the least and the greatest of some values; false where one is infinite
// or no number.
func Extent(v []float64) (lo, hi float64, finite bool) {
	lo, hi, bad := extent(v)
	return lo, hi, bad < 0
}

// Subtract computes a - b, value by value.
func Subtract(dst, a, b []float64) {
	arith(formula.Sub, &Column{dst, 0, 1}, &Column{a, 0, 1}, &Column{b, 0, 1}, 1, len(dst))
}
