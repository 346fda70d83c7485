package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"fettle/compiler/report"
	"fettle/lang/diag"
	"fettle/lang/format"
	"fettle/lang/source"
)

func (a *app) fmtCommand() *cobra.Command {
	var check bool
	c := command("fmt [FILE…]", "Put sources in the one layout",
		`Rewrites the files (without one: every .fettle file of the workspace) in the one
layout. Only white space changes; comments stay. A file with errors is left as
it is. A link stays a link, and what it leads to is rewritten; one that leads out
of the workspace has to be named. --check changes nothing and names the files that aren't in the layout;
- reads standard input and writes standard output.`,
		"  fettle fmt\n  fettle fmt --check tune.fettle\n  fettle fmt - < tune.fettle",
		cobra.ArbitraryArgs, func(_ *cobra.Command, args []string) error {
			if len(args) == 1 && args[0] == "-" {
				return a.fmtStream(check)
			}
			if len(args) > 0 {
				return a.fmtFiles(args, "", check)
			}
			dir, err := a.workspace()
			if err != nil {
				return err
			}
			if args, err = format.Files(dir); err != nil {
				return wrong("%v", err)
			}
			return a.fmtFiles(args, dir, check)
		})
	c.Flags().BoolVar(&check, "check", false, "change nothing; the status is 1 if a file isn't in the layout")
	return a.jsonFlag(c)
}

func (a *app) fmtStream(check bool) error {
	b, err := io.ReadAll(io.LimitReader(a.in, source.MaxFile+1))
	if err != nil || len(b) > source.MaxFile {
		return wrong("standard input can't be read, or has over %d bytes", source.MaxFile)
	}
	out, errs := format.Source(source.New("standard input", string(b)))
	if errs.HasErrors() {
		a.diagnostics(errs)
		return &status{exitWrong, ""}
	}
	if check {
		if out != string(b) {
			return &status{exitNo, "standard input is not in the one layout"}
		}
		return nil
	}
	_, err = io.WriteString(a.out, out)
	return err
}

// fmtFiles formats each file; an error in one doesn't keep the others.
func (a *app) fmtFiles(files []string, within string, check bool) error {
	faults := &diag.List{}
	var failed error
	out := report.Formatted{Schema: "fettle/fmt/1", Check: check, Files: []string{}}
	for _, name := range files {
		name = shown(name)
		changed, errs, err := format.File(name, within, check)
		if err != nil {
			fmt.Fprintln(a.err, "fettle: "+plain(err.Error()))
			failed = &status{exitWrong, ""}
			continue
		}
		faults.Merge(errs)
		if !changed {
			continue
		}
		out.Files = append(out.Files, name)
		if !a.json {
			fmt.Fprintln(a.out, plain(name))
		}
	}
	if a.json && !faults.HasErrors() {
		if err := a.printJSON(out); err != nil {
			return err
		}
	}
	switch {
	case faults.HasErrors() && a.json:
		if err := a.printJSON(diag.NewReport(faults.Sorted())); err != nil {
			return err
		}
		return &status{exitWrong, ""}
	case faults.HasErrors():
		a.diagnostics(faults)
		return &status{exitWrong, ""}
	case failed != nil:
		return failed
	case check && len(out.Files) > 0:
		return no
	}
	return nil
}
