package randomly_test

import (
	"math/big"

	"fettle/compiler/check"
	"fettle/lang/formula"
)

// Steps and clamps in fractions.

// holds decides a `when`.
func (x *exact) holds(n *formula.Node) (yes, ok bool) {
	if n == nil {
		return true, true
	}
	p := &place{x: x, memo: map[*formula.Node]fraction{}}
	return p.is(n)
}

// nowhere is a map of which nothing is known any more.
func nowhere(n int) []fraction {
	out := make([]fraction, n)
	for i := range out {
		out[i] = nothing
	}
	return out
}

// step is a map after an adjustment. The map before stays where look-ups find it.
func (x *exact) step(m *check.Map, s *check.Step) []fraction {
	before := x.maps[m.Index]
	if s.Rule != nil {
		switch yes, ok := x.holds(s.Rule.When); {
		case !ok:
			return nowhere(len(before))
		case !yes:
			return before
		}
	}
	if !x.rangesStand(s) {
		return nowhere(len(before))
	}
	return x.each(m, func(p *place, i int) fraction {
		w := exactly(1)
		for k := range s.Over {
			w = w.times(x.weight(&s.Over[k], p.along(s.Over[k].Axis)))
		}
		switch {
		case w.is != known:
			return nothing
		case w.x.Sign() == 0:
			return before[i]
		}
		if s.Where != nil {
			switch yes, ok := p.is(s.Where); {
			case !ok:
				return nothing
			case !yes:
				return before[i]
			}
		}
		return adjusted(s, before[i], p.eval(s.Amount), w)
	})
}

// times multiplies weights: by 0 and by 1 nothing is rounded.
func (a fraction) times(b fraction) fraction {
	one := big.NewRat(1, 1)
	switch {
	case a.is == known && (a.x.Sign() == 0 || b.is == known && b.x.Cmp(one) == 0 && b.err == 0):
		return a
	case b.is == known && (b.x.Sign() == 0 || a.is == known && a.x.Cmp(one) == 0 && a.err == 0):
		return b
	}
	return a.mul(b)
}

// adjusted is the meaning of the five adjustments, as the reference states it.
func adjusted(s *check.Step, old, a, w fraction) fraction {
	one := exactly(1)
	whole := w.x.Cmp(one.x) == 0 && w.err == 0
	switch {
	case s.Op == "=" && whole:
		if old.is != known {
			return old // it may be a fault before it is thrown away
		}
		return a
	case s.Op == "=":
		return old.add(w.mul(a.sub(old)))
	case s.Op == "+=" && s.Relative:
		return old.mul(one.add(w.mul(a)))
	case s.Op == "-=" && s.Relative:
		return old.mul(one.sub(w.mul(a)))
	case s.Op == "+=":
		return old.add(w.mul(a))
	case s.Op == "-=":
		return old.sub(w.mul(a))
	case s.Op == "*=" && whole:
		return old.mul(a)
	case s.Op == "*=":
		return old.mul(one.add(w.mul(a.sub(one))))
	case whole:
		return old.div(a)
	}
	return old.mul(one.add(w.mul(one.div(a).sub(one))))
}

// ends of a range in a tune; what is open is missing.
func (x *exact) ends(w *check.Weight) (lo, hi, feather *fraction) {
	p := &place{x: x, memo: map[*formula.Node]fraction{}}
	value := func(n *formula.Node) *fraction {
		if n == nil {
			return nil
		}
		f := p.eval(n)
		return &f
	}
	return value(w.Lo), value(w.Hi), value(w.Feather)
}

// rangesStand says whether the ranges of a step are known and can be; one that can't
// is a fault.
func (x *exact) rangesStand(s *check.Step) bool {
	sure := true
	for k := range s.Over {
		lo, hi, feather := x.ends(&s.Over[k])
		if lo != nil && hi != nil {
			sign, ok := lo.sign(*hi)
			x.fault = x.fault || ok && sign > 0
			sure = sure && ok
		}
		if feather != nil {
			sign, ok := feather.sign(exactly(0))
			x.fault = x.fault || ok && sign < 0
			sure = sure && ok
		}
		for _, f := range []*fraction{lo, hi} {
			sure = sure && (f == nil || f.is == known)
		}
	}
	return sure && !x.fault
}

// weight is 1 within a range and falls to 0 over its feather; less than one part in
// 10^12 is 0.
func (x *exact) weight(w *check.Weight, at float64) fraction {
	lo, hi, feather := x.ends(w)
	place := exactly(at)
	outside := func(d fraction) fraction {
		if feather == nil {
			return exactly(0)
		}
		sign, ok := d.sign(*feather)
		if !ok {
			return nothing
		}
		if sign >= 0 {
			return exactly(0)
		}
		k := exactly(1).sub(d.div(*feather))
		switch sign, ok := k.sign(exactly(1e-12)); {
		case !ok:
			return nothing
		case sign <= 0:
			return exactly(0)
		}
		return k
	}
	if lo != nil {
		switch sign, ok := place.sign(*lo); {
		case !ok:
			return nothing
		case sign < 0:
			return outside(lo.sub(place))
		}
	}
	if hi != nil {
		switch sign, ok := place.sign(*hi); {
		case !ok:
			return nothing
		case sign > 0:
			return outside(place.sub(*hi))
		}
	}
	return exactly(1)
}

// clamp is a map after a clamp: capped from above, then from below.
func (x *exact) clamp(m *check.Map, l *check.Limit) []fraction {
	before := x.maps[m.Index]
	switch yes, ok := x.holds(l.When); {
	case !ok:
		return nowhere(len(before))
	case !yes:
		return before
	}
	return x.each(m, func(p *place, i int) fraction {
		if l.Where != nil {
			switch yes, ok := p.is(l.Where); {
			case !ok:
				return nothing
			case !yes:
				return before[i]
			}
		}
		out := before[i]
		if l.Hi != nil {
			out = out.least(p.eval(l.Hi))
		}
		if l.Lo != nil {
			out = out.most(p.eval(l.Lo))
		}
		return out
	})
}
