package hybrid

import (
	"slices"

	"fettle/compiler/check"
	"fettle/compiler/plan"
	"fettle/lang/formula"
	"fettle/lang/syntax"
)

// What reads what, by the words of the texts. A word that only looks like a name
// makes it too much, never too little.

// read lists the names that the maps of both sides, the axes, rules, clamps and
// trims read, straight or by way of others.
func (s *state) read(trims []*standIn) map[string]bool {
	in := map[string]bool{}
	var queue []string
	want := func(names ...string) {
		for _, name := range names {
			if !in[name] && s.decls[name] != nil {
				in[name] = true
				queue = append(queue, name)
			}
		}
	}
	want(s.shared...)
	for name, d := range s.decls {
		if _, axis := d.(*syntax.Axis); axis || isRule(d) || isClamp(d) {
			want(name)
		}
	}
	for _, t := range trims {
		want(t.reads...)
	}
	for len(queue) > 0 {
		name := queue[len(queue)-1]
		queue = queue[:len(queue)-1]
		want(s.facts.of(s.decls[name]).reads...)
	}
	return in
}

// reach says by which ways an element can come to a cell.
type reach struct {
	always bool     // by a map, a clamp, a trim
	rules  []string // only while one of these applies
	row    string   // of a catalogue, which nothing names: only where a given of a tune is that row
	of     string   // its catalogue
}

// reaches finds the ways of every element, over both sides' texts.
func (d *differ) reaches() {
	readers := map[string][]string{}
	named := map[string]bool{} // rows that a text names
	trimmed := map[string]bool{}
	for _, s := range []*side{d.old, d.new} {
		for _, x := range s.decls {
			f := d.facts.of(x)
			for _, r := range f.reads {
				readers[r] = append(readers[r], x.Header().Name.Text)
			}
			for _, p := range f.parts {
				named[p] = true
			}
		}
	}
	for _, t := range d.steps.start.trims {
		for _, r := range t.reads {
			trimmed[r] = true
		}
		for _, p := range t.parts {
			named[p] = true
		}
	}
	for _, e := range d.steps.Elements {
		e.reach = d.ways(e, readers, trimmed)
		if e.Kind == Row && !named[e.Name] {
			e.reach.of = e.names[0]
			e.reach.row = e.Name[len(e.reach.of)+1:]
		}
	}
}

func (d *differ) ways(e *Element, readers map[string][]string, trimmed map[string]bool) reach {
	if e.Kind == Order {
		return reach{always: true}
	}
	var out reach
	seen := map[string]bool{}
	queue := slices.Clone(e.names)
	for _, m := range e.Members {
		if m.Kind == Order {
			return reach{always: true}
		}
		queue = append(queue, m.names...)
	}
	for len(queue) > 0 {
		name := queue[len(queue)-1]
		queue = queue[:len(queue)-1]
		if seen[name] {
			continue
		}
		seen[name] = true
		on := trimmed[name] // by what goes on from here
		rule := false
		for _, s := range []*side{d.old, d.new} {
			switch x := s.byName[name].(type) {
			case nil:
			case *syntax.Rule:
				rule = true
			case *syntax.Map, *syntax.Axis, *syntax.Limit:
				on = true
			default:
				_ = x
			}
		}
		switch {
		case on:
			return reach{always: true}
		case rule:
			out.rules = append(out.rules, name)
		}
		queue = append(queue, readers[name]...)
	}
	slices.Sort(out.rules)
	return out
}

// Idle says whether element i moves no cell of a tune, since nothing that
// applies to it reads the element: then the hybrids before and after it give the
// same cells. The tune is that of the hybrid after.
func (s *Steps) Idle(i int, of Side, t *plan.Tune) bool {
	e := s.Elements[i]
	if e.reach.always {
		return false
	}
	var tunes [2]*plan.Tune
	for k := range tunes {
		h := s.At(i + k)
		if h.Err != nil {
			return false
		}
		var err error
		if tunes[k], err = s.Tune(h, of, t); err != nil {
			return false
		}
	}
	if e.reach.row != "" && !s.chosen(s.At(i+1).Check, tunes[1], e.reach) {
		return true
	}
	for k, tune := range tunes {
		p := s.At(i + k).Check
		for _, name := range e.reach.rules {
			if r := ruleOf(p, name); r != nil && applies(r, tune, p) {
				return false
			}
		}
	}
	return true
}

// chosen says whether a given of a tune is a row.
func (s *Steps) chosen(p *check.Program, t *plan.Tune, at reach) bool {
	for i, g := range p.Givens {
		if g.Kind == check.Choice && g.Catalog.Name == at.of && g.Catalog.Rows[int(t.Values[i])] == at.row {
			return true
		}
	}
	return false
}

func ruleOf(p *check.Program, name string) *check.Rule {
	for _, r := range p.Rules {
		if r.Name == name {
			return r
		}
	}
	return nil
}

// applies says whether a rule may act on a tune: one that can't be decided fails
// the tune, and so does something.
func applies(r *check.Rule, t *plan.Tune, p *check.Program) bool {
	if r.When == nil {
		return true
	}
	yes, err := formula.Decide(r.When, t.Conditions(p))
	return err != nil || yes
}
