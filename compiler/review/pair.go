package review

import (
	"strings"

	"fettle/compiler/diff"
	"fettle/compiler/plan"
)

// member is a tune of a side, computed or read.
type member struct {
	name   string
	tune   *plan.Tune
	tables *diff.Side
}

func (s *Side) members() []member {
	var out []member
	for _, t := range s.Tunes {
		out = append(out, member{t.Name, t, nil})
	}
	for _, t := range s.Tables {
		out = append(out, member{t.Name, nil, t})
	}
	return out
}

// pairUp pairs the tunes of two sides: by name; where each side is a single
// tune or file, those two whatever they are called; a single one beside many
// with its namesake alone. Two patterns of which no names agree are paired by
// what their stars stand for. Tunes that build failed to write are told apart.
func pairUp(old, new *Side) ([]job, lone, []*Margin) {
	a, b := old.members(), new.members()
	if len(a) == 1 && len(b) == 1 && old.Single && new.Single {
		return []job{jobOf(a[0], b[0])}, lone{}, nil
	}
	a, b = namesakes(old, new, a, b), namesakes(new, old, b, a)
	key := func(m member) string { return m.name }
	keyB := key
	if !meet(a, b) {
		if x, y := starred(old, a), starred(new, b); x != nil && y != nil {
			key, keyB = x, y
		}
	}
	byKey := map[string]*member{}
	for i := range b {
		byKey[keyB(b[i])] = &b[i]
	}
	var jobs []job
	var l lone
	var failed []*Margin
	met := map[string]bool{}
	for i := range a {
		m := &a[i]
		k := key(*m)
		other := byKey[k]
		met[k] = other != nil
		switch {
		case m.has() && other.has():
			jobs = append(jobs, jobOf(*m, *other))
		case m.failed() != "" || other.failed() != "":
			if x := unbuilt(m.name, m, other); x != nil {
				failed = append(failed, x)
			}
		case m.has():
			l.old = append(l.old, loneTune{tune: m.tune, tables: m.tables})
		}
	}
	for i := range b {
		m := &b[i]
		switch {
		case met[keyB(*m)]:
		case m.failed() != "":
			if x := unbuilt(m.name, nil, m); x != nil {
				failed = append(failed, x)
			}
		case m.has():
			l.new = append(l.new, loneTune{tune: m.tune, tables: m.tables})
		}
	}
	return jobs, l, failed
}

func jobOf(a, b member) job {
	name := a.name
	if a.name != b.name {
		name = a.name + " → " + b.name
	}
	return job{name: name, old: a.tune, new: b.tune, oldTables: a.tables, newTables: b.tables}
}

func (m *member) has() bool {
	return m != nil && (m.tune != nil || m.tables != nil && m.tables.Tables != nil)
}

func (m *member) failed() string {
	if m == nil || m.tables == nil {
		return ""
	}
	return m.tables.Failed
}

// namesakes narrows a side to the tune that the other one names, if that names
// a single one.
func namesakes(s, o *Side, list, other []member) []member {
	if !o.Single || len(other) != 1 || len(list) == 1 || s.Single {
		return list
	}
	for _, m := range list {
		if m.name == other[0].name {
			return []member{m}
		}
	}
	return list
}

func meet(a, b []member) bool {
	names := map[string]bool{}
	for _, m := range a {
		names[m.name] = true
	}
	for _, m := range b {
		if names[m.name] {
			return true
		}
	}
	return false
}

// starred gives what the star of a side's pattern stands for in a name; nil
// where the side isn't named by a pattern with one star.
func starred(s *Side, list []member) func(member) string {
	pattern := s.Pattern
	if strings.Count(pattern, "*") != 1 || strings.Contains(pattern, "?") {
		return nil
	}
	head, tail, _ := strings.Cut(pattern, "*")
	return func(m member) string {
		return "*" + strings.TrimSuffix(strings.TrimPrefix(m.name, head), tail)
	}
}
