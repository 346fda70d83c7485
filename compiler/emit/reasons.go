package emit

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fettle/compiler/limit"
	"fettle/lang/formula"
	"fettle/lang/source"
)

// Reasons says why a tune fails, a line each, worst first: a value that can't be
// computed; limits by how far they are passed for their size; those without a
// measure; limits that are refuted over their range; checks. A tune that holds has none.
func Reasons(in Input) []string {
	if in.Result.Fault != nil {
		return []string{in.Tune.Name + ": " + faultText(&in)}
	}
	var out []string
	for _, v := range failing(in.Limits) {
		out = append(out, in.Tune.Name+": "+limitText(&in, v))
	}
	for _, v := range refuted(in.Proofs) {
		out = append(out, in.Tune.Name+": "+ProofText(in.Program, v))
	}
	for _, c := range in.Checks {
		if !c.OK {
			out = append(out, in.Tune.Name+": "+checkText(c))
		}
	}
	return out
}

// failing gives the verdicts that fail, worst first.
func failing(verdicts []*limit.Verdict) []*limit.Verdict {
	var out []*limit.Verdict
	for _, v := range verdicts {
		if v.State == limit.Fails {
			out = append(out, v)
		}
	}
	slices.SortStableFunc(out, func(a, b *limit.Verdict) int {
		switch x, y := excess(a), excess(b); {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	return out
}

// excess is how far a limit is passed, as a share of its bound.
func excess(v *limit.Verdict) float64 {
	switch {
	case v.Problem != "":
		return math.Inf(1) // nothing is known of it
	case !v.HasMargin:
		return math.Inf(-1)
	}
	return -v.Margin / math.Max(math.Max(math.Abs(v.Bound), math.Abs(v.Value)), math.SmallestNonzeroFloat64)
}

// faultText says what couldn't be computed, where and by what.
func faultText(in *Input) string {
	f := in.Result.Fault
	text := fmt.Sprintf("%s can't be computed", f.Map.Name)
	if f.Cell >= 0 {
		text += " at " + in.Program.PlaceText(f.Map.Axes, cellAt(f.Map, f.Cell))
	}
	text += ": " + f.Reason
	by := ""
	switch {
	case f.Step != nil && f.Step.Rule != nil:
		by = "rule " + f.Step.Rule.Name + ", "
	case f.Step != nil:
		by = "trim, "
	}
	return text + " (" + by + f.Span.String() + ")"
}

// limitText says how a limit fails: what, where, by how much, in how many cells,
// and who pushed it there.
func limitText(in *Input, v *limit.Verdict) string {
	l := v.Limit
	if v.Problem != "" {
		return fmt.Sprintf("limit %s can't be looked at: %s (%s)", l.Name, v.Problem, l.Span)
	}
	at := in.Program.PlaceText(limitAxes(v), v.At)
	cells := fmt.Sprintf("%d of %d cells", v.Bad, v.Cells)
	if v.Cells == 1 {
		cells = "the one cell"
	}
	if !v.HasMargin {
		var values []string
		for _, m := range l.Maps {
			values = append(values, in.Program.Maps[m].Name+" is "+mapValue(in, m, l.Axes, v.At))
		}
		return fmt.Sprintf("limit %s (`%s`) doesn't hold at %s, where %s; %s (%s)", l.Name, source.OneLine(l.Text), at, strings.Join(values, " and "), cells, l.Span)
	}
	value, bound := apart(v.Value, v.Bound, v.Unit)
	by := quantity(float64(room(-v.Margin, v.Value, v.Bound)), v.Unit.Difference())
	return fmt.Sprintf("%s is %s at %s, %s past the %s of limit %s; %s; %s", bounded(in, v), value, at, by, bound, l.Name, cells, blameText(v))
}

// mapValue prints what a map is at a limit's cell.
func mapValue(in *Input, m int, axes []int, at []float64) string {
	coordinates := make([]float64, 0, 2)
	for _, a := range in.Program.Maps[m].Axes {
		coordinates = append(coordinates, at[slices.Index(axes, a)])
	}
	t := &in.Result.Maps[m]
	if len(coordinates) == 2 {
		return quantity(t.Lookup2(coordinates[0], coordinates[1]), in.Program.Maps[m].Unit)
	}
	return quantity(t.Lookup(coordinates[0]), in.Program.Maps[m].Unit)
}

// bounded is the text of what a limit bounds, where all its comparisons bound
// the same; otherwise the limit's whole text.
func bounded(in *Input, v *limit.Verdict) string {
	texts := map[string]bool{}
	var last string
	var take func(n *formula.Node)
	take = func(n *formula.Node) {
		n = formula.Strip(n)
		if n.Op == formula.And {
			take(n.Kids[0])
			take(n.Kids[1])
			return
		}
		last = source.OneLine(n.Span.Text())
		if len(n.Kids) == 2 {
			side := n.Kids[0]
			if side.Maps == 0 && n.Kids[1].Maps != 0 {
				side = n.Kids[1]
			}
			if plain := formula.Plain(side); plain.Op == formula.MapHere {
				last = in.Program.Maps[plain.A].Name
			} else {
				last = "`" + source.OneLine(side.Span.Text()) + "`"
			}
		}
		texts[last] = true
	}
	take(v.Limit.Cond)
	if len(texts) == 1 {
		return last
	}
	return "`" + source.OneLine(v.Limit.Text) + "`"
}

func blameText(v *limit.Verdict) string {
	if v.Blame == nil {
		return v.Limit.Span.String()
	}
	main := v.Blame.Pushes[v.Blame.Main]
	if v.Blame.Main == 0 {
		return "the base is past it before any rule"
	}
	who := main.Name
	if main.Rule == nil && main.Clamp == nil {
		who = "the trim"
	}
	place := pushPlace(main)
	return fmt.Sprintf("%s pushed it there, by %s (%s:%d)", who,
		quantity(float64(room(-main.Change, v.Value, v.Bound)), v.Unit.Difference()), place.File, place.Line)
}

// checkText says how an expected value was missed.
func checkText(c *limit.Outcome) string {
	text := fmt.Sprintf("check \"%s\": `%s`", c.Check.Title, source.OneLine(c.Expect.Text))
	switch {
	case c.Problem != "":
		text += " can't be computed: " + c.Problem
	case c.HasValues:
		got, want := apart(c.Got, c.Want, c.Unit)
		text += fmt.Sprintf(": it is %s and not %s, off by %s", got, want, quantity(float64(room(math.Abs(c.Got-c.Want), c.Got, c.Want)), c.Unit.Difference()))
	default:
		text += " is no"
	}
	return text + fmt.Sprintf(" (%s)", c.Expect.Span)
}
