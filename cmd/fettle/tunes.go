package main

import (
	"fmt"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"fettle/compiler"
	"fettle/compiler/check"
	"fettle/compiler/emit"
	"fettle/compiler/plan"
	"fettle/compiler/prove"
	"fettle/compiler/report"
	"fettle/lang/diag"
)

// chosen gives the tunes that patterns and --where ask for.
func (a *app) chosen(w *compiler.Workspace, patterns []string, where string) ([]*plan.Tune, error) {
	var filter func(*plan.Tune) bool
	if where != "" {
		errs := &diag.List{}
		filter = w.Plan.Where(where, errs)
		if errs.HasErrors() {
			a.diagnostics(errs)
			return nil, &status{exitWrong, ""}
		}
	}
	tunes, missing := w.Select(patterns, filter)
	if len(missing) > 0 {
		return nil, a.noTune(w, missing[0])
	}
	if len(tunes) == 0 && len(w.Plan.Tunes) > 0 {
		return nil, wrong("--where '%s' holds for no tune", where)
	}
	return tunes, nil
}

// toCompute gives the tunes that are asked for, if they aren't too many to compute.
func (a *app) toCompute(w *compiler.Workspace, patterns []string, where string) ([]*plan.Tune, error) {
	tunes, err := a.chosen(w, patterns, where)
	if err != nil {
		return nil, err
	}
	if err := w.Afford(len(tunes)); err != nil {
		return nil, wrong("%v", err)
	}
	return tunes, nil
}

// noTune says that a name or pattern matches nothing, and what is near.
func (a *app) noTune(w *compiler.Workspace, name string) error {
	if out, ok := w.Plan.Out(name); ok {
		return wrong("%s is left out by `except %s` (%s)", name, out.Clause.Text, out.Clause.Span)
	}
	if near := diag.Nearest(name, w.Plan.Names()); near != "" {
		return wrong("no tune is called %s: did you mean %s?", name, near)
	}
	return wrong("no tune matches %s; `fettle list` names them", name)
}

// tune finds the one tune of a name.
func (a *app) tune(w *compiler.Workspace, name string) (*plan.Tune, error) {
	if t := w.Plan.Find(name); t != nil {
		return t, nil
	}
	tunes, _ := w.Select([]string{name}, nil)
	switch {
	case len(tunes) == 1:
		return tunes[0], nil
	case len(tunes) > 1:
		return nil, wrong("%s matches %d tunes, and one is wanted: %s, %s, …", name, len(tunes), tunes[0].Name, tunes[1].Name)
	}
	return nil, a.noTune(w, name)
}

// mapNamed finds a map.
func (a *app) mapNamed(w *compiler.Workspace, name string) (*check.Map, error) {
	var names []string
	for _, m := range w.Program.Maps {
		if m.Name == name {
			return m, nil
		}
		names = append(names, m.Name)
	}
	if near := diag.Nearest(name, names); near != "" {
		return nil, wrong("no map is called %s: did you mean %s?", name, near)
	}
	return nil, wrong("no map is called %s; there are: %s", name, strings.Join(names, ", "))
}

// judge computes tunes and gathers the verdicts; each gets them one by one, in
// order, and the bundles that they are in come back. Where the run is surveyed,
// what it shows is added to the warnings. It returns false if it was interrupted.
func (a *app) judge(w *compiler.Workspace, tunes []*plan.Tune, opt compiler.RunOptions, each func(*compiler.Outcome)) (*report.Verdicts, []*compiler.Bundle, bool) {
	survey, v, bar := w.NewSurvey(), report.NewVerdicts(w.Program), a.progress(len(tunes))
	defer bar.done()
	bundled := map[*plan.Tune]*compiler.Outcome{}
	for _, b := range w.Plan.Bundles {
		for _, t := range b.Tunes {
			bundled[t] = nil
		}
	}
	opt.Keep = func(o *compiler.Outcome) bool { _, wanted := bundled[o.Tune]; return wanted }
	ended := w.Run(tunes, opt, func(o *compiler.Outcome) {
		bar.step()
		if opt.Survey {
			survey.Add(o)
		}
		in := w.Input(o, emit.Source{})
		v.Add(o.Tune, o.Limits, o.Checks, emit.Reasons(in), emit.Warnings(in))
		v.AddProofs(o.Tune, o.Proofs)
		v.AddTargets(in)
		if _, wanted := bundled[o.Tune]; wanted {
			bundled[o.Tune] = o
		}
		each(o)
	})
	survey.Report(w.Diags)
	if !ended {
		return v, nil, false
	}
	bundles := w.Bundles(tunes, bundled, opt)
	for _, b := range bundles {
		v.AddBundle(b.Outcome)
	}
	return v, bundles, true
}

// budgetFlag adds --budget: how much work is put into proofs.
func budgetFlag(c *cobra.Command, budget *int) {
	c.Flags().IntVar(budget, "budget", prove.DefaultBudget, "to prove a limit that has a `for`, look at `N` parts of its range at most, for each tune")
}

func goodBudget(n int) error {
	if n < 1 {
		return wrong("--budget is a number of parts to look at, 1 or more, and not %d", n)
	}
	return nil
}

// notWritten warns that a tune that is looked at doesn't hold.
func (a *app) notWritten(o *compiler.Outcome) {
	if o.Failed() {
		fmt.Fprintf(a.err, "\n%s doesn't hold, so build doesn't write it: see `%s check %s`\n", o.Tune.Name, a.invocation(), o.Tune.Name)
	}
}

// fault says why a tune couldn't be computed.
func (a *app) fault(o *compiler.Outcome) error {
	if f := o.Result.Fault; f != nil {
		return &status{exitNo, fmt.Sprintf("%s can't be computed: map %s: %s (%s)", o.Tune.Name, f.Map.Name, f.Reason, f.Span)}
	}
	return nil
}

// progress counts on a terminal, once work has lasted a second.
type progress struct {
	on    bool
	start time.Time
	last  time.Time
	total int
	n     int
	what  string // is counted
	app   *app
	drawn bool
}

func (a *app) progress(total int) *progress {
	f, ok := a.err.(*os.File)
	return &progress{on: ok && term.IsTerminal(int(f.Fd())), start: time.Now(), total: total, what: "tunes", app: a}
}

func (p *progress) step() {
	p.n++
	if !p.on {
		return
	}
	now := time.Now()
	if now.Sub(p.start) < time.Second || now.Sub(p.last) < 100*time.Millisecond {
		return
	}
	p.last, p.drawn = now, true
	fmt.Fprintf(p.app.err, "\r%d of %d %s", p.n, p.total, p.what)
}

func (p *progress) done() {
	if p.drawn {
		fmt.Fprint(p.app.err, "\r\x1b[K")
	}
}

// Completion of names from the workspace; silent where there is none.
func (a *app) completions(kinds ...string) func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	return func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
		kind := kinds[min(len(args), len(kinds)-1)]
		dir, err := a.workspace()
		if err != nil {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		return names(dir, kind), cobra.ShellCompDirectiveNoFileComp
	}
}
