package review

import (
	"slices"
	"strings"

	"fettle/compiler/check"
	"fettle/compiler/diff"
	"fettle/compiler/grid"
	"fettle/lang/source"
)

// names are maps, limits and checks that have another name on the new side and are
// the same otherwise: by their old name, the new one. Each stands for just one.
type names struct {
	maps, limits, checks map[string]string
	said                 limitPairs
}

// now is what the old side's name is on the new side.
func now(renamed map[string]string, old string) string {
	if new, ok := renamed[old]; ok {
		return new
	}
	return old
}

// inText gives a text of the old side the new names of maps.
func (n *names) inText(text string) string {
	if n == nil || len(n.maps) == 0 {
		return text
	}
	var b strings.Builder
	word := func(r rune) bool { return r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r == '_' }
	for len(text) > 0 {
		end := strings.IndexFunc(text, func(r rune) bool { return !word(r) })
		if end < 0 {
			end = len(text)
		}
		b.WriteString(now(n.maps, text[:end]))
		text = text[end:]
		next := strings.IndexFunc(text, word)
		if next < 0 {
			next = len(text)
		}
		b.WriteString(text[:next])
		text = text[next:]
	}
	return b.String()
}

// namesOf finds them in two programs.
func namesOf(old, new *check.Program) *names {
	n := &names{maps: map[string]string{}, limits: map[string]string{}, checks: map[string]string{}, said: limitPairs{old: old, new: new}}
	if old == nil || new == nil || old == new {
		return n
	}
	var a, b []named
	for _, m := range old.Maps {
		a = append(a, named{m.Name, mapText(old, m)})
	}
	for _, m := range new.Maps {
		b = append(b, named{m.Name, mapText(new, m)})
	}
	n.maps = renamedAmong(a, b)
	a, b = nil, nil
	for _, l := range old.Limits {
		a = append(a, named{l.Name, n.inText(spelled(limitText(l)))})
	}
	for _, l := range new.Limits {
		b = append(b, named{l.Name, spelled(limitText(l))})
	}
	n.limits = renamedAmong(a, b)
	a, b = nil, nil
	for _, c := range old.Checks {
		a = append(a, named{c.Title, n.inText(spelled(checkText(c)))})
	}
	for _, c := range new.Checks {
		b = append(b, named{c.Title, spelled(checkText(c))})
	}
	n.checks = renamedAmong(a, b)
	return n
}

// named is a name with what it stands for.
type named struct{ name, text string }

// renamedAmong pairs what only the old side names with what only the new side
// does, where the two say the same and nothing else does.
func renamedAmong(old, new []named) map[string]string {
	only := func(list, other []named) map[string][]string {
		out := map[string][]string{}
		for _, x := range list {
			if !slices.ContainsFunc(other, func(y named) bool { return y.name == x.name }) {
				out[x.text] = append(out[x.text], x.name)
			}
		}
		return out
	}
	gone, come := only(old, new), only(new, old)
	out := map[string]string{}
	for text, a := range gone {
		if b := come[text]; len(a) == 1 && len(b) == 1 {
			out[a[0]] = b[0]
		}
	}
	return out
}

// mapText is a map without its name: its unit and axes, and the cells of its base
// or the text of its formula.
func mapText(p *check.Program, m *check.Map) string {
	var b strings.Builder
	b.WriteString(m.Unit.Text)
	for _, a := range m.Axes {
		b.WriteString(" " + p.Axes[a].Name)
	}
	if m.Formula != nil {
		return b.String() + " = " + source.OneLine(m.Formula.Span.Text())
	}
	for _, list := range [][]float64{m.Base.Rows, m.Base.Cols, m.Base.Cells} {
		b.WriteString(" |")
		for _, x := range list {
			b.WriteString(" " + grid.Exact(x))
		}
	}
	return b.String()
}

// notes tells what has another name.
func (n *names) notes() []string {
	var out []string
	for _, k := range []struct {
		what string
		list map[string]string
	}{{"map", n.maps}, {"limit", n.limits}, {"check", n.checks}} {
		var olds []string
		for old := range k.list {
			olds = append(olds, old)
		}
		slices.Sort(olds)
		for _, old := range olds {
			out = append(out, k.what+" `"+old+"` is called `"+k.list[old]+"` now, and says the same")
		}
	}
	return out
}

// compareNamed compares two sides, with maps that have another name under their
// new one. One of which a cell differs, too, isn't told as the same.
func (n *names) compareNamed(a, b *diff.Side) *diff.Pair {
	if n == nil || len(n.maps) == 0 {
		return diff.Compare(a, b)
	}
	side := *a
	side.Tables = slices.Clone(a.Tables)
	for i, t := range side.Tables {
		if name := now(n.maps, t.Map); name != t.Map {
			one := *t
			one.Map = name
			side.Tables[i] = &one
		}
	}
	p := diff.Compare(&side, b)
	for _, m := range p.Maps {
		for _, name := range n.maps {
			if m.Map == name && m.Differs() {
				return diff.Compare(a, b)
			}
		}
	}
	return p
}
