package main

import (
	"errors"
	"fmt"
	"runtime/debug"

	"github.com/spf13/cobra"

	"fettle/compiler/git"
	"fettle/compiler/history"
	"fettle/lang/diag"
	"fettle/lang/source"
)

func (a *app) logCommand() *cobra.Command {
	var most int
	c := command("log VARIANT MAP AT…", "Tell the history of a cell: which commit changed it, by how much, and by which rule",
		`Prints, newest first, each git commit that changed a cell's value as printed:
the value before and after, the exact part of each rule, base, given or catalogue
row, who did it and when; before them the work tree, if it changes the value, and
last the commit in which the cell first appears. AT names a place as for why;
where a commit has other breakpoints the value is looked up there.

Where branches were merged and the cell is after it as it was on one of them,
only that one is followed: the other has no part in what the cell is now. A merge
is in the list itself if the cell is other than on all the branches, and is
compared with its first parent.

A commit whose source doesn't compile is told and stepped over: the change is
then the one between the commits around it. A tune that was renamed is followed
under its old name if its tables were the same.`,
		"  fettle log bench fuel throttle=100 rpm=9000\n  fettle log -n 5 season/long-club-race102-820m spark throttle=60 rpm=8500",
		cobra.MinimumNArgs(2), func(_ *cobra.Command, args []string) error {
			if most < 0 {
				return wrong("--max takes the number of rows to print, and %d is none", most)
			}
			l, err := a.history(args, most)
			if err != nil {
				return err
			}
			if a.json {
				return a.printJSON(l)
			}
			return l.Text(a.out, history.TextOptions{Color: colored(a.out), Width: width(a.out), Call: a.invocation()})
		})
	c.Flags().IntVarP(&most, "max", "n", 0, "print `N` rows at most, the newest; 0 is all")
	c.ValidArgsFunction = a.completions("variant", "map", "axis")
	return a.jsonFlag(c)
}

func (a *app) history(args []string, most int) (*history.Log, error) {
	dir, err := a.workspace()
	if err != nil {
		return nil, err
	}
	repo, err := git.Open(dir)
	switch {
	case errors.Is(err, git.ErrNoGit):
		return nil, wrong("git isn't on the PATH: install it, since it is what knows the history")
	case errors.Is(err, git.ErrNoRepository):
		return nil, wrong("this folder isn't in a git repository, so there is no history: `git init` and `git commit` begin one")
	case err != nil:
		return nil, wrong("%v", err)
	}
	defer repo.Close()
	fsys, closer, err := source.OpenFolder(dir)
	if err != nil {
		return nil, wrong("%s can't be opened: %v", dir, err)
	}
	defer closer.Close()
	// Many sources are compiled and dropped one after the other.
	defer debug.SetGCPercent(debug.SetGCPercent(400))
	bar := a.progress(0)
	bar.what = "commits"
	defer bar.done()
	step := func(looked, n int) {
		bar.n, bar.total = looked-1, n
		bar.step()
	}
	l, err := history.Of(history.Question{Repo: repo, WorkTree: fsys, Tune: args[0], Map: args[1], At: args[2:], Max: most, Step: step})
	var faults *history.Faults
	if errors.As(err, &faults) {
		return nil, a.faulty(faults)
	}
	if err != nil {
		return nil, wrong("%v", err)
	}
	return l, nil
}

// faulty prints mistakes in a question or a source.
func (a *app) faulty(f *history.Faults) error {
	if a.json {
		if err := a.printJSON(diag.NewReport(f.Diags.Sorted())); err != nil {
			return err
		}
	} else {
		a.diagnostics(f.Diags)
		fmt.Fprintln(a.err)
	}
	return wrong("%v", f)
}
