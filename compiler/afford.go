package compiler

import (
	"fmt"

	"fettle/compiler/check"
	"fettle/lang/formula"
	"fettle/lang/work"
)

// Afford looks whether so many tunes may be computed: how many cells their tables
// have together, and how many steps of formulas and rules those take. The error
// is worded for a tuner. It is asked before anything is computed.
func (w *Workspace) Afford(tunes int) error { return afford(w.Program, tunes) }

func afford(p *check.Program, tunes int) error {
	cells, steps := 0, 0
	for _, m := range p.Maps {
		n := max(1, len(m.Base.Rows)) * len(m.Base.Cols)
		each := 1 + sizeOf(m.Formula)
		for _, s := range m.Steps {
			each += 2 + sizeOf(s.Amount) + sizeOf(s.Where) + 2*len(s.Over)
		}
		for _, l := range m.Clamps {
			each += 2 + sizeOf(l.Lo) + sizeOf(l.Hi) + sizeOf(l.Where)
		}
		cells += n
		steps += n * each
	}
	for _, l := range p.Limits {
		most := 1
		for _, m := range p.Maps {
			if l.Cond != nil && l.Cond.Maps.Has(m.Index) {
				most = max(most, max(1, len(m.Base.Rows))*len(m.Base.Cols))
			}
		}
		steps += most * (sizeOf(l.Cond) + sizeOf(l.Where))
	}
	if most := work.Most(work.Tables); tunes > most/max(1, cells) {
		return tooMuch(tunes, cells, most, "cells", work.Tables)
	}
	if most := work.Most(work.Computing); tunes > most/max(1, steps) {
		return tooMuch(tunes, steps, most, "steps", work.Computing)
	}
	return nil
}

func sizeOf(n *formula.Node) int {
	if n == nil {
		return 0
	}
	return n.Size()
}

func tooMuch(tunes, each, most int, what string, budget int) error {
	need := float64(tunes) * float64(each)
	times := int(need/float64(budget)) + 1
	advice := "name fewer tunes, or choose some with --where"
	if times <= work.MaxTimes {
		advice += fmt.Sprintf("; --work %d allows it", times)
	}
	return fmt.Errorf("%d tunes of %d %s each are %.0f %s, and the most that are computed is %d: %s", tunes, each, what, need, what, most, advice)
}
