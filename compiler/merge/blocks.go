package merge

import (
	"fmt"
	"slices"
	"strings"

	"fettle/lang/syntax"
)

// blocks merges declarations with braces: the head by its clauses, what stands
// in the braces by statements or by cells, and the comments around them.
func (m *merger) blocks(b, o, t *piece) (out doc, ok bool) {
	bb, ob, tb := b.block, o.block, t.block
	head := m.head(b, o, t)
	var body doc
	switch {
	case bb.grid != nil || bb.table != nil:
		body, ok = m.table(b, o, t)
	default:
		body, ok = m.statements(b, o, t)
	}
	if !ok {
		return nil, false
	}
	var tail, end doc
	m.remarks(&tail, "the comment at the end of "+o.name, bb.tail, ob.tail, tb.tail)
	note, agreed := oneOf(bb.note, ob.note, tb.note)
	if !agreed {
		m.conflict("the comment behind " + o.name + ": changed on both sides")
		end.clash([3][]string{{bb.close + bb.note}, {ob.close + ob.note}, {tb.close + tb.note}})
	} else {
		end.add(ob.close + note)
	}
	out.append(head)
	if ob.oneLine && head.clean() && agreed {
		settled := append(slices.Clone(body), tail...)
		lines := settled.of(ours, "")
		if settled.clean() && len(lines) < 2 && !strings.Contains(text(lines), "#") && !strings.Contains(text(head.of(ours, "")), "#") {
			all := head.of(ours, "")
			all[len(all)-1] += strings.TrimRight(" "+strings.TrimSpace(text(lines)), " ") + " }" + note
			out = nil
			out.add(all...)
			return out, true
		}
	}
	out.append(body)
	out.append(tail)
	out.append(end)
	return out, true
}

// clause is a part of a declaration's head.
type clause struct {
	word string // what it begins with; "" for the declaration's word, then "name" and "unit"
	text string
	norm string
	toks []syntax.Token
}

// clauses parts a head; nil if a comment stands in it.
func (p *piece) clauses() []clause {
	open := slices.IndexFunc(p.toks, func(t syntax.Token) bool { return t.Kind == syntax.Op && t.Text == "{" })
	if len(within(p.notes, stretch{p.toks[0].From, p.toks[open].From})) > 0 {
		return nil
	}
	var out []clause
	begins := func(word string) { out = append(out, clause{word: word}) }
	depth := 0
	for i, t := range p.toks[:open] {
		switch {
		case t.Text == "(":
			depth++
		case t.Text == ")":
			depth--
		}
		switch {
		case i == 0:
			begins("")
		case i == 1:
			begins("name")
		case i == 2 && t.Kind == syntax.Unit:
			begins("unit")
		case i == 2 || depth == 0 && t.Kind == syntax.Word && headWords[t.Text]:
			begins(t.Text)
		}
		c := &out[len(out)-1]
		c.toks = append(c.toks, t)
	}
	for i := range out {
		c := &out[i]
		c.text = p.file.Text[c.toks[0].From:c.toks[len(c.toks)-1].To()]
		c.norm = normTokens(c.toks)
	}
	return out
}

var headWords = map[string]bool{"when": true, "corrects": true, "from": true, "with": true, "to": true}

// head merges the heads of declarations.
func (m *merger) head(b, o, t *piece) (out doc) {
	norm := func(p *piece) string {
		open := slices.IndexFunc(p.toks, func(t syntax.Token) bool { return t.Kind == syntax.Op && t.Text == "{" })
		return normPiece(p.file, p.toks[:open], within(p.notes, stretch{p.toks[0].From, p.toks[open].From}))
	}
	nb, no, nt := norm(b), norm(o), norm(t)
	head, ok := o.block.head, true
	switch {
	case no == nt, nt == nb:
	case no == nb:
		head = t.block.head
	default:
		head, ok = clauses(b, o, t)
	}
	note, agreed := oneOf(b.block.headNote, o.block.headNote, t.block.headNote)
	if ok && agreed {
		out.add(strings.Split(head+note, "\n")...)
		return out
	}
	if ok {
		m.conflict("the comment behind the head of " + o.name + ": changed on both sides")
	} else {
		m.conflict(o.name + ": " + versions(b.block.quotedHead(), o.block.quotedHead(), t.block.quotedHead()))
	}
	var sides [3][]string
	for side, p := range [3]*piece{b, o, t} {
		sides[side] = strings.Split(p.block.head+p.block.headNote, "\n")
	}
	out.clash(sides)
	return out
}

// clauses merges heads that both sides changed by their clauses.
func clauses(b, o, t *piece) (string, bool) {
	var parts [3][]clause
	for side, p := range [3]*piece{b, o, t} {
		if parts[side] = p.clauses(); parts[side] == nil {
			return "", false
		}
		for i, c := range parts[side] {
			if slices.ContainsFunc(parts[side][:i], func(d clause) bool { return d.word == c.word }) {
				return "", false
			}
		}
	}
	find := func(side int, word string) *clause {
		i := slices.IndexFunc(parts[side], func(c clause) bool { return c.word == word })
		if i < 0 {
			return &clause{}
		}
		return &parts[side][i]
	}
	var words []string
	for _, side := range []int{ours, theirs} {
		for _, c := range parts[side] {
			if !slices.Contains(words, c.word) {
				words = append(words, c.word)
			}
		}
	}
	slices.SortStableFunc(words, func(x, y string) int { return rankOf(x) - rankOf(y) })
	var out []string
	for _, w := range words {
		cb, co, ct := find(base, w), find(ours, w), find(theirs, w)
		switch {
		case co.norm == ct.norm, ct.norm == cb.norm:
			out = append(out, co.text)
		case co.norm == cb.norm:
			out = append(out, ct.text)
		case w == "corrects" && cb.norm != "" && co.norm != "" && ct.norm != "":
			s, ok := mergeLists([3]*list{listOf(b.file, cb.toks, 1, false), listOf(o.file, co.toks, 1, false), listOf(t.file, ct.toks, 1, false)})
			if !ok {
				return "", false
			}
			out = append(out, s)
		default:
			return "", false
		}
	}
	out = slices.DeleteFunc(out, func(s string) bool { return s == "" })
	return o.block.indent + strings.Join(out, " ") + " {", true
}

// rankOf puts a declaration's word, its name and its unit before its clauses.
func rankOf(word string) int {
	switch word {
	case "":
		return 0
	case "name":
		return 1
	case "unit":
		return 2
	}
	return 3
}

// statements merges the statements of blocks; ok is false where both sides moved
// some.
func (m *merger) statements(b, o, t *piece) (out doc, ok bool) {
	v := [3]*piece{b, o, t}
	var entries [3][]entry
	for side, p := range v {
		for _, it := range p.block.items {
			entries[side] = append(entries[side], it.entry())
		}
	}
	ids, n := identify(entries[base], entries[ours], entries[theirs], byText)
	of := byIdentity(ids, n, func(side, i int) *item { return v[side].block.items[i] })
	merged, kept := make([]doc, n), make([]bool, n)
	conflicts := make([][]string, n)
	for id := range n {
		from := len(m.res.Conflicts)
		merged[id], kept[id] = m.statement(v, of[id])
		conflicts[id] = slices.Clone(m.res.Conflicts[from:])
		m.res.Conflicts = m.res.Conflicts[:from]
	}
	order, ok := sequence(ids, func(id int) bool { return kept[id] })
	if !ok {
		return nil, false
	}
	for _, id := range order {
		out.append(merged[id])
		m.res.Conflicts = append(m.res.Conflicts, conflicts[id]...)
	}
	return out, true
}

// statement merges a statement.
func (m *merger) statement(p [3]*piece, v [3]*item) (out doc, kept bool) {
	b, o, t := v[base], v[ours], v[theirs]
	said := func(it *item) string {
		if it == nil {
			return ""
		}
		return quoted(it.text)
	}
	switch {
	case o == nil && t == nil:
		return nil, false
	case b == nil && t == nil, b == nil && o != nil && o.said() == t.said():
		out.add(o.whole()...)
		return out, true
	case b == nil && o == nil:
		out.add(t.whole()...)
		return out, true
	case o == nil && t.said() == b.said(), t == nil && o.said() == b.said():
		return nil, false
	case o == nil:
		m.conflict(fmt.Sprintf("%s: base %s, ours removed it, theirs %s", p[ours].name, said(b), said(t)))
	case t == nil:
		m.conflict(fmt.Sprintf("%s: base %s, ours %s, theirs removed it", p[ours].name, said(b), said(o)))
	case b == nil:
		m.conflict(p[ours].name + ": " + versions("", said(o), said(t)))
	default:
		m.remarks(&out, "a comment in "+p[ours].name, b.lead, o.lead, t.lead)
		own, ok := m.ownText(p, v)
		note, agreed := oneOf(b.note, o.note, t.note)
		switch {
		case ok && agreed:
			out.add(strings.Split(own+note, "\n")...)
		case ok:
			m.conflict(fmt.Sprintf("%s: the comment behind %s: changed on both sides", p[ours].name, said(o)))
			out.clash([3][]string{b.lines(), o.lines(), t.lines()})
		default:
			m.conflict(p[ours].name + ": " + versions(said(b), said(o), said(t)))
			out.clash([3][]string{b.lines(), o.lines(), t.lines()})
		}
		return out, true
	}
	var sides [3][]string
	for side, it := range v {
		if it != nil {
			sides[side] = it.whole()
		}
	}
	out.clash(sides)
	return out, true
}

// ownText merges a statement's text.
func (m *merger) ownText(p [3]*piece, v [3]*item) (string, bool) {
	b, o, t := v[base], v[ours], v[theirs]
	switch {
	case o.norm == b.norm && o.text == b.text:
		return t.text, true
	case t.norm == b.norm, o.norm == t.norm:
		return o.text, true
	case o.norm == b.norm:
		return t.text, true
	}
	// Only a matrix lists values. A variant's setting is one value.
	var lists [3]*list
	for side, it := range v {
		if p[side].keyword != "variants" || it.kind == "except" || strings.HasPrefix(it.kind, "trim ") || len(it.toks) < 3 {
			return "", false
		}
		lists[side] = listOf(p[side].file, it.toks, 2, false)
	}
	s, ok := mergeLists(lists)
	indent := o.text[:len(o.text)-len(strings.TrimLeft(o.text, " \t"))]
	return indent + s, ok
}
