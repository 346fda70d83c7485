package emit

import (
	"path/filepath"
	"testing"
)

func BenchmarkTables(b *testing.B) {
	in := example(b, "lantern").input("bench")
	in.fix() // once for all tunes
	for b.Loop() {
		if _, err := Tables(in); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkManifest(b *testing.B) {
	in := example(b, "lantern").input("bench")
	in.fix()
	tables, err := Tables(in)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := Manifest(in, tables); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkBuild is a whole build of computed tunes, disk and all.
func BenchmarkBuild(b *testing.B) {
	w := example(b, "lantern")
	inputs := w.inputs(2, "*")
	dir := filepath.Join(b.TempDir(), "out")
	b.ReportAllocs()
	for b.Loop() {
		f, err := NewFolder(dir, "", false)
		if err != nil {
			b.Fatal(err)
		}
		for _, in := range inputs {
			if err := f.Add(in); err != nil {
				b.Fatal(err)
			}
		}
		if _, err := f.Close(nil); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N*len(inputs)), "µs/tune")
}
