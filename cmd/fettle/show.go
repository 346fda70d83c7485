package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"fettle/compiler"
	"fettle/compiler/check"
	"fettle/compiler/emit"
	"fettle/compiler/report"
)

func (a *app) showCommand() *cobra.Command {
	var csv, tsv bool
	c := command("show VARIANT [MAP]", "Print the tables of a tune",
		`Prints a map of a tune as an aligned table, shaded by value on a terminal;
without a map, all of them. --csv and --tsv print one map for a file or the
clipboard.`,
		"  fettle show bench fuel\n  fettle show season/stock-club-pump98-820m spark --tsv",
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
					_, err := a.out.Write(emit.CSV(w.Program, m, &o.Result.Maps[m.Index]))
					return err
				case tsv:
					_, err := fmt.Fprint(a.out, table.TSV())
					return err
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
				return a.printJSON(report.Tables(tables, w.Program))
			}
			report.Cautions(a.out, w.Program)
			a.notWritten(o)
			return nil
		})
	c.Flags().BoolVar(&csv, "csv", false, "print the map as build writes it")
	c.Flags().BoolVar(&tsv, "tsv", false, "print the map with tabs, for the clipboard")
	c.ValidArgsFunction = a.completions("variant", "map")
	return a.jsonFlag(c)
}
