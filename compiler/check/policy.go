package check

import (
	"math"

	"fettle/lang/source"
	"fettle/lang/unit"
)

// Policy answers whether a change is small enough to be hidden. A map that it
// doesn't name may not change at all. The zero Policy allows nothing.
type Policy struct {
	list []Allowance
	of   map[string][]Allowance // by map; a change has to be within each
}

// NewPolicy makes a policy of what a source or a command line allows.
func NewPolicy(list []Allowance) Policy {
	p := Policy{list: list, of: map[string][]Allowance{}}
	for _, a := range list {
		p.of[a.Map.Name] = append(p.of[a.Map.Name], a)
	}
	return p
}

// Strictest is the stricter of the policies of an old and a new source, so that
// no change hides itself by what it allows anew. A map has to be allowed by
// both. Of two shares, or two amounts, the smaller counts; a share and an amount
// both count. Amounts come in the unit of the new map; a map of another kind on
// the other side isn't allowed at all.
func Strictest(old, new []Allowance) Policy {
	var list []Allowance
	for _, n := range new {
		for _, o := range old {
			if o.Map.Name != n.Map.Name {
				continue
			}
			conv, err := unit.NewConv(o.Map.Unit.Difference(), n.Map.Unit.Difference())
			if err != nil {
				continue
			}
			if !o.Share {
				o.Amount = conv.Apply(o.Amount)
			}
			o.Map = n.Map
			switch {
			case o.Share != n.Share:
				list = append(list, o, n)
			case o.Amount < n.Amount:
				list = append(list, o)
			default:
				list = append(list, n)
			}
		}
	}
	return NewPolicy(list)
}

// Empty says that nothing is allowed.
func (p Policy) Empty() bool { return len(p.list) == 0 }

// Texts are its lines: "fuel 2 %".
func (p Policy) Texts() []string {
	out := make([]string, len(p.list))
	for i, a := range p.list {
		out[i] = a.Map.Name + " " + a.Text
	}
	return out
}

// Places are where its lines stand in a source; those of a command line stand
// in none.
func (p Policy) Places() []source.Span {
	var out []source.Span
	for _, a := range p.list {
		if !a.Span.IsZero() {
			out = append(out, a.Span)
		}
	}
	return out
}

// Within says whether a map's cell may change from one value to the other,
// both in the map's unit.
func (p Policy) Within(mapName string, old, new float64) bool {
	if old == new {
		return true
	}
	for _, a := range p.of[mapName] {
		if !a.within(old, new) {
			return false
		}
	}
	return len(p.of[mapName]) > 0
}

// slack is how far past an allowance a change may lie, as a share of the
// allowance; noise is what a subtraction leaves behind, as a share of the values.
const (
	slack = 1e-9
	noise = 0x1p-50
)

// within judges one allowance. A share of nothing is nothing.
func (a Allowance) within(old, new float64) bool {
	room := a.Amount
	if a.Share {
		room = float64(a.Amount * math.Abs(old))
	}
	change := math.Abs(new - old)
	if room == 0 || math.IsInf(change, 0) || math.IsNaN(change) {
		return old == new
	}
	return change <= room+float64(slack*room)+float64(noise*max(math.Abs(old), math.Abs(new)))
}
