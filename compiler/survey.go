package compiler

import (
	"fettle/compiler/check"
	"fettle/lang/diag"
	"fettle/lang/formula"
)

// Survey watches a run over every tune and says what in the source never has
// any effect: rules that never apply, rules that apply and change nothing,
// regions that touch no breakpoint, adjustments that throw earlier ones away.
type Survey struct {
	w       *Workspace
	tunes   int
	applied []int // by the steps' indexes
	changed []int
	reached [][]bool
	thrown  map[[2]*check.Step]int // cells over all tunes
	where   map[[2]*check.Step]string
	order   [][2]*check.Step
	looked  map[*check.Limit]int // cells looked at, of limits whose `when` holds somewhere
	holds   map[*check.Rule]bool // rules whose `when` may hold in a tune that can't be computed
}

// NewSurvey begins a survey; hand every outcome of the run to Add.
func (w *Workspace) NewSurvey() *Survey {
	return &Survey{w: w, thrown: map[[2]*check.Step]int{}, where: map[[2]*check.Step]string{}, looked: map[*check.Limit]int{}, holds: map[*check.Rule]bool{}}
}

// Add notes one tune.
func (s *Survey) Add(o *Outcome) {
	if o.Result.Fault != nil {
		env := o.Tune.Conditions(s.w.Program)
		for _, r := range s.w.Program.Rules {
			if r.When != nil && !s.holds[r] {
				yes, err := formula.Decide(r.When, env)
				s.holds[r] = yes || err != nil
			}
		}
		return
	}
	s.tunes++
	if s.applied == nil {
		n := len(o.Result.Steps)
		s.applied, s.changed, s.reached = make([]int, n), make([]int, n), make([][]bool, n)
	}
	for step, r := range o.Result.Steps {
		if !r.Applied {
			continue
		}
		s.applied[step]++
		s.changed[step] += r.Changed
		if s.reached[step] == nil {
			s.reached[step] = make([]bool, len(r.Weights))
		}
		for i, w := range r.Weights {
			s.reached[step][i] = s.reached[step][i] || w
		}
	}
	for _, v := range o.Limits {
		if v.Cells > 0 || v.AtNoCell() {
			s.looked[v.Limit] += v.Cells
		}
	}
	for _, t := range o.Result.Thrown {
		key := [2]*check.Step{t.Earlier, t.Later}
		if s.thrown[key] == 0 {
			s.order = append(s.order, key)
			s.where[key] = o.Tune.Name
		}
		s.thrown[key] += t.Cells
	}
}

// Report adds the warnings to a list.
func (s *Survey) Report(errs *diag.List) {
	if s.tunes == 0 {
		return
	}
	for _, r := range s.w.Program.Rules {
		s.rule(r, errs)
	}
	for _, v := range s.w.Program.Variants {
		for _, t := range v.Trims {
			s.step(t, "this trim", errs)
		}
	}
	for _, l := range s.w.Program.Limits {
		if n, ok := s.looked[l]; ok && n == 0 {
			errs.Add("W015", l.Span, "limit `%s` looks at no cell: its `where` holds nowhere", l.Name).
				Hint("compare its bounds with the breakpoints of the maps that it names")
		}
	}
	for _, key := range s.order {
		earlier, later := key[0], key[1]
		if earlier.Rule == nil {
			continue
		}
		errs.Add("W004", later.Span, "this `=` throws away what rule `%s` did to `%s`", earlier.Rule.Name, later.Map.Name).
			Note(earlier.Span, "thrown away where both apply, as in `%s`", s.where[key]).
			Hint("put this rule first, or scale with `*=`")
	}
}

func (s *Survey) rule(r *check.Rule, errs *diag.List) {
	if len(r.Steps) == 0 {
		return
	}
	applied := 0
	for _, st := range r.Steps {
		applied += s.applied[st.Index]
	}
	if applied == 0 {
		if s.holds[r] {
			return
		}
		errs.Add("W002", r.Span, "rule `%s` never applies: its `when` holds in no variant", r.Name).Note(r.When.Span, "the condition")
		return
	}
	for _, st := range r.Steps {
		s.step(st, "this adjustment of rule `"+r.Name+"`", errs)
	}
}

func (s *Survey) step(st *check.Step, what string, errs *diag.List) {
	if s.applied[st.Index] == 0 || s.changed[st.Index] > 0 {
		return
	}
	for i, ok := range s.reached[st.Index] {
		if !ok {
			errs.Add("W005", st.Over[i].Span, "this range touches no breakpoint of `%s`, so %s changes no cell", st.Map.Name, what)
			return
		}
	}
	d := errs.Add("W009", st.Span, "%s applies and changes no cell", what)
	for i, w := range st.Over {
		for _, o := range st.Over[:i] {
			if w.Axis == o.Axis {
				d.Hint("of several ranges on one axis only the part that they share counts")
			}
		}
	}
}
