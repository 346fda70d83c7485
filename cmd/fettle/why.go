package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"fettle/compiler"
	"fettle/compiler/check"
	"fettle/compiler/explain"
	"fettle/compiler/review"
	"fettle/compiler/sides"
	"fettle/lang/diag"
)

func (a *app) whyCommand() *cobra.Command {
	c := command("why VARIANT MAP AT…", "Say why a cell is what it is",
		`Prints a cell's chain: its base, each adjustment in order with its amount, its
weight here, the value after, its file and line; the rules that didn't apply
and the reason; then the limits that see the cell and how much room is left.
AT names a place on each of the map's axes; between breakpoints the value is
interpolated, and the chain is that of the cell that weighs most.

VARIANT may be of a git revision, as HEAD~1:bench: the source is then read as it
was there, and the work tree isn't looked at.`,
		"  fettle why bench fuel throttle=100 rpm=9000\n  fettle why season/long-club-race102-820m spark throttle=60 rpm=8500",
		cobra.MinimumNArgs(2), func(_ *cobra.Command, args []string) error {
			w, of, err := a.sourceOf(&args[0])
			if err != nil {
				return err
			}
			at := func(err error) error { // says where a name isn't there
				if of.Title == "" {
					return err
				}
				return wrong("at %s %v", of.Title, err)
			}
			t, err := a.tune(w, args[0])
			if err != nil {
				return at(err)
			}
			m, err := a.mapNamed(w, args[1])
			if err != nil {
				return at(err)
			}
			errs := &diag.List{}
			place, err := explain.Place(w.Program, m, args[2:], errs)
			if errs.HasErrors() {
				a.diagnostics(errs)
				return &status{exitWrong, ""}
			}
			if err != nil {
				return wrong("%v", err)
			}
			o := w.Tune(t, compiler.RunOptions{Trace: func(x *check.Map) bool { return x == m }})
			if err := a.fault(o); err != nil {
				return err
			}
			chain := explain.At(explain.Input{Program: w.Program, Tune: t, Result: o.Result, Limits: o.Limits}, m, place)
			chain.Revision, chain.Of = of.Revision, of.Title
			if a.json {
				return a.printJSON(chain)
			}
			chain.Text(a.out, m.Res, explain.TextOptions{Color: colored(a.out)})
			if of.Title == "" {
				a.notWritten(o)
			} else if o.Failed() {
				fmt.Fprintf(a.err, "\n%s doesn't hold there\n", t.Name)
			}
			return nil
		})
	c.ValidArgsFunction = a.completions("variant", "map", "axis")
	return a.jsonFlag(c)
}

// sourceOf opens the work tree, or the revision that stands before a tune's name,
// which is taken off it.
func (a *app) sourceOf(name *string) (*compiler.Workspace, review.Origin, error) {
	rev, tune, ok := strings.Cut(*name, ":")
	if ok {
		*name = tune
	}
	if rev == "" || !ok {
		w, _, err := a.open()
		return w, review.Origin{}, err
	}
	dir, err := a.workspace()
	if err != nil {
		return nil, review.Origin{}, err
	}
	find := &sides.Finder{Dir: dir, Version: version}
	defer find.Close()
	src, err := find.Revision(rev)
	if err != nil {
		return nil, review.Origin{}, a.sideError(err)
	}
	return src.Workspace, src.Origin, nil
}
