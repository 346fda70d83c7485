package review

import (
	"fmt"
	"strings"
	"testing"

	"fettle/compiler/diff"
)

func markdownOf(t *testing.T, r *Review, opt MarkdownOptions) string {
	t.Helper()
	var b strings.Builder
	if err := r.Markdown(&b, opt); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestMarkdown(t *testing.T) {
	text := markdownOf(t, sample(), MarkdownOptions{Source: true})
	if fault := faultOf(text); fault != "" {
		t.Error(fault)
	}
	golden(t, "sample.md", text)
}

// crowd is a review of many tunes that all change in another way, with a long
// list of everything.
func crowd(n int, name func(i int) string) *Review {
	r := sample()
	r.Groups, r.Entries = nil, nil
	limits, spikes, elements := r.Limits, r.Spikes, r.Elements
	r.Limits, r.Spikes, r.Elements = nil, nil, nil
	for i := range n {
		e := sampleEntry(name(i), 0.01, 0)
		r.Entries = append(r.Entries, e)
		r.Groups = append(r.Groups, sampleGroup(e))
		for _, m := range limits {
			c := *m
			c.Name, c.Tune, c.Tunes = name(i), name(i), []string{name(i), "b"}
			r.Limits = append(r.Limits, &c)
		}
		s := *spikes[0]
		s.Tune = name(i)
		r.Spikes = append(r.Spikes, &s)
		for _, x := range elements {
			c := *x
			c.Name = name(i)
			r.Elements = append(r.Elements, &c)
		}
		r.NewOnly = append(r.NewOnly, diff.Lone{Name: name(i), Why: name(i)})
		r.Renamed = append(r.Renamed, Rename{Old: name(i), New: name(i)})
		r.Notes = append(r.Notes, name(i))
		r.Cautions = append(r.Cautions, name(i))
		r.Hidden.Policy = append(r.Hidden.Policy, name(i))
		f := *r.Sources[0]
		f.Hunks = append([]Hunk(nil), f.Hunks...)
		for k := range f.Hunks {
			f.Hunks[k].By = []string{name(i)}
		}
		r.Sources = append(r.Sources, &f)
	}
	r.Counts.Pairs, r.Counts.Differ = n, n
	return r
}

// However much there is to tell, a comment holds it: what is left out is counted,
// and what is opened is closed.
func TestMarkdownFits(t *testing.T) {
	long := strings.Repeat("a`|<b>@c\\", 3000)
	for what, r := range map[string]*Review{
		"192 tunes":       crowd(192, func(i int) string { return fmt.Sprintf("season/tune-%d", i) }),
		"monstrous names": crowd(192, func(i int) string { return fmt.Sprintf("%d", i) + long }),
		"one of those":    hostile(long),
		"wide signs":      crowd(192, func(i int) string { return fmt.Sprintf("%d", i) + strings.Repeat("𝄞", 500) }),
	} {
		text := markdownOf(t, r, MarkdownOptions{Source: true})
		if n := size(text); n > MarkdownSize {
			t.Errorf("%s: %d characters", what, n)
		}
		if fault := faultOf(text); fault != "" {
			t.Errorf("%s: %s", what, fault)
		}
		for _, want := range []string{"## different text", "**FAILS**", "**EASED**", "**LOOK**", "### What changes", "### Limits", "### Changed in the source", "> caution: "} {
			if !strings.Contains(text, want) {
				t.Errorf("%s: no %s", what, want)
			}
		}
	}
	text := markdownOf(t, crowd(192, func(i int) string { return fmt.Sprintf("season/tune-%d", i) }), MarkdownOptions{Call: "fettle -C deep"})
	for _, want := range []string{"groups more, of ", "limits more: run `fettle -C deep diff HEAD~1`", "and 196 more", "… and 183 cautions more"} {
		if !strings.Contains(text, want) {
			t.Errorf("nothing says %q", want)
		}
	}
	shown := strings.Count(text, "cell by cell: ")
	if want := fmt.Sprintf("… and %d groups more", 192-shown); shown == 0 || !strings.Contains(text, want) {
		t.Errorf("%d tables, and nothing says %q", shown, want)
	}
}
