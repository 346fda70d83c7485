package compiler_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"fettle/compiler"
	"fettle/lang/format"
	"fettle/lang/source"
	"fettle/stdlib"
)

// leastStdlibChecks is how many figures from elsewhere the library is held to:
// there may be more, never fewer.
const leastStdlibChecks = 92

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

// Every function of the library is held to at least one figure, and each figure
// says where it comes from.
func TestStdlibFiguresHaveSources(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "testdata", "stdlib", "tune.fettle"))
	if err != nil {
		t.Fatal(err)
	}
	if laid, errs := format.Source(source.New("tune.fettle", string(text))); errs.HasErrors() || laid != string(text) {
		t.Error("testdata/stdlib/tune.fettle isn't in the one layout")
	}
	functions := 0
	for _, module := range stdlib.Modules() {
		body, _ := stdlib.Text(module)
		for _, m := range regexp.MustCompile(`(?m)^fn (\w+)\(`).FindAllStringSubmatch(body, -1) {
			functions++
			if !strings.Contains(string(text), module+"."+m[1]+"(") {
				t.Errorf("no figure proves %s.%s", module, m[1])
			}
		}
	}
	if functions == 0 {
		t.Error("the library has no functions")
	}
	origin := regexp.MustCompile(`# .*(read in|computed (with|from)|from memory|a definition)`)
	for i, line := range strings.Split(string(text), "\n") {
		if strings.Contains(line, " == ") && !origin.MatchString(line) {
			t.Errorf("line %d doesn't say where its figure comes from", i+1)
		}
	}
}
