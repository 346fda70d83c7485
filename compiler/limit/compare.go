package limit

import (
	"math"

	"fettle/compiler/eval"
	"fettle/compiler/plan"
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/unit"
)

// part is one comparison, or a condition without a margin.
type part struct {
	op           formula.Op
	left, right  *eval.Expr
	swap         bool // what is bounded stands on the right
	unit         unit.Unit
	size         float64 // of the unit, so that margins in different units compare
	cond         *eval.Expr
	about, bound string // the texts of what is bounded, and of its bound
	fixed        bool   // the bound reads no map
}

// compared is a comparison worked out in every cell. Its numbers are in the
// unit of what is bounded.
type compared struct {
	part                    // what was compared
	margins, values, bounds []float64
	bad                     []bool
}

// comparison lowers a comparison. Where a map itself is bounded, both sides are
// in its unit, however the bound is written; else they stay as they are compared.
func (c *Checker) comparison(n *formula.Node, cells *eval.Cells) part {
	left, right := n.Kids[0], n.Kids[1]
	p := part{op: n.Op, swap: left.Maps == 0 && right.Maps != 0, unit: left.Type.Unit}
	bounded, bound := left, right
	if p.swap {
		bounded, bound = right, left
	}
	p.about, p.bound, p.fixed = source.OneLine(bounded.Span.Text()), source.OneLine(bound.Span.Text()), bound.Maps == 0
	switch bounded = formula.Plain(bounded); bounded.Op {
	case formula.MapHere, formula.MapAt, formula.StepOf:
		p.unit = bounded.Type.Unit
		if p.unit.Dim == unit.Kelvin().Dim && !p.unit.IsPoint() {
			p.unit = unit.Kelvin() // a difference of degF reads as K, as everywhere
		}
		left, right = formula.ConvertTo(formula.Plain(left), p.unit), formula.ConvertTo(formula.Plain(right), p.unit)
	}
	p.size = p.unit.Factor.Float()
	p.left, p.right = c.p.LowerOver(left, cells), c.p.LowerOver(right, cells)
	return p
}

// begin makes room for what is found of each cell.
func (v *Verdict) begin(mask []bool) {
	n := len(mask)
	v.mask, v.bad, v.part, v.room = mask, make([]bool, n), make([]int32, n), make([]float64, n)
}

// compare works out one part in every cell.
func (c *Checker) compare(v *Verdict, p part, res *eval.Result, env *plan.Conditions, reference bool) string {
	if p.cond != nil {
		v.conds++
		yes, err := c.p.Column(res, p.cond, env, reference, v.mask)
		if err != nil {
			return err.Error()
		}
		for i, x := range yes {
			v.bad[i] = v.bad[i] || v.mask[i] && x == 0
		}
		return ""
	}
	l, err := c.p.Column(res, p.left, env, reference, v.mask)
	if err != nil {
		return err.Error()
	}
	r, err := c.p.Column(res, p.right, env, reference, v.mask)
	if err != nil {
		return err.Error()
	}
	out := compared{p, make([]float64, len(l)), l, r, make([]bool, len(l))}
	if p.swap {
		out.values, out.bounds = r, l
	}
	for i := range l {
		if !v.mask[i] {
			continue
		}
		if math.IsNaN(l[i]) || math.IsNaN(r[i]) || math.IsInf(l[i], 0) || math.IsInf(r[i], 0) {
			return "it has no finite value in some cell"
		}
		margin, ok := compare(p.op, l[i], r[i])
		out.margins[i], out.bad[i] = margin, !ok
		v.bad[i] = v.bad[i] || !ok
	}
	v.parts = append(v.parts, out)
	return ""
}

// choose finds the comparison that tells a cell's margin: of those that fail, or
// else of all, the one with the least room. Where the cell fails by a condition
// without a margin alone, none does.
func (v *Verdict) choose(i int) {
	best := -1
	least := math.Inf(1)
	for k := range v.parts {
		p := &v.parts[k]
		room := p.margins[i] * p.size
		if best < 0 || p.bad[i] && !v.parts[best].bad[i] || p.bad[i] == v.parts[best].bad[i] && room < least {
			best, least = k, room
		}
	}
	if best >= 0 && v.bad[i] && !v.parts[best].bad[i] {
		best, least = -1, math.Inf(1)
	}
	v.part[i], v.room[i] = int32(best), least
}

// compare gives the room left and whether the comparison holds with its slack,
// which makes one of `<` and `<=`.
func compare(op formula.Op, l, r float64) (margin float64, ok bool) {
	switch op {
	case formula.Lt, formula.Le:
		margin = r - l
	case formula.Gt, formula.Ge:
		margin = l - r
	default:
		margin = -math.Abs(l - r)
	}
	return margin, margin >= -Slack*math.Max(math.Abs(l), math.Abs(r))
}
