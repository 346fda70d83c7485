package limit

import (
	"math"

	"fettle/compiler/eval"
	"fettle/compiler/plan"
	"fettle/lang/formula"
)

// part works out one comparison in every cell.
func (c *Checker) part(v *Verdict, p part, res *eval.Result, env *plan.Conditions, bad, mask []bool, reference bool) string {
	if p.cond != nil {
		yes, err := c.p.Column(res, p.cond, env, reference, mask)
		if err != nil {
			return err.Error()
		}
		for i, x := range yes {
			bad[i] = bad[i] || mask[i] && x == 0
		}
		return ""
	}
	l, err := c.p.Column(res, p.left, env, reference, mask)
	if err != nil {
		return err.Error()
	}
	r, err := c.p.Column(res, p.right, env, reference, mask)
	if err != nil {
		return err.Error()
	}
	if !v.HasMargin || v.Unit.Dim == p.unit.Dim {
		v.HasMargin, v.Unit = true, p.unit
	}
	// What is bounded is the side that reads a map.
	swap := !reads(p.left) && reads(p.right)
	for i := range l {
		if !mask[i] {
			continue
		}
		if math.IsNaN(l[i]) || math.IsNaN(r[i]) || math.IsInf(l[i], 0) || math.IsInf(r[i], 0) {
			return "it has no finite value in some cell"
		}
		margin, ok := compare(p.op, l[i], r[i])
		if !ok {
			bad[i] = true
		}
		if margin < v.margins[i] {
			v.margins[i], v.values[i], v.bounds[i] = margin, l[i], r[i]
			if swap {
				v.values[i], v.bounds[i] = r[i], l[i]
			}
		}
	}
	return ""
}

func reads(x *eval.Expr) bool { return x.Node().Maps != 0 }

// compare gives the room left and whether the comparison holds with its slack.
func compare(op formula.Op, l, r float64) (margin float64, ok bool) {
	slack := Slack * math.Max(math.Abs(l), math.Abs(r))
	switch op {
	case formula.Lt:
		return r - l, l < r+slack
	case formula.Le:
		return r - l, l <= r+slack
	case formula.Gt:
		return l - r, l > r-slack
	case formula.Ge:
		return l - r, l >= r-slack
	}
	return -math.Abs(l - r), math.Abs(l-r) <= slack
}
