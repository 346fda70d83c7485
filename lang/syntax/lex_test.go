package syntax_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// lexed writes a file's tokens, a line a declaration: words as they are, with
// the kind before those whose kind their text doesn't show.
func lexed(t *testing.T, text string) (lines []string, faults int) {
	t.Helper()
	errs := &diag.List{}
	pieces, _ := syntax.Tokens(source.New("tune.fettle", text), errs)
	for _, toks := range pieces {
		var words []string
		for _, tok := range toks {
			switch w := tok.Text; tok.Kind {
			case syntax.Path, syntax.Body, syntax.Bad:
				words = append(words, kinds[tok.Kind]+"("+w+")")
			case syntax.Newline:
				words = append(words, ";")
			default:
				words = append(words, w)
			}
		}
		lines = append(lines, strings.Join(words, " "))
	}
	return lines, errs.Len()
}

func lexes(t *testing.T, text string, want ...string) {
	t.Helper()
	got, faults := lexed(t, text)
	if d := cmp.Diff(want, got); d != "" || faults > 0 {
		t.Errorf("%q has %d faults and reads\n%s", text, faults, d)
	}
}

// A line goes on after these, and after nothing else.
func TestLinesGoOn(t *testing.T) {
	for _, on := range strings.Fields("+ - * / ^ < > <= >= == != = += -= *= /= , and or not is if then else (") {
		got, _ := lexed(t, "let a "+on+"\n# a comment\n\n  b")
		if want := []string{"let a " + on + " b"}; !cmp.Equal(want, got) {
			t.Errorf("after %s: %q", on, got)
		}
	}
	for _, end := range strings.Fields(".. % ] : ) when over where feather within from with like to corrects yes no 12 name") {
		tok := end
		switch end {
		case "]":
			tok = "[m]"
		case ")":
			tok = "( )"
		}
		got, _ := lexed(t, "let a "+tok+"\n  b")
		if want := []string{"let a " + tok, "b"}; !cmp.Equal(want, got) {
			t.Errorf("after %s: %q", end, got)
		}
	}
	lexes(t, "check \"x\" with a {\n  b == 1 +-\n    2\n}", `check "x" with path(a) { ; b == 1 +- 2 ; }`)
}

func TestNewlines(t *testing.T) {
	lexes(t, "\n\nlet a = 1\n\n\nlet b = 2", "let a = 1", "let b = 2")
	lexes(t, "let a = (1\n  + 2\n)\nlet b = 2", "let a = ( 1 + 2 )", "let b = 2")
	lexes(t, "rule r {\n\n  # why\n  fuel += 1   # how\n\n  fuel -= (2\n - 1)\n}", "rule r { ; fuel += 1 ; fuel -= ( 2 - 1 ) ; }")
	lexes(t, "rule r { fuel += 1 }\nlet a = 1", "rule r { fuel += 1 }", "let a = 1")
	lexes(t, "let a = 1 # = 2\n# let b = 3", "let a = 1")
	lexes(t, "let a\t=\r\n 1\r\nlet b = 2\r\n", "let a = 1", "let b = 2")
	lexes(t, "\ufefflet a = 1", "let a = 1")
	lexes(t, "")
	lexes(t, "  # only this\n")
}

// Where a comma or an operator was left over, the next line is a statement of
// its own all the same, if it can't be anything else.
func TestLinesThatCannotGoOn(t *testing.T) {
	for text, want := range map[string][]string{
		"let a = 1 +\nlet b = 2":                   {"let a = 1 +", "let b = 2"},
		"rule r {\n fuel += 1,\n spark += 2\n}":    {"rule r { ; fuel += 1 , ; spark += 2 ; }"},
		"rule r {\n fuel += 1 +\n spark = 2\n}":    {"rule r { ; fuel += 1 + ; spark = 2 ; }"},
		"rule r {\n fuel += 1 +\n spark == 2\n}":   {"rule r { ; fuel += 1 + spark == 2 ; }"},
		"variant v {\n a = 1,\n trim fuel += 2\n}": {"variant v { ; a = 1 , ; trim fuel += 2 ; }"},
	} {
		if got, faults := lexed(t, text); !cmp.Equal(want, got) || faults > 0 {
			t.Errorf("%q: %q, %d faults", text, got, faults)
		}
	}
}

func TestTokens(t *testing.T) {
	lexes(t, "let a = 1..2", "let a = 1 .. 2")
	lexes(t, "let a = 1.5..2.25", "let a = 1.5 .. 2.25")
	lexes(t, "let a = -400..4500 m", "let a = - 400 .. 4500 m")
	lexes(t, "let a = 1e3 + 1.5e-3 + 2E+4", "let a = 1e3 + 1.5e-3 + 2E+4")
	lexes(t, "let a = 3e + 4e-", "let a = 3 e + 4 e -")
	lexes(t, "let a = 5%", "let a = 5 %")
	lexes(t, "let a = 820m", "let a = 820 m")
	lexes(t, "let a = fuels.pump98.stoich", "let a = fuels . pump98 . stoich")
	lexes(t, "let a = b<=c", "let a = b <= c")
	lexes(t, "let a [kg / m^3] = 1", "let a [kg / m^3] = 1")
	lexes(t, `caution "a # is no comment, \" no end"`, `caution "a # is no comment, \" no end"`)
}

func TestPaths(t *testing.T) {
	lexes(t, "variant june from season/stock-pump98-0.82km { }", "variant june from path(season/stock-pump98-0.82km) { }")
	lexes(t, "given blend from air.fuels = a", "given blend from path(air.fuels) = a")
	lexes(t, "check \"x\" with s*/?-minus20degC { }", `check "x" with path(s*/?-minus20degC) { }`)
	lexes(t, `map fuel from "base.csv"`, `map fuel from "base.csv"`)
	lexes(t, "let a = from_here - with_that", "let a = from_here - with_that")
	// The word is wanted on the same line.
	lexes(t, "let a from\nb - c", "let a from", "b - c")
}

func TestBodies(t *testing.T) {
	lexes(t, "map m { rpm | 1 # no } here\n | 2 }\nlet a = 1", "map m { body( rpm | 1 # no } here\n | 2 ) }", "let a = 1")
	lexes(t, "catalog c {\n name | note [text]\n a | \"} and # and \\\" too\" # }\n}", "catalog c { body(\n name | note [text]\n a | \"} and # and \\\" too\" # }\n) }")
	lexes(t, "catalog c {\n a | \" never closed }\n b | 1 }", "catalog c { body(\n a | \" never closed }\n b | 1 ) }")
	lexes(t, "map m [mg] like fuel = fuel", "map m [mg] like fuel = fuel")
	lexes(t, "map m { }", "map m { body( ) }")
	lexes(t, "map m {}", "map m { body() }")
	// Only the braces of a map or catalogue hold a body.
	lexes(t, "rule map_it { fuel += 1 }", "rule map_it { fuel += 1 }")
	errs := &diag.List{}
	_, comments := syntax.Tokens(source.New("x", "map m { # one\n | 2 # two\n}"), errs)
	if len(comments) != 2 || comments[0].Text != "# one" || comments[1].Text != "# two" {
		t.Errorf("the comments of a body are %v", comments)
	}
}

// +- is one sign in a check, and two anywhere else.
func TestPlusMinus(t *testing.T) {
	lexes(t, "check \"x\" with a { b == 1 +- 2 }", `check "x" with path(a) { b == 1 +- 2 }`)
	lexes(t, "let a = 1 +-2", "let a = 1 + - 2")
	lexes(t, "check \"x\" with a { b == 1 }\nlet a = 1 +-2", `check "x" with path(a) { b == 1 }`, "let a = 1 + - 2")
	lexes(t, "rule r { fuel = 1 +- 2 }", "rule r { fuel = 1 + - 2 }")
}
