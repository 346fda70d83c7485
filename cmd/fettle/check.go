package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"fettle/compiler"
	"fettle/compiler/report"
	"fettle/lang/diag"
)

func (a *app) checkCommand() *cobra.Command {
	var where, dump, target string
	var plain, stats bool
	var budget int
	c := command("check [PATTERN…]", "Check names, units, every tune's cells, limits and expected values",
		`Reads the source, computes every tune that matches (all, without a pattern),
and looks at every limit and check. Writes nothing. The status is 0 when all
hold, 1 when a tune fails, 2 when the source has errors.`,
		"  fettle check\n  fettle check 'season/*' --where 'altitude > 500 m'",
		cobra.ArbitraryArgs, func(_ *cobra.Command, args []string) error {
			w, _, err := a.open()
			if err != nil {
				return err
			}
			if dump != "" {
				if !w.Dump(a.out, dump) {
					return wrong("--dump takes one of %s", strings.Join(compiler.Dumps, ", "))
				}
				return nil
			}
			tunes, err := a.toCompute(w, args, where)
			if err != nil {
				return err
			}
			targets, err := a.targets(w, target)
			if err != nil {
				return err
			}
			if err := goodBudget(budget); err != nil {
				return err
			}
			halt, done := interrupts()
			defer done()
			whole := len(tunes) == len(w.Plan.Tunes)
			v, _, ended := a.judge(w, tunes, compiler.RunOptions{Survey: whole, Reference: plain, Targets: targets, Prove: budget, Stop: halt.stop}, func(*compiler.Outcome) {})
			if !ended {
				return &status{exitWrong, "interrupted; nothing was written"}
			}
			if a.json {
				checked := report.Checked{Verdicts: v, Diagnostics: diag.NewReport(w.Diags.Sorted())}
				if stats {
					s := w.Eval().Stats()
					checked.Stats = &s
				}
				err = a.printJSON(checked)
			} else {
				a.diagnostics(w.Diags)
				v.Text(a.out, report.Options{Color: colored(a.out), Width: width(a.out)})
				if stats {
					report.StatsText(a.out, w.Eval().Stats())
				}
				if v.Ask != "" {
					fmt.Fprintf(a.out, "\ntry next\n  %s why %s\n", a.invocation(), v.Ask)
				}
			}
			if err == nil && v.Fails() {
				return no
			}
			return err
		})
	c.Flags().StringVar(&where, "where", "", "only tunes whose conditions make `EXPR` true")
	c.Flags().BoolVar(&plain, "plain", false, "compute with the plain evaluator, a cell at a time (slow; for comparison)")
	c.Flags().BoolVar(&stats, "stats", false, "also say what the rules were lowered to, and what was left to the plain evaluator")
	c.Flags().StringVar(&dump, "dump", "", "write a stage of the compiler instead: `STAGE` is tree, plan or kernels")
	c.Flags().StringVar(&target, "target", "", "look at the tables of the target `NAME` only (default: of all)")
	budgetFlag(c, &budget)
	a.completeTargets(c)
	c.ValidArgsFunction = a.completions("variant")
	return a.jsonFlag(c)
}
