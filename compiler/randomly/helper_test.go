package randomly_test

import (
	"crypto/sha256"
	"encoding/hex"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"pgregory.net/rapid"

	"fettle/compiler"
	"fettle/compiler/eval"
	"fettle/compiler/randomly"
	"fettle/lang/diag"
)

// A long run: go test ./compiler/randomly -run 'TwoWays' -programs 100000 -timeout 0
var programs = flag.Int("programs", 500, "how many random programs the evaluators are compared on; a fifth of them with -short")

// kept is where the sources of failures are kept; a test runs all that are there.
var kept = filepath.Join("testdata", "regressions")

// files are a workspace's sources.
type files map[string]string

func one(text string) files { return files{"tune.fettle": text} }

func (f files) open() *compiler.Workspace {
	fsys := fstest.MapFS{}
	for name, text := range f {
		fsys[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return compiler.Open(fsys)
}

// over tries a property on n random programs. A program that fails it is shrunk,
// and its source is kept, unless FETTLE_KEEP is "no".
func over(t *testing.T, n int, property func(rt *rapid.T, trial *trial)) {
	t.Helper()
	if testing.Short() {
		n = max(n/5, 1)
	}
	had := flag.Lookup("rapid.checks").Value.String()
	if had == "100" { // nobody asked for another number
		// In a short run rapid takes a fifth of its own accord.
		checks := n
		if testing.Short() {
			checks = 5 * n
		}
		if err := flag.Set("rapid.checks", strconv.Itoa(checks)); err != nil {
			t.Fatal(err)
		}
		defer flag.Set("rapid.checks", had)
	}
	all := &trial{}
	t.Cleanup(func() {
		if t.Failed() && all.text != "" && os.Getenv("FETTLE_KEEP") != "no" {
			if text := all.text; all.again != nil {
				all.text = smaller(text, func(s string) bool { return failing(s, all.again) })
			}
			keep(t, all.text)
		}
	})
	rapid.Check(t, func(rt *rapid.T) {
		all.text = ""
		property(rt, all)
		all.tried++
	})
	if all.tried >= 100 && all.refused*4 > all.tried {
		t.Errorf("%d of %d programs were refused", all.refused, all.tried)
	}
	t.Logf("%d programs, of which %d have a fixed part without a value; %d tunes, of which %d have a fault; %d cells", all.tried, all.refused, all.tunes, all.faults, all.cells)
}

// trial counts what was tried, and knows the program that is being tried.
type trial struct {
	text                                 string
	again                                func(t tester, tr *trial, w *compiler.Workspace) // the property, where the text alone decides it
	tried, refused, tunes, faults, cells int
}

// program draws a program and compiles it; nil where it is one of those few that
// are refused.
func (tr *trial) program(rt *rapid.T, opt randomly.Options) (*randomly.Program, *compiler.Workspace) {
	p := randomly.Make(rt, opt)
	tr.text = p.Text()
	w := one(tr.text).open()
	if tr.refusedBy(rt, w) {
		return nil, nil
	}
	return p, w
}

func (tr *trial) refusedBy(t tester, w *compiler.Workspace) bool {
	for _, d := range w.Diags.Sorted() {
		if d.Severity != diag.Error {
			continue
		}
		if !randomly.Refusals[d.Code] {
			t.Fatalf("%s\n%s: %s at %q", tr.text, d.Code, d.Message, d.Span.Text())
		}
		tr.refused++
		return true
	}
	return false
}

// keep writes a source beside those that the tests run ever after.
func keep(t *testing.T, text string) {
	sum := sha256.Sum256([]byte(text))
	name := strings.ToLower(strings.ReplaceAll(t.Name(), "/", "_")) + "_" + hex.EncodeToString(sum[:4]) + ".fettle"
	if err := os.MkdirAll(kept, 0o777); err != nil {
		t.Error(err)
	}
	if err := os.WriteFile(filepath.Join(kept, name), []byte(text), 0o666); err != nil {
		t.Error(err)
	}
	t.Logf("the shrunk source is in %s", filepath.Join(kept, name))
}

// tester is a test, or one trial of a property.
type tester interface {
	Helper()
	Errorf(format string, args ...any)
	Fatalf(format string, args ...any)
}

func sameBits(a, b float64) bool { return math.Float64bits(a) == math.Float64bits(b) }

// told says a fault in a line.
func told(f *eval.Fault) string {
	if f == nil {
		return "none"
	}
	return fmt.Sprintf("%s, cell %d, at %q: %s", f.Map.Name, f.Cell, f.Span.Text(), f.Reason)
}
