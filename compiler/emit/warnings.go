package emit

import (
	"fmt"

	"fettle/compiler/limit"
)

// Warnings says what is to be known of a tune that holds, a line each: limits
// that warn, and clamps that capped cells.
func Warnings(in Input) []string {
	var out []string
	for _, v := range in.Limits {
		switch v.State {
		case limit.Warns:
			out = append(out, limitText(&in, v))
		case limit.Clamped:
			l := v.Limit
			value, bound := apart(v.Value, v.Bound, v.Unit)
			out = append(out, fmt.Sprintf("limit %s capped %s in %d of %d cells; the farthest, at %s, from %s to %s (%s)",
				l.Name, l.Clamped.Name, v.Bad, len(in.Result.Maps[l.Clamped.Index].Cells), where(in.Program, l.Clamped.Axes, v.At), value, bound, l.Span))
		}
	}
	return out
}
