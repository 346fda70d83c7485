package limit

import (
	"math"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/grid"
	"fettle/compiler/plan"
	"fettle/lang/formula"
	"fettle/lang/unit"
)

// Outcome is one expected value's outcome in one tune.
type Outcome struct {
	Check     *check.Check
	Expect    *check.Expect
	OK        bool
	HasValues bool // of one with ==
	Got, Want float64
	Unit      unit.Unit
	Problem   string
	Op        formula.Op // of Got and Want; also known of <, <=, > and >=
	Compared  bool       // whether Got, Want and Op are known
	tol       float64    // of an == that allows one; below 0 where none is written
}

// Holds says whether an expectation holds of another value, in its unit.
func (o *Outcome) Holds(got float64) bool {
	switch {
	case !o.Compared || math.IsNaN(got):
		return false
	case o.Op != formula.Eq:
		_, ok := compare(o.Op, got, o.Want)
		return ok
	case o.tol >= 0:
		return math.Abs(got-o.Want) <= o.tol+Slack*math.Max(math.Abs(got), math.Abs(o.Want))
	}
	return sixDigits(got, o.Want)
}

// Against says how what an expectation asks differs from what another one asks of
// a value in the same unit: whether all that the other takes is taken, and
// whether nothing else is.
func (o *Outcome) Against(other *Outcome) (all, no bool) {
	lo, hi := o.bounds()
	lo2, hi2 := other.bounds()
	return lo <= lo2 && hi2 <= hi, lo2 <= lo && hi <= hi2
}

// bounds are the least and the largest value that an expectation takes.
func (o *Outcome) bounds() (lo, hi float64) {
	lo, hi = math.Inf(-1), math.Inf(1)
	switch o.Op {
	case formula.Lt, formula.Le:
		hi = o.Want
	case formula.Gt, formula.Ge:
		lo = o.Want
	default:
		tol := math.Max(o.tol, 0)
		lo, hi = o.Want-tol, o.Want+tol
	}
	return lo, hi
}

// Away is how far a value is from holding, negative, or how much room there is.
func (o *Outcome) Away(got float64) float64 {
	margin, _ := compare(o.Op, got, o.Want)
	if o.Op == formula.Eq {
		margin += math.Max(o.tol, 0)
	}
	return margin
}

// Checks judges a computed tune by the checks whose `with` matches it.
func (c *Checker) Checks(t *plan.Tune, res *eval.Result, reference bool) []*Outcome {
	var out []*Outcome
	env := t.Conditions(c.p.Check)
	for _, k := range c.p.Check.Checks {
		if !plan.Match(k.With, t.Name) {
			continue
		}
		for _, e := range k.Expects {
			out = append(out, c.expect(k, e, res, env, reference))
		}
	}
	return out
}

func (c *Checker) expect(k *check.Check, e *check.Expect, res *eval.Result, env *plan.Conditions, reference bool) *Outcome {
	o := &Outcome{Check: k, Expect: e}
	x := c.expects[e]
	value := func(ex *eval.Expr) float64 {
		v, err := c.p.Column(res, ex, env, reference, nil)
		if err != nil {
			o.Problem = err.Error()
			return math.NaN()
		}
		return v[0]
	}
	if x.left != nil {
		o.Got, o.Want, o.Unit, o.Op, o.Compared = value(x.left), value(x.right), formula.Strip(e.Cond).Kids[0].Type.Unit, x.op, true
	}
	if x.op != formula.Eq {
		o.OK = value(x.cond) != 0 && o.Problem == ""
		o.Compared = o.Compared && o.Problem == ""
		return o
	}
	o.Unit, o.HasValues, o.tol = e.Left.Type.Unit, true, -1
	if x.tol != nil {
		o.tol = value(x.tol)
		if e.TolShare {
			o.tol *= math.Abs(o.Want)
		}
	}
	o.OK = o.Problem == "" && o.Holds(o.Got)
	return o
}

// sixDigits says whether two values are the same to six significant digits:
// within half a unit of the sixth, or printing the same.
func sixDigits(got, want float64) bool {
	if math.IsNaN(got) || math.IsNaN(want) {
		return false
	}
	if want == 0 {
		return math.Abs(got) < 1e-12
	}
	unit := math.Pow(10, math.Floor(math.Log10(math.Abs(want)))-5)
	var six grid.Res
	return math.Abs(got-want) <= unit/2 || six.Format(got) == six.Format(want)
}
