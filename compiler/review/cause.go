package review

import (
	"strings"

	"fettle/compiler/diff"
)

// mostWhy is how many characters of what changed in an element stand beside its
// name.
const mostWhy = 80

// Cause says what changed in an element, in few enough words to stand beside its
// name. What is long loses its middle; of "now (was then)" the part is kept in which
// the two differ.
func Cause(e *diff.Element) string { return clipMiddle(e.Why) }

func clipMiddle(why string) string {
	why = strings.Join(strings.Fields(why), " ")
	if len([]rune(why)) <= mostWhy {
		return why
	}
	now, then, two := strings.Cut(why, " (was ")
	if !two {
		return withoutMiddle(why, mostWhy)
	}
	a, b := []rune(now), []rune(strings.TrimSuffix(then, ")"))
	from, back := 0, 0 // where they begin to differ, from either end
	for from < min(len(a), len(b)) && a[from] == b[from] {
		from++
	}
	for back < min(len(a), len(b))-from && a[len(a)-1-back] == b[len(b)-1-back] {
		back++
	}
	const half = mostWhy / 2
	roomA, roomB := max(half, mostWhy-len(b)), max(half, mostWhy-len(a))
	return around(a, from, len(a)-back, roomA) + " (was " + around(b, from, len(b)-back, roomB) + ")"
}

// around keeps the part of a text in which it differs, with as much before and
// behind as there is room for.
func around(r []rune, from, to, most int) string {
	if len(r) <= most {
		return string(r)
	}
	start := max(0, min(from-max(0, most-(to-from))/2, len(r)-most))
	end := start + most
	out := string(r[start:end])
	if start > 0 {
		out = "… " + fromWord(out)
	}
	if end < len(r) {
		out = toWord(out) + " …"
	}
	return out
}

// withoutMiddle keeps the ends of a text, so many characters of it.
func withoutMiddle(s string, most int) string {
	r := []rune(s)
	if len(r) <= most {
		return s
	}
	most -= len("...") // as wide as what stands for the middle
	return toWord(string(r[:most-most/2])) + " … " + fromWord(string(r[len(r)-most/2:]))
}

// toWord and fromWord leave out the part of a word that a text ends or begins
// with, unless that is most of it.
func toWord(s string) string {
	if i := strings.LastIndexByte(s, ' '); i > len(s)/2 {
		s = s[:i]
	}
	return strings.TrimRight(s, " ")
}

func fromWord(s string) string {
	if i := strings.IndexByte(s, ' '); i >= 0 && i < len(s)/2 {
		s = s[i:]
	}
	return strings.TrimLeft(s, " ")
}
