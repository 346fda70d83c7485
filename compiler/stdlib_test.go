package compiler_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"fettle/compiler"
	"fettle/compiler/library"
	"fettle/compiler/report"
	"fettle/lang/diag"
	"fettle/lang/format"
	"fettle/lang/source"
	"fettle/stdlib"
)

// leastFigures is how many of them each function is held to.
const leastFigures = 5

// fewFigures are the functions that give back what they get, where there is
// little to prove.
var fewFigures = map[string]int{"injection.some_time": 2}

// leastStdlibChecks is how many figures from elsewhere the library is held to:
// there may be more, never fewer.
const leastStdlibChecks = 650

// The standard library agrees with the published and computed figures of
// testdata/stdlib, each with its source beside it.
func TestStdlib(t *testing.T) {
	folder := filepath.Join("..", "testdata", "stdlib")
	w := compiler.Open(os.DirFS(folder))
	for _, d := range w.Diags.Sorted() {
		t.Errorf("%s %s: %s", d.Code, place(d.Span), d.Message)
	}
	if w.Diags.HasErrors() {
		t.FailNow()
	}
	done, held := 0, 0
	w.Run(w.Plan.Tunes, compiler.RunOptions{}, func(o *compiler.Outcome) {
		if o.Result.Fault != nil {
			t.Fatalf("%s: %s", o.Tune.Name, o.Result.Fault.Reason)
		}
		for _, c := range o.Checks {
			done++
			if c.OK {
				held++
				continue
			}
			t.Errorf("%s: %s: %.17g, expected %.17g %s %s", place(c.Expect.Span), c.Check.Title, c.Got, c.Want, c.Unit.Text, c.Problem)
		}
	})
	if held < leastStdlibChecks {
		t.Errorf("only %d of %d checks hold, of at least %d", held, done, leastStdlibChecks)
	}
	t.Logf("%d figures", held)
}

// Every function of the library is held to figures, and each figure says where
// it comes from.
func TestStdlibFiguresHaveSources(t *testing.T) {
	origin := regexp.MustCompile(`# .*(read in|computed (with|from)|from memory|common practice, no source|a definition)`)
	var expectations []string
	for _, path := range stdlibFigures(t) {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		name := filepath.Base(path)
		if laid, errs := format.Source(source.New(name, string(text))); errs.HasErrors() || laid != string(text) {
			t.Errorf("%s isn't in the one layout", path)
		}
		inCheck := false
		for i, line := range strings.Split(string(text), "\n") {
			switch {
			case strings.HasPrefix(line, "check "):
				inCheck = true
			case line == "}":
				inCheck = false
			case inCheck && strings.TrimSpace(line) != "" && !strings.HasPrefix(strings.TrimSpace(line), "#"):
				expectations = append(expectations, line)
				if !origin.MatchString(line) {
					t.Errorf("%s:%d doesn't say where its figure comes from", name, i+1)
				}
			}
		}
	}
	for _, f := range stdlibFunctions(t) {
		n, least := 0, leastFigures
		if few, ok := fewFigures[f.Name]; ok {
			least = few
		}
		call := regexp.MustCompile(`\b` + regexp.QuoteMeta(f.Name) + `\(`)
		for _, e := range expectations {
			if call.MatchString(e) {
				n++
			}
		}
		if n < least {
			t.Errorf("%d figures prove %s, of at least %d", n, f.Name, least)
		}
	}
}

// stdlibFigures lists the sources of the figures.
func stdlibFigures(t *testing.T) []string {
	t.Helper()
	paths, err := filepath.Glob(filepath.Join("..", "testdata", "stdlib", "*.fettle"))
	if err != nil || len(paths) == 0 {
		t.Fatalf("no figures: %v", err)
	}
	return paths
}

// stdlibFunctions lists the functions of the library with their pages.
func stdlibFunctions(t *testing.T) []library.Entry {
	t.Helper()
	var out []library.Entry
	for _, p := range openLibrary(t).Pages() {
		for _, e := range p.Entries {
			if e.Kind == "function" {
				out = append(out, e)
			}
		}
	}
	if len(out) == 0 {
		t.Fatal("the library has no functions")
	}
	return out
}

func openLibrary(t *testing.T) *library.Library {
	t.Helper()
	lib, errs := library.Open()
	for _, d := range errs.Sorted() {
		t.Fatalf("%s %s: %s", d.Code, place(d.Span), d.Message)
	}
	return lib
}

// The sources of the library are in the one layout. Each function, curve and
// catalogue says what it is and where it comes from, and each function shows an
// example. (Values that belong together share a comment.)
func TestStdlibPages(t *testing.T) {
	for _, m := range stdlib.Modules() {
		text, _ := stdlib.Text(m)
		if laid, errs := format.Source(source.New(m+".fettle", text)); errs.HasErrors() || laid != text {
			t.Errorf("stdlib/%s.fettle isn't in the one layout", m)
		}
	}
	for _, p := range openLibrary(t).Pages() {
		if p.Summary == "" {
			t.Errorf("module %s doesn't say what it is about", p.Module)
		}
		for _, e := range p.Entries {
			if e.Kind == "value" {
				continue
			}
			if e.Text == "" {
				t.Errorf("%s doesn't say what it is", e.Name)
			}
			if len(e.Sources) == 0 {
				t.Errorf("%s has no source", e.Name)
			}
			for _, s := range e.Sources {
				if s == "" {
					t.Errorf("%s has an empty source", e.Name)
				}
			}
			if e.Kind == "function" && len(e.Examples) == 0 {
				t.Errorf("%s has no example", e.Name)
			}
		}
	}
}

// The examples on the pages give what they say, to the digits that the
// calculator prints.
func TestStdlibExamples(t *testing.T) {
	lib := openLibrary(t)
	for _, f := range stdlibFunctions(t) {
		for _, x := range f.Examples {
			at := strings.LastIndex(x, " = ")
			if at < 0 {
				t.Errorf("%s: an example is EXPRESSION = VALUE UNIT, not %s", f.Name, x)
				continue
			}
			if !strings.Contains(x[:at], f.Name+"(") {
				t.Errorf("%s: an example of something else: %s", f.Name, x)
			}
			errs := &diag.List{}
			v := lib.Eval(x[:at], errs)
			for _, d := range errs.Sorted() {
				t.Errorf("%s: %s", x, d.Message)
			}
			if v == nil {
				continue
			}
			out, err := report.NewEvaluated(x[:at], v)
			if err != nil {
				t.Errorf("%s: %v", x, err)
				continue
			}
			// A compound unit stands in brackets, as it would in a source.
			if want := strings.NewReplacer("[", "", "]", "").Replace(x[at+3:]); out.Text != want {
				t.Errorf("%s: it is %s", x, out.Text)
			}
		}
	}
}
