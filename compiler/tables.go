package compiler

import (
	"fettle/compiler/check"
	"fettle/compiler/emit"
	"fettle/compiler/eval"
	"fettle/compiler/plan"
	"fettle/compiler/table"
)

// Tables computes the tables of a tune as they would be written, without looking
// at its limits: the maps' own, and those of each target that is asked for. Nil
// stands for what can't be computed or doesn't fit.
func (w *Workspace) Tables(t *plan.Tune, own bool, targets []*check.Target) (maps []table.Table, stored [][]table.Table) {
	o := &Outcome{Tune: t, Result: w.eval.Tune(eval.Pure(w.Program, t), eval.Options{})}
	stored = make([][]table.Table, len(targets))
	if o.Result.Fault != nil {
		return nil, stored
	}
	if own {
		in := w.Input(o, emit.Source{})
		maps, _ = emit.MapTables(&in) // of what could be computed there are
	}
	for i, target := range targets {
		stored[i] = w.targets[target.Index].Tables(t, o.Result)
	}
	return maps, stored
}
