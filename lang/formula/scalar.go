package formula

import (
	"fmt"
	"math"

	"fettle/lang/source"
)

// Conditions answers what an expression asks about a tune.
type Conditions interface {
	Given(given int) float64
	Row(given int) int
	Column(given, col int) float64
}

// Placed is Conditions at a place of the axes, for expressions that read axes
// and no map.
type Placed interface {
	Conditions
	Axis(axis int) float64
}

// Scalar computes an expression without a cell: a condition, a bound, a value.
// Only the branch of an `if` that is taken is computed. The error, if any, is
// an *OutOfRange.
func Scalar(n *Node, c Conditions) (float64, error) {
	if n.Op == Const {
		return n.Val, nil
	}
	s := &scalar{c: c, memo: map[*Node]float64{}}
	v := s.eval(n)
	return v, s.err
}

// Decide computes a condition. Unlike Scalar it refuses to compare a value that
// isn't finite: a tune isn't decided by the outcome of 0/0.
func Decide(n *Node, c Conditions) (bool, error) {
	s := &scalar{c: c, memo: map[*Node]float64{}, strict: true}
	v := s.eval(n)
	return v != 0 && s.err == nil, s.err
}

type scalar struct {
	strict bool
	c      Conditions
	memo   map[*Node]float64
	err    error
}

func (s *scalar) eval(n *Node) float64 {
	switch n.Op {
	case Const:
		return n.Val
	case GivenVal, GivenYes:
		return s.c.Given(n.A)
	case GivenCol:
		return s.c.Column(n.A, n.B)
	case GivenIs:
		return yes(s.c.Row(n.A) == n.B)
	case AxisVal:
		if p, ok := s.c.(Placed); ok {
			return p.Axis(n.A)
		}
		return math.NaN()
	case MapHere, MapAt, StepOf, Param:
		return math.NaN()
	}
	if v, ok := s.memo[n]; ok {
		return v
	}
	v := s.compute(n)
	s.memo[n] = v
	return v
}

func (s *scalar) compute(n *Node) float64 {
	switch n.Op {
	case If:
		if s.eval(n.Kids[0]) != 0 {
			return s.eval(n.Kids[1])
		}
		return s.eval(n.Kids[2])
	case And:
		if s.eval(n.Kids[0]) == 0 {
			return 0
		}
		return s.eval(n.Kids[1])
	case Or:
		if s.eval(n.Kids[0]) != 0 {
			return 1
		}
		return s.eval(n.Kids[1])
	case CurveAt:
		return n.Curve.At(s.eval(n.Kids[0]))
	case Convert:
		return n.Conv.Apply(s.eval(n.Kids[0]))
	case Within:
		x := s.eval(n.Kids[0])
		if !(x >= n.Range.Lo && x <= n.Range.Hi) && s.err == nil {
			s.err = &OutOfRange{n.Range, x, n}
		}
		return x
	}
	vals := make([]float64, len(n.Kids))
	for i, k := range n.Kids {
		vals[i] = s.eval(k)
	}
	if s.strict && n.Op >= Lt && n.Op <= Ne && s.err == nil {
		for i, v := range vals {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				s.err = fmt.Errorf("`%s` isn't a finite number, so nothing can be decided by it", source.OneLine(n.Kids[i].Span.Text()))
			}
		}
	}
	return Apply(n.Op, vals)
}
