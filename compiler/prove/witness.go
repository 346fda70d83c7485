package prove

import (
	"errors"
	"math"

	"fettle/compiler/eval"
	"fettle/compiler/limit"
	"fettle/compiler/plan"
	"fettle/lang/formula"
)

// looks are a limit's parts lowered over a grid with the middles of the patches, to
// look at a tune that the evaluator computed.
type looks struct {
	cells *eval.Cells
	parts []struct{ left, right, cond *eval.Expr }
	where *eval.Expr
	when  *eval.Condition
}

func (x *Prover) looks(l *limitCode) *looks {
	k := &looks{cells: l.cells, when: x.p.LowerCondition(l.When)}
	if !l.steps && l.total <= maxCells/4 {
		fine := *l.cells
		fine.Cols = middles(fine.Cols)
		if fine.RowAxis >= 0 {
			fine.Rows = middles(fine.Rows)
		}
		k.cells = &fine
	}
	lower := func(n *formula.Node) *eval.Expr {
		if n == nil {
			return nil
		}
		return x.p.LowerOver(n, k.cells)
	}
	for _, p := range l.parts {
		k.parts = append(k.parts, struct{ left, right, cond *eval.Expr }{lower(p.Left), lower(p.Right), lower(p.Cond)})
	}
	k.where = lower(l.Where)
	return k
}

// found is the worst place that a look finds.
type found struct {
	seen    bool // there was a place to look at
	broken  bool // the limit doesn't hold there, or the tune fails
	values  []float64
	at      [2]float64
	part    int // -1 of a condition without a margin
	room    float64
	value   float64
	bound   float64
	margin  float64
	problem string
}

func (s *session) mix(env *plan.Conditions) eval.Mix { return eval.Mix{All: env, Trims: s.tune.Trims} }

func (s *session) options(l *limitCode, reference bool) eval.Options {
	return eval.Options{Need: l.need, Reference: reference}
}

const notFinite = "it has no finite value there"

// lookAt computes the tune at some conditions and finds the worst place.
func (s *session) lookAt(l *limitCode, values []float64) found {
	f := found{values: values, part: -1, room: math.Inf(1)}
	env := s.at(values)
	s.x.p.TuneInto(s.res, s.mix(env), s.options(l, false))
	if fault := s.res.Fault; fault != nil {
		f.broken, f.problem = true, fault.Reason
		return f
	}
	k := l.looks
	probe := s.x.p.Probe(s.res, false)
	defer probe.Close()
	holds, err := probe.Holds(k.when, env)
	if err != nil {
		f.broken, f.problem = true, err.Error()
		return f
	}
	if !holds {
		return f
	}
	var only eval.Column
	if k.where != nil {
		if only, err = probe.Column(k.where, env, eval.Column{}, eval.Third); err != nil {
			f.broken, f.problem = true, err.Error()
			return f
		}
	}
	for i := range l.parts {
		if err = f.part1(l, i, probe, env, only); err != nil {
			f.broken, f.problem = true, err.Error()
			return f
		}
	}
	return f
}

// part1 looks at one part in all places.
func (f *found) part1(l *limitCode, i int, probe *eval.Probe, env *plan.Conditions, only eval.Column) error {
	k, p := l.looks, &l.parts[i]
	var left, right eval.Column
	var err error
	if p.Cond != nil {
		left, err = probe.Column(k.parts[i].cond, env, only, eval.First)
	} else if left, err = probe.Column(k.parts[i].left, env, only, eval.First); err == nil {
		right, err = probe.Column(k.parts[i].right, env, only, eval.Second)
	}
	if err != nil {
		return err
	}
	for r := range nrows(k.cells) {
		for c := range k.cells.Cols {
			if k.where != nil && only.At(r, c) == 0 {
				continue
			}
			at := [2]float64{0, k.cells.Cols[c]}
			if k.cells.RowAxis >= 0 {
				at[0] = k.cells.Rows[r]
			}
			if p.Cond != nil {
				f.meet(i, p, left.At(r, c), 0, at)
			} else if x, y := left.At(r, c), right.At(r, c); x-x != 0 || y-y != 0 {
				return errors.New(notFinite)
			} else {
				f.meet(i, p, x, y, at)
			}
		}
	}
	return nil
}

// meet takes a place in, if it is worse than what was found before.
func (f *found) meet(i int, p *part, left, right float64, at [2]float64) {
	var next found
	if p.Cond != nil {
		next = found{broken: left == 0, part: -1, room: math.Inf(1)}
	} else {
		margin, ok := limit.Compared(p.Op, left, right)
		next = found{broken: !ok, part: i, room: float64(margin * p.Size), margin: margin, value: left, bound: right}
		if p.Swap {
			next.value, next.bound = right, left
		}
	}
	worse := next.room < f.room
	if next.broken != f.broken {
		worse = next.broken
	}
	if !f.seen || worse {
		next.seen, next.values, next.at = true, f.values, at
		*f = next
	}
}

// moves is how often other conditions are tried on the way to the worst ones, and
// spots how often another place of the axes.
const (
	moves = 80
	spots = 80
)

// refute drives a breach to the worst point near by and has it confirmed by the
// plain evaluator. Nil if that finds no breach.
func (p *proving) refute(f found) *Verdict {
	if f.problem == "" && f.part >= 0 {
		worse := p.worsen(f)
		if v := p.confirm(p.sharpen(worse)); v != nil {
			return v
		}
	}
	return p.confirm(f)
}

// worsen looks for conditions around those of a breach at which it is larger.
func (p *proving) worsen(f found) found {
	step := 0.25
	for tried := 0; tried < moves && step > 1e-6; {
		better := false
		for k, d := range p.dims {
			if !p.l.givens.Has(d.Given) || d.Lo == d.Hi {
				continue
			}
			for _, sign := range [2]float64{-1, 1} {
				at := append([]float64(nil), f.values...)
				at[k] = min(max(at[k]+float64(sign*step*(d.Hi-d.Lo)), d.Lo), d.Hi)
				if at[k] == f.values[k] {
					continue
				}
				tried++
				if g := p.lookAt(p.l, at); g.broken && g.problem == "" && g.part >= 0 && g.room < f.room {
					f, better = g, true
				}
			}
		}
		if !better {
			step /= 2
		}
	}
	return f
}

// sharpen looks for a place of the axes around that of a breach where it is larger.
func (p *proving) sharpen(f found) found {
	if p.l.steps {
		return f
	}
	sp := p.spot(f.values, false)
	if sp == nil {
		return f
	}
	axes := []int{1}
	if p.l.cells.RowAxis >= 0 {
		axes = []int{0, 1}
	}
	step := 1.0 / 8
	for tried := 0; tried < spots && step > 1e-6; {
		better := false
		for _, k := range axes {
			points := p.l.cells.Cols
			if k == 0 {
				points = p.l.cells.Rows
			}
			lo, hi := points[0], points[len(points)-1]
			for _, sign := range [2]float64{-1, 1} {
				at := f.at
				at[k] = min(max(at[k]+float64(sign*step*(hi-lo)), lo), hi)
				if at[k] == f.at[k] {
					continue
				}
				tried++
				if g := sp.look(f.values, at); g.broken && g.problem == "" && g.part >= 0 && g.room < f.room {
					f, better = g, true
				}
			}
		}
		if !better {
			step /= 2
		}
	}
	return f
}

// confirm has the plain evaluator compute the tune at a breach's conditions, and look
// at its place. Nil if it finds no breach there.
func (p *proving) confirm(f found) *Verdict {
	v := &Verdict{Limit: p.l.Limit, State: Refuted, Boxes: p.boxes}
	sp := p.spot(f.values, true)
	if sp == nil {
		return nil
	}
	switch {
	case sp.problem != "":
		f.problem = sp.problem
	case f.problem != "":
		f = sp.failing(f.values)
	default:
		f = sp.look(f.values, f.at)
	}
	if sp.problem == "" && !f.broken {
		return nil
	}
	p.place(v, f)
	v.Problem = f.problem
	if f.problem == "" && f.part >= 0 {
		v.HasMargin, v.Margin, v.Unit = true, f.margin, p.l.parts[f.part].Unit
	}
	return v
}
