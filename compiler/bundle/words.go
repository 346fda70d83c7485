package bundle

import (
	"fmt"
	"math"
	"strings"

	"fettle/compiler/check"
	"fettle/compiler/grid"
	"fettle/compiler/plan"
	"fettle/lang/unit"
)

// Reasons says why a bundle isn't written, a line each: the slots whose tune
// isn't written, the givens that differ, the tables that jump.
func (o *Outcome) Reasons(p *check.Program) []string {
	var out []string
	spec := o.Bundle.Spec
	for _, i := range o.Broken {
		text := fmt.Sprintf("slot %d is %s, which isn't written", i+1, o.Bundle.Tunes[i].Name)
		if spec.Target != nil {
			text += " for " + spec.Target.Name
		}
		out = append(out, text)
	}
	for _, g := range o.Unlike {
		out = append(out, fmt.Sprintf("%s, and the slots may differ only in %s (%s)", o.unlike(p.Givens[g], g), differs(p, spec), spec.Span))
	}
	for i := range o.Jumps {
		if j := &o.Jumps[i]; j.Past > 0 {
			out = append(out, j.reason())
		}
	}
	return out
}

// unlike says how a given differs: "pipe is stock in slot 1, wide in slot 2".
func (o *Outcome) unlike(g *check.Given, index int) string {
	parts := make([]string, len(o.Bundle.Tunes))
	for i, t := range o.Bundle.Tunes {
		parts[i] = fmt.Sprintf("%s in slot %d", plan.Text(g, t.Values[index]), i+1)
	}
	return g.Name + " is " + strings.Join(parts, ", ")
}

// differs names what the slots may differ in.
func differs(p *check.Program, b *check.Bundle) string {
	if len(b.Differs) == 0 {
		return "what a `differs` names, and there is none"
	}
	names := make([]string, len(b.Differs))
	for i, d := range b.Differs {
		names[i] = p.Givens[d.Given].Name
	}
	return strings.Join(names, ", ")
}

// reason says by how much a table jumps too far.
func (j *Jump) reason() string {
	points := fmt.Sprintf("%d of %d points are", j.Past, j.Points)
	if j.Past == 1 {
		points = fmt.Sprintf("1 of %d points is", j.Points)
	}
	return fmt.Sprintf("%s jumps by %s, %s, more than the %s of its `jump`; %s past it (%s)", j.Table, j.SizeText(), j.Where(), j.Allowed.Text, points, j.Allowed.Span)
}

// Where says between which values and at which point the jump is: "from 3 deg in
// slot 1 to 7 deg in slot 2 at throttle 50 %, rpm 9000".
func (j *Jump) Where() string {
	value := func(i int) string {
		return fmt.Sprintf("%s in slot %d", unit.With(grid.Res{}.Format(j.Values[i]), j.Unit), j.Slots[i]+1)
	}
	return "from " + value(0) + " to " + value(1) + " at " + j.PlaceText()
}

// PlaceText names the point of the jump.
func (j *Jump) PlaceText() string {
	at := make([]string, len(j.At))
	for i, x := range j.At {
		at[i] = check.OnAxis(j.Axes[i].Name, j.Axes[i].Unit, x)
	}
	return strings.Join(at, ", ")
}

// SizeText is the size of a jump in the way in which it is judged: as a share
// where that is, else in the unit of a difference.
func (j *Jump) SizeText() string {
	if j.Allowed != nil && j.Allowed.Share && j.Size > 0 {
		if s := j.Share(); !math.IsInf(s, 0) {
			return grid.Res{}.Format(s*100) + " %"
		}
		return "more than any share, since one of the values is 0"
	}
	return unit.With(grid.Res{}.Format(j.Size), j.DifferenceUnit())
}

// DifferenceUnit is the unit of a difference of the table's values.
func (j *Jump) DifferenceUnit() string {
	if u, err := unit.Parse(j.Unit); err == nil {
		return u.Difference().Text
	}
	return j.Unit
}
