package main

import (
	"errors"
	"fmt"
	"runtime/debug"

	"github.com/spf13/cobra"

	"fettle/compiler"
	"fettle/compiler/diff"
	"fettle/compiler/review"
	"fettle/compiler/sides"
	"fettle/lang/diag"
)

// operandHelp is the same for diff and review.
const operandHelp = `OLD and NEW are tunes (bench), patterns (season/*), git revisions (main, v1.2,
HEAD~1: every tune there), tunes of a revision (v1.2:bench), built folders
(./out), folders of workspaces (., ../other) or CSV files. With one of them the
other side is the work tree, or HEAD for a tune of the work tree; with none,
HEAD is compared with the work tree. A name that could be two things is asked
for again as :TUNE, REV: or ./NAME.`

func (a *app) diffCommand() *cobra.Command {
	var cells, text, markdown bool
	var allow string
	var budget int
	c := command("diff [OLD [NEW]]", "Show the cells that differ, which element of the source moved them, and what still holds",
		`Compares tunes: limits that newly fail and cells that stick out first, then
what changed alike in many tunes, then the tables, each with the exact part that
every rule, base, given or catalogue row has in the change.

`+operandHelp+`

A cell sticks out, or a few beside each other do, when they moved by 5 % or more
and at least four times as much as any around them, whatever is allowed: LOOK. A
tune that was added is judged by both sides' limits, and compared with the one
that it comes from or is most like.

The status is 1 when a cell differs by more than is allowed, a limit newly fails,
or a tune is held to less. --allow hides small changes and counts them
(--allow fuel=2%,spark=0.5deg; none: nothing is hidden); a source's own
`+"`review { allow … }`"+` does so where two states of a source are compared.`,
		"  fettle diff bench season/stock-club-pump98-820m\n  fettle diff 'season/stock-*' 'season/long-*'\n  fettle diff --allow fuel=2%,spark=0.5deg bench rimside_rain",
		cobra.MaximumNArgs(2), func(_ *cobra.Command, args []string) error {
			r, err := a.compare(args, allow, budget)
			if err != nil {
				return err
			}
			switch {
			case a.json && markdown:
				return wrong("--json and --md are two forms: choose one")
			case a.json:
				var out []byte
				if out, err = r.JSON(); err == nil {
					_, err = a.out.Write(out)
				}
			case markdown:
				err = r.Markdown(a.out, review.MarkdownOptions{Source: text, Call: a.invocation()})
			default:
				err = r.Text(a.out, review.TextOptions{TextOptions: diff.TextOptions{Color: colored(a.out), Width: width(a.out), Cells: cells, Call: a.invocation()}, Source: text})
			}
			if err == nil && r.Differs() {
				return no
			}
			return err
		})
	c.Flags().BoolVar(&cells, "cells", false, "print every cell that differs, however many")
	c.Flags().BoolVar(&text, "source", false, "print the difference of the source text as well, beside what it causes")
	c.Flags().BoolVar(&markdown, "md", false, "print Markdown that fits into a comment of 65,000 characters")
	c.Flags().StringVar(&allow, "allow", "", "hide changes within `MAP=AMOUNT,…`")
	budgetFlag(c, &budget)
	c.ValidArgsFunction = a.completions("operand")
	return a.jsonFlag(c)
}

// compare makes a review of what zero, one or two names stand for.
func (a *app) compare(names []string, allow string, budget int) (*review.Review, error) {
	if err := goodBudget(budget); err != nil {
		return nil, err
	}
	dir, err := a.workspace()
	if err != nil && (a.dir != "" || len(names) == 0) {
		return nil, err
	}
	find := &sides.Finder{Dir: dir, Version: version}
	defer find.Close()
	old, new, err := find.Pair(names)
	if err != nil {
		return nil, a.sideError(err)
	}
	halt, done := interrupts()
	defer done()
	bar := a.progress(max(len(old.Tunes), len(new.Tunes)))
	defer bar.done()
	opt := review.Options{Stop: halt.stop, Step: bar.step, Prove: budget}
	if err := sides.Allow(&opt, old, new, allow); err != nil {
		return nil, wrong("%v", err)
	}
	// A comparison lives for a second and keeps most of what it makes: collecting
	// less often costs little room and saves a good part of the time.
	debug.SetGCPercent(400)
	r, err := compiler.Review(old, new, opt)
	if errors.Is(err, review.ErrStopped) {
		return nil, &status{exitWrong, "interrupted"}
	}
	return r, err
}

// sideError tells of a side whose source doesn't compile, with its faults.
func (a *app) sideError(err error) error {
	var broken *sides.SourceError
	if !errors.As(err, &broken) {
		return wrong("%v", err)
	}
	if a.json {
		if err := a.printJSON(diag.NewReport(broken.Diags.Sorted())); err != nil {
			return err
		}
	} else {
		a.diagnostics(broken.Diags)
		fmt.Fprintln(a.err)
	}
	return wrong("%v", err)
}
