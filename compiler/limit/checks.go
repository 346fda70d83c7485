package limit

import (
	"math"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/grid"
	"fettle/compiler/plan"
	"fettle/lang/unit"
)

// Outcome is one expected value's outcome in one tune.
type Outcome struct {
	Check     *check.Check
	Expect    *check.Expect
	OK        bool
	HasValues bool
	Got, Want float64
	Unit      unit.Unit
	Problem   string
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
	if x.left == nil {
		o.OK = value(x.cond) != 0 && o.Problem == ""
		return o
	}
	o.Got, o.Want, o.Unit, o.HasValues = value(x.left), value(x.right), e.Left.Type.Unit, true
	if x.tol != nil {
		tol := value(x.tol)
		if e.TolShare {
			tol *= math.Abs(o.Want)
		}
		slack := Slack * math.Max(math.Abs(o.Got), math.Abs(o.Want))
		o.OK = math.Abs(o.Got-o.Want) <= tol+slack && o.Problem == ""
		return o
	}
	o.OK = sixDigits(o.Got, o.Want) && o.Problem == ""
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
