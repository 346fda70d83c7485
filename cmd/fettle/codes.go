package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"fettle/compiler/report"
	"fettle/lang/diag"
)

func (a *app) codesCommand() *cobra.Command {
	c := command("codes [CODE]", "Explain the codes of errors and warnings", "", "  fettle codes\n  fettle codes E316",
		cobra.MaximumNArgs(1), func(_ *cobra.Command, args []string) error {
			list := diag.Codes()
			if len(args) == 1 {
				info, ok := diag.Code(strings.ToUpper(args[0]))
				if !ok {
					return wrong("there is no code %s; `fettle codes` lists them", args[0])
				}
				list = []diag.Info{info}
			}
			if a.json {
				out := report.Codes{Schema: "fettle/codes/1", Codes: []report.Code{}}
				for _, i := range list {
					out.Codes = append(out.Codes, report.Code{ID: i.ID, Title: i.Title, Text: i.Text})
				}
				return a.printJSON(out)
			}
			for _, i := range list {
				if len(args) == 1 {
					fmt.Fprintf(a.out, "%s: %s\n\n%s\n", i.ID, i.Title, i.Text)
				} else {
					fmt.Fprintf(a.out, "%s  %s\n", i.ID, i.Title)
				}
			}
			return nil
		})
	return a.jsonFlag(c)
}
