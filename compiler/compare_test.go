package compiler_test

import (
	"fmt"
	"io/fs"
	"math"
	"math/rand/v2"
	"os"
	"path"
	"regexp"
	"sort"
	"strconv"
	"strings"
	"testing"

	"fettle/compiler"
	"fettle/compiler/diff"
	"fettle/compiler/emit"
	"fettle/compiler/review"
	"fettle/lang/source"
)

// texts reads the sources and CSV files of an example.
func texts(t testing.TB, name string) map[string]string {
	t.Helper()
	dir := os.DirFS("../examples/" + name)
	out := map[string]string{}
	err := fs.WalkDir(dir, ".", func(p string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() && (path.Ext(p) == ".fettle" || path.Ext(p) == ".csv") {
			var b []byte
			b, err = fs.ReadFile(dir, p)
			out[p] = string(b)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func open(files map[string]string) *compiler.Workspace {
	return compiler.Open(source.Memory(files))
}

var number = regexp.MustCompile(`\d+(\.\d+)?`)

// edit changes a workspace at random, as people do: numbers, rules taken out,
// put in, moved, whole lines doubled or dropped. Many edits don't compile, and
// are of no use here.
func edit(r *rand.Rand, files map[string]string) map[string]string {
	out := map[string]string{}
	var names []string
	for n, text := range files {
		out[n] = text
		names = append(names, n)
	}
	sort.Strings(names)
	for range 1 + r.IntN(3) {
		name := names[r.IntN(len(names))]
		text := out[name]
		switch r.IntN(6) {
		default: // a number
			at := number.FindAllStringIndex(text, -1)
			if len(at) == 0 {
				continue
			}
			a := at[r.IntN(len(at))]
			x, _ := strconv.ParseFloat(text[a[0]:a[1]], 64)
			scaled := strconv.FormatFloat(x*(0.9+0.2*r.Float64()), 'f', 2, 64)
			out[name] = text[:a[0]] + scaled + text[a[1]:]
		case 4: // a declaration goes
			blocks := strings.Split(text, "\n\n")
			k := r.IntN(len(blocks))
			out[name] = strings.Join(append(append([]string{}, blocks[:k]...), blocks[k+1:]...), "\n\n")
		case 5: // two declarations change places
			blocks := strings.Split(text, "\n\n")
			i, j := r.IntN(len(blocks)), r.IntN(len(blocks))
			blocks[i], blocks[j] = blocks[j], blocks[i]
			out[name] = strings.Join(blocks, "\n\n")
		}
	}
	return out
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

// TestDiffOfRandomEdits holds what a diff promises, on random edits of the
// examples: the parts of every cell add up to its change, nothing is left for
// the rest of the source, the diff of B and A is that of A and B turned round,
// and where no cell differs the same bytes are built.
func TestDiffOfRandomEdits(t *testing.T) {
	n := 24
	if testing.Short() {
		n = 8
	}
	compared, cells := 0, 0
	kinds := map[string]int{}
	for seed := range n {
		r := rand.New(rand.NewPCG(uint64(seed), 7))
		example := []string{"tussock", "lantern", "sizing", "first"}[seed%4]
		files := texts(t, example)
		edited := edit(r, files)
		a, b := open(files), open(edited)
		if b.Diags.HasErrors() {
			continue
		}
		compared++
		one, err := compiler.Review(a.Side(review.Origin{}, ""), b.Side(review.Origin{}, ""), review.Options{})
		if err != nil {
			t.Fatal(err)
		}
		two, err := compiler.Review(b.Side(review.Origin{}, ""), a.Side(review.Origin{}, ""), review.Options{})
		if err != nil {
			t.Fatal(err)
		}
		where := fmt.Sprintf("%s, edit %d", example, seed)
		cells += addsUp(t, where, one, kinds)
		addsUp(t, where+" turned round", two, kinds)
		turned(t, where, one, two)
		same := fmt.Sprint(everything(a)) == fmt.Sprint(everything(b))
		none := one.Counts.Differ == 0 && one.Counts.Pairs == one.Counts.Same && len(one.OldOnly)+len(one.NewOnly)+len(one.Renamed) == 0
		if same != none {
			t.Errorf("%s: equal bytes are built: %v, no difference was found: %v", where, same, none)
		}
	}
	if compared < n/2 || cells < 1000 {
		t.Errorf("only %d edits of %d compiled, with %d cells that differ", compared, n, cells)
	}
	t.Log(compared, "edits,", cells, "cells, parts by kind:", kinds)
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
