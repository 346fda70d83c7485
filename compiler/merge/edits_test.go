package merge_test

import (
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fettle/compiler/merge"
	"fettle/lang/format"
	"fettle/lang/source"
)

var (
	numeral = regexp.MustCompile(`\d+(\.\d+)?`)
	begins  = regexp.MustCompile(`^[a-z]+ `)
)

// scribble makes random edits to the lines of a source: numbers, comments, blank
// lines, statements and declarations that go, move or come twice. The result
// still reads.
func scribble(t *rapid.T, text, side string) string {
	lines := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
	for range rapid.IntRange(1, 6).Draw(t, side+"edits") {
		try := slices.Clone(lines)
		i := rapid.IntRange(0, len(try)-1).Draw(t, side+"line")
		end := i + 1 // behind the declaration that begins at the line
		if begins.MatchString(try[i]) && strings.HasSuffix(try[i], "{") {
			for end < len(try) && !strings.HasPrefix(try[end-1], "}") {
				end++
			}
		}
		switch rapid.SampledFrom([]string{"number", "number", "number", "comment", "note", "blank", "gone", "twice", "move", "name"}).Draw(t, side+"what") {
		case "number":
			n := rapid.IntRange(0, 3).Draw(t, side+"which")
			try[i] = numeral.ReplaceAllStringFunc(try[i], func(s string) string {
				if n--; n == -1 {
					return fmt.Sprint(rapid.IntRange(0, 99).Draw(t, side+"value"))
				}
				return s
			})
		case "comment":
			try = slices.Insert(try, i, fmt.Sprintf("# %s remark %d", side, rapid.IntRange(0, 9).Draw(t, side+"remark")))
		case "note":
			if s, _, _ := strings.Cut(try[i], "#"); strings.TrimSpace(s) != "" {
				try[i] = s + fmt.Sprintf("# %s note %d", side, rapid.IntRange(0, 9).Draw(t, side+"note"))
			}
		case "blank":
			if strings.TrimSpace(try[i]) == "" {
				try = slices.Delete(try, i, i+1)
			} else {
				try = slices.Insert(try, i, "")
			}
		case "gone":
			try = slices.Delete(try, i, end)
		case "twice":
			more := slices.Clone(try[i:end])
			more[0] = numeral.ReplaceAllString(more[0], "7")
			more[0] = begins.ReplaceAllString(more[0], "${0}"+strings.TrimSpace(side)+"_")
			try = slices.Insert(try, end, more...)
		case "move":
			block := slices.Clone(try[i:end])
			try = slices.Delete(try, i, end)
			to := rapid.IntRange(0, len(try)).Draw(t, side+"to")
			try = slices.Insert(try, to, block...)
		case "name":
			try[i] = begins.ReplaceAllString(try[i], "${0}"+strings.TrimSpace(side)+"_")
		}
		if len(try) > 0 && reads(strings.Join(try, "\n")+"\n") {
			lines = try
		}
	}
	out := strings.Join(lines, "\n") + "\n"
	if rapid.Bool().Draw(t, side+"layout") {
		out, _ = format.Source(source.New("x.fettle", out))
	}
	return out
}

// TestRandomSources: of whole sources that two sides scribbled in, nothing new
// is lost; what merges without a conflict reads, and so does each side's version
// of what doesn't. If ours was in the one layout, so is a clean result.
func TestRandomSources(t *testing.T) {
	var texts []string
	for _, path := range []string{"first/tune.fettle", "tussock/tune.fettle", "lantern/rules.fettle", "lantern/engine.fettle", "sizing/tune.fettle", "tussock/injectors.fettle"} {
		b, err := os.ReadFile("../../examples/" + path)
		if err != nil {
			t.Fatal(err)
		}
		texts = append(texts, string(b))
	}
	clean, byLine, clashes := 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.SampledFrom(texts).Draw(t, "source")
		o, th := scribble(t, b, "ours "), scribble(t, b, "theirs ")
		show := func() string { return diffs(b, o) + "----\n" + diffs(b, th) + "----\n" }
		r := merge.Texts(b, o, th, merge.Options{Path: "x.fettle"})
		if w := lost(b, o, th, r); w != "" {
			t.Fatalf("%q is lost: %v\n%s%s", w, r.Conflicts, show(), diffs(b, r.Text))
		}
		if r.ByLine != "" {
			byLine++
			return
		}
		if len(r.Conflicts) == 0 {
			clean++
			out, errs := format.Source(source.New("x.fettle", r.Text))
			if errs.HasErrors() {
				t.Fatalf("it doesn't read: %s\n%s%s", errs.Sorted()[0].Message, show(), diffs(b, r.Text))
			}
			if was, _ := format.Source(source.New("x.fettle", o)); was == o && o != b && out != r.Text {
				t.Fatalf("it isn't laid out\n%s%s", show(), diffs(out, r.Text))
			}
			return
		}
		clashes++
		for i := range 3 {
			chosen := conflictBlock.ReplaceAllString(r.Text, fmt.Sprintf("${%d}", i+1))
			if strings.Contains(chosen, "<<<<") || !reads(chosen) {
				t.Fatalf("version %d doesn't read: %v\n%s%s", i, r.Conflicts, show(), diffs(b, r.Text))
			}
		}
	})
	t.Logf("%d clean, %d with conflicts, %d by line", clean, clashes, byLine)
	if clean == 0 || clashes == 0 || byLine*5 > clean+clashes {
		t.Errorf("%d clean, %d with conflicts, %d by line", clean, clashes, byLine)
	}
}

// diffs shows the lines of b that aren't in a, and the other way round.
func diffs(a, b string) string {
	var out strings.Builder
	la, lb := strings.Split(a, "\n"), strings.Split(b, "\n")
	for i, l := range la {
		if !slices.Contains(lb, l) {
			fmt.Fprintf(&out, "%d- %s\n", i+1, l)
		}
	}
	for i, l := range lb {
		if !slices.Contains(la, l) {
			fmt.Fprintf(&out, "%d+ %s\n", i+1, l)
		}
	}
	return out.String()
}
