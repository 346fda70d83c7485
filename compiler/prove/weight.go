package prove

import (
	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/interval"
	"fettle/compiler/plan"
	"fettle/lang/formula"
)

// weights are a step's weights: of each of its ranges, along the axis that it is of.
// At a cell they multiply in the order written, as in the evaluator.
type weights []along

type along struct {
	k     int // 0 for the rows' axis, 1 for the columns'
	lines []form
}

// at is the weight at a cell; it may be worked out into v.
func (w weights) at(v *form, at *place) *form {
	switch len(w) {
	case 0:
		return &one
	case 1:
		return &w[0].lines[at.lo[w[0].k].i]
	}
	*v = one
	for i := range w {
		v.mul(v, &w[i].lines[at.lo[w[i].k].i])
	}
	return v
}

// ends are where the ends of a range and its feather stand in the pool; -1 for none.
type ends struct{ lo, hi, feather int }

// axisOf says which of a grid's axes one is: 0 for the rows', 1 for the columns'.
func axisOf(axis int, cells *eval.Cells) (k int, points []float64) {
	if axis == cells.RowAxis {
		return 0, cells.Rows
	}
	return 1, cells.Cols
}

// fixedWeights works out the weights of a step whose ranges are the same in every
// tune; false where they aren't, or can't be used.
func fixedWeights(s *check.Step, cells *eval.Cells) (weights, bool) {
	env := (*plan.Conditions)(nil)
	var out weights
	for i := range s.Over {
		w := &s.Over[i]
		var v [3]float64
		for k, n := range [3]*formula.Node{w.Lo, w.Hi, w.Feather} {
			if n == nil {
				continue
			}
			if n.Givens != 0 {
				return nil, false
			}
			x, err := formula.Scalar(n, env)
			if err != nil || x != x {
				return nil, false
			}
			v[k] = x
		}
		if w.Lo != nil && w.Hi != nil && v[0] > v[1] || v[2] < 0 {
			return nil, false
		}
		k, points := axisOf(w.Axis, cells)
		a := along{k, make([]form, len(points))}
		for j, x := range points {
			a.lines[j] = point(eval.RangeWeight(w, env, x))
		}
		out = append(out, a)
	}
	return out, true
}

// weights gives a step's weights in the box; false where a range may be of no use
// somewhere in it.
func (b *box) weights(mc *mapCode, s *stepCode) (weights, bool) {
	if s.ends == nil {
		return s.fixed, true
	}
	var out weights
	for i, e := range s.ends {
		lo, hi, feather := interval.Entire, interval.Entire, interval.Point(0)
		for _, end := range []struct {
			at  int
			dst *interval.I
		}{{e.lo, &lo}, {e.hi, &hi}, {e.feather, &feather}} {
			if end.at >= 0 {
				v := b.scalar(end.at)
				if *end.dst = v.I; v.bad {
					return nil, false
				}
			}
		}
		if feather.Lo < 0 {
			return nil, false
		}
		if e.lo >= 0 && e.hi >= 0 {
			var apart form
			if apart.add(b.scalar(e.hi), b.scalar(e.lo), -1); apart.Lo < 0 {
				return nil, false
			}
		}
		k, points := axisOf(s.Over[i].Axis, mc.cells)
		a := along{k, make([]form, len(points))}
		for j, x := range points {
			w := interval.Point(1)
			if e.lo >= 0 {
				w = interval.Min(w, below(lo, feather, x))
			}
			if e.hi >= 0 {
				w = interval.Min(w, below(interval.Neg(hi), feather, -x))
			}
			a.lines[j] = ranged(w)
		}
		out = append(out, a)
	}
	return out, true
}

// below is the weight at x by the lower end of a range: the further up the end and
// the narrower the feather, the less.
func below(lo, feather interval.I, x float64) interval.I {
	return interval.I{Lo: outside(lo.Hi-x, feather.Lo), Hi: outside(lo.Lo-x, feather.Hi)}
}

// outside is the weight at a distance from a range, as the evaluator has it.
func outside(d, feather float64) float64 {
	if d <= 0 {
		return 1
	}
	if w := 1 - d/feather; d < feather && w > 1e-12 {
		return w
	}
	return 0
}
