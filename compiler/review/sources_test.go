package review_test

import (
	"fmt"
	"strings"
	"testing"

	"fettle/compiler/review"
)

func sourcesText(list []*review.SourceDiff) string {
	var b strings.Builder
	for _, d := range list {
		b.WriteString(d.State + " " + d.Name)
		if d.OldName != "" {
			b.WriteString(" from " + d.OldName)
		}
		b.WriteString("\n")
		for _, h := range d.Hunks {
			fmt.Fprintf(&b, "  %s %d..%d, %d..%d: %s\n", h.Head, h.Old[0], h.Old[1], h.New[0], h.New[1], strings.Join(h.By, ", "))
		}
	}
	return b.String()
}

func changesText(list []*review.Change) string {
	var b strings.Builder
	for _, c := range list {
		fmt.Fprintf(&b, "%s: %s in %d: %s\n", c.Kind, c.Name, c.Tunes, strings.Join(c.Maps, " "))
	}
	return b.String()
}

func TestSources(t *testing.T) {
	old := map[string]string{
		"tune.fettle": `use "rules.fettle", "old.fettle"
axis x 0..9
given g = 1
given oil from oils = thin
map m [mg] to 0.01 from "m.csv"
catalog oils from "oils.csv"
let k = 2
variant bench { }
variant other {
  g = 2
  trim m += 1 mg
}
`,
		"rules.fettle": `# The first.
rule one { m *= k }

# The second.
rule two { m *= oil.grade }

# Room between,
# so that they are
# in two hunks
# and not in one.

rule three when g > 5 { m += 1 mg }
`,
		"old.fettle": "# Nothing but words.\nregion r = x 1..\n",
		"m.csv":      "x,0,1\n,10,20\n",
		"oils.csv":   "name,grade\nthin,1\nthick,2\n",
	}
	new := edited(t, old,
		"tune.fettle", `"old.fettle"`, `"new.fettle"`,
		"tune.fettle", "let k = 2", "let k = 3",
		"tune.fettle", "g = 2\n  trim m += 1 mg", "g = 2\n  trim m += 2 mg",
		"rules.fettle", "oil.grade }", "oil.grade * 1.1 }",
		"rules.fettle", "m += 1 mg", "m += 2 mg",
		"m.csv", "20", "21",
		"oils.csv", "thin,1", "thin,1.5")
	new["new.fettle"] = new["old.fettle"]
	delete(new, "old.fettle")
	new["extra.fettle"] = "region q = x 1..\n"
	new["tune.fettle"] = strings.Replace(new["tune.fettle"], `"new.fettle"`, `"new.fettle", "extra.fettle"`, 1)
	r := compare(t, old, new, review.Options{})
	want := `added extra.fettle
  @@ -0,0 +1 @@ 0..0, 1..1: 
changed m.csv
  @@ -1,2 +1,2 @@ 1..2, 1..2: base of m
renamed new.fettle from old.fettle
changed oils.csv
  @@ -1,3 +1,3 @@ 1..3, 1..3: row oils.thin
changed rules.fettle
  @@ -2,11 +2,11 @@ 2..12, 2..12: rule two
changed tune.fettle
  @@ -1,12 +1,12 @@ 1..12, 1..12: value k, trim of other
`
	if got := sourcesText(r.Sources); got != want {
		t.Errorf("%s, want\n%s", got, want)
	}
	want = `base: base of m in 2: m
row: row oils.thin in 2: m
value: value k in 2: m
rule: rule two in 2: m
trim: trim of other in 1: m
rule: rule three in 0: 
`
	if got := changesText(r.Elements); got != want {
		t.Errorf("%s, want\n%s", got, want)
	}
	if r := patterns(t, old, "bench", "other"); len(r.Sources) > 0 {
		t.Errorf("one workspace differs from itself:\n%s", sourcesText(r.Sources))
	}
}

// What changed in the source is told also where it moves no cell.
func TestChangesThatMoveNothing(t *testing.T) {
	old := one(small)
	r := compare(t, old, edited(t, old, "tune.fettle", "rule richer { m += 1 % }", "rule richer { m += 2 % / 2 }"), review.Options{})
	if got, want := changesText(r.Elements), "rule: rule richer in 0: \n"; r.Verdict != review.Refactoring || got != want {
		t.Errorf("%s: %s, want %s", r.Verdict, got, want)
	}
	if got, want := sourcesText(r.Sources), "changed tune.fettle\n  @@ -13,7 +13,7 @@ 13..19, 13..19: \n"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

// A tune that can't be computed on a side is told, and so is how many fail.
func TestNotes(t *testing.T) {
	old := one(small)
	r := compare(t, edited(t, old, "tune.fettle", "14 15", "14 25"), edited(t, old, "tune.fettle", "14 15", "14 26"), review.Options{})
	if got, want := strings.Join(r.Notes, "; "), "2 tunes fail on the old side; 2 tunes fail on the new side"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}
