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
	"fettle/compiler/target"
	"fettle/lang/diag"
)

func (a *app) whyCommand() *cobra.Command {
	var targetName string
	c := command("why VARIANT MAP AT…", "Say why a cell is what it is",
		`Prints a cell's chain: its base, each adjustment in order with its amount, its
weight here, the value after, its file and line; the rules that didn't apply
and the reason; then the limits that see the cell and how much room is left.
AT names a place on each of the map's axes; between breakpoints the value is
interpolated, and the chain is that of the cell that weighs most. TARGET.TABLE
in the place of MAP, or --target, gives the chain as that controller's table has
it: what the controller compensates is left out, and the limits are those that
see the table's cell, also through maps that are made of it.

VARIANT may be of a git revision, as HEAD~1:bench: the source is then read as it
was there, and the work tree isn't looked at.`,
		"  fettle why bench fuel throttle=100 rpm=9000\n  fettle why season/long-club-race102-820m spark throttle=60 rpm=8500\n  fettle why highmeadow_june shop_ecu.ignition throttle=70 rpm=9000",
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
			m, s, err := a.explained(w, args[1], targetName)
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
			trace := func(x *check.Map) bool { return x == m }
			in := explain.Input{Program: w.Program, Tune: t}
			var o *compiler.Outcome
			var on *target.Outcome
			if s == nil {
				o = w.Tune(t, compiler.RunOptions{Trace: trace})
			} else {
				o, on = s.outcome(w, t, trace)
			}
			if err := a.fault(o); err != nil {
				return err
			}
			in.Result, in.Limits = o.Result, o.Limits
			if on != nil {
				if err := a.faultFor(o, on); err != nil {
					return err
				}
				s.explained(&in, on)
			}
			chain := explain.At(in, m, place)
			chain.Revision, chain.Of = of.Revision, of.Title
			if a.json {
				return a.printJSON(chain)
			}
			chain.Text(a.out, m.Res, explain.TextOptions{Color: colored(a.out)})
			switch {
			case of.Title != "" && o.Failed():
				fmt.Fprintf(a.err, "\n%s doesn't hold there\n", t.Name)
			case of.Title != "":
			case on != nil:
				a.notWrittenFor(w, o, on)
			default:
				a.notWritten(o)
			}
			return nil
		})
	c.Flags().StringVar(&targetName, "target", "", "as the controller of the target `NAME` has it")
	a.completeTargets(c)
	c.ValidArgsFunction = a.completions("variant", "map", "axis")
	return a.jsonFlag(c)
}

// explained finds the map that is asked for, and the target whose chain it is:
// nil for the tune's own.
func (a *app) explained(w *compiler.Workspace, word, targetName string) (*check.Map, *stored, error) {
	s, err := a.storedNamed(w, word)
	switch {
	case err != nil:
		return nil, nil, err
	case s != nil && s.table == nil:
		return nil, nil, wrong("%s is a target, and one of its tables is wanted: %s.TABLE", word, word)
	case s != nil && targetName != "" && targetName != s.target.Name:
		return nil, nil, wrong("%s is a table of %s, and --target names another", word, s.target.Name)
	case s != nil:
		return s.table.Map, s, nil
	}
	m, err := a.mapNamed(w, word)
	if err != nil || targetName == "" {
		return m, nil, err
	}
	list, err := a.targets(w, targetName)
	if err != nil {
		return nil, nil, err
	}
	return m, &stored{target: list[0]}, nil
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
