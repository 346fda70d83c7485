package hybrid

import (
	"slices"

	"fettle/lang/source"
	"fettle/lang/syntax"
)

// Rules and clamps stand in an order that counts.

// listed finds rules or clamps that differ, came or went, and whether their
// order did.
func (d *differ) listed(kind, order string, is func(syntax.Decl) bool) {
	a, b := namesOf(d.old.decls, is), namesOf(d.new.decls, is)
	renamed := d.renames(d.old.decls, d.new.decls, is)
	back := map[string]string{}
	for old, new := range renamed {
		back[new] = old
	}
	for i, name := range b { // in both lists one renamed has its old name
		if old, ok := back[name]; ok {
			b[i] = old
		}
	}
	for _, name := range merged(a, b) {
		if new, ok := renamed[name]; ok {
			d.add(d.rename(kind, name, new))
			continue
		}
		x, y := d.old.byName[name], d.new.byName[name]
		if x != nil && y != nil && (d.same(x, y) || !is(y)) {
			continue // what became something else was replaced as that
		}
		e := d.slot(kind, name)
		e.PlaceIn = adjusted(x, y)
		if kind == Clamp {
			d.otherMode(e, x, y)
		}
		d.add(e)
	}
	before, after := inBoth(a, b), inBoth(b, a)
	if slices.Equal(before, after) {
		return
	}
	name := func(key string) string {
		if new, ok := renamed[key]; ok {
			return new
		}
		return key
	}
	e := &Element{Kind: Order, Name: order, Why: movedText(before, after, name)}
	for i, key := range after { // the first that stands elsewhere, as it is told
		if before[i] != key {
			e.Places = [2]source.Span{spanOf(d.old.byName[key]), spanOf(d.new.byName[name(key)])}
			break
		}
	}
	e.names = slices.Concat(a, b)
	final := d.withRenamed(merged(b, a), renamed)
	e.apply = func(s *state) {
		if kind == Rule {
			s.rules = final
		} else {
			s.clamps = final
		}
	}
	d.add(e)
}

// otherMode completes the element of a limit that clamps on one side alone, where
// the other side has it in another mode.
func (d *differ) otherMode(e *Element, x, y syntax.Decl) {
	for i, missing := range []bool{x == nil, y == nil} {
		p := [2]*side{d.old, d.new}[i].p
		l, ok := p.Resolved.Root.Table[e.Name].(*syntax.Limit)
		if !missing || !ok {
			continue
		}
		e.Places[i], e.Text[i] = l.Span, oneLine(l)
		if i == 0 {
			e.Why = changeText(l, y)
		} else {
			e.Why = changeText(x, l)
		}
	}
}

// rename is the element of what has another name and says the same.
func (d *differ) rename(kind, old, new string) *Element {
	a, b := d.old.byName[old], d.new.byName[new]
	return &Element{Kind: kind, Name: new, Why: "renamed (was `" + old + "`), and says the same", Places: [2]source.Span{spanOf(a), spanOf(b)},
		Text: [2]string{oneLine(a), oneLine(b)}, PlaceIn: adjusted(a, b), names: []string{old, new},
		apply: func(s *state) {
			s.drop(old)
			s.put(new, b)
		}}
}

// renames pairs what only the old side declares with what only the new side
// does, where they say the same under another name and nothing else does.
func (d *differ) renames(old, new []syntax.Decl, is func(syntax.Decl) bool) map[string]string {
	only := func(list []syntax.Decl, p map[string]syntax.Decl) map[string][]string {
		out := map[string][]string{} // names by text
		for _, x := range list {
			if name := x.Header().Name.Text; is(x) && p[name] == nil {
				text := d.facts.of(x).nameless
				out[text] = append(out[text], name)
			}
		}
		return out
	}
	gone, come := only(old, d.new.byName), only(new, d.old.byName)
	out := map[string]string{}
	for text, a := range gone {
		if b := come[text]; len(a) == 1 && len(b) == 1 {
			out[a[0]] = b[0]
		}
	}
	return out
}

// withRenamed puts new names beside the old ones that they stand for.
func (d *differ) withRenamed(list []string, renamed map[string]string) []string {
	var out []string
	for _, name := range list {
		out = append(out, name)
		if new, ok := renamed[name]; ok {
			out = append(out, new)
		}
	}
	return out
}

func namesOf(decls []syntax.Decl, is func(syntax.Decl) bool) []string {
	var out []string
	for _, x := range decls {
		if is(x) {
			out = append(out, x.Header().Name.Text)
		}
	}
	return out
}

// inBoth keeps of a list what another one holds too.
func inBoth(list, other []string) []string {
	in := map[string]bool{}
	for _, x := range other {
		in[x] = true
	}
	var out []string
	for _, x := range list {
		if in[x] {
			out = append(out, x)
		}
	}
	return out
}

// merged puts two lists in one: the first in its order, and what only the second
// has after what stands before it there.
func merged(a, b []string) []string {
	inA := map[string]bool{}
	for _, x := range a {
		inA[x] = true
	}
	after := map[string][]string{}
	last := ""
	for _, x := range b {
		if inA[x] {
			last = x
		} else {
			after[last] = append(after[last], x)
		}
	}
	out := append([]string{}, after[""]...)
	for _, x := range a {
		out = append(append(out, x), after[x]...)
	}
	return out
}
