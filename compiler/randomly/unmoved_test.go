package randomly_test

import (
	"fettle/compiler"
	"fettle/compiler/eval"
	"fettle/compiler/plan"
)

// change says how a source was changed, and what may come of it.
type change struct {
	naming func(string) string // of maps; tunes are then matched by their order
	// Whether a cell may be another one than it was; nil where its bits stay.
	near func(tune *plan.Tune, m, cell int, was, is float64) bool
	// Whether a tune may have a fault now, or none any more; nil where none may.
	unsure func(tune *plan.Tune) bool
	// The steps are other ones, and where two values can't be computed the other may
	// come first.
	steps bool
}

// unmoved holds a changed source to the one that it was made of: every tune is still
// there, with the same cells, or with a fault in the same map.
func unmoved(t tester, tr *trial, was *compiler.Workspace, source files, how change) {
	t.Helper()
	is := source.open()
	text := func() string {
		out := tr.text
		for _, name := range []string{"tune.fettle", "part.fettle"} {
			if source[name] != "" {
				out += "\n# which became " + name + "\n" + source[name]
			}
		}
		return out
	}
	for _, d := range is.Diags.Sorted() {
		if is.Diags.HasErrors() {
			t.Fatalf("%s\n%s: %s at %q", text(), d.Code, d.Message, d.Span.Text())
		}
	}
	if len(was.Plan.Tunes) != len(is.Plan.Tunes) || len(was.Program.Maps) != len(is.Program.Maps) {
		t.Fatalf("%s\nof %d tunes with %d maps it made %d with %d", text(), len(was.Plan.Tunes), len(was.Program.Maps), len(is.Plan.Tunes), len(is.Program.Maps))
	}
	maps := map[string]int{}
	for i, m := range is.Program.Maps {
		maps[m.Name] = i
	}
	for i, tune := range was.Plan.Tunes {
		other := is.Plan.Tunes[i]
		if how.naming == nil {
			if other = is.Plan.Find(tune.Name); other == nil {
				t.Fatalf("%s\nthere is no tune %s any more", text(), tune.Name)
			}
		}
		a := was.Eval().Tune(eval.Pure(was.Program, tune), eval.Options{})
		b := is.Eval().Tune(eval.Pure(is.Program, other), eval.Options{})
		if (a.Fault == nil) != (b.Fault == nil) {
			if how.unsure != nil && how.unsure(tune) {
				continue
			}
			t.Fatalf("%s\n%s: its fault was %s, and is %s", text(), tune.Name, told(a.Fault), told(b.Fault))
		}
		tr.tunes++
		if a.Fault != nil {
			tr.faults++
			// Of maps that don't read each other the one declared first is computed first.
			if !how.steps && (a.Fault.Cell != b.Fault.Cell || len(a.Fault.Reason) != len(b.Fault.Reason) && how.naming == nil) {
				t.Fatalf("%s\n%s: its fault was %s, and is %s", text(), tune.Name, told(a.Fault), told(b.Fault))
			}
			continue
		}
		for m, table := range a.Maps {
			name := was.Program.Maps[m].Name
			if how.naming != nil {
				name = how.naming(name)
			}
			now := b.Maps[maps[name]].Cells
			tr.cells += len(now)
			for c, x := range table.Cells {
				if y := now[c]; !sameBits(x, y) && (how.near == nil || !how.near(tune, m, c, x, y)) {
					t.Fatalf("%s\n%s: %s, cell %d was %v, and is %v", text(), tune.Name, name, c, x, y)
				}
			}
		}
	}
}
