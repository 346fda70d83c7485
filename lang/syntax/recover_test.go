package syntax_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// faults lists the errors of a text, as "line CODE", and the names that are
// left of it; ! is before a broken one.
func faults(text string) (errors, names []string, tree *syntax.File) {
	errs := &diag.List{}
	tree = syntax.Parse(source.New("tune.fettle", text), errs)
	for _, d := range errs.Sorted() {
		errors = append(errors, strings.TrimPrefix(d.Span.String(), "tune.fettle:")+" "+d.Code)
	}
	for _, d := range tree.Decls {
		n := d.Header().Name.Text
		if _, broken := d.(*syntax.Broken); broken {
			n = "!" + n
		}
		names = append(names, n)
	}
	return errors, names, tree
}

// Seven faults, among them an unclosed brace, are seven errors, and what stands
// between them is read.
func TestSevenFaults(t *testing.T) {
	errors, names, tree := faults(`axis rpm [rpm] 1000...14000
let a = (1 + 2
let b = 3
rule unclosed {
  fuel += 3 %
  fuel +- 4 %
  spark -= 1 deg

map fuel [mg] {
  rpm | 3000 5000
      |  1.1  1.2
region r = rpm ..7000
given wet no
variant bench { }
let c = "never closed
let d = 4
`)
	want := []string{"1 E107", "2 E103", "4 E103", "6 E101", "9 E103", "13 E101", "15 E104"}
	if d := cmp.Diff(want, errors); d != "" {
		t.Error(d)
	}
	if d := cmp.Diff([]string{"rpm", "!a", "b", "unclosed", "fuel", "r", "!wet", "bench", "c", "d"}, names); d != "" {
		t.Error(d)
	}
	if r, ok := tree.Decls[3].(*syntax.Rule); !ok || len(r.Adjusts) != 2 || !r.Partial {
		t.Errorf("of the unclosed rule is left %+v", tree.Decls[3])
	}
	errs := &diag.List{}
	if m, ok := tree.Decls[4].(*syntax.Map); !ok {
		t.Errorf("of the unclosed map is left %+v", tree.Decls[4])
	} else if g := syntax.ReadGrid(tree.Source, *m.Body, errs); g == nil || len(g.Cells) != 2 || errs.Len() > 0 {
		t.Errorf("the unclosed map's grid is %+v, with %d faults", g, errs.Len())
	}
}

func TestRecovery(t *testing.T) {
	for _, c := range []struct {
		text          string
		errors, names string
	}{
		{"rule a {\n fuel += 1\nrule b {\n fuel += 1\nrule c { fuel += 1 }", "1 E103, 3 E103", "a, b, c"},
		{"rule a {\n fuel += 1\n  rule b {\n   fuel += 1\n  }\nlet c = 1", "1 E103", "a, b, c"},
		{"rule a {\n fuel += 1\n rule b { fuel += 1 }\n}\nlet c = 1", "3 E101", "a, c"},
		{"rule a {\n fuel += (1 + 2\n spark += 1\n}\nlet c = 1", "2 E103", "a, c"},
		{"rule a {\n fuel += (1 + (2\n}\nlet c = 1", "2 E103", "a, c"},
		{"rule a { fuel += 1 }}\nlet c = 1", "1 E105", "a, c"},
		{"let a = 1)\nlet c = 1", "1 E105", "a, c"},
		{"map a {\n x | 1\n | 2\ncatalog b {\n name | y\n c | 1\nlet d = 1", "1 E103, 4 E103", "a, b, d"},
		{"map a {\n x | 1\n | 2", "1 E103", "a"},
		{"map a\n{\n x | 1\n | 2\n}\nlet c = 1", "2 E106", "a, c"},
		{"variant a\nlet c = 1", "1 E106", "!a, c"},
		{"varaint a { }\nlet c = 1", "1 E102", "a, c"},
		{"what is this\nlet c = 1", "1 E102", "c"},
		{"let a = 1; let b = 2", "1 E107", "a, b"},
		{"let if = 1\nlet c = 1", "1 E108", "if, c"},
		{"let Ab = 1\nlet c = 1", "1 E109", "Ab, c"},
		{"let µ = 1\nlet c = 1", "1 E107", "!µ, c"},
		{"let a = 1 \\ 2\nlet c = 1", "1 E107", "!a, c"},
		{"let a [mg = 1\nlet c = 1", "1 E103", "!a, c"},
		{"let a = [ 1\nlet c = 1", "1 E103", "!a, c"},
		{"rule a {\n fuel += \\\n spark += 1\n}\nlet c = 1", "2 E107", "a, c"},
		{"rule a when wet when dry { }", "1 E110", "a"},
		{"limit a: b < 1 else warn else fail", "1 E110", "a"},
		{"limit a: b < 1 else warn when wet", "1 E101", "a"},
		{"region a = rpm 1..2, feather 3\nlet c = 1", "1 E101", "!a, c"},
		{"rule a { fuel += 1 } spark += 1\nlet c = 1", "1 E101", "a, c"},
		{"rule a {\n { fuel += 1 }\n}\nlet c = 1", "2 E101", "a, c"},
		{"given pipe\n  from pipes = stock", "2 E101", "pipe"},
	} {
		errors, names, _ := faults(c.text)
		if got := strings.Join(errors, ", "); got != c.errors {
			t.Errorf("%q: %s, want %s", c.text, got, c.errors)
		}
		if got := strings.Join(names, ", "); got != c.names {
			t.Errorf("%q: left are %s, want %s", c.text, got, c.names)
		}
	}
}

// What is left of a declaration with faults says that it isn't whole, so that
// nothing is said of what may have been lost.
func TestPartial(t *testing.T) {
	for text, want := range map[string]bool{
		"rule a { fuel += 1 }":                                        false,
		"rule a {\n fuel ++ 1\n}":                                     true,
		"rule a {\n fuel += 1 over rpm 1..2, feather 3..\n}":          true,
		"rule a {\n rule b { fuel += 1 }\n}":                          true,
		"rule a {\n fuel += \\\n}":                                    true,
		"variant a { b = 1 }":                                         false,
		"variant a { b ++ 1 }":                                        true,
		"variant a { b = \\ }":                                        true,
		"variants a {\n trim fuel += 1 over rpm 1..2, feather 3..\n}": true,
		"check \"a\" with b { c == 1 }":                               false,
		"check \"a\" with b { c == }":                                 false,
		"check \"a\" with b { c = 1 }":                                true,
		"check \"a\" with b { c == \\ }":                              true,
	} {
		_, _, tree := faults(text)
		got := false
		switch d := tree.Decls[0].(type) {
		case *syntax.Rule:
			got = d.Partial
		case *syntax.Variant:
			got = d.Partial
		case *syntax.Check:
			got = d.Partial
		default:
			t.Errorf("%q: left is a %T", text, d)
		}
		if got != want {
			t.Errorf("%q: partial is %v", text, got)
		}
	}
}

func TestParseExpr(t *testing.T) {
	errs := &diag.List{}
	e := syntax.ParseExpr(source.New("--where", " altitude > (500 m\n + 1) "), errs)
	if errs.Len() > 0 || e == nil || e.Span.Text() != "altitude > (500 m\n + 1)" || len(e.Toks) != 8 {
		t.Errorf("%+v, %d faults", e, errs.Len())
	}
	for _, none := range []string{"", "  \n", "# a comment"} {
		errs := &diag.List{}
		if e := syntax.ParseExpr(source.New("--where", none), errs); e != nil || errs.Len() != 1 || errs.Sorted()[0].Code != "E101" {
			t.Errorf("%q: %+v, %d faults", none, e, errs.Len())
		}
	}
	for text, want := range map[string]string{"altitude > !": "!", "a \\ b": "\\", "[mg": "["} {
		errs := &diag.List{}
		e := syntax.ParseExpr(source.New("--where", text), errs)
		if got := errs.Sorted(); len(got) != 1 || got[0].Span.Text() != want {
			t.Errorf("%q: %+v, %v", text, e, got)
		}
	}
}
