package compiler

import (
	"slices"

	"fettle/compiler/bundle"
	"fettle/compiler/check"
	"fettle/compiler/emit"
	"fettle/compiler/plan"
	"fettle/compiler/table"
)

// Bundle is a judged bundle with the outcomes of its slots' tunes.
type Bundle struct {
	*bundle.Outcome
	Slots []*Outcome
}

// Bundles judges the bundles in which any of the tunes is a slot, as long as
// their target is among those asked for. Of a tune that was computed already the
// outcome is taken; the others are computed.
func (w *Workspace) Bundles(tunes []*plan.Tune, have map[*plan.Tune]*Outcome, opt RunOptions) []*Bundle {
	var out []*Bundle
	for _, b := range w.Plan.Bundles {
		if !slices.ContainsFunc(tunes, b.Has) || b.Spec.Target != nil && !slices.Contains(opt.Targets, b.Spec.Target) {
			continue
		}
		one := &Bundle{}
		var tables [][]table.Table
		for _, t := range b.Tunes {
			o := have[t]
			if o == nil {
				o = w.Tune(t, opt)
			}
			one.Slots = append(one.Slots, o)
			tables = append(tables, w.written(o, b.Spec.Target))
		}
		one.Outcome = bundle.Judge(w.Program, b, tables)
		out = append(out, one)
	}
	return out
}

// written gives the tables of a tune as they are written, of a target or the
// maps' own; nil if none are.
func (w *Workspace) written(o *Outcome, target *check.Target) []table.Table {
	if o.Failed() {
		return nil
	}
	if target == nil {
		in := w.Input(o, emit.Source{})
		tables, _ := emit.MapTables(&in) // of a tune that holds there are
		return tables
	}
	for _, on := range o.Targets {
		if on.Target == target {
			return on.Written()
		}
	}
	return nil
}

// BundleInput is a bundle as emit takes it.
func (w *Workspace) BundleInput(b *Bundle, src emit.Source, formats []emit.Format) emit.BundleInput {
	in := emit.BundleInput{Outcome: b.Outcome}
	for _, o := range b.Slots {
		one := w.Input(o, src)
		one.Formats = formats
		in.Slots = append(in.Slots, one)
	}
	return in
}
