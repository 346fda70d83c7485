package target

import (
	"fettle/compiler/eval"
	"fettle/compiler/plan"
	"fettle/compiler/table"
)

// Tables makes the tables of one tune as they would be written, without looking
// at its limits; nil if one can't be computed or doesn't fit.
func (m *Maker) Tables(t *plan.Tune, as *eval.Result) []table.Table {
	o := &Outcome{Result: m.compute(t, as, eval.Options{})}
	defer m.Done(o)
	if o.Result.Fault != nil {
		return nil
	}
	out := []table.Table{}
	for i, spec := range m.Target.Tables {
		one := m.table(i, &o.Result.Maps[spec.Map.Index])
		if one.Misfit != nil {
			return nil
		}
		out = append(out, one.Table)
	}
	return out
}
