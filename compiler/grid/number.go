package grid

import (
	"strconv"
	"strings"
)

// ParseNumber reads a number as CSV files and sources write it:
// [+-]digits[.digits][e[+-]digits], with digits on both sides of a dot, and
// nothing else. A number beyond the largest float is refused too.
func ParseNumber(s string) (float64, bool) {
	if s == "" || numberPrefix(s) != len(s) {
		return 0, false
	}
	if v, ok := short(s); ok {
		return v, true
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil
}

// short reads a number of at most 15 digits and no exponent: its digits and the
// power of ten under them are exact, so one division rounds once.
func short(s string) (float64, bool) {
	digits := s
	if s[0] == '-' || s[0] == '+' {
		digits = s[1:]
	}
	if len(digits) > 16 {
		return 0, false
	}
	whole, seen, decimals := uint64(0), 0, 0
	dot := false
	for i := 0; i < len(digits); i++ {
		switch c := digits[i]; c {
		case '.':
			dot = true
		case 'e':
			return 0, false
		default:
			whole = whole*10 + uint64(c-'0')
			seen++
			if dot {
				decimals++
			}
		}
	}
	if seen > 15 {
		return 0, false
	}
	v := float64(whole) / tens[decimals]
	if s[0] == '-' {
		v = -v
	}
	return v, true
}

var tens = [16]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15}

// numberPrefix returns the length of the longest number that s starts with.
func numberPrefix(s string) int {
	digits := func(i int) int {
		for i < len(s) && '0' <= s[i] && s[i] <= '9' {
			i++
		}
		return i
	}
	sign := func(i int) int {
		if i < len(s) && (s[i] == '+' || s[i] == '-') {
			i++
		}
		return i
	}
	start := sign(0)
	end := digits(start)
	if end == start {
		return 0
	}
	if end < len(s) && s[end] == '.' {
		if n := digits(end + 1); n > end+1 {
			end = n
		} else {
			return end
		}
	}
	if end < len(s) && s[end] == 'e' {
		from := sign(end + 1)
		if n := digits(from); n > from {
			end = n
		}
	}
	return end
}

// WhyNotNumber explains a text that ParseNumber refuses: what is wrong with it,
// and what to write instead ("" where there is no telling). It never takes a
// side where a text could be read in two ways.
func WhyNotNumber(s string) (msg, fix string) {
	write := func(text string) string { return "write `" + text + "`" }
	isNumber := func(text string) bool { _, ok := ParseNumber(text); return ok }
	if s == "_" {
		return "not a number", "leave the cell empty for a blank"
	}
	switch strings.ToLower(strings.TrimLeft(s, "+-")) {
	case "nan", "inf", "infinity":
		return "not a finite number", ""
	}
	if strings.HasPrefix(strings.ToLower(strings.TrimLeft(s, "+-")), "0x") {
		return "a hexadecimal number", "write it in decimal"
	}
	if s != "" && numberPrefix(s) == len(s) {
		return "too large a number", ""
	}
	if t := strings.ReplaceAll(s, "\u2212", "-"); t != s && isNumber(t) {
		return "a typographic minus", write(t)
	}
	if t := strings.ToLower(s); t != s && isNumber(t) {
		return "an exponent with a capital E", write(t)
	}
	if t := strings.Replace(s, ",", ".", 1); t != s && isNumber(t) {
		if groupsOfThree(s) {
			return "a comma that may be a decimal comma or a thousands mark", "write a dot before decimals, and no thousands mark"
		}
		return "a decimal comma", write(t)
	}
	if t := strings.Replace(strings.ReplaceAll(s, ".", ""), ",", ".", 1); strings.Index(s, ".") < strings.Index(s, ",") && isNumber(t) {
		return "a decimal comma and thousands marks", write(t)
	}
	if t := thousandsMarks.Replace(s); t != s && isNumber(t) {
		return "a thousands mark", write(t)
	}
	if t := strings.ReplaceAll(s, ".", ""); strings.Count(s, ".") > 1 && isNumber(t) {
		return "a number with several dots", "write one dot, before the decimals"
	}
	if t := digitsAroundDot(s); t != s && isNumber(t) {
		return "a dot without a digit on both sides", write(t)
	}
	if n := numberPrefix(s); n > 0 {
		return "a number with something after it", "write the number alone"
	}
	return "not a number", ""
}

// thousandsMarks takes out what is written between groups of digits.
var thousandsMarks = strings.NewReplacer(",", "", "'", "", "\u2019", "", " ", "", "\u00a0", "", "\u2009", "", "\u202f", "", "_", "")

// groupsOfThree says whether the comma in s could mark thousands: one to three
// digits before it, not beginning with 0, and three after it.
func groupsOfThree(s string) bool {
	before, after, _ := strings.Cut(strings.TrimLeft(s, "+-"), ",")
	return len(after) == 3 && 1 <= len(before) && len(before) <= 3 && before[0] != '0'
}

// digitsAroundDot puts a 0 before a leading dot and drops a trailing one.
func digitsAroundDot(s string) string {
	unsigned := strings.TrimLeft(s, "+-")
	sign := s[:len(s)-len(unsigned)]
	if strings.HasPrefix(unsigned, ".") {
		unsigned = "0" + unsigned
	}
	return sign + strings.TrimSuffix(unsigned, ".")
}
