package review_test

import (
	"fmt"
	"strings"
	"testing"

	"fettle/compiler/review"
)

const fleet = `catalog fuels { name | octane
  plain | 90
  good | 100
}
given altitude [m] = 0 within 0..3000
given blend from fuels = good
given rich = no
axis x 0..9
map m [mg] to 0.01 {
  x | 0 1 2 3
    | 10 12 14 16
}
rule up corrects altitude { m -= 10 % * (altitude / 1000 m) }
rule thick when rich { m += 20 % }
limit most: m <= 20 mg
limit border: m <= 15 mg where x >= 3 when blend.octane < 95
limit least: m >= 2 mg
variant bench { }
variant high { altitude = 1000 m }
variant poor { blend = plain
  altitude = 1000 m }
`

// addedText writes what is told of the tunes that were added, a line each.
func addedText(r *review.Review) string {
	var out []string
	for _, a := range r.Added {
		s := a.Name + " beside " + a.Beside
		if a.From {
			s = a.Name + " from " + a.Beside
		}
		for _, d := range a.But {
			s += fmt.Sprintf(", %s %s for %s", d.Name, d.New, d.Old)
		}
		if a.Entry == nil {
			s += ": the same"
		} else {
			for _, m := range a.Entry.Maps {
				sum := m.Diff.Summary
				s += fmt.Sprintf(": %s %g to %g", m.Diff.Map, sum.Min, sum.Max)
				for _, e := range m.By {
					s += " by " + e.Name
				}
			}
		}
		out = append(out, s)
	}
	return strings.Join(out, "\n")
}

func TestAdded(t *testing.T) {
	for _, c := range []struct{ name, old, new, want, limits string }{
		{"from a tune", "variant bench { }", "variant bench { }\nvariant hot from high { trim m -= 25 % over x 2.. }",
			"hot from high: m -3.6 to -3.15 by trim of hot", ""},
		{"from one that was added", "variant bench { }", "variant bench { }\nvariant hot from high { altitude = 2000 m }\nvariant hotter from hot { rich = yes }",
			"hot from high, altitude 2000 m for 1000 m: m -1.6 to -1 by rule up\n" +
				"hotter beside high, altitude 2000 m for 1000 m, rich yes for no: m 0.6 to 0.96 by rule thick by rule up", ""},
		{"beside the one most like it", "variant bench { }", "variant bench { }\nvariant odd { blend = plain\n  altitude = 1200 m }",
			"odd beside poor, altitude 1200 m for 1000 m: m -0.32 to -0.2 by rule up", ""},
		{"the same cells", "variant bench { }", "variant bench { }\nvariant twin { blend = plain }",
			"twin beside bench, blend plain for good: the same",
			"limit border: newly fails in 1: none → fails 16 of 15 (-1) at x=3; by base"},
		{"one that fails", "variant bench { }", "variant bench { }\nvariant hot from high { trim m += 50 % }",
			"hot from high: m 4.5 to 7.2 by trim of hot",
			"limit most: newly fails in 1: none → fails 21.6 of 20 (-1.6) at x=3; by trim of hot"},
		{"one that is near", "variant bench { }", "variant bench { }\nvariant hot from high { trim m += 38 % }",
			"hot from high: m 3.42 to 5.47 by trim of hot",
			"limit most: newly near in 1: none → holds 19.872 of 20 (0.128) at x=3; by trim of hot"},
		{"one that fails by what a limit was", "limit most: m <= 20 mg", "limit most: m <= 20 mg when altitude < 1500 m\nvariant summit { altitude = 1600 m\n  trim m *= 1.9 }",
			"summit beside bench, altitude 1600 m for 0 m: m 5.96 to 9.54 by trim of summit by rule up",
			"limit most: loosened in 1: none → doesn't apply; as it was fails 25.536 of 20 (-5.54) at x=3, 1 break"},
		{"one that fails by a limit that is gone", "limit most: m <= 20 mg", "variant hot from high { trim m += 50 % }",
			"hot from high: m 4.5 to 7.2 by trim of hot", "limit most: gone in 4: fails 21.6 of 20 (-1.6) at x=3 → none; as it was fails 21.6 of 20 (-1.6) at x=3, 1 break"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := compare(t, one(fleet), edited(t, one(fleet), "tune.fettle", c.old, c.new), review.Options{Policy: within(1)})
			if got := addedText(r); got != c.want {
				t.Errorf("\n%s, want\n%s", got, c.want)
			}
			if got := limitsText(r.Limits); got != c.limits {
				t.Errorf("\n%s, want\n%s", got, c.limits)
			}
			if !r.Differs() || r.Counts.Pairs != 3 || r.Counts.NewOnly != len(r.Added) || r.Counts.Same != 3 {
				t.Errorf("%+v", r.Counts)
			}
		})
	}
}

// A tune that went and one at the same conditions that came are one under two
// names: it is compared as any other.
func TestRenamedAndChanged(t *testing.T) {
	r := compare(t, one(fleet), edited(t, one(fleet), "tune.fettle", "variant high { altitude = 1000 m }", "variant summit { altitude = 1000 m\n  trim m -= 20 % }"), review.Options{})
	if len(r.Renamed) != 1 || r.Renamed[0] != (review.Rename{Old: "high", New: "summit", Changed: true}) || len(r.OldOnly)+len(r.NewOnly) > 0 {
		t.Fatalf("%v, %v, %v", r.Renamed, r.OldOnly, r.NewOnly)
	}
	if len(r.Entries) != 1 || r.Entries[0].Name != "high → summit" || r.Entries[0].Worst.By[0].Name != "trim of summit" || r.Counts.Pairs != 3 || r.Counts.Differ != 1 {
		t.Errorf("%+v, %d entries", r.Counts, len(r.Entries))
	}
	// With the same cells it isn't counted among those that are compared, but its limits are.
	r = compare(t, one(fleet), edited(t, one(fleet), "tune.fettle", "variant high {", "variant summit {", "tune.fettle", "most: m <= 20 mg", "most: m <= 14 mg when altitude > 500 m"), review.Options{})
	if len(r.Renamed) != 1 || r.Renamed[0].Changed || r.Counts.Pairs != 2 {
		t.Errorf("%v, %+v", r.Renamed, r.Counts)
	}
	if got := limitsText(r.Limits); !strings.Contains(got, "limit most: newly fails in 2") {
		t.Error(got)
	}
	// At other conditions it came, and another went.
	r = compare(t, one(fleet), edited(t, one(fleet), "tune.fettle", "variant high { altitude = 1000 m }", "variant summit { altitude = 1100 m }"), review.Options{})
	if len(r.Renamed) > 0 || len(r.Added) != 1 || len(r.OldOnly) != 1 || len(r.OldOnly[0].Conditions) != 3 {
		t.Errorf("%v, %v", r.Renamed, r.OldOnly)
	}
}

// A map, a limit or a check that has another name alone isn't gone.
func TestOtherNames(t *testing.T) {
	files := edited(t, one(fleet), "tune.fettle", "variant bench { }", "map twice [mg] to 0.01 like m = m * 2\nlimit double: twice <= 40 mg\ncheck \"base\" with bench {\n  twice(0) == 20 mg\n}\nvariant bench { }")
	new := edited(t, files, "tune.fettle", "map twice", "map two_of_it", "tune.fettle", "double: twice <=", "both: two_of_it <=", "tune.fettle", `check "base"`, `check "the base"`, "tune.fettle", "twice(0)", "two_of_it(0)")
	r := compare(t, files, new, review.Options{})
	want := "map `twice` is called `two_of_it` now, and says the same\nlimit `double` is called `both` now, and says the same\ncheck `base` is called `the base` now, and says the same"
	if got := strings.Join(r.Notes, "\n"); got != want || len(r.Limits) > 0 || r.Differs() || r.Verdict != review.Refactoring {
		t.Errorf("%s; %s; %s", r.Verdict, got, limitsText(r.Limits))
	}
	// One that says something else, too, is another one.
	r = compare(t, files, edited(t, files, "tune.fettle", "double: twice <= 40", "both: twice <= 90"), review.Options{})
	if got := limitsText(r.Limits); !strings.Contains(got, "limit double: gone in 3") || len(r.Notes) > 0 {
		t.Errorf("%s; %v", got, r.Notes)
	}
}

// What is told where nothing is an alarm names the largest change.
func TestAllClear(t *testing.T) {
	r := compare(t, one(fleet), edited(t, one(fleet), "tune.fettle", "10 % * (", "12 % * ("), review.Options{})
	const want = "no limit newly fails, warns or is newly near, and none was eased; the largest change is m -2.2 % at x 3 in high, by rule up"
	if got := r.AllClear(); got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if r = compare(t, one(fleet), one(fleet), review.Options{}); r.AllClear() != "" {
		t.Error(r.AllClear())
	}
}
