package main

import (
	"errors"

	"github.com/spf13/cobra"

	"fettle/compiler/diff"
	"fettle/compiler/sides"
	"fettle/compiler/verify"
)

func (a *app) verifyCommand() *cobra.Command {
	var against string
	var cells bool
	c := command("verify FOLDER-OR-FILE", "Tell which tune a table is that was read back from a bike",
		`Compares a table, or a folder's tables as a whole, with the tunes of the work
tree as build would write them, the maps' own and those of each target, cell by
cell; and with those of every git tag where none of the work tree is it. Names
the tune, or the nearest with the cells that differ. A table is known by its
file's name (fuel.csv), or else by its axes.

CSV is read, TSV, XLSX, a tables.json, and an image.bin with its image.json: of
a folder all that are there, and each has to be of the same tune. Files are held
to the SHA-256 that tune.json, bundle.json or image.json records of them; with one
that was changed the answer is no. What wasn't looked at, as a C header, is named.

With --against the question is whether it is that tune (bench, v1.2:bench). The
status is 0 for yes, 1 for no.`,
		"  fettle verify base_fuel.csv\n  fettle verify out/bench/shop_ecu --against bench\n  fettle verify out/rimside_rain/fuel.csv --against season/wide-club-race102-1240m",
		cobra.ExactArgs(1), func(_ *cobra.Command, args []string) error {
			dir, err := a.workspace()
			if err != nil {
				return err
			}
			read, err := verify.ReadPath(args[0])
			if err != nil {
				return wrong("%v", err)
			}
			find := &sides.Finder{Dir: dir, Version: version}
			defer find.Close()
			halt, done := interrupts()
			defer done()
			r, err := verify.Search(find, read, against, halt.stop)
			if errors.Is(err, verify.ErrStopped) {
				return &status{exitWrong, "interrupted"}
			}
			if err != nil {
				return a.sideError(err)
			}
			if a.json {
				err = a.printJSON(r.JSON())
			} else {
				err = r.Text(a.out, verify.TextOptions{TextOptions: diff.TextOptions{Color: colored(a.out), Width: width(a.out), Cells: cells, Call: a.invocation()}})
			}
			if err == nil && !r.Yes() {
				return no
			}
			return err
		})
	c.Flags().StringVar(&against, "against", "", "ask whether it is the tune `NAME`, or REV:NAME")
	c.Flags().BoolVar(&cells, "cells", false, "print every cell that differs, however many")
	// The error is of a flag that there isn't.
	_ = c.RegisterFlagCompletionFunc("against", a.completions("operand"))
	return a.jsonFlag(c)
}
