package session_test

import (
	"strings"
	"testing"

	"fettle/compiler"
	"fettle/compiler/session"
	"fettle/lang/source"
)

// back gives two versions of a workspace that differ in one cell.
func back(files source.Memory, name, from, to string) [2]source.Memory {
	other := source.Memory{}
	for k, v := range files {
		other[k] = v
	}
	other[name] = strings.Replace(files[name], from, to, 1)
	return [2]source.Memory{files, other}
}

// BenchmarkOneCell checks a workspace again after a cell changed, back and forth.
// Whole is the same without a session.
func BenchmarkOneCell(b *testing.B) {
	files := workspace(b, "../../examples/tussock")
	for _, edit := range []struct {
		name     string
		versions [2]source.Memory
	}{
		{"fuel", back(files, "base_fuel.csv", "8.10,8.45,8.50", "8.10,8.40,8.50")},
		{"spark", back(files, "base.fettle", "70             |   17.5   20.0   22.0   23.5   24.0   24.5", "70             |   17.5   20.0   22.0   23.5   24.0   24.0")},
	} {
		if edit.versions[0]["base.fettle"] == edit.versions[1]["base.fettle"] && edit.versions[0]["base_fuel.csv"] == edit.versions[1]["base_fuel.csv"] {
			b.Fatal("nothing is edited")
		}
		b.Run(edit.name, func(b *testing.B) {
			s := &session.Session{}
			for i := range 3 {
				s.Check(edit.versions[i%2])
			}
			var c *session.Checked
			b.ReportAllocs()
			for i := 1; b.Loop(); i++ {
				c = s.Check(edit.versions[i%2])
			}
			b.ReportMetric(float64(c.Maps), "maps")
			b.ReportMetric(float64(c.All), "of")
		})
		b.Run("whole-"+edit.name, func(b *testing.B) {
			for i := 0; b.Loop(); i++ {
				w := compiler.Open(edit.versions[i%2])
				w.Run(w.Plan.Tunes, compiler.RunOptions{Survey: true, Targets: w.Program.Targets, Keep: func(*compiler.Outcome) bool { return false }}, func(*compiler.Outcome) {})
			}
		})
	}
}
