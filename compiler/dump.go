package compiler

import (
	"fmt"
	"io"
	"strings"

	"fettle/compiler/plan"
	"fettle/lang/formula"
)

// Dumps are the stages that can be written out, for people who work on fettle.
var Dumps = []string{"tree", "plan", "kernels"}

// Dump writes one stage's value: the tree of every file, the plan of every tune,
// or the kernels. It returns false for a stage that there isn't.
func (w *Workspace) Dump(out io.Writer, stage string) bool {
	switch stage {
	case "tree":
		for _, f := range w.Resolved.Files {
			fmt.Fprintf(out, "%s\n", f.Source.Name)
			for _, d := range f.Decls {
				h := d.Header()
				line, col := f.Source.Pos(h.Span.From)
				end, _ := f.Source.Pos(h.Span.To)
				fmt.Fprintf(out, "  %-9s %-24s %d:%d to line %d\n", h.Keyword, h.Name.Text, line, col, end)
			}
		}
	case "plan":
		for _, i := range w.Program.Order {
			fmt.Fprintf(out, "map %s\n", w.Program.Maps[i].Name)
		}
		for _, t := range w.Plan.Tunes {
			w.dumpTune(out, t)
		}
	case "kernels":
		w.eval.Dump(out)
	default:
		return false
	}
	return true
}

func (w *Workspace) dumpTune(out io.Writer, t *plan.Tune) {
	var given, rules []string
	for i, g := range w.Program.Givens {
		given = append(given, g.Name+" "+plan.Text(g, t.Values[i]))
	}
	for _, r := range w.Program.Rules {
		yes, err := true, error(nil)
		if r.When != nil {
			yes, err = formula.Decide(r.When, t.Conditions(w.Program))
		}
		switch {
		case err != nil:
			rules = append(rules, r.Name+" (undecided)")
		case yes:
			rules = append(rules, r.Name)
		}
	}
	fmt.Fprintf(out, "tune %s: %s\n", t.Name, strings.Join(given, ", "))
	for _, r := range rules {
		fmt.Fprintf(out, "  rule %s\n", r)
	}
	for _, s := range t.Trims {
		fmt.Fprintf(out, "  trim %s (%s)\n", s.Map.Name, s.Span)
	}
}
