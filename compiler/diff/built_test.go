package diff

import (
	"os"
	"strings"
	"testing"
)

// A table that isn't what build wrote is told by the digest beside it, and the
// cautions that build wrote are read.
func TestBuiltFoldersAreChecked(t *testing.T) {
	w := example(t, "first")
	out := build(t, w, "home", "frosty_hill")
	for _, s := range fromFolder(t, out) {
		if len(s.Edited) > 0 || len(s.Cautions) == 0 || !strings.Contains(s.Cautions[0], "Invented") {
			t.Errorf("%s: edited %q, cautions %q", s.Name, s.Edited, s.Cautions)
		}
	}
	file := out + "/home/fuel.csv"
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, append(text[:len(text):len(text)], '\n'), 0o644); err != nil {
		t.Fatal(err)
	}
	var edited []string
	for _, s := range fromFolder(t, out) {
		edited = append(edited, s.Edited...)
	}
	if len(edited) != 1 || edited[0] != "home/fuel.csv" {
		t.Errorf("edited %q", edited)
	}
	if s := fromFolder(t, out+"/home")[0]; len(s.Edited) != 1 || s.Edited[0] != "fuel.csv" {
		t.Errorf("edited %q", s.Edited)
	}
}
