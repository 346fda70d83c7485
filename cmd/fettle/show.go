package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"fettle/compiler"
	"fettle/compiler/check"
	"fettle/compiler/emit"
	"fettle/compiler/plan"
	"fettle/compiler/report"
)

func (a *app) showCommand() *cobra.Command {
	var csv, tsv bool
	c := command("show VARIANT [MAP]", "Print the tables of a tune",
		`Prints a map of a tune as an aligned table, shaded by value on a terminal;
without a map, all of them. TARGET.TABLE in the place of MAP prints a table as
a controller takes it, with what its breakpoints and its storage add; TARGET
prints all of them. --csv and --tsv print one table for a file or the clipboard.
With --csv, --tsv and --json the status is 1 for a table that build doesn't write.`,
		"  fettle show bench fuel\n  fettle show season/stock-club-pump98-820m spark --tsv\n  fettle show bench shop_ecu.ignition",
		cobra.RangeArgs(1, 2), func(_ *cobra.Command, args []string) error {
			if csv && tsv || (csv || tsv) && (len(args) < 2 || a.json) {
				return wrong("--csv and --tsv print one map: name it, and choose one of --csv, --tsv and --json")
			}
			w, _, err := a.open()
			if err != nil {
				return err
			}
			t, err := a.tune(w, args[0])
			if err != nil {
				return err
			}
			maps := w.Program.Maps
			if len(args) == 2 {
				if s, err := a.storedNamed(w, args[1]); err != nil {
					return err
				} else if s != nil {
					return a.showStored(w, t, s, csv, tsv)
				}
				m, err := a.mapNamed(w, args[1])
				if err != nil {
					return err
				}
				maps = []*check.Map{m}
			}
			o := w.Tune(t, compiler.RunOptions{})
			if err := a.fault(o); err != nil {
				return err
			}
			var tables []*report.Table
			for i, m := range maps {
				table := report.NewTable(w.Program, t, m, &o.Result.Maps[m.Index])
				switch {
				case csv:
					if _, err := a.out.Write(emit.CSV(w.Program, m, &o.Result.Maps[m.Index])); err != nil {
						return err
					}
				case tsv:
					if _, err := fmt.Fprint(a.out, table.TSV()); err != nil {
						return err
					}
				case a.json:
					tables = append(tables, table)
				default:
					if i > 0 {
						fmt.Fprintln(a.out)
					}
					table.Text(a.out, report.Options{Color: colored(a.out), Width: width(a.out)})
				}
			}
			if a.json {
				if err := a.printJSON(report.Tables(tables, w.Program, o.Failed())); err != nil {
					return err
				}
			}
			if !a.json && !csv && !tsv {
				report.Cautions(a.out, w.Program)
			}
			a.notWritten(o)
			if o.Failed() && (a.json || csv || tsv) {
				return no
			}
			return nil
		})
	c.Flags().BoolVar(&csv, "csv", false, "print the map as build writes it")
	c.Flags().BoolVar(&tsv, "tsv", false, "print the map with tabs, for the clipboard")
	c.ValidArgsFunction = a.completions("variant", "map")
	return a.jsonFlag(c)
}

// showStored prints the tables of a target.
func (a *app) showStored(w *compiler.Workspace, t *plan.Tune, s *stored, csv, tsv bool) error {
	if s.table == nil && (csv || tsv) {
		return wrong("--csv and --tsv print one table: name it, as %s.TABLE", s.target.Name)
	}
	o, on := s.outcome(w, t, nil)
	if err := a.fault(o); err != nil {
		return err
	}
	if err := a.faultFor(o, on); err != nil {
		return err
	}
	var tables []*report.Table
	for _, one := range on.Tables {
		if s.table != nil && one.Spec != s.table {
			continue
		}
		switch {
		case (csv || tsv) && one.Misfit != nil:
			return &status{exitNo, emit.TargetReasons(w.Input(o, emit.Source{}), on)[0]}
		case csv:
			if _, err := a.out.Write(one.CSV()); err != nil {
				return err
			}
		case tsv:
			if _, err := a.out.Write(one.TSV()); err != nil {
				return err
			}
		}
		tables = append(tables, report.NewTargetTable(w.Program, t, on, one))
	}
	if a.json {
		if err := a.printJSON(report.Tables(tables, w.Program, o.Failed() || on.Fails())); err != nil {
			return err
		}
	}
	if a.json || csv || tsv {
		a.notWrittenFor(w, o, on)
		if o.Failed() || on.Fails() {
			return no // a program that takes the table may not look at standard error
		}
		return nil
	}
	for i, table := range tables {
		if i > 0 {
			fmt.Fprintln(a.out)
		}
		table.Text(a.out, report.Options{Color: colored(a.out), Width: width(a.out)})
	}
	report.Cautions(a.out, w.Program)
	a.notWrittenFor(w, o, on)
	return nil
}
