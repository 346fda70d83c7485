package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"fettle/compiler"
	"fettle/compiler/check"
	"fettle/compiler/emit"
	"fettle/compiler/explain"
	"fettle/compiler/plan"
	"fettle/compiler/target"
	"fettle/lang/diag"
)

// targets gives the target of a name, or all without one.
func (a *app) targets(w *compiler.Workspace, name string) ([]*check.Target, error) {
	if name == "" {
		return w.Program.Targets, nil
	}
	var names []string
	for _, t := range w.Program.Targets {
		if t.Name == name {
			return []*check.Target{t}, nil
		}
		names = append(names, t.Name)
	}
	if len(names) == 0 {
		return nil, wrong("no target is called %s: the source declares none", name)
	}
	return nil, nearest("target", name, names)
}

// nearest says that there is no such thing, and what is near.
func nearest(what, name string, names []string) error {
	if near := diag.Nearest(name, names); near != "" {
		return wrong("no %s is called %s: did you mean %s?", what, name, near)
	}
	return wrong("no %s is called %s; there are: %s", what, name, strings.Join(names, ", "))
}

// completeTargets completes the value of --target.
func (a *app) completeTargets(c *cobra.Command) {
	// The error is of a flag that there isn't.
	_ = c.RegisterFlagCompletionFunc("target", a.completions("target"))
}

// stored is what a word of the command line asks for: a table of a target, or
// (Table nil) all of them.
type stored struct {
	target *check.Target
	table  *check.TargetTable
}

// storedNamed reads TARGET.TABLE, or a target's name. Nil if it is neither: then
// it is a map's name, or a slip.
func (a *app) storedNamed(w *compiler.Workspace, word string) (*stored, error) {
	name, tableName, dotted := strings.Cut(word, ".")
	if !dotted {
		for _, t := range w.Program.Targets {
			if t.Name == word {
				return &stored{target: t}, nil
			}
		}
		return nil, nil
	}
	list, err := a.targets(w, name)
	if err != nil {
		return nil, err
	}
	var names []string
	for _, t := range list[0].Tables {
		if t.Name == tableName {
			return &stored{list[0], t}, nil
		}
		names = append(names, t.Name)
	}
	return nil, nearest("table of "+name, tableName, names)
}

// outcome computes a tune for a target.
func (s *stored) outcome(w *compiler.Workspace, t *plan.Tune, trace func(*check.Map) bool) (*compiler.Outcome, *target.Outcome) {
	o := w.Tune(t, compiler.RunOptions{Trace: trace, Targets: []*check.Target{s.target}})
	if o.Result.Fault != nil {
		return o, nil
	}
	return o, o.Targets[0]
}

// explained puts into a chain's input what is known of the target.
func (s *stored) explained(in *explain.Input, on *target.Outcome) {
	in.Result, in.Target, in.Limits = on.Result, s.target, nil
	limits := on.Limits
	if s.table != nil {
		limits = on.LimitsOn(s.table)
	}
	for _, v := range limits {
		in.Limits = append(in.Limits, v.Verdict)
	}
	for _, one := range on.Tables {
		if one.Spec == s.table {
			in.Table = one
		}
	}
}

// faultFor says why a tune couldn't be computed for a target.
func (a *app) faultFor(o *compiler.Outcome, on *target.Outcome) error {
	if f := on.Result.Fault; f != nil {
		return &status{exitNo, fmt.Sprintf("%s for %s can't be computed: map %s: %s (%s)", o.Tune.Name, on.Target.Name, f.Map.Name, f.Reason, f.Span)}
	}
	return nil
}

// notWrittenFor warns that what is looked at isn't written for a target.
func (a *app) notWrittenFor(w *compiler.Workspace, o *compiler.Outcome, on *target.Outcome) {
	a.notWritten(o)
	if o.Failed() || !on.Fails() {
		return
	}
	fmt.Fprintln(a.err)
	for _, r := range emit.TargetReasons(w.Input(o, emit.Source{}), on) {
		fmt.Fprintln(a.err, r)
	}
	fmt.Fprintf(a.err, "so build doesn't write it for %s\n", on.Target.Name)
}
