package eval

import (
	"math"

	"fettle/compiler/plan"
)

// Numbers are the values that conditions alone decide and that a mix is computed
// with, bit for bit and in an order of the program's. Two mixes of the same steps
// and trims that have the same numbers come out the same over any bases. False
// where one has a value that the plain evaluator must decide.
func (p *Program) Numbers(mix Mix) (list []uint64, ok bool) {
	n := numbers{w: p.worker()}
	defer p.release(n.w)
	for _, i := range p.Check.Order {
		mp, m := p.lowered(i), p.Check.Maps[i]
		if mp.base != nil {
			n.kernel(mp.base, mix.base(m))
		}
		for _, s := range mp.steps {
			n.step(s, mix.step(s.Step))
		}
		for _, s := range p.trimsOf(mix.Trims, i) {
			n.step(s, mix.step(s.Step))
		}
		for _, l := range mp.clamps {
			env := mix.clamp(l.Limit)
			if !n.holds(&l.when, env) {
				continue
			}
			for _, k := range []*kernel{l.where, l.lo, l.hi} {
				n.kernel(k, env)
			}
		}
	}
	return n.list, !n.bad
}

type numbers struct {
	w    *worker
	list []uint64
	bad  bool
}

func (n *numbers) step(s *step, env *plan.Conditions) {
	if !n.holds(&s.when, env) {
		return
	}
	n.kernel(s.amount, env)
	n.kernel(s.where, env)
	for _, id := range s.ends {
		if id >= 0 {
			n.one(env, s.ones, int32(id))
		}
	}
}

// holds decides a condition, whose outcome is a number.
func (n *numbers) holds(c *condition, env *plan.Conditions) bool {
	yes, err := n.w.holds(c, env)
	n.bad = n.bad || err != nil
	if yes {
		n.list = append(n.list, 1)
	} else {
		n.list = append(n.list, 0)
	}
	return yes
}

func (n *numbers) kernel(k *kernel, env *plan.Conditions) {
	if k == nil {
		return
	}
	n.bad = n.bad || k.never
	for _, s := range k.pooled {
		n.one(env, k.ones, int32(k.slots[s].at))
	}
}

func (n *numbers) one(env *plan.Conditions, ones []one, id int32) {
	v, ok := n.w.frame(env, len(ones)).get(ones, id)
	n.bad = n.bad || !ok
	n.list = append(n.list, math.Float64bits(v))
}
