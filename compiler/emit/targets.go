package emit

import (
	"fmt"
	"io/fs"
	"path"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/grid"
	"fettle/compiler/limit"
	"fettle/compiler/resample"
	"fettle/compiler/target"
)

// A controller's tables stand in a folder of the tune's, named for the target.

// targetFiles gives the files of every target that a tune holds for, and tells
// the manifest of all targets.
func targetFiles(in Input, t *Tune) ([]File, error) {
	var out []File
	for _, o := range in.Targets {
		m := aboutTarget(&in, o)
		tables := o.Written()
		for i := range tables {
			if in.WantsCSV() {
				file := File{m.Folder + "/" + tables[i].Name + ".csv", tables[i].CSV()}
				m.Tables[i].File, m.Tables[i].SHA256 = path.Base(file.Path), sum(file.Data)
				out = append(out, file)
			}
		}
		on := *t
		on.Limits = m.Limits // as they came out on the written tables
		for _, f := range in.Formats {
			if f.Name == CSVFormat || len(tables) == 0 {
				continue
			}
			made, err := f.Files(&Content{Input: in, Target: m.Name, Tables: tables, About: &on})
			if err != nil {
				return nil, fmt.Errorf("%s for %s can't be written as %s: %w", in.Tune.Name, m.Name, f.Name, err)
			}
			for _, file := range made {
				m.Files = append(m.Files, FormatFile{Format: f.Name, File: file.Path, SHA256: sum(file.Data)})
				out = append(out, File{m.Folder + "/" + file.Path, file.Data})
			}
		}
		t.Targets = append(t.Targets, m)
	}
	return out, nil
}

// aboutTarget is what a tune.json says of a target, but for the files.
func aboutTarget(in *Input, o *target.Outcome) Target {
	d := o.Target
	m := Target{Name: d.Name, Doc: d.Doc, Place: placeOf(d.Span), Status: Written, Compensates: []string{}, LeftOut: []LeftOut{}, Bytes: "little", Folder: d.Name,
		Tables: []TargetTable{}, Limits: []Limit{}, Reasons: TargetReasons(*in, o)}
	if d.Big {
		m.Bytes = "big"
	}
	for _, g := range d.Compensates {
		m.Compensates = append(m.Compensates, in.Program.Givens[g].Name)
	}
	for _, r := range d.LeavesOut {
		m.LeftOut = append(m.LeftOut, LeftOut{r.Name, placeOf(r.Span), r.Doc, "the controller compensates what it corrects for"})
	}
	if len(o.Limits) > 0 {
		m.Limits = targetLimits(in, o)
	}
	if o.Fails() {
		m.Status, m.Folder = Failed, ""
		return m
	}
	for _, t := range o.Tables {
		m.Tables = append(m.Tables, tableOf(in.Program, t))
	}
	return m
}

func tableOf(p *check.Program, t *target.Table) TargetTable {
	one := TargetTable{Name: t.Name, Map: t.Map, Unit: t.Unit, Doc: t.Doc, Storage: Storage{string(t.Storage.Type), Number(t.Storage.Step), Number(t.Storage.Offset)},
		Resampling: errorOf(p, t, t.Resampling), Rounding: errorOf(p, t, t.Rounding)}
	for _, a := range t.Axes() {
		one.Axes = append(one.Axes, Axis{a.Name, a.Unit, numbers(a.Points)})
	}
	return one
}

func errorOf(p *check.Program, t *target.Table, e resample.Error) TableError {
	out := TableError{Largest: six(e.Largest), Mean: six(e.Mean), At: []Coordinate{}}
	for i, x := range e.At {
		a := p.Axes[t.Spec.Map.Axes[i]]
		out.At = append(out.At, Coordinate{a.Name, Number(x), a.Unit.Text})
	}
	return out
}

// targetLimits says how each limit came out on the written tables.
func targetLimits(in *Input, o *target.Outcome) []Limit {
	on := *in
	on.Proofs = nil // they are of the maps
	on.Result, on.Limits = o.Result, make([]*limit.Verdict, len(o.Limits))
	for i, v := range o.Limits {
		on.Limits[i] = v.Verdict
	}
	return limits(&on)
}

// targetStatus says for an index how a tune came out for each target.
func targetStatus(in *Input) []TargetStatus {
	var out []TargetStatus
	for _, o := range in.Targets {
		s := TargetStatus{Name: o.Target.Name, Status: Written}
		if o.Fails() {
			s.Status, s.Reasons = Failed, TargetReasons(*in, o)
		}
		out = append(out, s)
	}
	return out
}

// TargetReasons says why a tune fails for a target, a line each: a value that
// can't be computed; tables that don't fit; limits, worst first.
func TargetReasons(in Input, o *target.Outcome) []string {
	name := in.Tune.Name + " for " + o.Target.Name + ": "
	on := in
	on.Result, on.Checks, on.Proofs = o.Result, nil, nil
	if o.Result.Fault != nil {
		return []string{name + faultText(&on)}
	}
	var out []string
	for _, t := range o.Tables {
		if t.Misfit != nil {
			out = append(out, name+misfitText(in.Program, t))
		}
	}
	if o.Fault != nil {
		on.Result = &eval.Result{Fault: o.Fault}
		out = append(out, name+"from the tables as written, "+faultText(&on))
	}
	on.Limits = nil
	of := map[*limit.Verdict]target.Verdict{}
	for _, v := range o.Limits {
		on.Limits = append(on.Limits, v.Verdict)
		of[v.Verdict] = v
	}
	for _, v := range failing(on.Limits) {
		on.Result = of[v].Result
		out = append(out, name+"as written, "+limitText(&on, v))
	}
	return out
}

// TargetWarnings lists what is to be known of the tables of a tune that holds for
// a target: limits that warn on what is written and not on the tune itself.
func TargetWarnings(in Input, o *target.Outcome) []Warned {
	on := in
	on.Proofs = nil
	var out []Warned
	for i, v := range o.Limits {
		if in.Limits[i].State != limit.Warns && v.State == limit.Warns {
			on.Result, on.Limits = v.Result, []*limit.Verdict{v.Verdict}
			out = append(out, Warnings(on)...)
		}
	}
	return out
}

// misfitText says what doesn't fit a table.
func misfitText(p *check.Program, t *target.Table) string {
	b, u := t.Misfit, t.Spec.Map.Unit
	at := []float64{t.Exact.Cols[b.At%len(t.Exact.Cols)]}
	if t.Exact.Rows != nil {
		at = []float64{t.Exact.Rows[b.At/len(t.Exact.Cols)], at[0]}
	}
	cells := fmt.Sprintf("%d of %d cells don't", b.Cells, len(t.Exact.Cells))
	if b.Cells == 1 {
		cells = fmt.Sprintf("1 of %d cells doesn't", len(t.Exact.Cells))
	}
	return fmt.Sprintf("%s is %s at %s, and table %s as %s holds %s to %s: %s fit (%s)", t.Map, quantity(b.Value, u), p.PlaceText(t.Spec.Map.Axes, at),
		t.Name, target.StorageText(t.Spec), grid.Exact(b.Lo), quantity(b.Hi, u), cells, t.Spec.Span)
}

// readTargets reads the tables of every target back.
func (b *Built) readTargets(fsys fs.FS, dir string) error {
	for _, t := range b.Targets {
		var stored []grid.Table
		for i := range t.Tables {
			one := &t.Tables[i]
			if one.File == "" {
				continue
			}
			file := t.Folder + "/" + one.File
			data, err := readWithin(fsys, path.Join(dir, tuneFile), file)
			if err != nil {
				return err
			}
			g, err := readTableOf(one.Axes, path.Join(dir, file), data)
			if err != nil {
				return err
			}
			if sum(data) != one.SHA256 {
				b.Changed = append(b.Changed, file)
			}
			stored = append(stored, *g)
		}
		b.Stored = append(b.Stored, stored)
	}
	return nil
}
