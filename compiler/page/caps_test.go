package page_test

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"fettle/compiler/diff"
	"fettle/compiler/page"
	"fettle/compiler/review"
)

// What has no bounds is counted past a point, so that the page stays small.
func TestTooMuchToTell(t *testing.T) {
	r := compared(t, "tussock", "season/stock-*", review.Options{}, typo, loosened)
	group, limit, change := r.Groups[0], r.Limits[0], r.Elements[0]
	r.Groups, r.Limits, r.Elements, r.Sources = nil, nil, nil, []*review.SourceDiff{{Name: "base.csv", State: "changed"}}
	for i := range 1000 {
		r.Groups = append(r.Groups, group)
		r.Limits = append(r.Limits, limit)
		r.Elements = append(r.Elements, change)
		r.OldOnly = append(r.OldOnly, diff.Lone{Name: fmt.Sprintf("gone/%d", i)})
		r.Sources[0].Hunks = append(r.Sources[0].Hunks, review.Hunk{Head: "@@ -1 +1 @@", Lines: []string{"-" + strings.Repeat("1,", 5000), "+2"}})
	}
	html := written(t, r, page.Options{})
	if len(html) > 2_000_000 {
		t.Errorf("%d bytes", len(html))
	}
	for _, want := range []string{
		"70 more kinds of change", `and \d more maps`, "Without a counterpart of their name: 300",
		`Not told here, since there is so much of it: 69\d more alarms, 920 more groups of tunes, 7\d\d more tunes of one side, 700 more limits and checks, 700 more changes in the source and 500 lines of changed source\.`,
	} {
		if !regexp.MustCompile(want).MatchString(html) {
			t.Errorf("the page doesn't say %q", want)
		}
	}
}
