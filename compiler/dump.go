package compiler

import (
	"fmt"
	"io"
	"strings"

	"fettle/compiler/check"
	"fettle/compiler/grid"
	"fettle/compiler/plan"
	"fettle/compiler/target"
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
		for _, t := range w.Program.Targets {
			w.dumpTarget(out, t)
		}
		for _, b := range w.Plan.Bundles {
			w.dumpBundle(out, b)
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

func (w *Workspace) dumpTarget(out io.Writer, t *check.Target) {
	fmt.Fprintf(out, "target %s\n", t.Name)
	for _, r := range t.LeavesOut {
		fmt.Fprintf(out, "  without rule %s\n", r.Name)
	}
	for _, one := range t.Tables {
		fmt.Fprintf(out, "  table %s of %s as %s\n", one.Name, one.Map.Name, target.StorageText(one))
		for i, a := range one.Axes {
			points := exactly(a.Points)
			if a.Auto > 0 {
				points = fmt.Sprintf("%d of %s", a.Auto, exactly(a.Grid))
			}
			fmt.Fprintf(out, "    %s %s\n", w.Program.Axes[one.Map.Axes[i]].Name, points)
		}
	}
}

func (w *Workspace) dumpBundle(out io.Writer, b *plan.Bundle) {
	fmt.Fprintf(out, "bundle %s", b.Spec.Name)
	if b.Spec.Target != nil {
		fmt.Fprintf(out, " for %s", b.Spec.Target.Name)
	}
	fmt.Fprintln(out)
	for _, d := range b.Spec.Differs {
		fmt.Fprintf(out, "  differs %s\n", w.Program.Givens[d.Given].Name)
	}
	for i, t := range b.Tunes {
		fmt.Fprintf(out, "  %d = %s\n", i+1, t.Name)
	}
	for _, j := range b.Spec.Jumps {
		fmt.Fprintf(out, "  jump %s by %s\n", j.Map.Name, j.Text)
	}
}

func exactly(list []float64) string {
	out := make([]string, len(list))
	for i, x := range list {
		out[i] = grid.Exact(x)
	}
	return strings.Join(out, " ")
}
