// Package target makes the tables that a controller takes of a tune.
//
// How it goes. The tune is computed once more without the rules that the
// controller compensates by itself. Each table of the target is then its map
// looked up at the table's breakpoints, which are chosen first where the target
// says `auto`, and stored: rounded half to even to whole steps that must fit the
// type. Each of the two says what error it adds. Last, the limits are looked at
// again with the written tables in place of their maps: every map that is
// computed from one of those is computed anew from the table, the others are as
// the tune has them. Where a map stands in several tables that is done once with
// the first of each map, once with the second, and so on, and the worst counts.
//
// A value that doesn't fit, a map that can't be computed from what would be
// written or a limit that fails on it fails the tune for this target alone.
//
// In: eval.Program, a computed tune. Out: an Outcome. Imported by explain, emit,
// report and the compiler; imports the stages up to limit.
package target

import (
	"slices"
	"sync"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/grid"
	"fettle/compiler/limit"
	"fettle/compiler/plan"
	"fettle/compiler/resample"
	"fettle/compiler/table"
	"fettle/lang/unit"
)

// Maker makes the tables of one target. It may be used by many goroutines.
type Maker struct {
	Target *check.Target
	p      *eval.Program
	parts  func() []*look
	reads  func() *reads
	same   []bool         // by map: it is as without the target
	made   []recent[made] // by table
	judged recent[*judged]
	idle   sync.Pool // results whose memory may be used again
}

// New prepares a target of a lowered program.
func New(p *eval.Program, t *check.Target) *Maker {
	m := &Maker{Target: t, p: p, made: make([]recent[made], len(t.Tables)), same: unreached(p.Check, t)}
	m.parts, m.reads = sync.OnceValue(m.looks), sync.OnceValue(m.readsOf)
	return m
}

// Outcome is a tune for a target.
type Outcome struct {
	Target *check.Target
	Result *eval.Result // without the rules that are compensated
	Tables []*Table     // in the order of the source; none where the result has a fault
	Limits []Verdict    // in the order of the source; none where a table doesn't fit
	Fault  *eval.Fault  // what can't be computed of the written tables, if anything
	rounds [][]Verdict  // Limits is the worst of these
}

// Table is a table with what it costs. One that doesn't fit has no cells.
type Table struct {
	table.Table
	Spec       *check.TargetTable
	Exact      grid.Table     // resampled, before it is rounded
	Resampling resample.Error // at the map's own breakpoints
	Rounding   resample.Error // at the table's
	Misfit     *resample.Misfit
}

// Verdict is how a limit came out on the written tables.
type Verdict struct {
	*limit.Verdict
	Result *eval.Result // of the maps that limits read: as written, or computed from what is
}

// LimitsOn gives the verdicts on one of the tables: where its map stands in
// several, those of the round that it is in.
func (o *Outcome) LimitsOn(spec *check.TargetTable) []Verdict {
	round := 0
	for _, other := range o.Target.Tables {
		if other == spec && round < len(o.rounds) {
			return o.rounds[round]
		}
		if other.Map == spec.Map {
			round++
		}
	}
	return o.Limits
}

// Fails says that the tune isn't written for the target.
func (o *Outcome) Fails() bool {
	if o.Result.Fault != nil || o.Fault != nil {
		return true
	}
	for _, t := range o.Tables {
		if t.Misfit != nil {
			return true
		}
	}
	for _, v := range o.Limits {
		if v.State == limit.Fails {
			return true
		}
	}
	return false
}

// Written gives the tables as they are written; none of a tune that fails.
func (o *Outcome) Written() []table.Table {
	if o.Fails() {
		return nil
	}
	out := make([]table.Table, len(o.Tables))
	for i, t := range o.Tables {
		out[i] = t.Table
	}
	return out
}

// Tune makes the tables of one tune; as is its result with every rule.
func (m *Maker) Tune(t *plan.Tune, as *eval.Result, opt eval.Options) *Outcome {
	o := &Outcome{Target: m.Target, Result: m.compute(t, as, opt)}
	if o.Result.Fault != nil {
		return o
	}
	fits := true
	for i, spec := range m.Target.Tables {
		one := m.table(i, &o.Result.Maps[spec.Map.Index])
		o.Tables = append(o.Tables, one)
		fits = fits && one.Misfit == nil
	}
	if fits {
		m.limits(t, o, opt)
	}
	return o
}

// compute gives the tune without the rules that the controller compensates.
func (m *Maker) compute(t *plan.Tune, as *eval.Result, opt eval.Options) *eval.Result {
	if len(m.Target.LeavesOut) == 0 {
		return as
	}
	res, ok := m.idle.Get().(*eval.Result)
	if !ok {
		res = &eval.Result{}
	}
	if opt.Trace == nil {
		opt.As, opt.Same = as, m.same
	}
	m.p.TuneInto(res, Mix(m.p.Check, t, m.Target), opt)
	return res
}

// unreached marks the maps that the rules that are left out don't reach, of those
// that are nothing but a grid or a formula.
func unreached(p *check.Program, t *check.Target) []bool {
	adjusted, direct := make([]bool, len(p.Maps)), make([]bool, len(p.Maps))
	for i, m := range p.Maps {
		adjusted[i] = len(m.Steps)+len(m.Clamps) > 0
		for _, s := range m.Steps {
			direct[i] = direct[i] || t.LeftOut(s.Rule)
		}
	}
	for _, v := range p.Variants {
		for _, s := range v.Trims {
			adjusted[s.Map.Index] = true
		}
	}
	out := p.Dependents(direct)
	for i := range out {
		out[i] = !out[i] && !direct[i] && !adjusted[i]
	}
	return out
}

// Done takes back the memory of an outcome's result, for another tune. Its tables
// and the verdicts on them may still be used, the result no more.
func (m *Maker) Done(o *Outcome) {
	if len(m.Target.LeavesOut) > 0 && o.Result != nil {
		m.idle.Put(o.Result)
	}
	o.Result = nil
}

// Mix is a tune with the rules left out that a target's controller compensates.
func Mix(p *check.Program, t *plan.Tune, target *check.Target) eval.Mix {
	c := t.Conditions(p)
	return eval.Mix{
		Base: func(*check.Map) *plan.Conditions { return c },
		Step: func(s *check.Step) *plan.Conditions {
			if target.LeftOut(s.Rule) {
				return nil
			}
			return c
		},
		Clamp: func(*check.Limit) *plan.Conditions { return c },
		Trims: t.Trims,
	}
}

// table makes one table of a computed map, or takes it where it was made lately.
func (m *Maker) table(i int, from *grid.Table) *Table {
	have, ok := m.made[i].find(func(one made) bool { return bits(one.cells, from.Cells) })
	if !ok {
		have = made{slices.Clone(from.Cells), m.make(m.Target.Tables[i], from)}
		m.made[i].add(have)
	}
	return have.table
}

func (m *Maker) make(spec *check.TargetTable, from *grid.Table) *Table {
	first, last := spec.Axes[0], spec.Axes[len(spec.Axes)-1]
	rows, cols := resample.Choose(from, first, last)
	out := &Table{Spec: spec, Exact: resample.To(from, rows, cols)}
	out.Resampling = resample.Compare(from, &out.Exact)
	t := &out.Table
	t.Name, t.Map, t.Unit, t.Doc = spec.Name, spec.Map.Name, spec.Map.Unit.Text, spec.Doc
	if t.Doc == "" {
		t.Doc = spec.Map.Doc
	}
	named := func(i int, points []float64) table.Axis {
		a := m.p.Check.Axes[spec.Map.Axes[i]]
		return table.Axis{Name: a.Name, Unit: a.Unit.Text, Points: points}
	}
	if rows != nil {
		t.Rows = named(0, rows)
	}
	t.Cols = named(len(spec.Axes)-1, cols)
	t.Storage = &table.Storage{Type: spec.Type, Step: spec.Step, Offset: spec.Offset, Big: m.Target.Big}
	t.Storage.Raw, t.Cells, out.Misfit = resample.Store(out.Exact.Cells, *t.Storage)
	if out.Misfit == nil {
		written := grid.Table{Rows: rows, Cols: cols, Cells: t.Cells}
		out.Rounding = resample.Compare(&out.Exact, &written)
	}
	return out
}

// StorageText says how a table is stored: "u16 in steps of 0.004 ms".
func StorageText(spec *check.TargetTable) string {
	if spec.Type == table.F32 {
		return "f32"
	}
	u := spec.Map.Unit
	text := string(spec.Type) + " in steps of " + unit.With(grid.Screen(spec.Step), u.Difference().Text)
	if spec.Offset != 0 {
		text += " from " + unit.With(grid.Screen(spec.Offset), u.Text)
	}
	return text
}
