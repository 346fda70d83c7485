package diff

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func TestSource(t *testing.T) {
	old := "a\nb\nc\nd\ne\nf\ng\nh\ni\nj\nk\nl\nm\n"
	new := "a\nB\nc\nd\ne\nf\ng\nh\ni\nj\nl\nm\nn"
	// As `diff -u` of GNU diffutils 3.10 prints it, but for its times.
	want := `--- old.fettle
+++ new.fettle
@@ -1,5 +1,5 @@
 a
-b
+B
 c
 d
 e
@@ -8,6 +8,6 @@
 h
 i
 j
-k
 l
 m
+n
\ No newline at end of file
`
	if got := Source("old.fettle", old, "new.fettle", new); got != want {
		t.Errorf("got\n%s", got)
	}
	if got := Source("a", old, "b", old); got != "" {
		t.Errorf("the same text gives %q", got)
	}
	if got, want := Source("a", "", "b", "x\n"), "--- a\n+++ b\n@@ -0,0 +1 @@\n+x\n"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got, want := Source("a", "x\n", "b", ""), "--- a\n+++ b\n@@ -1 +0,0 @@\n-x\n"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// Carrying out what Source says turns the old text into the new one.
func TestSourceCarriedOut(t *testing.T) {
	line := rapid.SampledFrom([]string{"rule r {", "}", "  fuel += 1", "  fuel += 2", "", "# é", "map"})
	texts := rapid.Custom(func(t *rapid.T) string {
		s := strings.Join(rapid.SliceOfN(line, 0, 40).Draw(t, "lines"), "\n")
		if rapid.Bool().Draw(t, "end") {
			s += "\n"
		}
		return s
	})
	rapid.Check(t, func(t *rapid.T) {
		old, new := texts.Draw(t, "old"), texts.Draw(t, "new")
		got, err := carryOut(old, Source("a", old, "b", new))
		if err != nil || got != new {
			t.Fatalf("%v: got %q from\n%s", err, got, Source("a", old, "b", new))
		}
	})
}

// carryOut is a strict `patch`: each line of context must be there.
func carryOut(old, patch string) (string, error) {
	in, at := splitLines(old), 0
	var out []string
	lines := strings.SplitAfter(patch, "\n")
	for i := 0; i < len(lines) && lines[i] != ""; i++ {
		l := lines[i]
		if i+1 < len(lines) && strings.HasPrefix(lines[i+1], `\`) {
			l = strings.TrimSuffix(l, "\n")
		}
		switch {
		case strings.HasPrefix(l, "---") && i == 0, strings.HasPrefix(l, "+++") && i == 1, l[0] == '\\':
		case strings.HasPrefix(l, "@@"):
			var start, n int
			if _, err := fmt.Sscanf(l, "@@ -%d,%d", &start, &n); err != nil {
				n = 1
				if _, err := fmt.Sscanf(l, "@@ -%d", &start); err != nil {
					return "", err
				}
			}
			if n > 0 {
				start--
			}
			for ; at < start; at++ {
				out = append(out, in[at])
			}
		case l[0] == '+':
			out = append(out, l[1:])
		case at >= len(in) || in[at] != l[1:]:
			return "", fmt.Errorf("line %d isn't %q", at+1, l[1:])
		default:
			if l[0] == ' ' {
				out = append(out, l[1:])
			}
			at++
		}
	}
	return strings.Join(append(out, in[at:]...), ""), nil
}

func TestSourceOfLongTexts(t *testing.T) {
	// Past the bound nothing is matched, and what comes of it is right.
	var a, b strings.Builder
	for i := range maxLines + 10 {
		fmt.Fprintf(&a, "a%d\n", i)
		fmt.Fprintf(&b, "b%d\n", i)
	}
	old, new := "same\n"+a.String()+"end\n", "same\n"+b.String()+"end\n"
	got, err := carryOut(old, Source("a", old, "b", new))
	if err != nil || got != new {
		t.Errorf("it isn't the new text: %v", err)
	}
}

func TestHunks(t *testing.T) {
	for _, c := range []struct {
		old, new string
		want     []Hunk
	}{
		{"a\n", "a\n", nil},
		{"", "x\ny\n", []Hunk{{Head: "@@ -0,0 +1,2 @@", Lines: []string{"+x", "+y"}, New: [2]int{1, 2}}}},
		{"x\n", "", []Hunk{{Head: "@@ -1 +0,0 @@", Lines: []string{"-x"}, Old: [2]int{1, 1}}}},
		{"a\nb\nc\nd\ne\nf\ng\nh\ni\nj\nk", "A\nb\nc\nd\ne\nf\ng\nh\ni\nj\nk\n", []Hunk{
			{Head: "@@ -1,4 +1,4 @@", Lines: []string{"-a", "+A", " b", " c", " d"}, Old: [2]int{1, 4}, New: [2]int{1, 4}},
			{Head: "@@ -8,4 +8,4 @@", Lines: []string{" h", " i", " j", "-k", `\ No newline at end of file`, "+k"}, Old: [2]int{8, 11}, New: [2]int{8, 11}},
		}},
	} {
		if diff := cmp.Diff(c.want, Hunks(c.old, c.new)); diff != "" {
			t.Errorf("%q, %q: %s", c.old, c.new, diff)
		}
	}
}
