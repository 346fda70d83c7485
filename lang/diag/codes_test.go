package diag

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// TestCodesAreUsed holds the table of codes against the sources: a code that is
// used has its entry, and an entry its use.
func TestCodesAreUsed(t *testing.T) {
	used := map[string]string{}
	code := regexp.MustCompile(`"([EW][0-9]{3})"`)
	for _, room := range []string{"lang", "compiler", "cmd"} {
		err := filepath.WalkDir(filepath.Join("..", "..", room), func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || filepath.Ext(path) != ".go" || strings.HasSuffix(path, "_test.go") || strings.HasPrefix(d.Name(), "codes") {
				return err
			}
			text, err := os.ReadFile(path)
			for _, m := range code.FindAllSubmatch(text, -1) {
				used[string(m[1])] = path
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if len(used) < 80 {
		t.Fatalf("only %d codes are found in the sources", len(used))
	}
	for id, path := range used {
		if _, ok := Code(id); !ok {
			t.Errorf("%s is used in %s and has no entry in the table", id, path)
		}
	}
	for _, c := range Codes() {
		if used[c.ID] == "" {
			t.Errorf("%s has an entry in the table and is used nowhere", c.ID)
		}
	}
}

func TestCodes(t *testing.T) {
	all := Codes()
	if !slices.IsSortedFunc(all, func(a, b Info) int { return strings.Compare(a.ID, b.ID) }) {
		t.Error("the codes aren't in order")
	}
	for i, c := range all {
		if i > 0 && all[i-1].ID == c.ID {
			t.Errorf("%s stands twice", c.ID)
		}
		if c.Title == "" || strings.HasSuffix(c.Title, ".") || !strings.HasSuffix(c.Text, ".") || strings.Count(c.Text, "`")%2 != 0 {
			t.Errorf("%s: a title without a full stop and sentences with one are wanted: %q, %q", c.ID, c.Title, c.Text)
		}
		if got, ok := Code(c.ID); !ok || got != c {
			t.Errorf("Code(%s) is %v", c.ID, got)
		}
	}
	if _, ok := Code("E000"); ok {
		t.Error("there is an E000")
	}
	if e, _ := Code("E101"); e.Severity() != Error {
		t.Error("E101 is no error")
	}
	if w, _ := Code("W001"); w.Severity() != Warning {
		t.Error("W001 is no warning")
	}
}
