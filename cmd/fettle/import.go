package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"fettle/compiler"
	"fettle/compiler/importer"
	"fettle/lang/diag"
	"fettle/lang/source"
)

func (a *app) importCommand() *cobra.Command {
	var opt importer.Options
	var to string
	c := command("import FILE", "Turn a table of a spreadsheet into a map or a catalogue",
		`Reads a CSV, TSV or XLSX file, or with - a grid pasted to standard input, and
prints the map or the catalogue that it is, in the one layout. How the file was
read is told on standard error; what could be meant in two ways is refused, with
the flag that settles it. The axes are named by --rows and --cols, by the corner
cell, or by the workspace, where the breakpoints fit one of its axes alone.`,
		"  fettle import base_fuel.csv --as map\n  fettle import base_fuel.csv --unit mg -o imported.fettle\n  fettle import fuels.csv --as catalog",
		cobra.ExactArgs(1), func(_ *cobra.Command, args []string) error {
			if err := opt.Check(); err != nil {
				return wrong("%v", err)
			}
			data, err := a.tableBytes(args[0])
			if err != nil {
				return err
			}
			opt.File, opt.Axes = args[0], a.axes()
			if args[0] == "-" {
				opt.File, opt.Pasted = "standard input", true
			}
			r, errs := importer.Import(data, opt)
			if r == nil {
				if a.json {
					if err := a.printJSON(diag.NewReport(errs.Sorted())); err != nil {
						return err
					}
				} else {
					a.diagnostics(errs)
				}
				return &status{exitWrong, ""}
			}
			return a.imported(r, to)
		})
	f := c.Flags()
	f.StringVar(&opt.As, "as", "", "take it as a `KIND`: map or catalog")
	f.StringVar(&opt.Sheet, "sheet", "", "read the sheet `NAME` of a workbook")
	f.StringVar(&opt.Name, "name", "", "call the declaration `NAME`")
	f.StringVar(&opt.Unit, "unit", "", "give the map's cells a `UNIT`")
	f.StringVar(&opt.Rows, "rows", "", "the `AXIS` whose breakpoints run down the first column")
	f.StringVar(&opt.Cols, "cols", "", "the `AXIS` whose breakpoints run along the first line")
	f.BoolVar(&opt.Transpose, "transpose", false, "turn the table: its rows become columns")
	f.StringVar(&opt.Decimal, "decimal", "", "the decimal `MARK` of the file: . or ,")
	f.StringVar(&opt.Delimiter, "delimiter", "", "what parts the cells: `NAME` is "+strings.Join(importer.Delimiters(), ", "))
	f.StringVarP(&to, "output", "o", "", "write to `FILE` instead of standard output")
	return a.jsonFlag(c)
}

// tableBytes reads what is to be imported, no more than is taken.
func (a *app) tableBytes(name string) ([]byte, error) {
	in := a.in
	if name != "-" {
		st, err := os.Stat(name)
		if err != nil {
			return nil, wrong("there is no file %s", name)
		}
		if !st.Mode().IsRegular() {
			return nil, wrong("%s is not a plain file", name)
		}
		f, err := os.Open(name)
		if err != nil {
			return nil, wrong("%s can't be read: %v", name, errors.Unwrap(err))
		}
		defer f.Close()
		in = f
	}
	data, err := io.ReadAll(io.LimitReader(in, importer.MaxFile+1))
	if err != nil {
		return nil, wrong("%s can't be read: %v", name, err)
	}
	return data, nil
}

// axes are those of the workspace, as far as it can be read: an import often
// comes before the source is whole.
func (a *app) axes() []importer.Axis {
	dir, err := a.workspace()
	if err != nil {
		return nil
	}
	fsys, closer, err := source.OpenFolder(dir)
	if err != nil {
		return nil
	}
	defer closer.Close()
	var out []importer.Axis
	for _, x := range compiler.Open(fsys).Program.Axes {
		out = append(out, importer.Axis{Name: x.Name, Unit: x.Unit, Lo: x.Lo, Hi: x.Hi})
	}
	return out
}

// imported prints or writes what was read, and says how it was.
func (a *app) imported(r *importer.Result, to string) error {
	if to != "" {
		if err := importer.MayReplace(to, r); err != nil {
			return wrong("%v", err)
		}
		if err := source.Replace(to, r.Text); err != nil {
			return wrong("%v", err)
		}
	}
	if a.json {
		return a.printJSON(r)
	}
	fmt.Fprintln(a.err, "read as: "+r.ReadAs)
	for _, n := range r.Notes {
		fmt.Fprintln(a.err, "note: "+n)
	}
	if to != "" {
		_, err := fmt.Fprintln(a.out, plain(shown(filepath.Clean(to))))
		return err
	}
	_, err := io.WriteString(a.out, r.Text)
	return err
}
