package compiler_test

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"fettle/compiler"
	"fettle/lang/diag"
)

// Each snippet is put behind one head; the other reading says whether it may
// stand there, and what the maps of the tune `bench` then hold.
func TestIndependentSnippets(t *testing.T) {
	folder := filepath.Join("..", "testdata", "independent", "snippets")
	head, err := os.ReadFile(filepath.Join(folder, "head.fettle"))
	if err != nil {
		t.Fatal(err)
	}
	list, err := os.ReadFile(filepath.Join(folder, "snippets.txt"))
	if err != nil {
		t.Fatal(err)
	}
	usual := bench(t, string(head)+"\nvariant bench { }\n")
	for i, line := range strings.Split(strings.TrimSuffix(string(list), "\n"), "\n") {
		fields := strings.Split(line, "\t")
		if len(fields) < 3 {
			t.Fatalf("line %d has %d fields", i+1, len(fields))
		}
		verdict, kind, text := fields[0], fields[1], strings.ReplaceAll(fields[2], `\n`, "\n")
		body, ok := map[string]string{"rule": "rule r {\n  %s\n}", "when": "rule r when %s {\n  fuel += 1\n}", "decl": "%s"}[kind]
		if !ok {
			t.Fatalf("line %d: %q is no kind of snippet", i+1, kind)
		}
		got := bench(t, string(head)+fmt.Sprintf(body, text)+"\nvariant bench { }\n")
		if got.verdict != verdict {
			t.Errorf("line %d: %s: %s %s, the other reading has %s", i+1, fields[2], got.verdict, got.why, verdict)
			continue
		}
		if verdict != "ok" {
			continue
		}
		changed := map[string][][]float64{}
		if len(fields) > 3 {
			if err := json.Unmarshal([]byte(fields[3]), &changed); err != nil {
				t.Fatalf("line %d: %v", i+1, err)
			}
		}
		for name, rows := range got.maps {
			want := changed[name]
			if want == nil {
				want = usual.maps[name]
			}
			if !sameRows(rows, want) {
				t.Errorf("line %d: %s: %s is %v, the other reading has %v", i+1, fields[2], name, rows, want)
			}
		}
	}
}

type benchResult struct {
	verdict, why string
	maps         map[string][][]float64
}

// bench computes the tune `bench` of a source.
func bench(t *testing.T, text string) benchResult {
	t.Helper()
	w := compiler.Open(fstest.MapFS{"tune.fettle": {Data: []byte(text)}})
	for _, d := range w.Diags.Sorted() {
		if d.Severity == diag.Error {
			return benchResult{verdict: "refused", why: fmt.Sprintf("(%s %s)", d.Code, d.Message)}
		}
	}
	o := w.Tune(w.Plan.Find("bench"), compiler.RunOptions{})
	if o.Result.Fault != nil {
		return benchResult{verdict: "fails", why: o.Result.Fault.Reason}
	}
	out := benchResult{verdict: "ok", maps: map[string][][]float64{}}
	for _, m := range w.Program.Maps {
		table := o.Result.Maps[m.Index]
		for i := 0; i < len(table.Cells); i += len(table.Cols) {
			out.maps[m.Name] = append(out.maps[m.Name], table.Cells[i:i+len(table.Cols)])
		}
	}
	return out
}

func sameRows(a, b [][]float64) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if len(a[i]) != len(b[i]) {
			return false
		}
		for j := range a[i] {
			if !near(a[i][j], b[i][j], math.Abs(b[i][j])) {
				return false
			}
		}
	}
	return true
}
