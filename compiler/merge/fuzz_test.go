package merge_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode"

	"golang.org/x/tools/txtar"

	"fettle/compiler/grid"
	"fettle/compiler/merge"
	"fettle/lang/diag"
	"fettle/lang/format"
	"fettle/lang/source"
)

// reads says whether a source has no faults that keep it from being laid out.
func reads(text string) bool {
	_, errs := format.Source(source.New("tune.fettle", text))
	return !errs.HasErrors()
}

// words counts the words and numbers of a text, the numbers by their value.
func words(text string) map[string]int {
	out := map[string]int{}
	for _, w := range strings.FieldsFunc(text, func(r rune) bool {
		return unicode.IsSpace(r) || strings.ContainsRune("|,(){}[]=\"#", r)
	}) {
		if _, ok := grid.ParseNumber(w); ok {
			w = value(w)
		}
		out[w]++
	}
	return out
}

// lost gives a word that a side wrote anew, or that stands once in all three
// texts, and that is neither in the result nor in what is said of it.
func lost(b, o, t string, r *merge.Result) string {
	have := words(r.Text + " " + strings.Join(r.Notes, " "))
	wb, wo, wt := words(b), words(o), words(t)
	for _, side := range []map[string]int{wo, wt} {
		for w := range side {
			if have[w] == 0 && (wb[w] == 0 || wb[w] == 1 && wo[w] == 1 && wt[w] == 1) {
				return w
			}
		}
	}
	return ""
}

// TestWordsAreCompared: the fuzz target's measure of lost text measures.
func TestWordsAreCompared(t *testing.T) {
	w := words("map fuel { a | 4.10 }")
	if w["fuel"] != 1 || w[value("4.1")] != 1 || w[value("4.2")] != 0 {
		t.Errorf("words are %v", w)
	}
}

// FuzzTexts: the merge never panics. If all three can be read and nothing is in
// conflict, the result can be read. What a side wrote anew is in the result, or
// in what is said of it.
func FuzzTexts(f *testing.F) {
	paths, err := filepath.Glob("testdata/*.txtar")
	if err != nil {
		f.Fatal(err)
	}
	for _, path := range paths {
		ar, err := txtar.ParseFile(path)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(ar.Files[0].Data), string(ar.Files[1].Data), string(ar.Files[2].Data), filepath.Ext(ar.Files[0].Name) == ".csv")
	}
	for _, path := range []string{"../../examples/first/tune.fettle", "../../examples/tussock/tune.fettle"} {
		b, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		s := string(b)
		f.Add(s, strings.Replace(s, "100", "120", 2), strings.Replace(s, "rule", "# why\nrule", 1), false)
		f.Add(s, strings.Replace(s, "\n\n", "\n", 2), s+"\nlet new = 1\n", false)
	}
	f.Fuzz(func(t *testing.T, b, o, th string, csv bool) {
		path := "tune.fettle"
		if csv {
			path = "table.csv"
		}
		r := merge.Texts(b, o, th, merge.Options{Path: path})
		if (len(r.Conflicts) > 0) != strings.Contains(r.Text, "<<<<<<< ours") && !strings.Contains(b+o+th, "<<<<<<<") {
			t.Fatalf("conflicts %q in\n%s", r.Conflicts, r.Text)
		}
		for _, c := range append(append([]string{}, r.Conflicts...), r.Notes...) {
			if strings.Contains(c, "\n") {
				t.Errorf("%q isn't one line", c)
			}
		}
		if r.ByLine == "" && !csv && len(r.Conflicts) == 0 && reads(b) && reads(o) && reads(th) && !reads(r.Text) {
			_, errs := format.Source(source.New("tune.fettle", r.Text))
			t.Errorf("%s can't be read:\n%s", errs.Sorted()[0].Message, r.Text)
		}
		if w := lost(b, o, th, r); w != "" {
			t.Errorf("%q is lost in\n%s", w, diag.Clean(r.Text))
		}
	})
}
