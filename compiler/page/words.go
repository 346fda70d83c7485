package page

import (
	"fmt"
	"strconv"
	"strings"

	"fettle/compiler/diff"
	"fettle/compiler/review"
	"fettle/lang/unit"
)

// counted is "1 tune" or "3 tunes".
func counted(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + one + "s"
}

// plain writes a number with so many decimals; -1 for as many as it has.
func plain(x float64, decimals int) string {
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.HasPrefix(s, "-") && strings.Trim(s, "-0.") == "" {
		return s[1:]
	}
	return s
}

// signed writes a change, with its sign.
func signed(x float64, decimals int) string {
	s := plain(x, decimals)
	if x > 0 && strings.Trim(s, "0.") != "" {
		return "+" + s
	}
	return s
}

// span is "+1.0 % to +3.0 %", or one of them where both are the same.
func span(lo, hi string) string {
	if lo == hi {
		return hi
	}
	return lo + " to " + hi
}

// spanOf is what the changes of a map span, as shares where they all are.
func spanOf(lo, hi float64, shares bool, loShare, hiShare float64, decimals int, unitText string) string {
	if shares {
		return span(diff.Percent(loShare), diff.Percent(hiShare))
	}
	a, b := signed(lo, decimals), signed(hi, decimals)
	if a == b {
		return unit.With(b, unitText)
	}
	return a + " to " + unit.With(b, unitText)
}

// byNames lists elements: "by rule long_pipe and base of fuel".
func byNames(list []*diff.Element) string {
	var names []string
	for i, e := range list {
		if i == 3 && len(list) > 4 {
			names = append(names, fmt.Sprintf("%d others", len(list)-3))
			break
		}
		names = append(names, clean(e.Name))
	}
	return enumerated(names)
}

// causesOf lists elements, each with what changed in it.
func causesOf(list []*diff.Element) []because {
	var out []because
	for i, e := range list {
		if i == 3 && len(list) > 4 {
			out = append(out, because{fmt.Sprintf("%d others", len(list)-3), ""})
			break
		}
		out = append(out, because{clean(e.Name), clean(review.Cause(e))})
	}
	return out
}

// enumerated is "a, b and c".
func enumerated(list []string) string {
	if len(list) < 2 {
		return strings.Join(list, "")
	}
	return strings.Join(list[:len(list)-1], ", ") + " and " + list[len(list)-1]
}

func short(hash string, n int) string { return hash[:min(n, len(hash))] }
