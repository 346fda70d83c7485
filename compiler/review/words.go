package review

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"fettle/compiler/diff"
	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/lang/unit"
)

// A phrase is a sentence in pieces: words of ours, and names and texts that came
// from a source or a file. Each way of writing makes the latter harmless in its
// own manner, so that nothing is ever written past that.
type phrase []piece

type piece struct {
	text    string
	foreign bool // from a source or a file
	whole   bool // not parted at the end of a line
}

// words are of ours. They may be parted at the end of a line.
type words string

// figure is a number with its sign or unit, of ours.
type figure string

// say makes a phrase. Each %s takes an argument: a string is foreign, words,
// figures and numbers are ours, a phrase is taken in.
func say(format string, args ...any) phrase {
	var out phrase
	for i, text := range strings.Split(format, "%s") {
		if i > 0 {
			out = append(out, pieces(args[i-1])...)
		}
		if text != "" {
			out = append(out, piece{text: text})
		}
	}
	return out
}

func pieces(arg any) phrase {
	switch x := arg.(type) {
	case phrase:
		return x
	case words:
		return phrase{{text: string(x)}}
	case figure:
		return phrase{{text: string(x), whole: true}}
	case int:
		return phrase{{text: thousands(x), whole: true}}
	case string:
		return phrase{{text: x, foreign: true, whole: true}}
	}
	return phrase{{text: fmt.Sprint(arg), foreign: true, whole: true}}
}

// plain is a phrase for a terminal: what came from elsewhere is spelled out
// where a terminal would obey it.
func (p phrase) plain() string {
	var b strings.Builder
	for _, x := range p {
		b.WriteString(diag.Clean(x.text))
	}
	return b.String()
}

// join puts a separator of ours between phrases.
func join(list []phrase, sep string) phrase {
	var out phrase
	for i, p := range list {
		if i > 0 {
			out = append(out, piece{text: sep})
		}
		out = append(out, p...)
	}
	return out
}

// quantity is a number with a unit. What isn't a unit is foreign.
func quantity(number, of string) any {
	if plainUnit(of) {
		return figure(unit.With(number, of))
	}
	return unit.With(number, of)
}

// fromTo is "11.60 → 7.60 mg", which isn't parted.
func fromTo(old, new, of string) any { return quantity(old+" → "+new, of) }

// plainUnit says whether a text is a unit, or what differences of per cents are
// in. A table that was read may name anything as its unit.
func plainUnit(of string) bool {
	if of == "" || of == "points" {
		return true
	}
	_, err := unit.Parse(of)
	return err == nil
}

// isWordRune says whether a character is a letter or digit without a meaning in
// any markup.
func isWordRune(r rune) bool {
	return r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= utf8.RuneSelf && strconv.IsPrint(r)
}

// thousands writes a count with its thousands apart: 1,204.
func thousands(n int) string {
	s := strconv.Itoa(n)
	for i := len(s) - 3; i > 0 && s[i-1] != '-'; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}

// counted is "1 tune" or "1,204 tunes".
func counted(n int, one, many string) figure {
	if n == 1 {
		return figure("1 " + one)
	}
	return figure(thousands(n) + " " + many)
}

func tunes(n int) figure { return counted(n, "tune", "tunes") }

// some lists names, the first few of many.
func some(names []string, most int) phrase {
	var out []phrase
	for i, n := range names {
		if i == most && len(names) > most+1 {
			out = append(out, say("and %s more", len(names)-most))
			break
		}
		out = append(out, say("%s", n))
	}
	return join(out, ", ")
}

// places tells where an element stands: "tune.fettle:52 (was :50)".
func places(p [2]source.Span) phrase {
	if text := diff.PlacesText(p); text != "" {
		return say("%s", text)
	}
	return nil
}

// numbers writes values that stand beside each other: all with as many decimals
// as it takes for three digits of each, or more until no two that differ read
// alike.
func numbers(list ...float64) []string {
	out := make([]string, len(list))
	for digits := 3; digits <= 12; digits++ {
		decimals := 0
		for _, x := range list {
			decimals = max(decimals, decimalsFor(x, digits))
		}
		for i, x := range list {
			out[i] = strconv.FormatFloat(x, 'f', decimals, 64)
			if strings.Trim(out[i], "-0.") == "" {
				out[i] = strings.TrimPrefix(out[i], "-")
			}
		}
		if !alike(list, out) {
			break
		}
	}
	return out
}

// marginPair writes two margins: as many decimals as show three digits of the larger
// and two of the smaller, or more until they read otherwise, each with its sign.
func marginPair(a, b float64) (string, string) {
	if abs(a) < abs(b) {
		y, x := marginPair(b, a)
		return x, y
	}
	decimals := max(decimalsFor(a, 3), decimalsFor(b, 2))
	for decimals < 12 && a != b && strconv.FormatFloat(a, 'f', decimals, 64) == strconv.FormatFloat(b, 'f', decimals, 64) {
		decimals++
	}
	text := func(x float64) string {
		s := strconv.FormatFloat(x, 'f', decimals, 64)
		if strings.Trim(s, "-0.") == "" {
			return strings.TrimPrefix(s, "-")
		}
		return signed(s)
	}
	return text(a), text(b)
}

// alike says whether two values that differ have the same text.
func alike(list []float64, texts []string) bool {
	for i := range list {
		for k := range i {
			if list[i] != list[k] && texts[i] == texts[k] {
				return true
			}
		}
	}
	return false
}

// decimalsFor is how many decimals show a number's first digits, without noughts
// at the end.
func decimalsFor(x float64, digits int) int {
	mantissa, exp, _ := strings.Cut(strconv.FormatFloat(abs(x), 'e', digits-1, 64), "e")
	n, err := strconv.Atoi(exp)
	if err != nil { // not a finite number
		return 0
	}
	return max(0, len(strings.TrimRight(strings.Replace(mantissa, ".", "", 1), "0"))-1-n)
}

func signed(s string) string {
	if strings.HasPrefix(s, "-") || strings.Trim(s, "0.") == "" {
		return s
	}
	return "+" + s
}

// changeOf is a change of a map's cells as people read it: a share where that
// makes sense, else an amount.
func (e *EntryMap) changeOf(change, share float64, hasShare bool) any {
	if hasShare {
		return figure(diff.Percent(share))
	}
	return quantity(e.Diff.AmountText(change), e.Diff.ChangeUnit)
}
