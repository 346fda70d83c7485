package review

import (
	"strings"
	"unicode/utf8"

	"fettle/lang/diag"
)

// mostForeign is how many characters of a name or text are written: a monstrous
// one can't crowd out the rest.
const mostForeign = 160

// markdown writes a phrase. Words of ours have their signs escaped. What came
// from elsewhere stands in a code span: nothing in one is a link, a mention, a
// reference, HTML or markup. In a row of a table a pipe would end the cell even
// there, unless it is escaped.
func (p phrase) markdown(inTable bool) string {
	var b strings.Builder
	for _, x := range p {
		if !x.foreign {
			b.WriteString(escapeOurs(x.text))
			continue
		}
		if s := b.String(); strings.HasSuffix(s, "`") {
			b.WriteByte(' ') // two spans would become one
		}
		b.WriteString(codeSpan(x.text, inTable))
	}
	return b.String()
}

// escapeOurs escapes the signs that could be taken for markup.
func escapeOurs(s string) string {
	var b strings.Builder
	for _, r := range diag.Clean(s) {
		if strings.ContainsRune("\\`*_{}[]<>#~|&!@", r) {
			b.WriteByte('\\')
		}
		b.WriteRune(r)
	}
	return b.String()
}

// prose is sentences from elsewhere, such as a caution. Plain words stand as they
// are; a word that could be more is a code span.
func prose(s string) string {
	var out []string
	for _, w := range strings.Fields(clip(diag.Clean(clip(s)))) {
		bare := strings.TrimRight(strings.TrimLeft(w, `("'`), `.,;:!?)"'`)
		// A hyphen before a digit could make a reference of it.
		more := strings.ContainsFunc(bare, func(r rune) bool { return !isWordRune(r) && !strings.ContainsRune("'%-", r) })
		if more || strings.Contains(bare, "-") && strings.ContainsAny(bare, "0123456789") {
			out = append(out, codeSpan(w, false))
		} else {
			out = append(out, escapeOurs(w))
		}
	}
	return strings.Join(out, " ")
}

// codeSpan is a text as a code span, whatever it holds; "" of nothing.
func codeSpan(s string, inTable bool) string {
	s = clip(diag.Clean(clip(s)))
	if s == "" {
		return ""
	}
	if strings.Trim(s, " ") == "" {
		s = "<U+0020>"
	}
	if inTable {
		// A backslash before the pipe would escape the backslash that escapes it.
		s = strings.ReplaceAll(s, `\|`, "<U+005C>|")
		s = strings.ReplaceAll(s, "|", `\|`)
	}
	fence := strings.Repeat("`", longestRun(s)+1)
	if s[0] == '`' || s[len(s)-1] == '`' || s[0] == ' ' && s[len(s)-1] == ' ' {
		s = " " + s + " "
	}
	return fence + s + fence
}

// longestRun is the length of the longest run of backticks.
func longestRun(s string) int {
	most, n := 0, 0
	for i := range len(s) {
		if s[i] != '`' {
			n = 0
			continue
		}
		n++
		most = max(most, n)
	}
	return most
}

// clip cuts a text that is too long.
func clip(s string) string {
	if utf8.RuneCountInString(s) <= mostForeign {
		return s
	}
	n := 0
	for i := range s {
		if n == mostForeign-1 {
			return s[:i] + "…"
		}
		n++
	}
	return s
}

// html writes a phrase into a raw block of HTML, such as a summary.
func (p phrase) html() string {
	var b strings.Builder
	for _, x := range p {
		s := htmlEscaper.Replace(clip(diag.Clean(clip(x.text))))
		if x.foreign && s != "" {
			s = "<code>" + s + "</code>"
		}
		b.WriteString(s)
	}
	return b.String()
}

var htmlEscaper = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;", "'", "&#39;", "@", "&#64;", "`", "&#96;")

// size is how many characters a text has, counted as the widest way of counting
// does: those beyond the first 65,536 as two.
func size(s string) int {
	n := 0
	for _, r := range s {
		if n++; r > 0xffff {
			n++
		}
	}
	return n
}
