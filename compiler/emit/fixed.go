package emit

import (
	"fettle/compiler/check"
	"fettle/compiler/grid"
	"fettle/lang/source"
)

// fixed is what is the same for every tune of a program, worked out once: the
// frames of its tables, and what a manifest says of the source.
type fixed struct {
	program  *check.Program
	frames   []*grid.CSVFrame // by map
	maps     []Map            // by map, but for the file
	rules    []Rule           // by rule, but for what its adjustments did
	limits   []Limit          // by limit, but for how it came out
	steps    int              // of all rules
	filled   []Filled
	cautions []string
	text     struct { // laid out as they stand in a tune.json
		axes             []string // by map
		rules            []string // by rule, up to its adjustments
		steps            map[*check.Step]*stepText
		filled, cautions string
	}
}

// stepText is an adjustment up to what it did, on one line and on several.
type stepText struct {
	flat, broken string
}

func newFixed(p *check.Program) *fixed {
	x := &fixed{program: p, filled: []Filled{}, cautions: Cautions(p)}
	for _, m := range p.Maps {
		x.frames = append(x.frames, frame(p, m))
		x.maps = append(x.maps, mapOf(p, m))
		if f := filled(p, m); len(f.Cells) > 0 {
			x.filled = append(x.filled, f)
		}
	}
	for _, r := range p.Rules {
		rule := Rule{Name: r.Name, Place: placeOf(r.Span), Doc: r.Doc}
		if r.When != nil {
			rule.When = source.OneLine(r.When.Span.Text())
		}
		for _, s := range r.Steps {
			rule.Adjustments = append(rule.Adjustments, adjustment(s))
		}
		x.rules = append(x.rules, rule)
		x.steps += len(r.Steps)
	}
	for _, l := range p.Limits {
		x.limits = append(x.limits, limitOf(p, l))
	}
	x.layOut()
	return x
}

// layOut lays out what stands in a tune.json as it is. Numbers that aren't finite
// are found where the tune is written.
func (x *fixed) layOut() {
	lay := func(depth int, v any) string {
		w := newWriter(nil)
		w.depth = depth
		w.any(v)
		return string(w.b)
	}
	for i := range x.maps {
		x.text.axes = append(x.text.axes, lay(3, x.maps[i].Axes))
	}
	x.text.steps = map[*check.Step]*stepText{}
	for i, r := range x.program.Rules {
		w := newWriter(nil)
		w.depth = 2
		w.ruleHead(&x.rules[i])
		x.text.rules = append(x.text.rules, string(w.b))
		for k, s := range r.Steps {
			x.text.steps[s] = &stepText{adjustmentHead(&x.rules[i].Adjustments[k], false), adjustmentHead(&x.rules[i].Adjustments[k], true)}
		}
	}
	x.text.filled, x.text.cautions = lay(1, x.filled), lay(1, x.cautions)
}

// adjustmentHead lays out an adjustment of a rule up to what it did.
func adjustmentHead(a *Adjustment, broken bool) string {
	w := newWriter(nil)
	w.depth = 4
	if broken {
		w.block('{')
	} else {
		w.begin('{')
	}
	w.adjustmentHead(a)
	return string(w.b)
}

// fix gives what is fixed for the input's program.
func (in *Input) fix() *fixed {
	if in.fixed == nil || in.fixed.program != in.Program {
		in.fixed = newFixed(in.Program)
	}
	return in.fixed
}
