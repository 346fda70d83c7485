package merge

import (
	"slices"
	"strings"

	"fettle/lang/syntax"
)

// source merges three sources by their declarations.
func (m *merger) source() (doc, string) {
	var files [3]*file
	for side := range files {
		f, err := read(m.lines[side], m.opt.Path)
		if err != nil {
			return nil, sideNames[side] + " can't be read as a source (" + err.Error() + ")"
		}
		files[side] = f
	}
	m.units = axisUnits(files, m.opt.Units)
	layout := inLayout(m.lines[ours])
	var entries [3][]entry
	for side, f := range files {
		for _, p := range f.pieces {
			entries[side] = append(entries[side], p.entry())
		}
	}
	ids, n := identify(entries[base], entries[ours], entries[theirs], byKey)
	of := byIdentity(ids, n, func(side, i int) *piece { return files[side].pieces[i] })
	var out doc
	m.remarks(&out, "the comment at the top", files[base].header, files[ours].header, files[theirs].header)
	merged := make([]doc, n)
	kept := make([]bool, n)
	conflicts := make([][]string, n)
	for id := range n {
		from := len(m.res.Conflicts)
		merged[id], kept[id] = m.piece(of[id], layout)
		conflicts[id] = slices.Clone(m.res.Conflicts[from:])
		m.res.Conflicts = m.res.Conflicts[:from]
	}
	order, ok := sequence(ids, func(id int) bool { return kept[id] })
	if !ok {
		return nil, "both sides moved declarations, and the two orders can't both be kept"
	}
	for _, id := range order {
		out.join(merged[id])
		m.res.Conflicts = append(m.res.Conflicts, conflicts[id]...)
	}
	m.remarks(&out, "the comment at the end", files[base].tail, files[ours].tail, files[theirs].tail)
	if layout {
		out = out.laidOut()
	}
	return out, ""
}

// byIdentity gives the versions of each identity; nil where a side has none.
func byIdentity[T any](ids [3][]int, n int, at func(side, i int) *T) [][3]*T {
	out := make([][3]*T, n)
	for side := range ids {
		for i, id := range ids[side] {
			out[id][side] = at(side, i)
		}
	}
	return out
}

// axisUnits are the units of the axes that a file's own declarations and others
// give.
func axisUnits(files [3]*file, others map[string]string) map[string]string {
	units := map[string]string{}
	for name, u := range others {
		units[name] = u
	}
	for _, f := range files {
		for _, p := range f.pieces {
			if a, ok := p.decl.(*syntax.Axis); ok && a.Unit != nil {
				units[a.Name.Text] = a.Unit.Text
			}
		}
	}
	return units
}

// remarks merges comments; what names them in a message.
func (m *merger) remarks(out *doc, what string, b, o, t []string) {
	d := remarks(b, o, t)
	if !d.clean() {
		m.conflict(what + ": changed on both sides")
	}
	out.join(d)
}

// piece merges a declaration; kept says that it has a place in the result.
func (m *merger) piece(v [3]*piece, layout bool) (out doc, kept bool) {
	b, o, t := v[base], v[ours], v[theirs]
	switch {
	case o == nil && t == nil:
		return nil, false
	case b == nil && t == nil:
		out.add(o.whole()...)
		return out, true
	case b == nil && o == nil:
		out.add(t.whole()...)
		return out, true
	case b == nil && o.said() == t.said():
		out.add(o.whole()...)
		return out, true
	case b == nil:
		m.conflict(o.name + ": added on both sides, and not alike")
	case o == nil && t.said() == b.said(), t == nil && o.said() == b.said():
		return nil, false
	case o == nil:
		m.conflict(b.name + ": removed by ours, changed by theirs")
	case t == nil:
		m.conflict(b.name + ": changed by ours, removed by theirs")
	default:
		m.remarks(&out, "the comment above "+o.name, b.lead, o.lead, t.lead)
		out.join(m.own(b, o, t, layout))
		return out, true
	}
	var sides [3][]string
	for side, p := range v {
		if p != nil {
			sides[side] = p.whole()
		}
	}
	out.clashBelow(sides, v[base] != nil)
	return out, true
}

// clashBelow is clash, with the blank line above that the sides have in common
// left above the markers.
func (d *doc) clashBelow(sides [3][]string, withBase bool) {
	blank := func(lines []string) bool { return len(lines) > 0 && strings.TrimSpace(lines[0]) == "" }
	some, all := false, true
	for side, lines := range sides {
		if len(lines) > 0 {
			some, all = true, all && blank(lines)
		} else if side == base && withBase {
			all = false
		}
	}
	if some && all {
		d.add("")
		for side, lines := range sides {
			if len(lines) > 0 {
				sides[side] = lines[1:]
			}
		}
	}
	d.clash(sides)
}

// own merges a declaration's own lines.
func (m *merger) own(b, o, t *piece, layout bool) (out doc) {
	asBefore := slices.Equal(o.raw, b.raw)
	switch {
	case o.norm == t.norm:
		if asBefore {
			out.add(t.raw...)
		} else {
			out.add(o.raw...)
		}
		return out
	case t.norm == b.norm:
		out.add(o.raw...)
		return out
	case o.norm == b.norm && (asBefore || layout):
		out.add(t.raw...)
		return out
	}
	conflicts, notes := len(m.res.Conflicts), len(m.res.Notes)
	if d, ok := m.parts(b, o, t); ok {
		return d
	}
	m.res.Conflicts, m.res.Notes = m.res.Conflicts[:conflicts], m.res.Notes[:notes]
	if o.norm == b.norm {
		out.add(t.raw...)
		return out
	}
	if b.block != nil || o.block != nil || t.block != nil {
		m.conflict(o.name + ": changed on both sides")
	} else {
		m.conflict(o.name + ": " + versions(quoted(b.text()), quoted(o.text()), quoted(t.text())))
	}
	out.clash([3][]string{b.raw, o.raw, t.raw})
	return out
}

// parts merges a declaration by its parts; ok is false if it has none that can
// be merged.
func (m *merger) parts(b, o, t *piece) (out doc, ok bool) {
	if b.block != nil && o.block != nil && t.block != nil {
		if family(b.keyword) != family(o.keyword) || family(b.keyword) != family(t.keyword) {
			return nil, false
		}
		return m.blocks(b, o, t)
	}
	if b.block != nil || o.block != nil || t.block != nil {
		return nil, false
	}
	var lists [3]*list
	for side, p := range [3]*piece{b, o, t} {
		switch {
		case p.keyword != b.keyword || len(p.raw) > 1:
			return nil, false
		case p.keyword == "use":
			lists[side] = listOf(p.file, p.toks, 1, false)
		case p.keyword == "region":
			lists[side] = listOf(p.file, p.toks, 3, true)
		default:
			return nil, false
		}
	}
	s, ok := mergeLists(lists)
	if !ok {
		return nil, false
	}
	behind := func(p *piece) string {
		line := p.raw[0]
		_, note, found := strings.Cut(line, "#")
		if !found || len(p.notes) == 0 {
			return ""
		}
		return "  #" + note
	}
	note, ok := oneOf(behind(b), behind(o), behind(t))
	if !ok {
		return nil, false
	}
	indent := o.raw[0][:len(o.raw[0])-len(strings.TrimLeft(o.raw[0], " \t"))]
	out.add(indent + s + note)
	return out, true
}

// family is a keyword, or what it shares with another.
func family(keyword string) string {
	if keyword == "variants" {
		return "variant"
	}
	return keyword
}

// oneOf merges a text of one line that counts as a whole.
func oneOf(b, o, t string) (string, bool) {
	sb, so, st := strings.TrimSpace(b), strings.TrimSpace(o), strings.TrimSpace(t)
	switch {
	case so == sb && o == b, so == sb && st != sb:
		return t, true
	case st == sb, so == st:
		return o, true
	}
	return "", false
}
