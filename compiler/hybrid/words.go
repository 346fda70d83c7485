package hybrid

import (
	"strings"
	"unicode/utf8"

	"fettle/lang/source"
	"fettle/lang/syntax"
)

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
	x, y := trimTail(oneLine(a), oneLine(b))
	return was(trimHead(y, x), trimHead(x, y))
}

// trimTail drops the words that two texts end with alike, so that what differs
// isn't lost where they are clipped. A word or two stay.
func trimTail(a, b string) (string, string) {
	x, y := strings.Fields(a), strings.Fields(b)
	n := 0
	for n < len(x)-1 && n < len(y)-1 && x[len(x)-1-n] == y[len(y)-1-n] {
		n++
	}
	if n--; n < 3 || len(a) <= longest && len(b) <= longest { // the unit stays with its number
		return a, b
	}
	return strings.Join(x[:len(x)-n], " ") + " …", strings.Join(y[:len(y)-n], " ") + " …"
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

// normalExpr is an expression's tokens, however they are spaced.
func normalExpr(e *syntax.Expr) string {
	if e == nil {
		return ""
	}
	var out []string
	for _, t := range e.Toks {
		out = append(out, t.Text)
	}
	return strings.Join(out, " ")
}

// ruleChange tells two rules of one name apart: by their `when`, then
// adjustment by adjustment.
func ruleChange(a, b *syntax.Rule) string {
	var out []string
	if normalExpr(a.When) != normalExpr(b.When) {
		always := func(e *syntax.Expr) string {
			if e == nil {
				return "always"
			}
			return "when " + exprText(e)
		}
		out = append(out, was(always(b.When), always(a.When)))
	}
	if x, y := correctsText(a), correctsText(b); x != y {
		out = append(out, was(y, x))
	}
	pairs := paired(a.Adjusts, b.Adjusts)
	same := true // the adjustments, in whatever order
	for _, p := range pairs {
		switch x, y := p[0], p[1]; {
		case x == nil:
			out = append(out, clip(adjustText(y))+" (new)")
			same = false
		case y == nil:
			out = append(out, clip(adjustText(x))+" (taken out)")
			same = false
		case normalAdjust(x) != normalAdjust(y):
			same = false
			now, before := adjustText(y), adjustText(x)
			if x.Op.Text == y.Op.Text && normalExpr(x.Amount) != normalExpr(y.Amount) && tail(x) == tail(y) {
				before = exprText(x.Amount)
			}
			out = append(out, was(now, before))
		}
	}
	if same {
		for i, p := range pairs {
			if p[0] != a.Adjusts[i] {
				out = append(out, "`"+clip(adjustText(p[1]))+"` comes sooner")
				break
			}
		}
	}
	return strings.Join(out, "; ")
}

func correctsText(r *syntax.Rule) string {
	var names []string
	for _, n := range r.Corrects {
		names = append(names, n.Text)
	}
	if len(names) == 0 {
		return "corrects nothing"
	}
	return "corrects " + strings.Join(names, ", ")
}

func adjustText(a *syntax.Adjust) string { return source.OneLine(a.Span.Text()) }

// normalAdjust is an adjustment's text, however it is spaced.
func normalAdjust(a *syntax.Adjust) string {
	return textFact("rule x {\n" + a.Span.Text() + "\n}").normal
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
			if !used[i] && x.Map.Text == y.Map.Text && (!same || normalAdjust(x) == normalAdjust(y)) {
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

// adjusted says where two rules adjust a map, if that is one place: the
// adjustment that differs.
func adjusted(a, b syntax.Decl) map[string][2]source.Span {
	x, _ := a.(*syntax.Rule)
	y, _ := b.(*syntax.Rule)
	var lists [2][]*syntax.Adjust
	if x != nil {
		lists[0] = x.Adjusts
	}
	if y != nil {
		lists[1] = y.Adjusts
	}
	places := map[string][2]source.Span{}
	n := map[string]int{}
	for _, p := range paired(lists[0], lists[1]) {
		if p[0] != nil && p[1] != nil && normalAdjust(p[0]) == normalAdjust(p[1]) {
			continue
		}
		var at [2]source.Span
		name := ""
		for i, adj := range p {
			if adj != nil {
				at[i], name = adj.Span, adj.Map.Text
			}
		}
		n[name]++
		places[name] = at
	}
	for name, k := range n {
		if k != 1 {
			delete(places, name)
		}
	}
	return places
}

// movedText names the first rule that stands elsewhere. Both lists have one
// renamed under its old name.
func movedText(a, b []string, name func(string) string) string {
	for i := range a {
		if a[i] != b[i] {
			return "`" + name(b[i]) + "` comes before `" + name(a[i]) + "` (was after it)"
		}
	}
	return ""
}
