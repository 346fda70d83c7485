package main

import (
	"github.com/spf13/cobra"

	"fettle/compiler"
	"fettle/compiler/check"
	"fettle/compiler/explain"
	"fettle/lang/diag"
)

func (a *app) whyCommand() *cobra.Command {
	c := command("why VARIANT MAP AT…", "Say why a cell is what it is",
		`Prints a cell's chain: its base, each adjustment in order with its amount, its
weight here, the value after, its file and line; the rules that didn't apply
and the reason; then the limits that see the cell and how much room is left.
AT names a place on each of the map's axes; between breakpoints the value is
interpolated, and the chain is that of the cell that weighs most.`,
		"  fettle why bench fuel throttle=100 rpm=9000\n  fettle why season/long-club-race102-820m spark throttle=60 rpm=8500",
		cobra.MinimumNArgs(2), func(_ *cobra.Command, args []string) error {
			w, _, err := a.open()
			if err != nil {
				return err
			}
			t, err := a.tune(w, args[0])
			if err != nil {
				return err
			}
			m, err := a.mapNamed(w, args[1])
			if err != nil {
				return err
			}
			errs := &diag.List{}
			at, err := explain.Place(w.Program, m, args[2:], errs)
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
			chain := explain.At(explain.Input{Program: w.Program, Tune: t, Result: o.Result, Limits: o.Limits}, m, at)
			if a.json {
				return a.printJSON(chain)
			}
			chain.Text(a.out, m.Res, explain.TextOptions{Color: colored(a.out)})
			a.notWritten(o)
			return nil
		})
	c.ValidArgsFunction = a.completions("variant", "map", "axis")
	return a.jsonFlag(c)
}
