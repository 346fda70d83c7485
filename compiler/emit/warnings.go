package emit

import (
	"fmt"

	"fettle/compiler/check"
	"fettle/compiler/limit"
)

// Warned is what is to be known of a tune that holds: a limit that warns, a
// clamp that moved cells, or a limit that isn't proved.
type Warned struct {
	Limit *check.Limit
	Text  string
	Size  float64 // how far the bound is passed, as a share of it
	Proof bool    // it isn't proved over its range
}

// Warnings lists what is to be known of a tune that holds.
func Warnings(in Input) []Warned {
	var out []Warned
	for _, v := range in.Limits {
		switch v.State {
		case limit.Warns:
			out = append(out, Warned{Limit: v.Limit, Text: limitText(&in, v), Size: excess(v)})
		case limit.Clamped:
			l := v.Limit
			value, bound := apart(v.Value, v.Bound, v.Unit)
			did := "capped"
			if l.Hi == nil {
				did = "raised"
			}
			out = append(out, Warned{Limit: l, Text: fmt.Sprintf("limit %s "+did+" %s in %d of %d cells; the farthest, at %s, from %s to %s (%s)",
				l.Name, l.Clamped.Name, v.Bad, len(in.Result.Maps[l.Clamped.Index].Cells), in.Program.PlaceText(l.Clamped.Axes, v.At), value, bound, l.Span), Size: excess(v)})
		}
	}
	return append(out, unprovedWarnings(&in)...)
}
