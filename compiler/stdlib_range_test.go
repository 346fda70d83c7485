package compiler_test

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"fettle/lang/diag"
)

// parameterText is a parameter with a range of validity in a signature, as in
// `temp [K] within -50..60 degC`.
var parameterText = regexp.MustCompile(`^(\w+)(?: \[([^\]]+)\])? within ([-0-9.e]*?)\.\.([-0-9.e]*)(?: ?(\[[^\]]+\]|\w+|%))?$`)

// A call outside a range of validity is an error that names the parameter, the
// range and the source. Each parameter that has one is taken beyond both of
// its ends, with the other arguments of the function's first example.
func TestStdlibRanges(t *testing.T) {
	lib := openLibrary(t)
	tried := 0
	for _, f := range stdlibFunctions(t) {
		if len(f.Examples) == 0 {
			continue // TestStdlibPages tells
		}
		call := callIn(f.Examples[0], f.Name)
		args := splitArguments(call)
		params := splitArguments(callIn(f.Signature, f.Name))
		if len(args) != len(params) {
			t.Errorf("%s: the first example doesn't call it with %d arguments: %s", f.Name, len(params), f.Examples[0])
			continue
		}
		for i, p := range params {
			if !strings.Contains(p, " within ") {
				continue
			}
			m := parameterText.FindStringSubmatch(p)
			if m == nil {
				t.Errorf("%s: a range that this test can't read: %s", f.Name, p)
				continue
			}
			for _, beyond := range []string{below(m[3]), above(m[4])} {
				if beyond == "" {
					continue
				}
				tried++
				outside := append([]string(nil), args...)
				outside[i] = beyond + " " + rangeUnit(m[2], m[5])
				expr := f.Name + "(" + strings.Join(outside, ", ") + ")"
				errs := &diag.List{}
				lib.Eval(expr, errs)
				var told string
				for _, d := range errs.Sorted() {
					told += d.Message
				}
				want := fmt.Sprintf("`%s` of `%s` is ", m[1], f.Name)
				if !strings.Contains(told, want) || !strings.Contains(told, "outside its range of validity") {
					t.Errorf("%s: no error that names %s and its range, but %q", expr, m[1], told)
				}
				for _, s := range f.Sources {
					if !strings.Contains(told, strings.TrimRight(s, ".")) {
						t.Errorf("%s: the error doesn't name the source %q: %s", expr, s, told)
					}
				}
			}
		}
	}
	if tried < 100 {
		t.Errorf("only %d calls outside a range", tried)
	}
}

// callIn is what stands between the parentheses of the first call of a function.
func callIn(text, name string) string {
	at := strings.Index(text, name+"(")
	if at < 0 {
		return ""
	}
	text = text[at+len(name)+1:]
	depth := 0
	for i := 0; i < len(text); i++ {
		switch text[i] {
		case '(', '[':
			depth++
		case ')', ']':
			if depth == 0 {
				return text[:i]
			}
			depth--
		}
	}
	return ""
}

// splitArguments parts arguments at the commas outside parentheses.
func splitArguments(text string) []string {
	var out []string
	depth, from := 0, 0
	for i := 0; i < len(text); i++ {
		switch text[i] {
		case '(', '[':
			depth++
		case ')', ']':
			depth--
		case ',':
			if depth == 0 {
				out = append(out, strings.TrimSpace(text[from:i]))
				from = i + 1
			}
		}
	}
	return append(out, strings.TrimSpace(text[from:]))
}

// below and above give a number a little beyond an end of a range, and nothing
// for an end that is open.
func below(end string) string { return beyond(end, -1) }
func above(end string) string { return beyond(end, 1) }

func beyond(end string, sign float64) string {
	x, err := strconv.ParseFloat(end, 64)
	if err != nil {
		return ""
	}
	step := 0.01 * x
	if step < 0 {
		step = -step
	}
	if step == 0 {
		step = 0.01
	}
	return strconv.FormatFloat(x+sign*step, 'f', -1, 64)
}

// rangeUnit is the unit that a range's ends are in: its own, or its parameter's.
func rangeUnit(param, own string) string {
	switch {
	case own != "":
		return own
	case param == "":
		return ""
	}
	return "[" + param + "]"
}
