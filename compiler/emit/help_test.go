package emit

import (
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"testing/fstest"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/limit"
	"fettle/compiler/plan"
	"fettle/compiler/resolve"
	"fettle/compiler/target"
	"fettle/lang/diag"
	"fettle/lang/source"
)

// work is a compiled workspace.
type work struct {
	t      testing.TB
	prog   *check.Program
	plan   *plan.Plan
	eval   *eval.Program
	limits *limit.Checker
	makers []*target.Maker
	source Source
}

// open compiles a workspace, which must have no errors.
func open(t testing.TB, fsys fs.FS) *work {
	t.Helper()
	errs := &diag.List{}
	w := &work{t: t, source: Source{Digest: sum([]byte("a source")), Revision: "0123abcd", Dirty: true, Version: "v0.0.0-test"}}
	w.prog = check.Run(resolve.Load(fsys, errs), errs)
	w.plan = plan.Run(w.prog, errs)
	for _, d := range errs.Sorted() {
		if d.Severity == diag.Error {
			t.Fatalf("%s: %s: %s", d.Code, d.Span, d.Message)
		}
	}
	w.eval = eval.Lower(w.prog)
	w.limits = limit.New(w.eval)
	for _, t := range w.prog.Targets {
		w.makers = append(w.makers, target.New(w.eval, t))
	}
	return w
}

// example opens a workspace of the repository's examples.
func example(t testing.TB, name string) *work {
	t.Helper()
	return open(t, os.DirFS(filepath.Join("..", "..", "examples", name)))
}

// text opens a workspace of one file.
func text(t testing.TB, src string) *work {
	t.Helper()
	return open(t, fstest.MapFS{source.MainName: {Data: []byte(src)}})
}

// data opens a workspace of testdata.
func data(t testing.TB, name string) *work {
	t.Helper()
	return open(t, os.DirFS(filepath.Join("testdata", name)))
}

// compute computes and judges one tune.
func (w *work) compute(t *plan.Tune) Input {
	in := Input{Program: w.prog, Tune: t, Source: w.source}
	in.Result = w.eval.Tune(eval.Pure(w.prog, t), eval.Options{Count: true})
	if in.Result.Fault == nil {
		in.Limits = w.limits.Tune(t, in.Result, false)
		in.Checks = w.limits.Checks(t, in.Result, false)
		w.limits.Explain(t, in.Result, in.Limits)
		for _, m := range w.makers {
			in.Targets = append(in.Targets, m.Tune(t, in.Result, eval.Options{}))
		}
	}
	return in
}

// input computes a tune by its name.
func (w *work) input(name string) Input {
	w.t.Helper()
	t := w.plan.Find(name)
	if t == nil {
		w.t.Fatalf("no tune %s", name)
	}
	return w.compute(t)
}

// inputs computes the tunes that match on some workers, in order.
func (w *work) inputs(workers int, pattern string) []Input {
	var tunes []*plan.Tune
	for _, t := range w.plan.Tunes {
		if plan.Match(pattern, t.Name) {
			tunes = append(tunes, t)
		}
	}
	out := make([]Input, len(tunes))
	next := make(chan int)
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			for i := range next {
				out[i] = w.compute(tunes[i])
			}
		})
	}
	for i := range tunes {
		next <- i
	}
	close(next)
	wg.Wait()
	return out
}

// build builds the tunes that match into a folder.
func (w *work) build(dir string, workers int, pattern string) (Summary, error) {
	f, err := NewFolder(dir, "", pattern != "*")
	if err != nil {
		return Summary{}, err
	}
	for _, in := range w.inputs(workers, pattern) {
		if err := f.Add(in); err != nil {
			return Summary{}, err
		}
	}
	return f.Close(nil)
}

// mustBuild is build where it can't fail.
func (w *work) mustBuild(dir, pattern string) Summary {
	w.t.Helper()
	s, err := w.build(dir, 2, pattern)
	if err != nil {
		w.t.Fatal(err)
	}
	return s
}

// tree is every file under a folder with its text.
func tree(t testing.TB, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.Type().IsRegular() {
			return err
		}
		b, err := os.ReadFile(path)
		name, _ := filepath.Rel(dir, path)
		out[filepath.ToSlash(name)] = string(b)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}
