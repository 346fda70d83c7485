package main

import (
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"fettle/compiler/page"
	"fettle/lang/source"
)

func (a *app) reviewCommand() *cobra.Command {
	var out, allow string
	var budget int
	c := command("review [OLD [NEW]] -o FILE", "Write one self-contained HTML page for whoever signs the change",
		`Writes what diff compares as one HTML file that opens from disk, without a
network: what newly fails and what sticks out, then each map before, after and
changed, the chain of every cell, limits and margins, the source's difference
and the cautions.

`+operandHelp+`

The status is that of diff: 1 when a cell differs by more than is allowed, a
limit newly fails, or a tune is held to less. The page is written either way.`,
		"  fettle review bench season/stock-club-pump98-820m -o review.html",
		cobra.MaximumNArgs(2), func(_ *cobra.Command, args []string) error {
			if out == "" {
				return wrong("say where the page goes: -o review.html")
			}
			if err := onlyPage(out); err != nil {
				return err
			}
			r, err := a.compare(args, allow, budget)
			if err != nil {
				return err
			}
			b, err := page.Write(r, page.Options{Call: a.invocation()})
			if err != nil {
				return err
			}
			if err := source.Replace(out, string(b)); err != nil {
				return wrong("%v", err)
			}
			fmt.Fprintf(a.err, "%s: %s\n", plain(shown(out)), r.Headline())
			if r.Differs() {
				return no
			}
			return nil
		})
	c.Flags().StringVarP(&out, "output", "o", "", "the `FILE` to write")
	c.Flags().StringVar(&allow, "allow", "", "hide changes within `MAP=AMOUNT,…`")
	budgetFlag(c, &budget)
	c.ValidArgsFunction = a.completions("operand")
	return c
}

// onlyPage refuses to lose a file that is no page: a source, say.
func onlyPage(name string) error {
	const begin = "<!doctype html>"
	st, err := os.Stat(name)
	if err != nil || !st.Mode().IsRegular() || st.Size() == 0 {
		return nil // nothing to lose, or it can't be replaced
	}
	f, err := os.Open(name)
	if err != nil {
		return wrong("%s can't be read: %s", name, source.Cause(err))
	}
	defer f.Close()
	b := make([]byte, len(begin))
	if n, err := io.ReadFull(f, b); err != nil || !strings.EqualFold(string(b[:n]), begin) {
		return wrong("%s is there already, and is no page: name another file", name)
	}
	return nil
}
