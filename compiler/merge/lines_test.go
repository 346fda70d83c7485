package merge_test

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fettle/compiler/merge"
)

// TestLinesAsGit: what is merged by lines comes out as git merges lines, on
// random edits of a text whose lines all differ.
func TestLinesAsGit(t *testing.T) {
	if _, err := exec.LookPath("git"); err != nil {
		t.Skip("no git here")
	}
	dir := t.TempDir()
	clean, clashes := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		var b []string
		for i := range rapid.IntRange(0, 12).Draw(t, "lines") {
			b = append(b, fmt.Sprintf("%% line %d", i)) // no source
		}
		edit := func(side string) []string {
			out := slices.Clone(b)
			for k := range rapid.IntRange(1, 3).Draw(t, side+"edits") {
				i := rapid.IntRange(0, len(out)).Draw(t, side+"at")
				fresh := fmt.Sprintf("%% %s %d", side, k)
				switch what := rapid.IntRange(0, 2).Draw(t, side+"what"); {
				case what == 0 || i == len(out):
					out = slices.Insert(out, i, fresh)
				case what == 1:
					out[i] = fresh
				default:
					out = slices.Delete(out, i, i+1)
				}
			}
			return out
		}
		var texts []string
		args := []string{"merge-file", "-p", "--diff3", "-L", "ours", "-L", "base", "-L", "theirs"}
		for _, v := range []struct {
			name  string
			lines []string
		}{{"ours", edit("ours")}, {"base", b}, {"theirs", edit("theirs")}} {
			text := strings.Join(append(v.lines, ""), "\n")
			texts = append(texts, text)
			path := filepath.Join(dir, v.name)
			if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
				t.Fatal(err)
			}
			args = append(args, path)
		}
		r := merge.Texts(texts[1], texts[0], texts[2], merge.Options{Path: "x.fettle"})
		want, err := exec.Command("git", args...).Output()
		var ee *exec.ExitError
		if err != nil && !(errors.As(err, &ee) && ee.ExitCode() > 0 && ee.ExitCode() < 128) {
			t.Fatal(err)
		}
		if r.Text != string(want) || (err != nil) != (len(r.Conflicts) > 0) {
			t.Fatalf("got\n%s\ngit\n%s", r.Text, want)
		}
		if err != nil {
			clashes++
		} else {
			clean++
		}
	})
	if clean == 0 || clashes == 0 {
		t.Errorf("%d clean merges and %d with conflicts", clean, clashes)
	}
}
