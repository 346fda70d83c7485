package review

import (
	"fettle/compiler/check"
	"fettle/compiler/diff"
	"fettle/compiler/limit"
	"fettle/lang/source"
)

// A tune that only the new side has was never compared with anything, and would
// pass whatever is in it. So it is judged by the limits and checks of its own
// side, and by the old side's limits of the same names, with its own tables. And
// it is compared with a tune beside it, on its own side, that the old side has
// too: the one that it comes from, else the one with most conditions alike.

// notBuilt is the state of a tune that build didn't write.
const notBuilt = "failed to build"

// Added is such a tune.
type Added struct {
	Name       string
	Conditions []diff.Condition
	Beside     string               // the tune that it is compared with; "" for none
	From       bool                 // it comes from that one
	But        []diff.ConditionDiff // what it has otherwise than that one
	Entry      *Entry               // compared with that one, nothing hidden; nil where no cell differs, or without one
	margins    []*Margin
	beside     map[string]*limit.Verdict // of Beside, by the limit's name
	judged     *Judged
	side       *diff.Side
}

// examine compares and judges the tunes that only the new side has.
func (l *lone) examine(r *Review, old, new *Side, jobs []job, opt Options) ([]*Margin, bool) {
	opt.Step = nil
	var list []*loneTune
	for i := range l.new {
		if t := &l.new[i]; new.gone(t, old) {
			list = append(list, t)
		}
	}
	known := new.known(old, jobs)
	r.Added = make([]*Added, len(list))
	if !each(len(list), opt, func(i int) { r.Added[i] = list[i].examine(old, new, known) }) {
		return nil, false
	}
	var all []*Margin
	for _, a := range r.Added {
		all = append(all, a.margins...)
		if a.Entry != nil {
			r.Entries = append(r.Entries, a.Entry)
		}
	}
	return all, true
}

// known are the tunes of the new side that the old side has too.
func (s *Side) known(old *Side, jobs []job) []member {
	var out []member
	if s.Plan != nil {
		for _, t := range s.Plan.Tunes {
			if old.Plan == nil || old.Plan.Find(t.Name) != nil {
				out = append(out, member{t.Name, t, nil})
			}
		}
	}
	if s.Plan == nil || old.Plan == nil {
		out = nil
	}
	for _, j := range jobs {
		if s.Plan != nil && old.Plan != nil && !j.renamed {
			continue // it is there already
		}
		m := member{"", j.new, j.newTables}
		switch {
		case j.new != nil:
			m.name = j.new.Name
		default:
			m.name = j.newTables.Name
		}
		out = append(out, m)
	}
	return out
}

func (t *loneTune) examine(old, new *Side, known []member) *Added {
	a := &Added{Name: t.name(), judged: t.judged, side: t.side()}
	if a.side != nil {
		a.Conditions = a.side.Conditions
		a.compare(t, new, known)
	}
	if a.judged != nil {
		a.judge(old)
	}
	for _, m := range a.margins {
		m.Entry = a.Entry
	}
	return a
}

// compare compares the tune with one beside it.
func (a *Added) compare(t *loneTune, new *Side, known []member) {
	m, from := beside(t, new, known)
	if m == nil {
		return
	}
	other := &Judged{Side: m.tables}
	if m.tune != nil {
		other = new.Judge(m.tune)
	}
	if other.Side == nil {
		return
	}
	p := diff.Compare(other.Side, a.side)
	p.Labels = [2]string{"beside", "new"}
	a.Beside, a.From, a.But = m.name, from, p.Conditions
	a.beside = map[string]*limit.Verdict{}
	for _, v := range other.Limits {
		a.beside[v.Limit.Name] = v
	}
	if !p.Differs() {
		return
	}
	if p.Old.Program != nil && p.New.Program != nil {
		diff.AttributeTunes(p)
	}
	c := &compared{name: a.Name, pair: p, new: a.judged}
	if m.tune != nil {
		c.old = other
	}
	a.Entry = newEntry(c, nil)
	a.Entry.Beside = a.Beside
}

// beside chooses the tune that one is compared with: the one that it comes from,
// if that is known, or what that comes from, and so on; else the first with most
// conditions alike.
func beside(t *loneTune, new *Side, known []member) (best *member, from bool) {
	named := func(name string) *member {
		for i := range known {
			if known[i].name == name {
				return &known[i]
			}
		}
		return nil
	}
	if t.tune != nil && new.Plan != nil {
		for at := t.tune; at != nil && at.From != ""; at = new.Plan.Find(at.From) {
			if m := named(at.From); m != nil {
				return m, at == t.tune
			}
		}
	}
	most := -1
	for i := range known {
		if n := known[i].alike(t); n > most {
			best, most = &known[i], n
		}
	}
	return best, false
}

// alike is how many conditions a tune has like another; -1 where they can't be
// compared.
func (m *member) alike(t *loneTune) int {
	n := 0
	switch {
	case m.tune != nil && t.tune != nil:
		for i, x := range m.tune.Values {
			if x == t.tune.Values[i] {
				n++
			}
		}
	case m.tables != nil && t.tables != nil:
		if m.tables.Tables == nil || len(t.tables.Conditions) == 0 {
			return -1
		}
		for _, x := range m.tables.Conditions {
			for _, y := range t.tables.Conditions {
				if x == y {
					n++
				}
			}
		}
	default:
		return -1
	}
	return n
}

// judge tells which limits and checks the tune doesn't hold, or nearly not, by
// both sides.
func (a *Added) judge(old *Side) {
	add := func(m *Margin) {
		m.Added, m.Tune, m.Tunes = true, a.Name, []string{a.Name}
		a.margins = append(a.margins, m)
	}
	if a.judged.Fault != "" {
		add(&Margin{Kind: NewlyFails, Fault: true, Mode: check.Fail.String(), After: &State{Word: cantCompute, Problem: a.judged.Fault}})
		return
	}
	byOld := map[string]*limit.Verdict{}
	if old.ByLimits != nil {
		for _, v := range old.ByLimits(a.judged.Side) {
			byOld[v.Limit.Name] = v
		}
	}
	has := map[string]*check.Limit{}
	if old.Program != nil {
		for _, l := range old.Program.Limits {
			has[l.Name] = l
		}
	}
	p := a.judged.program()
	for _, v := range a.judged.Limits {
		m := &Margin{Name: v.Limit.Name, Mode: v.Limit.Mode.String(), new: v, After: stateOf(p, v)}
		m.Text[1], m.Place[1] = limitText(v.Limit), v.Limit.Span
		if l := has[m.Name]; l != nil {
			m.Text[0], m.Place[0] = limitText(l), l.Span
		}
		m.Kind = standing(v, a.beside[m.Name])
		if was := byOld[m.Name]; was != nil && badness(was) > badness(v) {
			// It would be worse by what the limit asked before.
			m.Kind, m.Breaks, m.AsItWas = Loosened, 1, stateOf(old.Program, was)
		}
		delete(byOld, m.Name)
		if m.Kind != "" {
			add(m)
		}
	}
	if old.Program != nil {
		for _, l := range old.Program.Limits { // in their order
			if was := byOld[l.Name]; was != nil && badness(was) > 0 {
				m := &Margin{Kind: GoneLimit, Name: l.Name, Mode: l.Mode.String(), Breaks: 1, AsItWas: stateOf(old.Program, was), old: was}
				m.Text[0], m.Place[0], m.Before = limitText(l), l.Span, m.AsItWas
				add(m)
			}
		}
	}
	for _, v := range a.judged.Proofs {
		if m := proofMargin(p, nil, p, v); m.Kind != NewLimit {
			add(m)
		}
	}
	for _, o := range a.judged.Checks {
		if o.OK {
			continue
		}
		m := &Margin{Kind: NewlyFails, Check: true, Mode: check.Fail.String(), Name: o.Check.Title, After: stateOfCheck(o)}
		m.Text[1], m.Place[1] = source.OneLine(o.Expect.Text), o.Expect.Span
		add(m)
	}
}

// standing is what there is to tell of a limit of a tune that wasn't there before:
// that it fails; and that it warns or is near, if the tune beside it, which may be
// nil, is farther away.
func standing(v, beside *limit.Verdict) string {
	switch {
	case badness(v) == 2:
		return NewlyFails
	case beside != nil && badness(beside) >= badness(v) && beside.HasMargin && v.HasMargin && beside.Margin <= v.Margin+float64(sixDigits*abs(v.Bound)):
		return ""
	case badness(v) > 0:
		return worse(badness(v))
	case v.State == limit.Holds && v.HasMargin && roomOf(v.Margin, v.Value, v.Bound) < nearShare:
		return NewlyNear
	}
	return ""
}

// findAdded gives the tune that was added under a name; nil if there is none.
func (r *Review) findAdded(name string) *Added {
	for _, a := range r.Added {
		if a.Name == name {
			return a
		}
	}
	return nil
}
