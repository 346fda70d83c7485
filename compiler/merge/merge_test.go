package merge_test

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/tools/txtar"

	"fettle/compiler/merge"
)

var update = flag.Bool("update", false, "write what the archives expect anew")

// TestCases: each archive of testdata holds three versions of a text (base,
// ours and theirs, with the ending of their kind), the merged one, and what is
// said of it.
func TestCases(t *testing.T) {
	paths, err := filepath.Glob("testdata/*.txtar")
	if err != nil || len(paths) == 0 {
		t.Fatalf("no archives: %v", err)
	}
	for _, path := range paths {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".txtar"), func(t *testing.T) {
			ar, err := txtar.ParseFile(path)
			if err != nil {
				t.Fatal(err)
			}
			texts := map[string]string{}
			ext := ""
			for _, f := range ar.Files {
				texts[strings.TrimSuffix(f.Name, filepath.Ext(f.Name))] = string(f.Data)
				if e := filepath.Ext(f.Name); e != "" && e != ".txt" {
					ext = e
				}
			}
			r := merge.Texts(texts["base"], texts["ours"], texts["theirs"], merge.Options{Path: "tune" + ext})
			var said strings.Builder
			if r.ByLine != "" {
				said.WriteString("by line: " + r.ByLine + "\n")
			}
			for _, c := range r.Conflicts {
				said.WriteString("conflict: " + c + "\n")
			}
			for _, n := range r.Notes {
				said.WriteString("note: " + n + "\n")
			}
			got := &txtar.Archive{Comment: ar.Comment}
			for _, name := range []string{"base" + ext, "ours" + ext, "theirs" + ext} {
				got.Files = append(got.Files, txtar.File{Name: name, Data: []byte(texts[strings.TrimSuffix(name, ext)])})
			}
			got.Files = append(got.Files, txtar.File{Name: "merged" + ext, Data: []byte(r.Text)})
			if said.Len() > 0 {
				got.Files = append(got.Files, txtar.File{Name: "said.txt", Data: []byte(said.String())})
			}
			if want := txtar.Format(ar); !bytes.Equal(txtar.Format(got), want) {
				if *update {
					if err := os.WriteFile(path, txtar.Format(got), 0o644); err != nil {
						t.Fatal(err)
					}
					return
				}
				t.Errorf("got\n%s\nwant\n%s", txtar.Format(got), want)
			}
		})
	}
}
