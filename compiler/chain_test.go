package compiler_test

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"fettle/compiler"
	"fettle/compiler/check"
	"fettle/compiler/emit"
	"fettle/compiler/explain"
	"fettle/compiler/grid"
	"fettle/lang/source"
)

// openExample compiles one of the example workspaces.
func openExample(t testing.TB, name string) *compiler.Workspace {
	t.Helper()
	fsys, closer, err := source.OpenFolder(filepath.Join("..", "examples", name))
	if err != nil {
		t.Fatal(err)
	}
	defer closer.Close()
	w := compiler.Open(fsys)
	for _, d := range w.Diags.Sorted() {
		if w.Diags.HasErrors() {
			t.Errorf("%s %s: %s", d.Code, d.Span, d.Message)
		}
	}
	if w.Eval() == nil {
		t.FailNow()
	}
	return w
}

var exampleNames = func() []string {
	entries, err := os.ReadDir(filepath.Join("..", "examples"))
	if err != nil {
		return nil
	}
	var out []string
	for _, e := range entries {
		if e.IsDir() {
			out = append(out, e.Name())
		}
	}
	return out
}()

// Every chain of every cell of every example tune ends in exactly the value that
// a build writes, and each of its links starts where the one before ended.
func TestEveryChainEndsInWhatIsWritten(t *testing.T) {
	everything := func(*check.Map) bool { return true }
	for _, name := range exampleNames {
		w := openExample(t, name)
		chains := 0
		w.Run(w.Plan.Tunes, compiler.RunOptions{Trace: everything}, func(o *compiler.Outcome) {
			if o.Result.Fault != nil {
				t.Errorf("%s: %+v", o.Tune.Name, o.Result.Fault)
				return
			}
			files, err := emit.Tables(emit.Input{Program: w.Program, Tune: o.Tune, Result: o.Result, Limits: o.Limits, Checks: o.Checks})
			if err != nil {
				t.Fatal(err)
			}
			for i, m := range w.Program.Maps {
				written, faults := grid.ReadCSV(files[i].Data)
				if len(faults) > 0 {
					t.Fatalf("%s %s: %v", o.Tune.Name, m.Name, faults[0])
				}
				for cell := range o.Result.Maps[i].Cells {
					end, steps := explain.Walk(o.Result.Traces[m], cell)
					for _, s := range steps {
						if s.Before != end {
							t.Fatalf("%s %s: a link of cell %d starts at %v, the one before ended at %v", o.Tune.Name, m.Name, cell, s.Before, end)
						}
						end = s.After
					}
					if end != o.Result.Maps[i].Cells[cell] {
						t.Fatalf("%s %s: the chain of cell %d ends at %v, the cell is %v", o.Tune.Name, m.Name, cell, end, o.Result.Maps[i].Cells[cell])
					}
					if got := m.Res.Round(end); got != written.Table.Cells[cell] && math.Abs(got-written.Table.Cells[cell]) > 1e-12*math.Abs(got) {
						t.Fatalf("%s %s: the chain of cell %d ends at %v, written is %v", o.Tune.Name, m.Name, cell, got, written.Table.Cells[cell])
					}
					chains++
				}
			}
		})
		if chains == 0 {
			t.Errorf("%s: no chain was walked", name)
		}
		t.Logf("%s: %d chains", name, chains)
	}
}

// A full chain, with its words, agrees with the numbers of the walk: on a sample
// of cells, since words are slow.
func TestChainsInWords(t *testing.T) {
	for _, name := range exampleNames {
		w := openExample(t, name)
		for k, tune := range w.Plan.Tunes {
			if k%17 != 0 {
				continue
			}
			o := w.Tune(tune, compiler.RunOptions{Trace: func(*check.Map) bool { return true }})
			in := explain.Input{Program: w.Program, Tune: tune, Result: o.Result, Limits: o.Limits}
			for _, m := range w.Program.Maps {
				table := o.Result.Maps[m.Index]
				for cell := k % 7; cell < len(table.Cells); cell += 7 {
					at := []float64{table.Cols[cell%len(table.Cols)]}
					if len(m.Axes) == 2 {
						at = []float64{table.Rows[cell/len(table.Cols)], at[0]}
					}
					c := explain.At(in, m, at)
					end := c.Base.Value
					for _, l := range c.Links {
						if l.Before != end || !l.Applied && (l.After != l.Before || l.Reason == "") {
							t.Fatalf("%s %s %v: link %+v after %v", tune.Name, m.Name, at, l, end)
						}
						end = l.After
					}
					if end != table.Cells[cell] || c.Value != end {
						t.Fatalf("%s %s %v: the chain ends at %v, the cell is %v, the answer %v", tune.Name, m.Name, at, end, table.Cells[cell], c.Value)
					}
				}
			}
		}
	}
}
