package main

import (
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"fettle/compiler"
	"fettle/compiler/emit"
	"fettle/compiler/git"
	"fettle/compiler/grid"
	"fettle/compiler/plan"
	"fettle/compiler/report"
	"fettle/lang/diag"
)

func (a *app) buildCommand() *cobra.Command {
	var where, out, format string
	c := command("build [PATTERN…]", "Write the tables of the tunes that hold",
		`Computes every tune that matches (all, without a pattern) and writes the tables
of those that hold into DIR, replacing it as a whole or not at all. A tune that
breaks a limit or a check is not written: index.json says why. With a pattern
or --where the tunes that don't match are kept as they are.`,
		"  fettle build\n  fettle build -o before\n  fettle build 'season/*' --where 'pipe is long' -o out",
		cobra.ArbitraryArgs, func(_ *cobra.Command, args []string) error {
			if format != "csv" {
				return wrong("there is no format %s; tables are written as csv", format)
			}
			w, dir, err := a.open()
			if err != nil {
				return err
			}
			tunes, err := a.chosen(w, args, where)
			if err != nil {
				return err
			}
			if len(w.Plan.Tunes) == 0 {
				return wrong("the source declares no variant, so there is nothing to build; write `variant bench { }`")
			}
			if out == "" {
				out = filepath.Join(dir, "out")
			}
			return a.build(w, dir, out, tunes, len(args) > 0 || where != "")
		})
	c.Flags().StringVar(&where, "where", "", "only tunes whose conditions make `EXPR` true")
	c.Flags().StringVarP(&out, "output", "o", "", "write into `DIR` (default: out, in the workspace)")
	c.Flags().StringVar(&format, "format", "csv", "the `FORMAT` of the tables")
	c.ValidArgsFunction = a.completions("variant")
	return a.jsonFlag(c)
}

func (a *app) build(w *compiler.Workspace, dir, out string, tunes []*plan.Tune, some bool) error {
	folder, err := emit.NewFolder(out, dir, some)
	if err != nil {
		return wrong("%v", err)
	}
	defer folder.Abort()
	stop, done := interrupts()
	defer done()
	src := emit.Source{Digest: w.Digest(), Version: version}
	src.Revision, src.Dirty = git.Revision(dir, w.Files())
	var failed error
	v, ended := a.judge(w, tunes, compiler.RunOptions{Survey: !some, Stop: stop}, func(o *compiler.Outcome) {
		if failed == nil {
			failed = folder.Add(w.Input(o, src))
		}
	})
	if failed != nil {
		return wrong("%v", failed)
	}
	if !ended {
		return &status{exitWrong, "interrupted; " + shown(out) + " is as it was"}
	}
	sum, err := folder.Close(stop)
	if err != nil {
		return wrong("%v", err)
	}
	built := report.NewBuilt(sum, report.Checked{Verdicts: v, Diagnostics: diag.NewReport(w.Diags.Sorted())})
	if a.json {
		err = a.printJSON(built)
	} else {
		a.diagnostics(w.Diags)
		v.Text(a.out, report.Options{Color: colored(a.out), Width: width(a.out)})
		built.Text(a.out, shown(out))
		a.next(w, tunes, v.Ask)
	}
	if err == nil && len(v.Failed) > 0 {
		return no
	}
	return err
}

// next names the commands to try next, on tunes that there are.
func (a *app) next(w *compiler.Workspace, tunes []*plan.Tune, ask string) {
	if len(tunes) == 0 || len(w.Program.Maps) == 0 {
		return
	}
	if ask != "" {
		fmt.Fprintf(a.out, "\ntry next\n  %s why %s\n", a.invocation(), ask)
		return
	}
	first, last := tunes[0], tunes[len(tunes)-1]
	m := w.Program.Maps[0] // the one that the rules are about
	for _, other := range w.Program.Maps {
		if len(other.Steps) > len(m.Steps) {
			m = other
		}
	}
	place := ""
	for i, axis := range m.Axes {
		points := m.Base.Cols
		if i == 0 && len(m.Axes) == 2 {
			points = m.Base.Rows
		}
		x := w.Program.Axes[axis]
		place += " " + x.Name + "=" + grid.Exact(points[len(points)*2/3])
	}
	fmt.Fprintf(a.out, "\ntry next\n  %s why %s %s%s\n", a.invocation(), last.Name, m.Name, place)
	if first != last {
		fmt.Fprintf(a.out, "  %s diff %s %s\n", a.invocation(), first.Name, last.Name)
	}
}
