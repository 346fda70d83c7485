package emit

import (
	"fettle/compiler/check"
	"fettle/compiler/limit"
	"fettle/lang/source"
)

// limits lists how each limit came out, in the order of the source.
func limits(in *Input) []Limit {
	out := make([]Limit, len(in.Limits))
	for i, v := range in.Limits {
		l := v.Limit
		o := in.limitOf(l)
		o.State, o.Reason, o.Cells, o.Bad = v.State.String(), v.Problem, v.Cells, v.Bad
		switch {
		case v.AtNoCell():
			o.Reason = "its `where` holds in no cell"
		case v.State == limit.NotHere:
			o.Reason, o.Cells = whyNot(in, l.When), 0
		}
		if v.At != nil && (v.HasMargin || v.Bad > 0) {
			o.Worst = worst(in.Program, v)
		}
		if proof := in.proof(l); proof != nil {
			o.Proof = proofOf(in.Program, proof)
		}
		out[i] = o
	}
	return out
}

// limitOf is what is said of a limit, which may be a target's own copy of it.
func (in *Input) limitOf(l *check.Limit) Limit {
	if in.Program.Limits[l.Index] != l {
		return limitOf(in.Program, l)
	}
	return in.fix().limits[l.Index]
}

// limitOf is what is said of a limit whatever came out.
func limitOf(p *check.Program, l *check.Limit) Limit {
	o := Limit{Name: l.Name, Place: placeOf(l.Span), Doc: l.Doc, Text: source.OneLine(l.Text), Mode: l.Mode.String(), Maps: []string{}}
	for _, m := range l.Maps {
		o.Maps = append(o.Maps, p.Maps[m].Name)
	}
	if l.Where != nil {
		o.Where = source.OneLine(l.Where.Span.Text())
	}
	if l.When != nil {
		o.When = source.OneLine(l.When.Span.Text())
	}
	return o
}

// limitAxes are the axes that a verdict's cell is given by.
func limitAxes(v *limit.Verdict) []int {
	if v.State == limit.Clamped {
		return v.Limit.Clamped.Axes
	}
	return v.Limit.Axes
}

func worst(p *check.Program, v *limit.Verdict) *Worst {
	w := &Worst{At: []Coordinate{}}
	for i, x := range v.At {
		a := p.Axes[limitAxes(v)[i]]
		w.At = append(w.At, Coordinate{a.Name, Number(x), a.Unit.Text})
	}
	if !v.HasMargin {
		return w
	}
	value, bound, margin := six(v.Value), six(v.Bound), room(v.Margin, v.Value, v.Bound)
	w.Value, w.Bound, w.Margin, w.Unit = &value, &bound, &margin, v.Unit.Text
	if b := v.Blame; b != nil {
		w.Blame = &Blame{By: b.Pushes[b.Main].Name, Pushes: []Push{}}
		for _, push := range b.Pushes {
			one := Push{By: push.Name, Change: room(push.Change, v.Value, v.Bound), After: room(push.After, v.Value, v.Bound)}
			if place := pushPlace(push); place.File != "" {
				one.Place = &place
			}
			w.Blame.Pushes = append(w.Blame.Pushes, one)
		}
	}
	return w
}

// pushPlace is where the element of a push stands; the base stands nowhere.
func pushPlace(push limit.Push) Place {
	switch {
	case push.Rule != nil:
		return placeOf(push.Rule.Span)
	case push.Step != nil:
		return placeOf(push.Step.Span)
	case push.Clamp != nil:
		return placeOf(push.Clamp.Span)
	}
	return Place{}
}

// checks lists how each expected value came out, in the order of the source.
func checks(in *Input) []Check {
	out := make([]Check, len(in.Checks))
	for i, c := range in.Checks {
		o := Check{Title: c.Check.Title, With: c.Check.With, Place: placeOf(c.Expect.Span), Text: source.OneLine(c.Expect.Text), OK: c.OK, Problem: c.Problem}
		if c.HasValues && c.Problem == "" {
			got, want := six(c.Got), six(c.Want)
			o.Got, o.Want, o.Unit = &got, &want, c.Unit.Text
		}
		out[i] = o
	}
	return out
}
