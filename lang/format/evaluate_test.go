package format_test

import (
	"os"
	"path/filepath"
	"slices"
	"testing"
	"testing/fstest"

	"fettle/compiler"
	"fettle/lang/format"
	"fettle/lang/source"
)

// TestLayoutComputesTheSame: the language brief's source in full
// (testdata/source, with its own pipes) gives the same cells, bit for bit, as
// its layout.
func TestLayoutComputesTheSame(t *testing.T) {
	asWritten, laidOut := fstest.MapFS{}, fstest.MapFS{}
	for _, name := range []string{"tune.fettle", "pipes.fettle"} {
		b, err := os.ReadFile(filepath.Join("testdata", "source", name))
		if err != nil {
			t.Fatal(err)
		}
		text, errs := format.Source(source.New(name, string(b)))
		if errs.HasErrors() || text == string(b) {
			t.Fatalf("%s: want a file without faults that isn't in the layout", name)
		}
		asWritten[name] = &fstest.MapFile{Data: b}
		laidOut[name] = &fstest.MapFile{Data: []byte(text)}
	}
	a, b := outcomes(t, asWritten), outcomes(t, laidOut)
	if len(a) != len(b) || len(a) < 10 {
		t.Fatalf("%d and %d tunes", len(a), len(b))
	}
	for i := range a {
		if a[i].Tune.Name != b[i].Tune.Name || a[i].Failed() != b[i].Failed() || len(a[i].Result.Maps) != 4 || len(b[i].Result.Maps) != 4 {
			t.Fatalf("%s and %s: other outcomes", a[i].Tune.Name, b[i].Tune.Name)
		}
		for j, m := range a[i].Result.Maps {
			n := b[i].Result.Maps[j]
			if !slices.Equal(m.Rows, n.Rows) || !slices.Equal(m.Cols, n.Cols) || !slices.Equal(m.Cells, n.Cells) {
				t.Errorf("%s: map %d: %v and %v", a[i].Tune.Name, j, m, n)
			}
		}
	}
}

func outcomes(t *testing.T, fsys fstest.MapFS) (out []*compiler.Outcome) {
	w := compiler.Open(fsys)
	for _, d := range w.Diags.Sorted() {
		if d.Severity == 0 {
			t.Fatalf("%s: %s", d.Span, d.Message)
		}
	}
	w.Run(w.Plan.Tunes, compiler.RunOptions{Workers: 1}, func(o *compiler.Outcome) { out = append(out, o) })
	return out
}
