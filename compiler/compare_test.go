package compiler_test

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"fettle/compiler"
	"fettle/compiler/diff"
	"fettle/compiler/emit"
	"fettle/compiler/eval"
	"fettle/compiler/hybrid"
	"fettle/compiler/review"
	"fettle/examples"
	"fettle/lang/source"
)

// texts reads the sources and CSV files of an example.
func texts(t testing.TB, name string) map[string]string {
	t.Helper()
	out, err := examples.Sources("../examples/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func open(files map[string]string) *compiler.Workspace {
	return compiler.Open(source.Memory(files))
}

// everything is every tune of a workspace, as build writes it.
func everything(w *compiler.Workspace) map[string]string {
	out := map[string]string{}
	w.Run(w.Plan.Tunes, compiler.RunOptions{}, func(o *compiler.Outcome) {
		if o.Result.Fault != nil {
			return
		}
		for i, m := range w.Program.Maps {
			out[o.Tune.Name+"/"+m.Name] = string(emit.CSV(w.Program, m, &o.Result.Maps[i]))
		}
	})
	return out
}

var edits = flag.Int("edits", 40, "how many random edits TestDiffOfRandomEdits makes; with 400 or more each kind of element must occur")

// kindsOfElement are those that a cell can be moved by.
var kindsOfElement = []string{diff.KindAxis, diff.KindBase, diff.KindFormula, diff.KindRow, diff.KindCatalog, diff.KindValue, diff.KindFunction, diff.KindCurve,
	diff.KindRegion, diff.KindGiven, diff.KindRule, diff.KindTrim, diff.KindClamp, diff.KindOrder, diff.KindTogether}

// TestDiffOfRandomEdits holds what a diff promises, on random edits of the
// examples: the parts of every cell add up to its change, nothing is left for
// the rest of the source, the first hybrid gives the old tables to the bit and
// the last one the new ones, the diff of B and A is that of A and B turned round,
// and where no cell differs the same bytes are built, unless a table is written
// with other breakpoints or another resolution.
func TestDiffOfRandomEdits(t *testing.T) {
	n := *edits
	if testing.Short() {
		n = 10
	}
	compared, cells := 0, 0
	kinds, made := map[string]int{}, map[string]int{}
	for seed := range n {
		r := rand.New(rand.NewPCG(uint64(seed), 7))
		example := []string{"tussock", "", "lantern", "", "sizing", "", "first", "", "", ""}[seed%10]
		files := map[string]string{"tune.fettle": oddments, "blends.csv": oddBlends}
		if example != "" {
			files = texts(t, example)
		}
		edited, names := edit(r, files)
		a, b := open(files), open(edited)
		if a.Diags.HasErrors() {
			t.Fatal(example, "doesn't compile")
		}
		if b.Diags.HasErrors() {
			continue
		}
		compared++
		side := func(w *compiler.Workspace) *review.Side {
			s := w.Side(review.Origin{}, "")
			s.Prove = 0 // it takes longer than all else
			return s
		}
		one, err := compiler.Review(side(a), side(b), review.Options{})
		if err != nil {
			t.Fatal(err)
		}
		two, err := compiler.Review(side(b), side(a), review.Options{})
		if err != nil {
			t.Fatal(err)
		}
		where := fmt.Sprintf("%s, edit %d (%s)", example, seed, strings.Join(names, ", "))
		for _, name := range names {
			made[name]++
		}
		cells += addsUp(t, where, one, kinds)
		addsUp(t, where+" turned round", two, kinds)
		inert(t, where, a, b)
		if !otherUnits(a, b) { // cells are compared in those of the old side
			turned(t, where, one, two)
		}
		same := fmt.Sprint(everything(a)) == fmt.Sprint(everything(b))
		none := one.Counts.Differ == 0 && one.Counts.Pairs == one.Counts.Same && len(one.OldOnly)+len(one.NewOnly)+len(one.Renamed) == 0
		if same != none {
			t.Errorf("%s: equal bytes are built: %v, no difference was found: %v", where, same, none)
		}
	}
	if compared < n/3 || cells < 1000 {
		t.Errorf("only %d edits of %d compiled, with %d cells that differ", compared, n, cells)
	}
	for _, kind := range kindsOfElement {
		if n >= 400 && kinds[kind] == 0 {
			t.Errorf("no cell was moved by an element of kind %s", kind)
		}
	}
	t.Log(compared, "edits of", n, "with", cells, "cells; parts by kind:", kinds, "edits:", made)
}

// otherUnits says whether a map or an axis is in another unit.
func otherUnits(a, b *compiler.Workspace) bool {
	units := func(w *compiler.Workspace) map[string]string {
		out := map[string]string{}
		for _, m := range w.Program.Maps {
			out[m.Name] = m.Unit.Text
		}
		for _, x := range w.Program.Axes {
			out[x.Name] = x.Unit.Text
		}
		return out
	}
	x, y := units(a), units(b)
	for name, u := range x {
		if other, ok := y[name]; ok && other != u {
			return true
		}
	}
	return false
}

// inert holds that what hybrids are gathered with on the way from a to b alters
// nothing: the first gives the old tunes, the last one the new ones.
func inert(t *testing.T, where string, a, b *compiler.Workspace) {
	t.Helper()
	steps := hybrid.Between(a.Program, b.Program)
	for _, end := range []struct {
		name string
		at   int
		side hybrid.Side
		w    *compiler.Workspace
	}{{"first", 0, hybrid.OldSide, a}, {"last", len(steps.Elements), hybrid.NewSide, b}} {
		h := steps.At(end.at)
		if h.Err != nil {
			t.Fatalf("%s: the %s hybrid doesn't check: %v", where, end.name, h.Err)
		}
		tunes, own := end.w.Plan.Tunes, eval.Lower(end.w.Program)
		for i := 0; i < len(tunes); i += 1 + len(tunes)/20 {
			want := own.Tune(eval.Pure(end.w.Program, tunes[i]), eval.Options{})
			carried, err := steps.Tune(h, end.side, tunes[i])
			if err != nil {
				t.Fatalf("%s: %s in the %s hybrid: %v", where, tunes[i].Name, end.name, err)
			}
			got := h.Eval().Tune(eval.Pure(h.Check, carried), eval.Options{})
			if (want.Fault == nil) != (got.Fault == nil) {
				t.Fatalf("%s: %s in the %s hybrid: %+v, want %+v", where, tunes[i].Name, end.name, got.Fault, want.Fault)
			}
			for k, m := range end.w.Program.Maps {
				for j, x := range h.Check.Maps {
					if x.Name == m.Name && want.Fault == nil && !slices.Equal(want.Maps[k].Cells, got.Maps[j].Cells) {
						t.Fatalf("%s: %s, map %s: the %s hybrid gives other cells", where, tunes[i].Name, m.Name, end.name)
					}
				}
			}
		}
	}
}

func addsUp(t *testing.T, where string, r *review.Review, kinds map[string]int) int {
	t.Helper()
	n := 0
	for _, e := range r.Entries {
		for _, m := range e.Pair.Maps {
			n += len(m.Cells)
			for i, c := range m.Cells {
				sum, printed, size := 0.0, 0.0, math.Max(math.Abs(c.Old), math.Abs(c.New))
				for _, p := range m.Parts {
					sum += p.Exact[i]
					printed += p.Printed[i]
					size = math.Max(size, math.Abs(p.Exact[i]))
					kinds[p.Element.Kind]++
				}
				if math.Abs(sum-c.Exact) > 1e-9*size || math.Abs(printed-c.Change) > 1e-9*size {
					t.Fatalf("%s: %s %s cell %d: parts come to %v (%v printed), the change is %v (%v)", where, e.Name, m.Map, i, sum, printed, c.Exact, c.Change)
				}
			}
			for _, p := range m.Parts {
				if p.Element.Kind == diff.KindRest {
					t.Fatalf("%s: %s %s: a part is left for the rest of the source", where, e.Name, m.Map)
				}
			}
		}
	}
	return n
}

func turned(t *testing.T, where string, one, two *review.Review) {
	t.Helper()
	if one.Counts.Pairs != two.Counts.Pairs || one.Counts.Differ != two.Counts.Differ || one.Counts.OldOnly != two.Counts.NewOnly || one.Counts.NewOnly != two.Counts.OldOnly || one.Counts.Cells != two.Counts.Cells {
		t.Fatalf("%s: %+v turned round is %+v", where, one.Counts, two.Counts)
	}
	type key struct {
		tune, name string
		row, col   int
	}
	cells := map[key]diff.CellDiff{}
	for _, e := range one.Entries {
		for _, m := range e.Pair.Maps {
			for _, c := range m.Cells {
				cells[key{e.Name, m.Map, c.Row, c.Col}] = c
			}
		}
	}
	for _, e := range two.Entries {
		for _, m := range e.Pair.Maps {
			for _, c := range m.Cells {
				o, ok := cells[key{e.Name, m.Map, c.Row, c.Col}]
				if !ok || o.Old != c.New || o.New != c.Old || o.Change != -c.Change || o.Exact != -c.Exact {
					t.Fatalf("%s: %s %s: %+v turned round is %+v", where, e.Name, m.Map, o, c)
				}
			}
		}
	}
}
