package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"fettle/compiler"
	"fettle/compiler/check"
	"fettle/compiler/emit"
	"fettle/compiler/form"
	"fettle/compiler/git"
	"fettle/compiler/grid"
	"fettle/compiler/live"
	"fettle/compiler/plan"
	"fettle/compiler/report"
	"fettle/lang/diag"
	"fettle/lang/source"
)

func (a *app) buildCommand() *cobra.Command {
	var where, out, target string
	var formats []string
	var withLive bool
	var budget int
	c := command("build [PATTERN…]", "Write the tables of the tunes that hold",
		`Computes every tune that matches (all, without a pattern) and writes the tables
of those that hold into DIR, replacing it as a whole or not at all. A tune that
breaks a limit or a check is not written: index.json says why. With a pattern
or --where the tunes that don't match are kept as they are. The tables of each
target stand in a folder of the tune's, beside those of its maps; --target
leaves the other targets' out. A bundle is written whole where any of its tunes
is built.`,
		"  fettle build\n  fettle build -o before\n  fettle build 'season/*' --where 'pipe is long' -o out\n  fettle build bench --format csv,xlsx --live\n  fettle build bench --target shop_ecu",
		cobra.ArbitraryArgs, func(_ *cobra.Command, args []string) error {
			chosen, err := chosenFormats(formats, withLive)
			if err != nil {
				return err
			}
			w, dir, err := a.open()
			if err != nil {
				return err
			}
			tunes, err := a.toCompute(w, args, where)
			if err != nil {
				return err
			}
			if len(w.Plan.Tunes) == 0 {
				return wrong("the source declares no variant, so there is nothing to build; write `variant bench { }`")
			}
			targets, err := a.targets(w, target)
			if err != nil {
				return err
			}
			if err := goodBudget(budget); err != nil {
				return err
			}
			if out == "" {
				if out, err = ownOutput(dir); err != nil {
					return err
				}
			}
			return a.build(w, dir, out, tunes, targets, len(args) > 0 || where != "", budget, chosen)
		})
	c.Flags().StringVar(&where, "where", "", "only tunes whose conditions make `EXPR` true")
	c.Flags().StringVarP(&out, "output", "o", "", "write into `DIR` (default: out, in the workspace)")
	c.Flags().StringSliceVar(&formats, "format", []string{emit.CSVFormat}, "write the tables in each `FORMAT`: "+strings.Join(form.Names(), ", "))
	c.Flags().BoolVar(&withLive, "live", false, "with xlsx: also a workbook whose cells are formulas, to follow every number by")
	c.Flags().StringVar(&target, "target", "", "beside the maps' tables, write those of the target `NAME` only (default: of all)")
	budgetFlag(c, &budget)
	a.completeTargets(c)
	_ = c.RegisterFlagCompletionFunc("format", cobra.FixedCompletions(form.Names(), cobra.ShellCompDirectiveNoFileComp))
	c.ValidArgsFunction = a.completions("variant")
	return a.jsonFlag(c)
}

// ownOutput is where a build goes that is told no folder. A workspace may come from
// someone else, so it has no say in what is replaced outside of it.
func ownOutput(dir string) (string, error) {
	out := filepath.Join(dir, "out")
	real, err := filepath.EvalSymlinks(out)
	if err != nil {
		return out, nil // it isn't there, or emit says what is wrong with it
	}
	if top, err := filepath.EvalSymlinks(dir); err != nil || !source.Within(top, real) {
		return "", wrong("%s is a link that leads out of the workspace: if the tables are to go there, say so with -o %s", shown(out), shown(out))
	}
	return out, nil
}

// chosenFormats gives the formats that --format and --live ask for.
func chosenFormats(names []string, withLive bool) ([]emit.Format, error) {
	if len(names) == 0 {
		names = []string{""}
	}
	chosen, err := form.Named(names)
	if err != nil {
		return nil, wrong("%v", err)
	}
	if withLive {
		if !slices.ContainsFunc(chosen, func(f emit.Format) bool { return f.Name == "xlsx" }) {
			return nil, wrong("--live is of workbooks: write `--format xlsx --live`")
		}
		chosen = append(chosen, live.Format)
	}
	return chosen, nil
}

func (a *app) build(w *compiler.Workspace, dir, out string, tunes []*plan.Tune, targets []*check.Target, some bool, budget int, formats []emit.Format) error {
	// Asked before the folder is locked: a git that is just being started would hold the
	// lock for a moment longer than a build that is killed.
	src := emit.Source{Digest: w.Digest(), Version: version}
	src.Revision, src.Dirty = git.Revision(dir, w.Files())
	halt, done := interrupts() // before there is anything to leave behind
	defer done()
	folder, err := emit.NewFolder(out, dir, some)
	if err != nil {
		return wrong("%v", err)
	}
	defer folder.Abort()
	var failed error
	v, bundles, ended := a.judge(w, tunes, compiler.RunOptions{Survey: !some, Targets: targets, Prove: budget, Stop: halt.stop, Also: func(o *compiler.Outcome) {
		in := w.Input(o, src)
		in.Formats = formats
		if o.Part = folder.Make(in); o.Part.Err() != nil {
			halt.now() // what comes after it would be computed for nothing
		}
	}}, func(o *compiler.Outcome) {
		if failed == nil {
			failed = folder.Take(o.Part)
		}
	})
	for _, b := range bundles {
		if failed == nil {
			failed = folder.AddBundle(w.BundleInput(b, src, formats))
		}
	}
	if failed != nil {
		return wrong("%v (%s is as it was)", failed, shown(out))
	}
	if !ended {
		return &status{exitWrong, "interrupted; " + shown(out) + " is as it was"}
	}
	sum, err := folder.Close(halt.stop)
	switch {
	case errors.Is(err, emit.ErrStopped):
		return &status{exitWrong, "interrupted; " + shown(out) + " is as it was"}
	case err != nil:
		return wrong("%v (%s is as it was)", err, shown(out))
	}
	built := report.NewBuilt(sum, report.Checked{Verdicts: v, Diagnostics: diag.NewReport(w.Diags.Sorted())})
	if a.json {
		err = a.printJSON(built)
	} else {
		a.diagnostics(w.Diags)
		v.Text(a.out, report.Options{Color: colored(a.out), Width: width(a.out)})
		built.Text(a.out, plain(shown(out)))
		a.next(w, tunes, v.Ask)
	}
	if err == nil && v.Fails() {
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
