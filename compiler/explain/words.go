package explain

import (
	"fmt"
	"math"
	"strings"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/grid"
	"fettle/compiler/plan"
	"fettle/lang/formula"
	"fettle/lang/source"
)

// linkOf puts one step of a cell in words.
func linkOf(in Input, m *check.Map, s *Step, cell int, before []float64) Link {
	if l := s.Trace.Clamp; l != nil {
		return clampLink(in, l, s)
	}
	st := s.Trace.Step
	link := Link{Kind: "trim", Name: "trim", Text: source.OneLine(st.Span.Text()), Before: s.Before, After: s.After, Place: st.Span.String(), Op: st.Op}
	if st.Rule != nil {
		link.Kind, link.Name, link.Doc = "rule", st.Rule.Name, st.Rule.Doc
	}
	link.Text = strings.TrimPrefix(link.Text, "trim ")
	if !s.Trace.Applied {
		link.Reason = WhenReason(in, st.Rule.When)
		if in.Target != nil && in.Target.LeftOut(st.Rule) {
			link.Reason = leftTo(in.Program, in.Target)
		}
		return link
	}
	link.Weight = num(s.Weight)
	if !s.Acted {
		link.Reason = weightReason(in, m, st, cell)
		return link
	}
	link.Applied = true
	link.Amount, link.Unit, link.Share = num(s.Amount), st.Unit.Text, st.Relative
	link.Reads = reads(in, m, cell, st.Amount, before)
	return link
}

func clampLink(in Input, l *check.Limit, s *Step) Link {
	link := Link{Kind: "clamp", Name: l.Name, Text: l.Text, Before: s.Before, After: s.After, Place: l.Span.String(), Doc: l.Doc}
	switch {
	case !s.Trace.Applied:
		link.Reason = WhenReason(in, l.When)
	case !s.Acted:
		link.Reason = "the cell is inside the bound"
	default:
		link.Applied = true
		link.Op = "clamp"
		link.Amount, link.Unit = num(s.After), l.Clamped.Unit.Text
	}
	return link
}

// WhenReason says why a condition doesn't hold in a tune: "`pipe is long` is
// no: pipe is stock".
func WhenReason(in Input, when *formula.Node) string {
	if when == nil {
		return "it is left out"
	}
	text := "`when " + source.OneLine(when.Span.Text()) + "` is no"
	if facts := Facts(in.Program, in.Tune.Conditions(in.Program), when); facts != "" {
		text += ": " + facts
	}
	return text
}

// Facts lists what an expression reads of the conditions, with the values.
func Facts(p *check.Program, env *plan.Conditions, n *formula.Node) string {
	var out []string
	seen := map[string]bool{}
	add := func(s string) {
		if !seen[s] {
			seen[s] = true
			out = append(out, s)
		}
	}
	n.Walk(func(k *formula.Node) {
		switch k.Op {
		case formula.GivenVal:
			add(p.Givens[k.A].Name + " = " + plan.Text(p.Givens[k.A], env.Values[k.A]))
		case formula.GivenYes:
			add(p.Givens[k.A].Name + " is " + plan.Text(p.Givens[k.A], env.Values[k.A]))
		case formula.GivenIs:
			add(p.Givens[k.A].Name + " is " + plan.Text(p.Givens[k.A], env.Values[k.A]))
		case formula.GivenCol:
			g := p.Givens[k.A]
			col := g.Catalog.Cols[k.B]
			v := number(env.Column(k.A, k.B), col.Unit.Text)
			if col.Kind == formula.YesNoCol {
				v = map[bool]string{true: "yes", false: "no"}[env.Column(k.A, k.B) != 0]
			}
			add(g.Name + " is " + plan.Text(g, env.Values[k.A]) + ", " + col.Name + " " + v)
		}
	})
	return strings.Join(out, "; ")
}

// weightReason says what keeps a step from a cell.
func weightReason(in Input, m *check.Map, st *check.Step, cell int) string {
	env := in.Tune.Conditions(in.Program)
	at := coords(in.Program, m, cell)
	for i := range st.Over {
		w := &st.Over[i]
		for k, a := range m.Axes {
			if a != w.Axis || eval.RangeWeight(w, env, at[k].Value) != 0 {
				continue
			}
			name := ""
			if w.Region != "" {
				name = "region " + w.Region + ": "
			}
			return fmt.Sprintf("%s%s is outside %s", name, named(at[k]), source.OneLine(strings.TrimPrefix(w.Span.Text(), at[k].Axis)))
		}
	}
	if st.Where != nil {
		return "`where " + source.OneLine(st.Where.Span.Text()) + "` is no here"
	}
	return "its weight is 0 here"
}

// formulaText is a derived map's formula as written.
func formulaText(m *check.Map) string { return source.OneLine(m.FormulaSpan().Text()) }

// reads lists the named values that an expression reads at the cell: other maps
// here, look-ups with their places, conditions.
func reads(in Input, m *check.Map, cell int, n *formula.Node, before []float64) []Operand {
	var out []Operand
	seen := map[string]bool{}
	at := coords(in.Program, m, cell)
	env := here{in.Tune.Conditions(in.Program), m, at}
	add := func(o Operand) {
		if !seen[o.Name] {
			seen[o.Name] = true
			out = append(out, o)
		}
	}
	n.Walk(func(k *formula.Node) {
		switch k.Op {
		case formula.MapHere:
			if o := in.Program.Maps[k.A]; o != m {
				add(Operand{Name: o.Name, Value: valueAt(in, o, m, at), Unit: o.Unit.Text})
			}
		case formula.MapAt:
			if o, ok := lookUp(in, m, k, env, before); ok {
				add(o)
			}
		case formula.GivenVal:
			g := in.Program.Givens[k.A]
			add(Operand{Name: g.Name, Value: env.Values[k.A], Unit: g.Unit.Text})
		case formula.GivenCol:
			g := in.Program.Givens[k.A]
			add(Operand{Name: g.Name + "." + g.Catalog.Cols[k.B].Name, Value: env.Column(k.A, k.B), Unit: g.Catalog.Cols[k.B].Unit.Text})
		}
	})
	return out
}

// lookUp names a look-up by the place that it reads: "fuel(100, 9844)". A map
// that reads itself reads what it was before the step.
func lookUp(in Input, m *check.Map, k *formula.Node, env here, before []float64) (Operand, bool) {
	o := in.Program.Maps[k.A]
	at := make([]float64, len(k.Kids))
	var texts []string
	for i, kid := range k.Kids {
		if kid.Maps != 0 {
			return Operand{}, false // its place depends on another map
		}
		x, err := formula.Scalar(kid, env)
		if err != nil || math.IsNaN(x) {
			return Operand{}, false
		}
		at[i] = x
		texts = append(texts, number(x, in.Program.Axes[o.Axes[i]].Unit.Text))
	}
	t := in.Result.Maps[o.Index]
	out := Operand{Name: o.Name + "(" + strings.Join(texts, ", ") + ")", Unit: o.Unit.Text}
	if o == m {
		out.Before = true
		t.Cells = before
	}
	switch {
	case len(at) == 1:
		out.Value = t.Lookup(at[0])
	default:
		out.Value = t.Lookup2(at[0], at[1])
	}
	return out, true
}

// here answers what an expression asks about a tune and a cell's place.
type here struct {
	*plan.Conditions
	m  *check.Map
	at []Coord
}

// Axis implements formula.Placed.
func (h here) Axis(axis int) float64 {
	for i, a := range h.m.Axes {
		if a == axis {
			return h.at[i].Value
		}
	}
	return math.NaN()
}

// valueAt looks another map up at a cell's place.
func valueAt(in Input, o, m *check.Map, at []Coord) float64 {
	t := in.Result.Maps[o.Index]
	coord := func(axis int) float64 {
		for i, a := range m.Axes {
			if a == axis {
				return at[i].Value
			}
		}
		return 0
	}
	if len(o.Axes) == 1 {
		return t.Lookup(coord(o.Axes[0]))
	}
	return t.Lookup2(coord(o.Axes[0]), coord(o.Axes[1]))
}

// number prints a value with its unit.
func number(x float64, unit string) string {
	var six grid.Res
	s := six.Format(x)
	if unit != "" {
		s += " " + unit
	}
	return s
}
