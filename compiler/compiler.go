// Package compiler is the front door: the order of the stages and nothing else.
//
// In: a workspace's files. Out: a Workspace that can list, compute and judge
// its tunes. Imported by cmd.
package compiler

import (
	"crypto/sha256"
	"encoding/hex"
	"io/fs"
	"runtime"
	"slices"
	"sort"
	"sync"

	"fettle/compiler/check"
	"fettle/compiler/emit"
	"fettle/compiler/eval"
	"fettle/compiler/limit"
	"fettle/compiler/plan"
	"fettle/compiler/prove"
	"fettle/compiler/resolve"
	"fettle/compiler/target"
	"fettle/lang/diag"
)

// Workspace is a compiled source. With errors in Diags only what could be made
// is there; nothing may be computed then.
type Workspace struct {
	Diags    *diag.List
	Resolved *resolve.Program
	Program  *check.Program
	Plan     *plan.Plan
	eval     *eval.Program
	limits   *limit.Checker
	prover   *prove.Prover
	targets  []*target.Maker // by target
}

// Open reads and checks a workspace.
func Open(fsys fs.FS) *Workspace { return open(fsys, checkProgram) }

// OpenAlone opens a workspace whose program nobody else has.
func OpenAlone(fsys fs.FS) *Workspace { return open(fsys, check.Run) }

func open(fsys fs.FS, run func(*resolve.Program, *diag.List) *check.Program) *Workspace {
	w := &Workspace{Diags: &diag.List{}}
	w.Resolved = resolve.Load(fsys, w.Diags)
	w.Program = run(w.Resolved, w.Diags)
	w.Plan = plan.Run(w.Program, w.Diags)
	if !w.Diags.HasErrors() {
		w.eval = eval.Lower(w.Program)
		w.limits = limit.New(w.eval)
		w.prover = prove.New(w.eval)
		for _, t := range w.Program.Targets {
			w.targets = append(w.targets, target.New(w.eval, t))
		}
	}
	return w
}

// Eval is the lowered program, nil when there are errors.
func (w *Workspace) Eval() *eval.Program { return w.eval }

// Limits judges by the limits and checks, nil when there are errors.
func (w *Workspace) Limits() *limit.Checker { return w.limits }

// Makers make the tables of the targets, in the order of the source.
func (w *Workspace) Makers() []*target.Maker { return w.targets }

// Files lists the workspace's files that the tunes depend on, sorted.
func (w *Workspace) Files() []string {
	var out []string
	for _, f := range w.Resolved.Files {
		out = append(out, f.Source.Name)
	}
	for name := range w.Resolved.CSVs {
		out = append(out, name)
	}
	sort.Strings(out)
	return out
}

// Digest is the SHA-256 of every text that the tunes depend on: the workspace's
// sources and CSV files, and the modules of the library, by name.
func (w *Workspace) Digest() string {
	texts := map[string]string{}
	for _, f := range w.Resolved.Files {
		texts[f.Source.Name] = f.Source.Text
	}
	for name, f := range w.Resolved.CSVs {
		texts[name] = f.Text
	}
	for _, m := range w.Resolved.Modules {
		for _, d := range m.Table {
			f := d.Header().Span.File
			texts[f.Name] = f.Text
		}
	}
	names := make([]string, 0, len(texts))
	for n := range texts {
		names = append(names, n)
	}
	sort.Strings(names)
	h := sha256.New()
	for _, n := range names {
		one := sha256.Sum256([]byte(texts[n]))
		h.Write([]byte(n + "\x00" + hex.EncodeToString(one[:]) + "\n"))
	}
	return hex.EncodeToString(h.Sum(nil))
}

// Outcome is a computed and judged tune.
type Outcome struct {
	Tune    *plan.Tune
	Result  *eval.Result
	Limits  []*limit.Verdict
	Checks  []*limit.Outcome
	Proofs  []*prove.Verdict  // of the limits that are proved over a range and apply, where that is asked for
	Targets []*target.Outcome // of the targets asked for, in their order
	Part    *emit.Part        // of an output, where Also makes one
}

// Failed says that nothing of the tune may be written.
func (o *Outcome) Failed() bool {
	in := emit.Input{Result: o.Result, Limits: o.Limits, Checks: o.Checks, Proofs: o.Proofs}
	return in.Fails()
}

// Input is an outcome as emit takes it.
func (w *Workspace) Input(o *Outcome, src emit.Source) emit.Input {
	return emit.Input{Program: w.Program, Tune: o.Tune, Result: o.Result, Limits: o.Limits, Checks: o.Checks, Proofs: o.Proofs, Targets: o.Targets, Source: src}
}

// RunOptions says how tunes are computed.
type RunOptions struct {
	Trace     func(m *check.Map) bool
	Reference bool // the plain evaluator
	Survey    bool // note what rules do, for warnings
	Targets   []*check.Target
	Prove     int            // how much work is put into proving a limit over its range; 0: none is proved
	Workers   int            // 0: as many as there are processors
	Also      func(*Outcome) // is called for each tune, for several at once, before it is handed over
	// Which outcomes are used after they were handed over; nil for all. The memory of
	// the others is used again.
	Keep func(*Outcome) bool
	Stop <-chan struct{}
}

// Tune computes and judges one tune.
func (w *Workspace) Tune(t *plan.Tune, opt RunOptions) *Outcome {
	return w.tune(t, opt, &eval.Result{})
}

func (w *Workspace) tune(t *plan.Tune, opt RunOptions, res *eval.Result) *Outcome {
	o := &Outcome{Tune: t, Result: res}
	mix := eval.Mix{All: t.Conditions(w.Program), Trims: t.Trims}
	w.eval.TuneInto(res, mix, eval.Options{Trace: opt.Trace, Reference: opt.Reference, Count: true, Thrown: opt.Survey})
	if o.Result.Fault != nil {
		return o
	}
	o.Limits, o.Checks = w.limits.Judge(t, o.Result, opt.Reference)
	w.limits.Explain(t, o.Result, o.Limits)
	if opt.Prove > 0 && w.prover.Any() {
		o.Proofs = w.prove(t, opt.Prove, o.Limits)
	}
	for _, want := range opt.Targets {
		o.Targets = append(o.Targets, w.targets[want.Index].Tune(t, o.Result, eval.Options{Trace: opt.Trace, Reference: opt.Reference}))
	}
	return o
}

// Run computes and judges tunes on all processors and hands them over one by
// one, in their order. It returns false if it was stopped: then some were left out,
// but none that was begun.
func (w *Workspace) Run(tunes []*plan.Tune, opt RunOptions, each func(*Outcome)) bool {
	n := opt.Workers
	if n <= 0 {
		n = runtime.GOMAXPROCS(0)
	}
	n = max(1, min(n, len(tunes)))
	// Several tunes go over at a time, since each crossing between goroutines costs
	// as much as computing one.
	batch := max(1, min(16, len(tunes)/(32*n)))
	type job struct {
		tunes []*plan.Tune
		done  chan []*Outcome
	}
	jobs := make(chan job)
	queue := make(chan chan []*Outcome, n) // bounds how far work runs ahead
	var wg sync.WaitGroup
	results := sync.Pool{New: func() any { return &eval.Result{} }}
	for range n {
		wg.Go(func() {
			for j := range jobs {
				out := make([]*Outcome, 0, len(j.tunes))
				for _, t := range j.tunes {
					if stopped(opt.Stop) {
						break
					}
					o := w.tune(t, opt, results.Get().(*eval.Result))
					if opt.Also != nil {
						opt.Also(o)
					}
					out = append(out, o)
				}
				j.done <- out
			}
		})
	}
	go func() {
		defer close(queue)
		defer close(jobs)
		for part := range slices.Chunk(tunes, batch) {
			done := make(chan []*Outcome, 1)
			select {
			case <-opt.Stop:
				return
			case queue <- done:
				jobs <- job{part, done}
			}
		}
	}()
	handed := 0
	for done := range queue {
		for _, o := range <-done {
			each(o)
			if opt.Keep != nil && !opt.Keep(o) {
				w.done(o, &results)
			}
			handed++
		}
	}
	wg.Wait()
	return handed == len(tunes)
}

func stopped(stop <-chan struct{}) bool {
	select {
	case <-stop:
		return true
	default:
		return false
	}
}

// done takes the memory of an outcome that nobody uses any more.
func (w *Workspace) done(o *Outcome, results *sync.Pool) {
	for _, t := range o.Targets {
		w.targets[t.Target.Index].Done(t)
	}
	results.Put(o.Result)
	o.Result = nil
}

// Select gives the tunes that match any of the patterns (none: all) and the
// filter (nil: all), in the order of the source. The second result lists the
// patterns that match nothing.
func (w *Workspace) Select(patterns []string, where func(*plan.Tune) bool) (out []*plan.Tune, missing []string) {
	hit := make([]bool, len(patterns))
	for _, t := range w.Plan.Tunes {
		in := len(patterns) == 0
		for i, p := range patterns {
			if plan.Match(p, t.Name) {
				in, hit[i] = true, true
			}
		}
		if in && (where == nil || where(t)) {
			out = append(out, t)
		}
	}
	for i, p := range patterns {
		if !hit[i] {
			missing = append(missing, p)
		}
	}
	return out, missing
}
