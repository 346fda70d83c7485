package main

import (
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"fettle/compiler"
	"fettle/compiler/diff"
	"fettle/compiler/plan"
	"fettle/compiler/report"
	"fettle/lang/source"
)

func (a *app) diffCommand() *cobra.Command {
	var cells bool
	c := command("diff OLD NEW", "Show the cells that differ between two tunes, and which rule moved them",
		`Compares two tunes of the workspace, two built folders, or two CSV files (or
one of each): cells, summary, and for tunes of the workspace the exact part
that each rule has in the change. A name that could be a tune or a file is
asked for again as ./NAME. The status is 1 when a cell differs.`,
		"  fettle diff bench season/stock-club-pump98-820m\n  fettle diff ./before ./out\n  fettle diff before/bench/fuel.csv out/bench/fuel.csv",
		cobra.ExactArgs(2), func(_ *cobra.Command, args []string) error {
			r, w, err := a.compare(args[0], args[1])
			if err != nil {
				return err
			}
			if a.json {
				err = a.printJSON(r)
			} else {
				err = r.Text(a.out, diff.TextOptions{Color: colored(a.out), Width: width(a.out), Cells: cells, Call: a.invocation()})
				if w != nil {
					report.Cautions(a.out, w.Program)
				}
			}
			if err == nil && r.Differs() {
				return no
			}
			return err
		})
	c.Flags().BoolVar(&cells, "cells", false, "print every cell that differs, however many")
	c.ValidArgsFunction = a.completions("variant")
	return a.jsonFlag(c)
}

// operand is a side of a comparison: a tune, or what stands at a path.
type operand struct {
	tune  *plan.Tune
	sides []*diff.Side
}

func (a *app) compare(old, new string) (*diff.Report, *compiler.Workspace, error) {
	var w *compiler.Workspace
	var ops [2]operand
	for i, name := range []string{old, new} {
		onDisk := a.onDisk(name)
		if !onDisk && w == nil {
			var err error
			if w, _, err = a.open(); err != nil {
				return nil, nil, err
			}
		}
		op, err := a.operand(w, name, onDisk)
		if err != nil {
			return nil, nil, err
		}
		ops[i] = op
	}
	if ops[0].tune != nil && ops[1].tune != nil {
		r, err := diff.Variants(w.Eval(), ops[0].tune, ops[1].tune)
		if err != nil {
			return nil, nil, &status{exitNo, err.Error()}
		}
		return r, w, nil
	}
	for i := range ops {
		if ops[i].tune == nil {
			continue
		}
		side, err := diff.FromTune(w.Eval(), ops[i].tune)
		if err != nil {
			return nil, nil, &status{exitNo, err.Error()}
		}
		ops[i].sides = []*diff.Side{side}
	}
	return diff.Folders(ops[0].sides, ops[1].sides), w, nil
}

// onDisk says whether an operand can only be a file or folder: by its form, or
// because it is there and no workspace is.
func (a *app) onDisk(name string) bool {
	if strings.HasPrefix(name, "./") || strings.HasPrefix(name, "../") || filepath.IsAbs(name) || strings.HasSuffix(name, ".csv") {
		return true
	}
	if _, err := os.Stat(name); err != nil {
		return false
	}
	_, err := a.workspace()
	return err != nil
}

func (a *app) operand(w *compiler.Workspace, name string, onDisk bool) (operand, error) {
	st, statErr := os.Stat(name)
	if !onDisk {
		t := w.Plan.Find(name)
		switch {
		case t != nil && statErr == nil:
			return operand{}, wrong("%s is a tune and also stands here as a file or folder: write ./%s for that", name, name)
		case t != nil:
			return operand{tune: t}, nil
		case statErr != nil:
			t, err := a.tune(w, name)
			return operand{tune: t}, err
		}
	}
	if statErr != nil {
		return operand{}, wrong("there is no file or folder %s", name)
	}
	if !st.IsDir() {
		fsys, closer, err := source.OpenFolder(filepath.Dir(name))
		if err != nil {
			return operand{}, wrong("%v", err)
		}
		defer closer.Close()
		f, err := source.ReadText(fsys, filepath.Base(name))
		if err != nil {
			return operand{}, wrong("%v", err)
		}
		side, err := diff.FromCSV(name, []byte(f.Text))
		if err != nil {
			return operand{}, wrong("%v", err)
		}
		return operand{sides: []*diff.Side{side}}, nil
	}
	fsys, closer, err := source.OpenFolder(name)
	if err != nil {
		return operand{}, wrong("%v", err)
	}
	defer closer.Close()
	sides, err := diff.FromFolder(fsys)
	if err != nil {
		return operand{}, wrong("%s: %v", name, err)
	}
	if len(sides) == 0 {
		return operand{}, wrong("%s holds no tables", name)
	}
	return operand{sides: sides}, nil
}
