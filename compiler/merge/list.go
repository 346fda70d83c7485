package merge

import (
	"strings"

	"fettle/lang/source"
	"fettle/lang/syntax"
)

// list is what stands between commas: the values of a setting, the parts of a
// region, the modules that are used.
type list struct {
	head     string // before the first member, as written
	headNorm string
	members  []member
}

type member struct {
	text string
	entry
}

// listOf parts tokens at their commas, from a place on. With named, a member is
// known by its first word. Nil if a comment or a line end stands among them,
// which would be lost.
func listOf(f *source.File, toks []syntax.Token, from int, named bool) *list {
	last := len(toks) - 1
	if from > last || strings.ContainsAny(f.Text[toks[0].From:toks[last].To()], "\n#") {
		return nil
	}
	l := &list{head: strings.TrimRight(f.Text[toks[0].From:toks[from].From], " \t"), headNorm: normTokens(toks[:from])}
	depth, start := 0, from
	add := func(to int) {
		if to == start {
			return
		}
		mb := member{text: f.Text[toks[start].From:toks[to-1].To()]}
		mb.norm, mb.kind = normTokens(toks[start:to]), "value"
		if named {
			mb.key = toks[start].Text
		}
		l.members = append(l.members, mb)
	}
	for i := from; i <= last; i++ {
		switch t := toks[i]; {
		case t.Text == "(":
			depth++
		case t.Text == ")":
			depth--
		case t.Text == "," && depth == 0:
			add(i)
			start = i + 1
		}
	}
	add(last + 1)
	return l
}

// mergeLists merges three lists into a text, if no member of them and nothing
// before the first is in conflict, and something is left.
func mergeLists(v [3]*list) (string, bool) {
	var entries [3][]entry
	for side, l := range v {
		if l == nil {
			return "", false
		}
		for _, mb := range l.members {
			entries[side] = append(entries[side], mb.entry)
		}
	}
	head := v[ours].head
	switch {
	case v[ours].headNorm == v[base].headNorm:
		head = v[theirs].head
	case v[theirs].headNorm != v[base].headNorm && v[theirs].headNorm != v[ours].headNorm:
		return "", false
	}
	ids, n := identify(entries[base], entries[ours], entries[theirs], byText)
	of := byIdentity(ids, n, func(side, i int) *member { return &v[side].members[i] })
	texts := make([]string, n)
	for id, w := range of {
		b, o, t := w[base], w[ours], w[theirs]
		switch {
		case o == nil && t == nil:
		case b == nil && t == nil:
			texts[id] = o.text
		case b == nil && o == nil:
			texts[id] = t.text
		case b == nil && o.norm != t.norm:
			return "", false
		case b == nil:
			texts[id] = o.text
		case o == nil && t.norm == b.norm, t == nil && o.norm == b.norm:
		case o == nil || t == nil:
			return "", false
		case t.norm == b.norm && o.norm == b.norm && o.text == b.text:
			texts[id] = t.text
		case t.norm == b.norm, o.norm == t.norm:
			texts[id] = o.text
		case o.norm == b.norm:
			texts[id] = t.text
		default:
			return "", false
		}
	}
	order, ok := sequence(ids, func(id int) bool { return texts[id] != "" })
	if !ok || len(order) == 0 {
		return "", false
	}
	out := make([]string, len(order))
	for i, id := range order {
		out[i] = texts[id]
	}
	return head + " " + strings.Join(out, ", "), true
}
