package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"

	"fettle/compiler/check"
	"fettle/compiler/emit"
	"fettle/compiler/grid"
	"fettle/compiler/limit"
	"fettle/compiler/plan"
	"fettle/compiler/resample"
	stored "fettle/compiler/table"
	"fettle/compiler/target"
	"fettle/lang/elementary"
)

// TargetSummary is how the tunes came out for a target.
type TargetSummary struct {
	Name        string         `json:"name"`
	Compensates []string       `json:"compensates"`
	LeftOut     []string       `json:"left_out"` // rules
	Stays       []string       `json:"stays"`    // rules that read what is compensated, and don't correct for it
	Holds       int            `json:"holds"`
	Fails       int            `json:"fails"`
	Warned      int            `json:"warned"` // of those that hold
	Tables      []TableSummary `json:"tables"`
}

// TableSummary is what a table costs over all tunes that it fits.
type TableSummary struct {
	Name       string    `json:"name"`
	Map        string    `json:"map"`
	Unit       string    `json:"unit"`
	Storage    string    `json:"storage"`
	Shape      string    `json:"shape"`
	Misfits    int       `json:"misfits"` // tunes that it doesn't fit
	Resampling ErrorOver `json:"resampling"`
	Rounding   ErrorOver `json:"rounding"`
}

// ErrorOver is the largest error over tunes, and the mean over their cells.
type ErrorOver struct {
	Largest float64 `json:"largest"`
	Mean    float64 `json:"mean"`
	Tune    string  `json:"tune,omitempty"` // of the largest
	At      string  `json:"at,omitempty"`
	n       int
}

// FailedFor is a tune that holds and fails for a target.
type FailedFor struct {
	Name    string   `json:"name"`
	Target  string   `json:"target"`
	Reasons []string `json:"reasons"`
}

// namesOf lists the names of things; of none it is an empty list, not null.
func namesOf[T any](list []T, name func(T) string) []string {
	out := []string{}
	for _, x := range list {
		out = append(out, name(x))
	}
	return out
}

// AddTargets notes how a tune that holds came out for each target that was
// asked for.
func (v *Verdicts) AddTargets(in emit.Input) {
	for i, o := range in.Targets {
		if i == len(v.Targets) {
			v.Targets = append(v.Targets, newTarget(v.prog, o.Target))
		}
		if in.Fails() {
			continue
		}
		s := &v.Targets[i]
		if o.Fails() {
			s.Fails++
			f := FailedFor{in.Tune.Name, o.Target.Name, emit.TargetReasons(in, o)}
			for k, r := range f.Reasons {
				f.Reasons[k] = strings.TrimPrefix(r, f.Name+" for "+f.Target+": ")
			}
			v.FailedFor = append(v.FailedFor, f)
		} else {
			s.Holds++
			v.warnFor(in, o, i)
			if slices.ContainsFunc(o.Limits, func(v target.Verdict) bool { return v.State == limit.Warns }) {
				s.Warned++
			}
		}
		for k, t := range o.Tables {
			one := &s.Tables[k]
			one.Shape = shapeOf(&t.Exact)
			if t.Misfit != nil {
				one.Misfits++
				continue
			}
			one.Resampling.add(v.prog, in.Tune, t, t.Resampling)
			one.Rounding.add(v.prog, in.Tune, t, t.Rounding)
		}
	}
}

func newTarget(p *check.Program, t *check.Target) TargetSummary {
	s := TargetSummary{Name: t.Name, Compensates: namesOf(t.Compensates, func(g int) string { return p.Givens[g].Name }),
		LeftOut: namesOf(t.LeavesOut, func(r *check.Rule) string { return r.Name }), Tables: []TableSummary{}}
	s.Stays = namesOf(t.Stays(p), func(r *check.Rule) string { return r.Name })
	for _, spec := range t.Tables {
		one := TableSummary{Name: spec.Name, Map: spec.Map.Name, Unit: spec.Map.Unit.Text, Storage: target.StorageText(spec)}
		s.Tables = append(s.Tables, one)
	}
	return s
}

func (e *ErrorOver) add(p *check.Program, t *plan.Tune, from *target.Table, one resample.Error) {
	e.n++
	e.Mean += (one.Mean - e.Mean) / float64(e.n)
	if e.n == 1 || one.Largest > e.Largest+float64(tie*math.Abs(e.Largest)) {
		e.Largest, e.Tune, e.At = one.Largest, t.Name, p.PlaceText(from.Spec.Map.Axes, one.At)
	}
}

func shapeOf(t *grid.Table) string {
	if t.Rows == nil {
		return fmt.Sprint(len(t.Cols))
	}
	return fmt.Sprintf("%d × %d", len(t.Rows), len(t.Cols))
}

// forTargets prints the tunes that fail for a target.
func (v *Verdicts) forTargets(w io.Writer, opt Options) {
	var list []FailedTune
	for _, f := range v.FailedFor {
		list = append(list, FailedTune{f.Name + " for " + f.Target, f.Reasons})
	}
	v.tunes(w, opt, list, "fails", 20)
}

// warnFor notes the limits that warn on the tables of a target alone.
func (v *Verdicts) warnFor(in emit.Input, o *target.Outcome, i int) {
	list := emit.TargetWarnings(in, o)
	if len(list) == 0 {
		return
	}
	f := FailedFor{Name: in.Tune.Name, Target: o.Target.Name}
	for _, w := range list {
		f.Reasons = append(f.Reasons, w.Text)
		key := [2]int{i, w.Limit.Index}
		have, ok := v.worstFor[key]
		if !ok || w.Size > have.size+float64(tie*math.Abs(have.size)) {
			have.tune, have.text, have.size = in.Tune.Name, w.Text, w.Size
		}
		have.tunes++
		v.worstFor[key] = have
	}
	v.WarnedFor = append(v.WarnedFor, f)
}

// warningsFor prints, for each limit that warns on the tables of a target alone,
// the tune in which it is passed farthest.
func (v *Verdicts) warningsFor(w io.Writer) {
	for i := range v.Targets {
		for k := range v.Limits {
			if worst, ok := v.worstFor[[2]int{i, k}]; ok {
				fmt.Fprintf(w, "limit %s warns on what is written for %s, and not before, in %s; the farthest, in %s:\n  %s\n",
					v.Limits[k].Name, v.Targets[i].Name, Count(worst.tunes, "tune"), worst.tune, worst.text)
			}
		}
	}
	if len(v.worstFor) > 0 {
		fmt.Fprintln(w)
	}
}

// failedForSome counts the tunes that hold and fail for a target.
func (v *Verdicts) failedForSome() int {
	names := map[string]bool{}
	for _, f := range v.FailedFor {
		names[f.Name] = true
	}
	return len(names)
}

// targets prints what each table of each target costs.
func (v *Verdicts) targets(w io.Writer) {
	for _, s := range v.Targets {
		warned := ""
		if s.Warned > 0 {
			warned = fmt.Sprintf(", %d of those that hold with a warning", s.Warned)
		}
		fmt.Fprintf(w, "target %s: %d hold, %d fail%s%s\n", s.Name, s.Holds, s.Fails, warned, leftTo(s))
		tw := newWriter()
		tw.AppendHeader(table.Row{"table", "map", "stored as", "cells", "resampling", "mean", "rounding", "mean", "the farthest resampled"})
		for _, t := range s.Tables {
			row := table.Row{t.Name, t.Map, t.Storage, t.Shape}
			row = append(row, t.Resampling.cells(t.Unit)...)
			row = append(row, t.Rounding.cells(t.Unit)...)
			var last []string
			if t.Misfits > 0 {
				last = append(last, "doesn't fit in "+Count(t.Misfits, "tune"))
			}
			if t.Resampling.Largest > 0 {
				last = append(last, t.Resampling.Tune+", "+t.Resampling.At)
			}
			row = append(row, strings.Join(last, "; "))
			tw.AppendRow(row)
		}
		render(tw, w)
		fmt.Fprintln(w)
	}
}

func (e *ErrorOver) cells(unit string) table.Row {
	if e.n == 0 {
		return table.Row{"", ""}
	}
	return table.Row{brief(e.Largest, unit), brief(e.Mean, unit)}
}

// brief prints an error to three digits.
func brief(x float64, unit string) string {
	if x == 0 {
		return "0"
	}
	scale := math.Pow10(2 - elementary.Decade(x))
	if math.IsInf(scale, 0) || scale == 0 {
		return withUnit(x, unit)
	}
	return withUnit(math.RoundToEven(x*scale)/scale, unit)
}

// leftTo says what a target's controller compensates.
func leftTo(s TargetSummary) string {
	if len(s.Compensates) == 0 {
		return ""
	}
	text := "; compensates " + strings.Join(s.Compensates, ", ")
	if len(s.LeftOut) > 0 {
		text += ", so it has no " + strings.Join(s.LeftOut, ", ")
	}
	if len(s.Stays) > 0 {
		text += "; it keeps " + strings.Join(s.Stays, ", ") + ", which read what is compensated and don't correct for it"
	}
	return text
}

// NewTargetTable makes the table of a target ready to print. One that doesn't
// fit is shown as it would be before it is stored.
func NewTargetTable(p *check.Program, t *plan.Tune, o *target.Outcome, one *target.Table) *Table {
	values := one.Exact
	if one.Misfit == nil {
		values.Cells = one.Cells
	}
	out := &Table{Tune: t.Name, Map: one.Map, Target: o.Target.Name, Name: one.Name, Unit: one.Unit, Doc: one.Doc, Storage: target.StorageText(one.Spec), values: &values}
	for _, a := range one.Axes() {
		out.Axes = append(out.Axes, TableAxis{a.Name, a.Unit, a.Points})
	}
	nc := len(values.Cols)
	for r := range values.NRows() {
		row := make([]string, nc)
		for c, x := range values.Cells[r*nc : (r+1)*nc] {
			switch {
			case one.Misfit != nil:
				row[c] = grid.Res{}.Format(x)
			case one.Spec.Type == stored.F32:
				row[c] = grid.Screen32(x)
			default:
				row[c] = grid.Screen(x)
			}
		}
		out.Cells = append(out.Cells, row)
	}
	out.notes = append(out.notes, fmt.Sprintf("%s as %s", one.Map, out.Storage))
	add := func(what string, e resample.Error) {
		text := fmt.Sprintf("%s adds at most %s, mean %s", what, brief(e.Largest, one.Unit), brief(e.Mean, one.Unit))
		if e.Largest > 0 {
			text += ", the most at " + p.PlaceText(one.Spec.Map.Axes, e.At)
		} else {
			text = what + " adds nothing"
		}
		out.notes = append(out.notes, text)
	}
	add("resampling", one.Resampling)
	if one.Misfit == nil {
		add("rounding", one.Rounding)
	} else {
		out.notes = append(out.notes, "it doesn't fit, so this isn't rounded")
	}
	return out
}
