package merge

import (
	"fmt"
	"strings"

	"fettle/lang/format"
	"fettle/lang/source"
)

// style is how a text is written apart from its lines.
type style struct {
	mark    bool // a byte-order mark stands at its start
	crlf    bool
	unended bool // its last line has no end
}

const byteOrderMark = "\ufeff"

// plain gives the lines of a text without their ends.
func plain(s string) ([]string, style) {
	var st style
	s, st.mark = strings.CutPrefix(s, byteOrderMark)
	crlf := strings.Count(s, "\r\n")
	st.crlf = 2*crlf > strings.Count(s, "\n")
	if crlf > 0 {
		s = strings.ReplaceAll(s, "\r\n", "\n")
	}
	st.unended = s != "" && !strings.HasSuffix(s, "\n")
	if s == "" {
		return nil, st
	}
	return strings.Split(strings.TrimSuffix(s, "\n"), "\n"), st
}

// text writes lines in a style.
func (st style) text(lines []string) string {
	s := text(lines)
	if st.unended {
		s = strings.TrimSuffix(s, "\n")
	}
	if st.crlf {
		s = strings.ReplaceAll(s, "\n", "\r\n")
	}
	if st.mark {
		s = byteOrderMark + s
	}
	return s
}

// chunk is lines of the result, or a conflict's three versions of them.
type chunk struct {
	lines []string
	sides *[3][]string
}

// doc is the result in pieces.
type doc []chunk

// add appends lines that are settled.
func (d *doc) add(lines ...string) {
	if len(lines) == 0 {
		return
	}
	if n := len(*d); n > 0 && (*d)[n-1].sides == nil {
		(*d)[n-1].lines = append((*d)[n-1].lines, lines...)
		return
	}
	*d = append(*d, chunk{lines: append([]string(nil), lines...)})
}

// clash appends three versions of some lines. A conflict right behind another
// becomes one with it.
func (d *doc) clash(sides [3][]string) {
	if n := len(*d); n > 0 && (*d)[n-1].sides != nil {
		last := (*d)[n-1].sides
		for s := range sides {
			last[s] = append(last[s], sides[s]...)
		}
		return
	}
	var own [3][]string
	for s := range sides {
		own[s] = append(own[s], sides[s]...)
	}
	*d = append(*d, chunk{sides: &own})
}

// append puts another doc behind this one.
func (d *doc) append(o doc) {
	for _, c := range o {
		if c.sides != nil {
			d.clash(*c.sides)
		} else {
			d.add(c.lines...)
		}
	}
}

// join puts another doc behind this one and keeps their conflicts apart.
func (d *doc) join(o doc) {
	for _, c := range o {
		if c.sides != nil {
			*d = append(*d, c)
		} else {
			d.add(c.lines...)
		}
	}
}

// clean says whether nothing is in conflict.
func (d doc) clean() bool {
	for _, c := range d {
		if c.sides != nil {
			return false
		}
	}
	return true
}

// of gives the lines with every conflict settled for one side; with a mark, a
// line with it stands around each.
func (d doc) of(side int, mark string) []string {
	var out []string
	for _, c := range d {
		switch {
		case c.sides == nil:
			out = append(out, c.lines...)
		case mark == "":
			out = append(out, c.sides[side]...)
		default:
			out = append(out, mark)
			out = append(out, c.sides[side]...)
			out = append(out, mark)
		}
	}
	return out
}

// written gives the lines with markers around the conflicts.
func (d doc) written(size int) []string {
	var out []string
	marker := func(sign, name string) {
		line := strings.Repeat(sign, size)
		if name != "" {
			line += " " + name
		}
		out = append(out, line)
	}
	for _, c := range d {
		if c.sides == nil {
			out = append(out, c.lines...)
			continue
		}
		marker("<", sideNames[ours])
		out = append(out, c.sides[ours]...)
		marker("|", sideNames[base])
		out = append(out, c.sides[base]...)
		marker("=", "")
		out = append(out, c.sides[theirs]...)
		marker(">", sideNames[theirs])
	}
	return out
}

// laidOut puts the result in the one layout. Each side's version of the whole
// is laid out by itself, with a comment around each conflict that tells where
// it begins and ends; so the lines in conflict are laid out among the others.
func (d doc) laidOut() doc {
	mark := "# conflict"
	for all := text(d.of(base, "")) + text(d.of(ours, "")) + text(d.of(theirs, "")); strings.Contains(all, mark); {
		mark += "#"
	}
	var parts [3][][]string // in turns: settled, in conflict, settled…
	for side := range parts {
		out, errs := format.Source(source.New("merged", text(d.of(side, mark))))
		if errs.HasErrors() {
			return d
		}
		lines, _ := plain(out)
		part := []string{}
		for _, l := range lines {
			if strings.TrimSpace(l) == mark {
				parts[side] = append(parts[side], part)
				part = []string{}
				continue
			}
			part = append(part, l)
		}
		parts[side] = append(parts[side], part)
	}
	if len(parts[base]) != len(parts[ours]) || len(parts[theirs]) != len(parts[ours]) || len(parts[ours])%2 == 0 {
		return d
	}
	var out doc
	for i, part := range parts[ours] {
		if i%2 == 0 {
			out.add(part...)
		} else {
			out = append(out, chunk{sides: &[3][]string{parts[base][i], part, parts[theirs][i]}})
		}
	}
	return out
}

// inLayout says whether a source is in the one layout.
func inLayout(lines []string) bool {
	s := text(lines)
	out, errs := format.Source(source.New("merged", s))
	return !errs.HasErrors() && out == s
}

// quoted is a text in a message: on one line, without comments, and not too
// long.
func quoted(s string) string {
	const most = 60
	one := []rune(source.OneLine(s))
	if len(one) > most {
		one = append(one[:most-1], '…')
	}
	return "`" + string(one) + "`"
}

// versions says what a thing was and what each side made of it; "" is nothing.
func versions(b, o, t string) string {
	var parts [3]string
	for i, s := range [3]string{b, o, t} {
		if s == "" {
			s = "none"
		}
		parts[i] = sideNames[i] + " " + s
	}
	return fmt.Sprintf("%s, %s, %s", parts[base], parts[ours], parts[theirs])
}
