package main

import (
	"github.com/spf13/cobra"

	"fettle/compiler/report"
)

func (a *app) listCommand() *cobra.Command {
	var all bool
	var where string
	c := command("list [PATTERN…]", "List the tunes, their conditions and what each writes",
		`Lists the tunes that match the patterns (all, without one), each with its
conditions. --all adds the combinations that a matrix leaves out, each with the
clause that left it out.`,
		"  fettle list\n  fettle list 'season/*' --where 'pipe is long and altitude > 500 m'\n  fettle list --all",
		cobra.ArbitraryArgs, func(_ *cobra.Command, args []string) error {
			w, _, err := a.open()
			if err != nil {
				return err
			}
			tunes, err := a.chosen(w, args, where)
			if err != nil {
				return err
			}
			l := report.NewList(w.Plan, tunes, all)
			if a.json {
				return a.printJSON(l)
			}
			l.Text(a.out, report.Options{Color: colored(a.out), Width: width(a.out)})
			report.Cautions(a.out, w.Program)
			return nil
		})
	c.Flags().BoolVar(&all, "all", false, "name the combinations left out, too")
	c.Flags().StringVar(&where, "where", "", "only tunes whose conditions make `EXPR` true")
	c.ValidArgsFunction = a.completions("variant")
	return a.jsonFlag(c)
}
