package compiler_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"golang.org/x/tools/txtar"

	"fettle/compiler"
	"fettle/compiler/plan"
	"fettle/lang/diag"
	"fettle/lang/source"
)

// FuzzCompile gives the compiler any text: it answers with diagnostics or with
// tunes, and never with a panic, nor after a long while.
func FuzzCompile(f *testing.F) {
	for _, text := range fuzzSeeds(f) {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 1<<16 {
			return
		}
		start := time.Now()
		tunes := compileAny(t, text)
		// A million combinations are allowed, and listing them takes its seconds.
		if took := time.Since(start); took > 20*time.Second && tunes < plan.MaxTunes/10 {
			t.Errorf("took %v", took)
		}
	})
}

// compileAny compiles a text and computes some of its tunes; it gives their number.
func compileAny(t *testing.T, text string) int {
	w := compiler.Open(fstest.MapFS{
		source.MainName:  {Data: []byte(text)},
		"pipes.fettle":   {Data: []byte("catalog pipes {\n  name | tuned [rpm]\n  stock | 9400\n  long | 8600\n  short | 10200\n}\n")},
		"base.csv":       {Data: []byte("throttle \\ rpm,3000,5000\n0,1,\n100,,4\n")},
		"any.csv":        {Data: []byte(text)},
		"again.fettle":   {Data: []byte("use \"tune.fettle\"\n")},
		"sub/pipes.text": {Data: []byte(text)},
	})
	for _, d := range w.Diags.Sorted() {
		if s := d.Span; s.File != nil && (s.From < 0 || s.From > s.To || s.To > len(s.File.Text)) {
			t.Errorf("%s %q stands at %d..%d of %s, which has %d bytes", d.Code, d.Message, s.From, s.To, s.File.Name, len(s.File.Text))
		}
		if d.Message == "" {
			t.Errorf("%s says nothing", d.Code)
		}
	}
	var shown strings.Builder
	diag.Text(&shown, w.Diags.Sorted(), diag.TextOptions{})
	all := len(w.Plan.Tunes) + len(w.Plan.Excluded)
	if w.Diags.HasErrors() {
		return all
	}
	if shown.Len() == 0 && w.Diags.Len() > 0 {
		t.Errorf("%d diagnostics, and nothing is shown", w.Diags.Len())
	}
	cells := 0
	for _, m := range w.Program.Maps {
		cells += len(m.Base.Rows) * len(m.Base.Cols)
	}
	if cells > 1<<16 {
		return all
	}
	survey := w.NewSurvey()
	for _, tune := range some(w.Plan.Tunes, 20) {
		columns := w.Tune(tune, compiler.RunOptions{Survey: true})
		survey.Add(columns)
		compareOutcomes(t, columns, w.Tune(tune, compiler.RunOptions{Reference: true}))
	}
	survey.Report(w.Diags)
	return all
}

func fuzzSeeds(f *testing.F) (out []string) {
	for _, pattern := range []string{"../examples/*/*.fettle", "../examples/*/*.csv", "../testdata/independent/cases/*/*.fettle", "../testdata/independent/cases/*/*.csv"} {
		found, err := filepath.Glob(pattern)
		if err != nil {
			f.Fatal(err)
		}
		for _, name := range found {
			text, err := os.ReadFile(name)
			if err != nil {
				f.Fatal(err)
			}
			out = append(out, string(text))
		}
	}
	found, err := filepath.Glob("../testdata/errors/*.txtar")
	if err != nil {
		f.Fatal(err)
	}
	for _, name := range found {
		ar, err := txtar.ParseFile(name)
		if err != nil {
			f.Fatal(err)
		}
		for _, file := range ar.Files {
			out = append(out, string(file.Data))
		}
	}
	folder := filepath.Join("..", "testdata", "independent", "snippets")
	head, err := os.ReadFile(filepath.Join(folder, "head.fettle"))
	if err != nil {
		f.Fatal(err)
	}
	list, err := os.ReadFile(filepath.Join(folder, "snippets.txt"))
	if err != nil {
		f.Fatal(err)
	}
	for i, line := range strings.Split(strings.TrimSpace(string(list)), "\n") {
		if fields := strings.Split(line, "\t"); i%12 == 0 {
			out = append(out, string(head)+strings.ReplaceAll(fields[2], `\n`, "\n")+"\nvariant bench { }\n")
		}
	}
	return out
}
