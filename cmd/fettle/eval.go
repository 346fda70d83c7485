package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"fettle/compiler/library"
	"fettle/compiler/report"
	"fettle/lang/diag"
)

func (a *app) evalCommand() *cobra.Command {
	c := command("eval EXPR", "Compute an expression: a calculator over the standard library",
		`Computes an expression of the language: numbers with units, the language's
functions and those of the standard library. EXPR in UNIT converts the result.
It needs no workspace. fettle doc lists the functions.`,
		"  fettle eval 'air.density(80 kPa, 35 degC, 60 %)'\n  fettle eval 'air.pressure(1500 m) in hPa'",
		cobra.ExactArgs(1), func(_ *cobra.Command, args []string) error {
			lib, errs := library.Open()
			var v *library.Value
			if !errs.HasErrors() {
				v = lib.Eval(args[0], errs)
			}
			if v == nil || errs.HasErrors() {
				if a.json {
					if err := a.printJSON(diag.NewReport(errs.Sorted())); err != nil {
						return err
					}
				} else {
					a.diagnostics(errs)
				}
				return &status{exitWrong, ""}
			}
			if !a.json {
				a.diagnostics(errs) // warnings
			}
			out, err := report.NewEvaluated(args[0], v)
			if err != nil {
				return &status{exitNo, err.Error()}
			}
			if a.json {
				return a.printJSON(out)
			}
			_, err = fmt.Fprintln(a.out, out.Text)
			return err
		})
	return a.jsonFlag(c)
}

func (a *app) docCommand() *cobra.Command {
	var md bool
	c := command("doc [NAME]", "Print the pages of the standard library",
		`Prints the standard library's pages, made from its sources: all modules in
brief, one module (air), or one function (air.density). --md prints Markdown.`,
		"  fettle doc\n  fettle doc air\n  fettle doc air.density\n  fettle doc --md",
		cobra.MaximumNArgs(1), func(_ *cobra.Command, args []string) error {
			lib, errs := library.Open()
			if errs.HasErrors() {
				a.diagnostics(errs)
				return &status{exitWrong, ""}
			}
			pages, name := lib.Pages(), ""
			if len(args) == 1 {
				name = args[0]
				if pages = library.Find(pages, name); len(pages) == 0 {
					if near := diag.Nearest(name, lib.Names()); near != "" {
						return wrong("the library has no %s: did you mean %s?", name, near)
					}
					return wrong("the library has no %s; `fettle doc` lists what it has", name)
				}
			}
			switch {
			case a.json:
				return a.printJSON(report.Pages{Schema: "fettle/doc/1", Modules: pages})
			case md:
				library.Markdown(a.out, pages)
			default:
				library.Text(a.out, pages, name == "")
			}
			return nil
		})
	c.Flags().BoolVar(&md, "md", false, "print Markdown")
	c.ValidArgsFunction = func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		lib, _ := library.Open()
		return lib.Names(), cobra.ShellCompDirectiveNoFileComp
	}
	return a.jsonFlag(c)
}
