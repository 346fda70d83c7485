package review

import (
	"errors"
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fettle/compiler/diff"
)

var update = flag.Bool("update", false, "write the golden files anew")

// golden compares a text with a file under testdata.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("%s differs:\n%s", name, diff.Source(name, string(want), "now", got))
	}
}

func textOf(t *testing.T, r *Review, opt TextOptions) string {
	t.Helper()
	var b strings.Builder
	if err := r.Text(&b, opt); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func sized(width int) TextOptions { return TextOptions{TextOptions: diff.TextOptions{Width: width}} }

func TestText(t *testing.T) {
	opt := sized(100)
	opt.Source = true
	golden(t, "sample.txt", textOf(t, sample(), opt))
	opt.Width, opt.Color, opt.Tunes = 80, true, 1
	golden(t, "sample-color.txt", textOf(t, sample(), opt))
}

// What has to be looked at is on the first screen, however many tunes, limits and
// names there are.
func TestFirstScreen(t *testing.T) {
	for what, r := range map[string]*Review{
		"some": sample(),
		"many": crowd(192, func(i int) string { return "season/tune-" + strings.Repeat("x", i%9) }),
	} {
		screen := firstScreen(textOf(t, r, sized(100)))
		for _, want := range []string{"different text, different tables: ", "newly fail", "FAILS  limit ", "EASED  limit ", "LOOK   fuel at throttle 50 %, rpm 8000: 8.3 → 4.3 mg (-48.2 %)"} {
			if !strings.Contains(screen, want) {
				t.Errorf("%s: no %q on the first screen:\n%s", what, want, screen)
			}
		}
	}
}

// firstScreen is what a terminal of 24 lines of 100 columns shows first.
func firstScreen(text string) string {
	var rows []string
	for _, l := range strings.Split(text, "\n") {
		r := []rune(l)
		for len(r) > 100 {
			rows, r = append(rows, string(r[:100])), r[100:]
		}
		rows = append(rows, string(r))
	}
	return strings.Join(rows[:min(len(rows), 24)], "\n")
}

// Sentences and tables keep to the width, but for the tables of cells, which do so
// by themselves.
func TestTextKeepsToTheWidth(t *testing.T) {
	for _, w := range []int{72, 80, 100, 120} {
		text := textOf(t, sample(), sized(w))
		head, _, _ := strings.Cut(text, "\ncell by cell")
		_, tail, _ := strings.Cut(text, "\nchanged in the source")
		for _, l := range strings.Split(head+tail, "\n") {
			if width(l) > w {
				t.Errorf("width %d: %d in %q", w, width(l), l)
			}
		}
	}
}

// With colours every line says the same.
func TestColoursAddNothing(t *testing.T) {
	opt := sized(100)
	opt.Source = true
	plain := textOf(t, sample(), opt)
	opt.Color = true
	colored := textOf(t, sample(), opt)
	if !strings.Contains(colored, "\x1b[") || strings.Contains(plain, "\x1b") {
		t.Error("colours are where they aren't wanted, or aren't where they are")
	}
	// The tables of cells have signs beside colours, and so other columns.
	head := func(s string) string { s, _, _ = strings.Cut(s, "cell by cell"); return s }
	if got := regexp.MustCompile("\x1b\\[[0-9;]*m").ReplaceAllString(head(colored), ""); got != head(plain) {
		t.Error(diff.Source("plain", head(plain), "coloured", got))
	}
}

// Cells that the policy allows aren't shown as changed.
func TestAllowedCellsAreNotShownAsChanged(t *testing.T) {
	r := sample()
	e := r.Groups[0].Worst
	e.find("spark").Shown = nil
	fuel := e.find("fuel")
	fuel.Shown = slices.DeleteFunc(slices.Clone(fuel.Shown), func(i int) bool { c := fuel.Diff.Cells[i]; return c.Row == 1 && c.Col == 2 })
	text := textOf(t, r, sized(100))
	_, text, _ = strings.Cut(text, "cell by cell: season/long-0")
	text, _, _ = strings.Cut(text, "cell by cell: ")
	for want, not := range map[string]string{"fuel [mg]   11 of 12 cells": "fuel [mg]   12 of", "  7.2 ~ ": "7.2 →", "and 1 more cell differs within what is allowed, marked ~": "marked !", "allowed     spark": "spark [deg]"} {
		if !strings.Contains(text, want) || strings.Contains(text, not) {
			t.Errorf("%q isn't there, or %q is:\n%s", want, not, text)
		}
	}
}

// Where all cells are wanted, every tune of every group has its tables.
func TestAllCells(t *testing.T) {
	r := sample()
	opt := sized(100)
	opt.Cells = true
	text := textOf(t, r, opt)
	for _, e := range r.Entries {
		if !strings.Contains(text, e.Name+"   fuel [mg]   12 of 12 cells") {
			t.Errorf("no table of %s", e.Name)
		}
	}
	opt.Cells, opt.Tunes = false, 1
	if text := textOf(t, r, opt); !strings.Contains(text, "… and 2 groups more: --cells prints the tables of all") || strings.Contains(text, "bench   fuel [mg]") {
		t.Errorf("one table isn't one:\n%s", text)
	}
}

// The last command is about the worst cell.
func TestWhyCommands(t *testing.T) {
	r := sample()
	if got := r.whyCommands("fettle -C deep"); !slices.Equal(got, []string{"fettle -C deep why season/long-0 fuel throttle=50 rpm=8000"}) {
		t.Errorf("%q", got)
	}
	r.Spikes[0].Tune, r.Spikes[0].Entry = "$(touch x)", nil
	if got := r.whyCommands(""); len(got) > 0 && strings.Contains(got[0], "$") {
		t.Errorf("%q", got)
	}
	r = sample()
	r.New.Kind, r.New.Operand, r.New.Revision = KindRevision, "v1.2:season/*", "1234567"
	if got := r.whyCommands(""); !slices.Equal(got, []string{"fettle why v1.2:season/long-0 fuel throttle=50 rpm=8000"}) {
		t.Errorf("%q of a revision", got)
	}
	r.New.Operand = "HEAD@{1}"
	if got := r.whyCommands(""); !slices.Equal(got, []string{"fettle why 1234567:season/long-0 fuel throttle=50 rpm=8000"}) {
		t.Errorf("%q of a revision", got)
	}
	r.New.Kind = KindFolder
	if got := r.whyCommands(""); got != nil {
		t.Errorf("%q of a folder", got)
	}
	for args, want := range map[[2]string]string{{"HEAD~1", ""}: "fettle diff HEAD~1", {"main", "v1.2:bench"}: "fettle diff main v1.2:bench", {"season/*", "trial/*"}: "fettle diff 'season/*' 'trial/*'",
		{"", ""}: "fettle diff", {"a'b", "c"}: "fettle diff", {"-x", "c"}: "fettle diff", {"a\x1bb", ""}: "fettle diff"} {
		r.Old.Operand, r.New.Operand = args[0], args[1]
		if got := r.diffCommand(""); got != want {
			t.Errorf("%q: %q, want %q", args, got, want)
		}
	}
}

func TestNumbers(t *testing.T) {
	for _, c := range []struct {
		in   []float64
		want string
	}{{[]float64{86.1, 85}, "86.1 85.0"}, {[]float64{85.00004, 85}, "85.00004 85.00000"}, {[]float64{0.789, 0.9}, "0.789 0.900"}, {[]float64{1200, 1500}, "1200 1500"}, {[]float64{0, -0.00001}, "0.00000 -0.00001"}, {[]float64{3, 3}, "3 3"}} {
		if got := strings.Join(numbers(c.in...), " "); got != c.want {
			t.Errorf("%v: %s, want %s", c.in, got, c.want)
		}
	}
	for _, c := range []struct {
		a, b float64
		want string
	}{{1.25, -1.1, "+1.25 -1.10"}, {0.22537, 0.00539, "+0.2254 +0.0054"}, {1.57, -1020.51, "+1.6 -1020.5"}, {0, 2, "0 +2"}, {4, 0.04, "+4.00 +0.04"}} {
		if a, b := marginPair(c.a, c.b); a+" "+b != c.want {
			t.Errorf("%v and %v: %s %s, want %s", c.a, c.b, a, b, c.want)
		}
	}
	for n, want := range map[int]string{0: "0", 12: "12", 999: "999", 1204: "1,204", 1234567: "1,234,567", -1204: "-1,204"} {
		if got := thousands(n); got != want {
			t.Errorf("%d: %s", n, got)
		}
	}
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errors.New("full") }

func TestWritersSayWhenTheyCannotWrite(t *testing.T) {
	if sample().Text(broken{}, sized(80)) == nil || sample().Markdown(broken{}, MarkdownOptions{}) == nil {
		t.Error("no error")
	}
}
