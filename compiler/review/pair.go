package review

import (
	"strings"

	"fettle/compiler/diff"
	"fettle/compiler/plan"
)

// lone is what has no counterpart on the other side.
type lone struct{ old, new []loneTune }

type loneTune struct {
	tune   *plan.Tune
	tables *diff.Side
	why    string
}

func (t loneTune) name() string {
	if t.tune != nil {
		return t.tune.Name
	}
	return t.tables.Name
}

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
// what their stars stand for.
func pairUp(old, new *Side) ([]job, lone) {
	a, b := old.members(), new.members()
	if len(a) == 1 && len(b) == 1 && old.Single && new.Single {
		return []job{jobOf(a[0], b[0])}, lone{}
	}
	a, b = namesakes(old, new, a, b), namesakes(new, old, b, a)
	key := func(m member) string { return m.name }
	keyB := key
	if !meet(a, b) {
		if x, y := starred(old, a), starred(new, b); x != nil && y != nil {
			key, keyB = x, y
		}
	}
	byKey := map[string]member{}
	for _, m := range b {
		byKey[keyB(m)] = m
	}
	var jobs []job
	var l lone
	met := map[string]bool{}
	for _, m := range a {
		k := key(m)
		other, ok := byKey[k]
		switch {
		case ok && m.has() && other.has():
			jobs = append(jobs, jobOf(m, other))
			met[k] = true
		case m.has():
			l.old = append(l.old, loneTune{m.tune, m.tables, other.failed()})
			met[k] = ok
		}
	}
	for _, m := range b {
		if k := keyB(m); !met[k] && m.has() {
			why := ""
			for _, x := range a {
				if key(x) == k {
					why = x.failed()
				}
			}
			l.new = append(l.new, loneTune{m.tune, m.tables, why})
		}
	}
	return jobs, l
}

func jobOf(a, b member) job {
	name := a.name
	if a.name != b.name {
		name = a.name + " → " + b.name
	}
	return job{name, a.tune, b.tune, a.tables, b.tables}
}

func (m member) has() bool { return m.tune != nil || m.tables != nil && m.tables.Tables != nil }

func (m member) failed() string {
	if m.tables == nil {
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
