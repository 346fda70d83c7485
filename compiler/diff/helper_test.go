package diff

import (
	"flag"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/plan"
	"fettle/compiler/resolve"
	"fettle/lang/diag"
)

var update = flag.Bool("update", false, "write the golden files anew")

// world is a workspace ready to compute.
type world struct {
	p    *eval.Program
	plan *plan.Plan
}

type fataler interface {
	Helper()
	Fatalf(format string, args ...any)
}

func open(t fataler, fsys fs.FS) world {
	t.Helper()
	errs := &diag.List{}
	cp := check.Run(resolve.Load(fsys, errs), errs)
	pl := plan.Run(cp, errs)
	if errs.HasErrors() {
		var b strings.Builder
		diag.Text(&b, errs.Sorted(), diag.TextOptions{})
		t.Fatalf("the workspace has errors:\n%s", b.String())
	}
	return world{eval.Lower(cp), pl}
}

// workspace opens a workspace of one file.
func workspace(t fataler, text string) world {
	t.Helper()
	return open(t, fstest.MapFS{"tune.fettle": {Data: []byte(text)}})
}

func example(t fataler, name string) world {
	t.Helper()
	return open(t, os.DirFS(filepath.Join("..", "..", "examples", name)))
}

func (w world) diff(t fataler, old, new string) *Report {
	t.Helper()
	a, b := w.plan.Find(old), w.plan.Find(new)
	if a == nil || b == nil {
		t.Fatalf("there is no tune %s or no tune %s", old, new)
	}
	r, err := Variants(w.p, a, b)
	if err != nil {
		t.Fatalf("%v", err)
	}
	return r
}

func text(t fataler, r *Report, opt TextOptions) string {
	t.Helper()
	var b strings.Builder
	if err := r.Text(&b, opt); err != nil {
		t.Fatalf("%v", err)
	}
	return b.String()
}

// golden compares a text with a file under testdata.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("%s differs:\n%s", name, Source(name, string(want), "now", got))
	}
}

// mapOf finds a map of the first pair.
func mapOf(t fataler, r *Report, name string) *MapDiff {
	t.Helper()
	for _, m := range r.Pairs[0].Maps {
		if m.Map == name {
			return m
		}
	}
	t.Fatalf("no map %s was compared", name)
	return nil
}
