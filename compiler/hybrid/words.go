package hybrid

import (
	"strings"
	"unicode/utf8"

	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// normal is a declaration's text without what means nothing: comments, blanks,
// line ends that part nothing.
func normal(d syntax.Decl) string {
	span := d.Header().Span
	if span.IsZero() {
		return ""
	}
	f := source.New("", span.Text())
	pieces, _ := syntax.Tokens(f, &diag.List{})
	var out []string
	for _, p := range pieces {
		for _, t := range p {
			switch {
			case t.Kind == syntax.Body:
				for _, line := range syntax.BodyLines(f, t) {
					out = append(out, strings.Join(strings.Fields(line.Text()), " "), "\n")
				}
			case t.Kind == syntax.Newline:
				if n := len(out); n > 0 && out[n-1] != "\n" {
					out = append(out, "\n")
				}
			case t.Kind != syntax.EOF:
				out = append(out, t.Text)
			}
		}
	}
	for len(out) > 0 && out[len(out)-1] == "\n" {
		out = out[:len(out)-1]
	}
	return strings.Join(out, " ")
}

func oneLine(d syntax.Decl) string {
	if d == nil {
		return ""
	}
	return source.OneLine(d.Header().Span.Text())
}

// changeText says what of a declaration differs, in the words of the source.
func changeText(a, b syntax.Decl) string {
	switch {
	case a == nil:
		return "added"
	case b == nil:
		return "taken out"
	}
	if x, ok := a.(*syntax.Rule); ok {
		if y, ok := b.(*syntax.Rule); ok {
			return ruleChange(x, y)
		}
	}
	x, y := oneLine(a), oneLine(b)
	return was(trimHead(y, x), trimHead(x, y))
}

// trimHead drops the words that two texts begin with alike, so that what
// differs comes first.
func trimHead(s, other string) string {
	x, y := strings.Fields(s), strings.Fields(other)
	n := 0
	for n < len(x)-1 && n < len(y)-1 && x[n] == y[n] {
		n++
	}
	out := strings.Join(x[n:], " ")
	if n > 0 {
		out = "… " + out
	}
	return out
}

// longest is what is shown of a text on one line.
const longest = 60

func clip(s string) string {
	if utf8.RuneCountInString(s) <= longest {
		return s
	}
	return string([]rune(s)[:longest-1]) + "…"
}

func was(now, before string) string { return clip(now) + " (was " + clip(before) + ")" }

func exprText(e *syntax.Expr) string {
	if e == nil {
		return ""
	}
	return source.OneLine(e.Span.Text())
}

// ruleChange tells two rules of one name apart: by their `when`, then
// adjustment by adjustment.
func ruleChange(a, b *syntax.Rule) string {
	var out []string
	if x, y := exprText(a.When), exprText(b.When); x != y {
		always := func(s string) string {
			if s == "" {
				return "always"
			}
			return "when " + s
		}
		out = append(out, was(always(y), always(x)))
	}
	for _, p := range paired(a.Adjusts, b.Adjusts) {
		switch x, y := p[0], p[1]; {
		case x == nil:
			out = append(out, clip(source.OneLine(y.Span.Text()))+" (new)")
		case y == nil:
			out = append(out, clip(source.OneLine(x.Span.Text()))+" (taken out)")
		case source.OneLine(x.Span.Text()) != source.OneLine(y.Span.Text()):
			now, before := source.OneLine(y.Span.Text()), source.OneLine(x.Span.Text())
			if x.Op.Text == y.Op.Text && exprText(x.Amount) != exprText(y.Amount) && tail(x) == tail(y) {
				before = exprText(x.Amount)
			}
			out = append(out, was(now, before))
		}
	}
	if len(out) == 0 {
		return "other text"
	}
	return strings.Join(out, "; ")
}

// tail is what follows an adjustment's amount.
func tail(a *syntax.Adjust) string {
	s := a.Span.Text()
	return source.OneLine(s[a.Amount.Span.To-a.Span.From:])
}

// paired puts the adjustments of two rules side by side: equal ones first, then
// of each map in order.
func paired(a, b []*syntax.Adjust) (out [][2]*syntax.Adjust) {
	used := make([]bool, len(a))
	find := func(y *syntax.Adjust, same bool) *syntax.Adjust {
		for i, x := range a {
			if !used[i] && x.Map.Text == y.Map.Text && (!same || source.OneLine(x.Span.Text()) == source.OneLine(y.Span.Text())) {
				used[i] = true
				return x
			}
		}
		return nil
	}
	match := make([]*syntax.Adjust, len(b))
	for _, same := range []bool{true, false} {
		for i, y := range b {
			if match[i] == nil {
				match[i] = find(y, same)
			}
		}
	}
	for i, y := range b {
		out = append(out, [2]*syntax.Adjust{match[i], y})
	}
	for i, x := range a {
		if !used[i] {
			out = append(out, [2]*syntax.Adjust{x, nil})
		}
	}
	return out
}

// adjusted lists the maps of a rule, on either side, and where each is adjusted
// if that is one place: the adjustment that differs, if one does.
func adjusted(a, b syntax.Decl) ([]string, map[string][2]source.Span) {
	x, _ := a.(*syntax.Rule)
	y, _ := b.(*syntax.Rule)
	var lists [2][]*syntax.Adjust
	if x != nil {
		lists[0] = x.Adjusts
	}
	if y != nil {
		lists[1] = y.Adjusts
	}
	var maps []string
	places := map[string][2]source.Span{}
	n := map[string]int{}
	for _, p := range paired(lists[0], lists[1]) {
		var at [2]source.Span
		name := ""
		for i, adj := range p {
			if adj != nil {
				at[i], name = adj.Span, adj.Map.Text
			}
		}
		if _, ok := n[name]; !ok {
			maps = append(maps, name)
		}
		if p[0] != nil && p[1] != nil && source.OneLine(p[0].Span.Text()) == source.OneLine(p[1].Span.Text()) {
			n[name] += 0
			continue
		}
		n[name]++
		places[name] = at
	}
	for name, k := range n {
		if k != 1 {
			delete(places, name)
		}
	}
	return maps, places
}

// movedText names the first rule that stands elsewhere.
func movedText(a, b []string) string {
	for i := range a {
		if a[i] != b[i] {
			return "`" + b[i] + "` comes before `" + a[i] + "` (was after it)"
		}
	}
	return ""
}
