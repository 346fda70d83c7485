package review_test

import (
	"fmt"
	"strings"
	"testing"

	"fettle/compiler/review"
)

// groupsText writes groups, a line each with a line a map.
func groupsText(list []*review.Group) string {
	var b strings.Builder
	for _, g := range list {
		fmt.Fprintf(&b, "%d, worst %s:", len(g.Entries), g.Worst.Name)
		for _, e := range g.Entries {
			b.WriteString(" " + e.Name)
		}
		b.WriteString("\n")
		for _, m := range g.Maps {
			fmt.Fprintf(&b, "  %s %d tunes, %d..%d of %d cells, ", m.Map, m.Tunes, m.MinCells, m.MaxCells, m.Total)
			if m.HasShare {
				fmt.Fprintf(&b, "%.3g..%.3g", m.MinShare, m.MaxShare)
			} else {
				fmt.Fprintf(&b, "%.3g..%.3g %s", m.Min, m.Max, m.ChangeUnit)
			}
			for _, e := range m.By {
				b.WriteString(", " + e.Name)
			}
			b.WriteString("\n")
		}
	}
	return b.String()
}

const many = `axis x 0..9
given g = 1
given wet = no
map m [mg] to 0.01 { x | 0 2 4
                       | 10 12 14 }
map s [deg] to 0.1 { x | 0 2 4
                       | 20 22 24 }
map half [mg] to 0.1 like m = 5 mg + m / 40
rule richer { m += 1 % * g }
rule rain when wet { s -= 1 deg }
limit l: m <= 30 mg
variants dry { g = 1, 2, 3, 25 }
variants rainy { g = 1, 2
  wet = yes }
`

// Entries of which the same maps change by the same elements make a group;
// where nothing is left of a map that follows, as printed, that parts none.
func TestGroups(t *testing.T) {
	files := one(many)
	r := compare(t, files, edited(t, files, "tune.fettle", "+= 1 %", "+= 3 %", "tune.fettle", "-= 1 deg", "-= 2 deg"), review.Options{})
	want := `4, worst dry/25: dry/25 dry/3 dry/2 dry/1
  m 4 tunes, 3..3 of 3 cells, 0.0198..0.4, rule richer
  half 1 tunes, 3..3 of 3 cells, 0.0185..0.037, rule richer
2, worst rainy/1-wet: rainy/1-wet rainy/2-wet
  s 2 tunes, 3..3 of 3 cells, -1..-1 deg, rule rain
  m 2 tunes, 3..3 of 3 cells, 0.0198..0.0392, rule richer
`
	if got := groupsText(r.Groups); got != want {
		t.Errorf("%s, want\n%s", got, want)
	}
	for _, g := range r.Groups {
		for _, e := range g.Entries {
			if e.Group != g {
				t.Errorf("%s doesn't know its group", e.Name)
			}
		}
	}
	// A newly failing limit comes first, in its group and with it.
	r = compare(t, files, edited(t, files, "tune.fettle", "+= 1 %", "+= 1.2 %", "tune.fettle", "-= 1 deg", "-= 9 deg", "tune.fettle", "m <= 30", "m <= 18"), review.Options{})
	want = `4, worst dry/25: dry/25 dry/3 dry/2 dry/1
2, worst rainy/1-wet: rainy/1-wet rainy/2-wet
`
	var got strings.Builder
	for _, l := range strings.SplitAfter(groupsText(r.Groups), "\n") {
		if !strings.HasPrefix(l, " ") {
			got.WriteString(l)
		}
	}
	if got.String() != want {
		t.Errorf("%s, want\n%s", got.String(), want)
	}
}

// One number moves a formula, and by way of it others, of which little is left in
// some tunes: that parts none.
func TestGroupsOfFormulas(t *testing.T) {
	files := edited(t, one(many), "tune.fettle", "map half [mg] to 0.1 like m = 5 mg + m / 40",
		"let k = 1\nmap twice [mg] to 0.01 like m = m * 2 * k\nmap tenth [mg] to 1 like m = twice / 10\nmap less [mg] to 1 like m = tenth - 1 mg")
	r := compare(t, files, edited(t, files, "tune.fettle", "let k = 1", "let k = 1.03"), review.Options{})
	want := `6, worst dry/2: dry/2 dry/3 rainy/2-wet dry/25 dry/1 rainy/1-wet
  less 4 tunes, 1..1 of 3 cells, 0.5..1, value k
  tenth 4 tunes, 1..1 of 3 cells, 0.5..0.5, value k
  twice 6 tunes, 3..3 of 3 cells, 0.0298..0.0302, value k
`
	if got := groupsText(r.Groups); got != want {
		t.Errorf("%s, want\n%s", got, want)
	}
}

// The maps of an entry and their cells, worst first: by the largest change that
// is shown, as a part of the map's largest value.
func TestWorstFirst(t *testing.T) {
	files := one(many)
	r := compare(t, files, edited(t, files, "tune.fettle", "| 10 12 14", "| 10 12.1 14.6", "tune.fettle", "| 20 22 24", "| 21 22 23.5"), review.Options{})
	e := r.Entries[0]
	var got []string
	for _, m := range e.Maps {
		s := m.Diff.Map
		for _, i := range m.Shown {
			s += fmt.Sprintf(" %g", m.Diff.Cells[i].Change)
		}
		for _, by := range m.By {
			s += ", " + by.Name
		}
		got = append(got, s)
	}
	if want := "s 1 -0.5, base of s; m 0.61 0.1, base of m"; !strings.HasPrefix(strings.Join(got, "; "), want) || e.Worst != e.Maps[0] {
		t.Errorf("%s, want %s", strings.Join(got, "; "), want)
	}
	// What is allowed counts for nothing.
	r = compare(t, files, edited(t, files, "tune.fettle", "| 10 12 14", "| 10 12.1 14.6", "tune.fettle", "| 20 22 24", "| 20.5 22.5 24.5"), review.Options{Policy: allow{"s"}})
	if e := r.Entries[0]; e.Worst.Diff.Map != "m" || e.Maps[len(e.Maps)-1].Hidden != 3 {
		t.Errorf("the worst is %s", e.Worst.Diff.Map)
	}
	// A map that can't be compared comes before all.
	r = compare(t, files, edited(t, files, "tune.fettle", "map s [deg]", "map s [mg]", "tune.fettle", "s -= 1 deg", "s -= 1 mg", "tune.fettle", "| 10 12 14", "| 10 12.1 14.6"), review.Options{})
	if e := r.Entries[0]; e.Maps[0].Diff.Map != "s" || e.Maps[0].Diff.Problem == "" || e.Worst.Diff.Map != "m" {
		t.Errorf("first is %s, worst %s", e.Maps[0].Diff.Map, e.Worst.Diff.Map)
	}
}

// allow is a policy that allows any change of a map.
type allow struct{ mapName string }

func (a allow) Within(mapName string, _, _ float64) bool { return mapName == a.mapName }

// Of elements the one with the largest part in the worst cell comes first, and
// one that moves no shown cell as printed isn't named.
func TestByOrder(t *testing.T) {
	files := one(many)
	r := compare(t, files, edited(t, files, "tune.fettle", "| 10 12 14", "| 10.1 12 14", "tune.fettle", "+= 1 %", "+= 3 %", "tune.fettle", "rule rain when wet { s -= 1 deg }", "rule rain when wet { s -= 1 deg }\nrule none { m += 0.0001 mg }"), review.Options{})
	m := r.Entries[0].Worst
	var got []string
	for _, e := range m.By {
		got = append(got, e.Name)
	}
	if want := "rule richer, base of m"; m.Diff.Map != "m" || strings.Join(got, ", ") != want {
		t.Errorf("%s by %s, want %s", m.Diff.Map, strings.Join(got, ", "), want)
	}
}
