package limit

import (
	"math"
	"slices"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/grid"
	"fettle/compiler/plan"
	"fettle/lang/elementary"
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
	x         *loweredExpect
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
		return math.Abs(got-o.Want) <= o.tol+float64(Slack*math.Max(math.Abs(got), math.Abs(o.Want)))
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

// loweredCheck is a check, and its expected values by their order.
type loweredCheck struct {
	*check.Check
	pattern int // of the checker's
	expects []loweredExpect
}

type loweredExpect struct {
	*check.Expect
	cond, left, right, tol *eval.Expr
	op                     formula.Op // of left and right
	unit                   unit.Unit  // of left and right
}

func (c *Checker) lowerCheck(k *check.Check) loweredCheck {
	out := loweredCheck{Check: k, pattern: slices.Index(c.patterns, k.With)}
	if out.pattern < 0 {
		out.pattern = len(c.patterns)
		c.patterns = append(c.patterns, k.With)
	}
	over := func(n *formula.Node) *eval.Expr { return c.p.LowerOver(n, c.point) }
	for _, e := range k.Expects {
		x := loweredExpect{Expect: e}
		n := formula.Strip(e.Cond)
		switch {
		case e.Left != nil:
			x.op, x.left, x.right, x.unit = formula.Eq, over(e.Left), over(e.Right), e.Left.Type.Unit
		case n.Op == formula.Lt, n.Op == formula.Le, n.Op == formula.Gt, n.Op == formula.Ge:
			x.op, x.left, x.right, x.unit = n.Op, over(n.Kids[0]), over(n.Kids[1]), n.Kids[0].Type.Unit
		}
		if x.op != formula.Eq {
			x.cond = over(e.Cond)
		}
		if e.Tol != nil {
			x.tol = over(e.Tol)
		}
		out.expects = append(out.expects, x)
	}
	return out
}

func (j *judging) checks(t *plan.Tune) []*Outcome {
	match, n := make([]bool, len(j.c.patterns)), 0
	for i, p := range j.c.patterns {
		match[i] = plan.Match(p, t.Name)
	}
	for i := range j.c.checks {
		if k := &j.c.checks[i]; match[k.pattern] {
			n += len(k.expects)
		}
	}
	if n == 0 {
		return nil
	}
	outcomes, out := make([]Outcome, n), make([]*Outcome, 0, n)
	for i := range j.c.checks {
		k := &j.c.checks[i]
		if !match[k.pattern] {
			continue
		}
		for n := range k.expects {
			o, x := &outcomes[len(out)], &k.expects[n]
			o.Check, o.Expect = k.Check, x.Expect
			j.expect(o, x)
			out = append(out, o)
		}
	}
	return out
}

// value works out an expression at a point. Where it can't, that is the problem.
func (j *judging) value(o *Outcome, x *eval.Expr) float64 {
	v, err := j.probe.Column(x, j.env, eval.Column{}, eval.First)
	if err != nil {
		o.Problem = err.Error()
		return math.NaN()
	}
	return v.At(0, 0)
}

func (j *judging) expect(o *Outcome, x *loweredExpect) {
	o.x = x
	if x.left != nil {
		o.Got, o.Want, o.Unit, o.Op, o.Compared = j.value(o, x.left), j.value(o, x.right), x.unit, x.op, true
	}
	if x.op != formula.Eq {
		if d := o.Got - o.Want; o.Compared && d-d == 0 { // both are finite
			o.OK = formula.Apply(x.op, []float64{o.Got, o.Want}) != 0
		} else {
			o.OK = j.value(o, x.cond) != 0 && o.Problem == ""
		}
		o.Compared = o.Compared && o.Problem == ""
		return
	}
	o.HasValues, o.tol = true, -1
	if x.tol != nil {
		o.tol = j.value(o, x.tol)
		if x.TolShare {
			o.tol *= math.Abs(o.Want)
		}
	}
	o.OK = o.Problem == "" && o.Holds(o.Got)
}

// sixDigits says whether two values are the same to six significant digits:
// within half a unit of the sixth, or printing the same.
func sixDigits(got, want float64) bool {
	if math.IsNaN(got) || math.IsNaN(want) || got == want {
		return got == want
	}
	if want == 0 {
		return math.Abs(got) < 1e-12
	}
	unit := math.Pow10(elementary.Decade(want) - 5)
	var six grid.Res
	return math.Abs(got-want) <= unit/2 || six.Format(got) == six.Format(want)
}
