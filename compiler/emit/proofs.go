package emit

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"fettle/compiler/check"
	"fettle/compiler/prove"
)

// What could be proved of a limit over a range of conditions: in words, and as a
// manifest has it.

// proof is what came of proving a limit; nil where it wasn't to be.
func (in *Input) proof(l *check.Limit) *prove.Verdict {
	for _, v := range in.Proofs {
		if v.Limit.Index == l.Index {
			return v
		}
	}
	return nil
}

// refuted gives the limits that are refuted and fail the tune, worst first.
func refuted(list []*prove.Verdict) []*prove.Verdict {
	var out []*prove.Verdict
	for _, v := range list {
		if v.State == prove.Refuted && v.Limit.Mode == check.Fail {
			out = append(out, v)
		}
	}
	slices.SortStableFunc(out, func(a, b *prove.Verdict) int {
		switch x, y := unproved(a), unproved(b); {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	return out
}

// HasRoom says whether the room that is left is known, as a number.
func HasRoom(v *prove.Verdict) bool { return v.HasMargin && !math.IsInf(v.Margin, 0) }

// unproved is how far past its bound a limit is, or may be, as a share of it.
func unproved(v *prove.Verdict) float64 {
	if !HasRoom(v) {
		return math.Inf(1)
	}
	return -v.Margin / math.Max(math.Abs(v.Bound), math.SmallestNonzeroFloat64)
}

// ProofText says what could be proved of a limit, for people.
func ProofText(p *check.Program, v *prove.Verdict) string {
	l := v.Limit
	head := "limit " + l.Name
	switch v.State {
	case prove.Refuted:
		where := RefutedAt(p, v)
		if v.Problem != "" {
			return fmt.Sprintf("%s is refuted at %s: %s, within its `for %s` (%s)", head, where, v.Problem, l.ForText, l.Span)
		}
		if !v.HasMargin {
			return fmt.Sprintf("%s is refuted: it doesn't hold at %s, within its `for %s` (%s)", head, where, l.ForText, l.Span)
		}
		value, bound := apart(v.Value, v.Bound, v.Unit)
		return fmt.Sprintf("%s is refuted at %s: %s is %s past the bound of %s, within its `for %s` (%s)", head, where, value,
			quantity(float64(room(-v.Margin, v.Value, v.Bound)), v.Unit.Difference()), bound, l.ForText, l.Span)
	case prove.Undecided:
		text := head + " isn't proved"
		if v.Problem != "" {
			text += ": " + v.Problem
		}
		return fmt.Sprintf("%s; %s (`for %s`, %s)", text, ProvedRoom(v), l.ForText, l.Span)
	}
	return fmt.Sprintf("%s is proved, %s (`for %s`, %s)", head, ProvedRoom(v), l.ForText, l.Span)
}

// ProvedRoom says what room is certain: "with at least 1.2 % of room".
func ProvedRoom(v *prove.Verdict) string {
	switch x := ProvedMargin(v); {
	case !HasRoom(v) && v.State == prove.Undecided:
		return "nothing could be shown of how far it may be passed"
	case !HasRoom(v):
		return "everywhere"
	case v.State == prove.Undecided && x >= 0:
		return "only that there is no less than " + quantity(x, v.Unit.Difference()) + " of room"
	case v.State == prove.Undecided:
		return "only that the bound is passed by no more than " + quantity(-x, v.Unit.Difference())
	case x == 0:
		return "with no room to spare"
	default:
		return "with at least " + quantity(x, v.Unit.Difference()) + " of room"
	}
}

// RefutedAt names the conditions and the cell that break a limit.
func RefutedAt(p *check.Program, v *prove.Verdict) string {
	var out []string
	for _, c := range v.Conditions {
		g := p.Givens[c.Given]
		out = append(out, check.OnAxis(g.Name, g.Unit.Text, c.Value))
	}
	if len(v.At) == len(v.Limit.Axes) && len(v.At) > 0 {
		out = append(out, p.PlaceText(v.Limit.Axes, v.At))
	}
	return strings.Join(out, ", ")
}

// ProvedMargin is a proof's margin as it is told: what is certain, or what it is
// at the breach.
func ProvedMargin(v *prove.Verdict) float64 {
	switch {
	case v.State == prove.Refuted:
		return float64(room(v.Margin, v.Value, v.Bound))
	case v.State == prove.Proved && v.Margin < 0:
		return 0 // within the slack of all comparisons
	}
	return downwards(v.Margin)
}

// downwards rounds a margin to four significant digits, never up: what is said to
// be certain is.
func downwards(x float64) float64 {
	if x == 0 || math.IsInf(x, 0) || math.IsNaN(x) {
		return x
	}
	text := strconv.FormatFloat(x, 'e', 3, 64)
	if y, err := strconv.ParseFloat(text, 64); err == nil && y <= x {
		return y
	}
	digits, exponent, _ := strings.Cut(text, "e")
	n, err := strconv.Atoi(strings.Replace(digits, ".", "", 1))
	e, err2 := strconv.Atoi(exponent)
	if err != nil || err2 != nil {
		return x
	}
	if n == 1000 { // one less is in the decade below, and has a digit more
		n, e = 10000, e-1
	}
	y, err := strconv.ParseFloat(strconv.Itoa(n-1)+"e"+strconv.Itoa(e-3), 64)
	if err != nil {
		return x
	}
	return y
}

// unprovedWarnings lists the limits of a tune that holds and that aren't proved.
func unprovedWarnings(in *Input) []Warned {
	var out []Warned
	for _, v := range in.Proofs {
		if v.State == prove.Undecided || v.State == prove.Refuted && v.Limit.Mode != check.Fail {
			out = append(out, Warned{Limit: v.Limit, Text: ProofText(in.Program, v), Size: unproved(v), Proof: true})
		}
	}
	return out
}

// proofOf is a proof as a manifest has it.
func proofOf(p *check.Program, v *prove.Verdict) *Proof {
	o := &Proof{For: []Extent{}, State: v.State.String(), Unit: v.Unit.Text, Boxes: v.Boxes, Reason: v.Problem}
	for _, x := range v.Limit.For {
		g := p.Givens[x.Given]
		o.For = append(o.For, Extent{g.Name, Number(x.Lo), Number(x.Hi), g.Unit.Text})
	}
	if HasRoom(v) {
		margin := Number(ProvedMargin(v))
		o.Margin = &margin
	}
	if v.State != prove.Refuted {
		return o
	}
	b := &Breach{Conditions: []Setting{}, At: []Coordinate{}}
	for _, c := range v.Conditions {
		g := p.Givens[c.Given]
		b.Conditions = append(b.Conditions, Setting{g.Name, Number(c.Value), g.Unit.Text})
	}
	if len(v.At) == len(v.Limit.Axes) {
		for i, x := range v.At {
			a := p.Axes[v.Limit.Axes[i]]
			b.At = append(b.At, Coordinate{a.Name, Number(x), a.Unit.Text})
		}
	}
	if v.HasMargin {
		value, bound := six(v.Value), six(v.Bound)
		b.Value, b.Bound = &value, &bound
	}
	o.Breach = b
	return o
}
