package review_test

import (
	"strings"
	"testing"

	"fettle/compiler/review"
)

// A small workspace; what is under test is put in its place.
const small = `axis x 0..9
given g = 2
given oil from oils = thin
catalog oils {
  name  | grade
  thin  | 10
  thick | 40
}
let most [mg] = 20
map m [mg] to 0.01 {
  x | 0 2 4 6
    | 10 12 14 15
}
map peak [mg] { x | 0 6
                  | 20 20 }
rule richer { m += 1 % }
limit l: m <= most
variant bench { g = 2 }
variant thick { oil = thick }
`

func TestLimits(t *testing.T) {
	const bound = "limit l: m <= most"
	for _, c := range []struct {
		name  string
		edits []string // of both: old text, what it is before, what it is after
		want  string
	}{
		{"the same", nil, ``},
		{"another cell alone", []string{"10 12 14 15", "10 12 14 15", "11 12 14 15"}, ``},
		{"closer", []string{"14 15", "14 15", "14 16"},
			"limit l: closer in 2: holds 15.15 of 20 (4.85) at x=6 → holds 16.16 of 20 (3.84) at x=6"},
		{"farther", []string{"14 15", "14 15", "14 14"},
			"limit l: farther in 2: holds 15.15 of 20 (4.85) at x=6 → holds 14.14 of 20 (5.86) at x=4"},
		{"near by its bound", []string{"14 15", "14 19.3", "14 19.5"},
			"limit l: newly near in 2: holds 19.493 of 20 (0.507) at x=6 → holds 19.695 of 20 (0.305) at x=6; by base of m"},
		{"near by its fall", []string{"10 12 14 15", "10 9 9 9", "10 9 9 9", "= 20", "= 12", "= 12", "+= 1 %", "*= 1", "*= 1.18"},
			"limit l: newly near in 2: holds 10 of 12 (2) at x=0 → holds 11.8 of 12 (0.2) at x=0; by rule richer"},
		{"near before too", []string{"14 15", "14 19.7", "14 19.75"},
			"limit l: closer in 2: holds 19.897 of 20 (0.103) at x=6 → holds 19.9475 of 20 (0.0525) at x=6"},
		{"fails by the base", []string{"14 15", "14 15", "14 20"},
			"limit l: newly fails in 2: holds 15.15 of 20 (4.85) at x=6 → fails 20.2 of 20 (-0.2) at x=6; by base of m"},
		{"fails by a rule", []string{"+= 1 %", "+= 1 %", "+= 50 %"},
			"limit l: newly fails in 2: holds 15.15 of 20 (4.85) at x=6 → fails 22.5 of 20 (-2.5) at x=6; by rule richer"},
		{"fails by the one that pushes towards it", []string{"+= 1 %", "-= 10 %", "+= 45 %", "14 15", "14 21", "14 14"},
			"limit l: newly fails in 2: holds 18.9 of 20 (1.1) at x=6 → fails 20.3 of 20 (-0.3) at x=4; by rule richer"},
		{"fails by the limit", []string{bound, "limit l: m <= most", "limit l: m <= 15 mg"},
			"limit l: newly fails in 2: holds 15.15 of 20 (4.85) at x=6 → fails 15.15 of 15 (-0.15) at x=6; as it was holds 15.15 of 20 (4.85) at x=6, 0 break; by limit l"},
		{"fails still, and more", []string{"14 15", "14 20", "14 21"},
			"limit l: worse in 2: fails 20.2 of 20 (-0.2) at x=6 → fails 21.21 of 20 (-1.21) at x=6; by base of m"},
		{"fails in more cells", []string{"14 15", "14 21", "21 21"},
			"limit l: worse in 2: fails 21.21 of 20 (-1.21) at x=6 → fails 21.21 of 20 (-1.21) at x=4; by base of m"},
		{"recovered", []string{"14 15", "14 20", "14 15"},
			"limit l: recovered in 2: fails 20.2 of 20 (-0.2) at x=6 → holds 15.15 of 20 (4.85) at x=6"},
		{"warns", []string{bound, bound + " else warn", bound + " else warn", "14 15", "14 15", "14 20"},
			"limit l: newly warns in 2: holds 15.15 of 20 (4.85) at x=6 → warns 20.2 of 20 (-0.2) at x=6; by base of m"},
		{"caps", []string{bound, bound + " else clamp", bound + " else clamp", "14 15", "14 15", "14 20"},
			"limit l: newly warns in 2: holds 15.15 of 20 (4.85) at x=6 → clamped 20.2 of 20 (-0.2) at x=6; by base of m"},
		{"a step", []string{bound, "limit l: step(m, x) <= 2.5 mg else warn", "limit l: step(m, x) <= 2.5 mg else warn", "14 15", "14 15", "14 20"},
			"limit l: newly warns in 2: holds 2.02 of 2.5 (0.48) at x=0 → warns 6.06 of 2.5 (-3.56) at x=4; by base of m"},

		{"loosened by its bound", []string{bound, "limit l: m <= 20 mg", "limit l: m <= 25 mg"},
			"limit l: loosened in 2: holds 15.15 of 20 (4.85) at x=6 → holds 15.15 of 25 (9.85) at x=6; as it was holds 15.15 of 20 (4.85) at x=6, 0 break"},
		{"loosened, and needed", []string{bound, "limit l: m <= 16 mg", "limit l: m <= 25 mg", "14 15", "14 15", "14 20"},
			"limit l: loosened in 2: holds 15.15 of 16 (0.85) at x=6 → holds 20.2 of 25 (4.8) at x=6; as it was fails 20.2 of 16 (-4.2) at x=6, 2 break"},
		{"loosened by a value", []string{"= 20", "= 20", "= 30"},
			"limit l: loosened in 2: holds 15.15 of 20 (4.85) at x=6 → holds 15.15 of 30 (14.8) at x=6; as it was holds 15.15 of 20 (4.85) at x=6, 0 break"},
		{"loosened by a row", []string{bound, "limit l: m <= oil.grade * 1 mg + 9 mg", "limit l: m <= oil.grade * 1 mg + 9 mg", "| 10\n", "| 10\n", "| 100\n"},
			"limit l: loosened in 1: holds 15.15 of 19 (3.85) at x=6 → holds 15.15 of 109 (93.8) at x=6; as it was holds 15.15 of 19 (3.85) at x=6, 0 break"},
		{"other conditions aren't loosening", []string{bound, "limit l: m <= g * 10 mg", "limit l: m <= g * 10 mg", "given g = 2", "given g = 2", "given g = 3"},
			"limit l: farther in 1: holds 15.15 of 20 (4.85) at x=6 → holds 15.15 of 30 (14.8) at x=6"},
		{"loosened from below", []string{bound, "limit l: 9 mg <= m", "limit l: 2 mg <= m"},
			"limit l: loosened in 2: holds 10.1 of 9 (1.1) at x=0 → holds 10.1 of 2 (8.1) at x=0; as it was holds 10.1 of 9 (1.1) at x=0, 0 break"},
		{"loosened by its mode", []string{bound, bound, bound + " else warn"},
			"limit l: loosened in 2: holds 15.15 of 20 (4.85) at x=6 → holds 15.15 of 20 (4.85) at x=6; as it was holds 15.15 of 20 (4.85) at x=6, 0 break"},
		{"loosened by its mode, and needed", []string{bound, bound, bound + " else warn", "14 15", "14 15", "14 20"},
			"limit l: loosened in 2: holds 15.15 of 20 (4.85) at x=6 → warns 20.2 of 20 (-0.2) at x=6; as it was fails 20.2 of 20 (-0.2) at x=6, 2 break"},
		{"loosened by its where", []string{bound, bound, bound + " where x < 5"},
			"limit l: loosened in 2: holds 15.15 of 20 (4.85) at x=6 → holds 14.14 of 20 (5.86) at x=4; as it was holds 15.15 of 20 (4.85) at x=6, 0 break"},
		{"a where that follows the maps", []string{bound, bound + " where m > 11 mg", bound + " where m > 11 mg", "10 12", "10 12", "10 10"}, ``},
		{"loosened by its when", []string{bound, bound, bound + " when g > 2"},
			"limit l: loosened in 2: holds 15.15 of 20 (4.85) at x=6 → doesn't apply; as it was holds 15.15 of 20 (4.85) at x=6, 0 break"},
		{"lapsed", []string{bound, bound + " when oil.grade < 20", bound + " when oil.grade < 20", "| 10\n", "| 10\n", "| 100\n"},
			"limit l: no longer applies in 1: holds 15.15 of 20 (4.85) at x=6 → doesn't apply; as it was holds 15.15 of 20 (4.85) at x=6, 0 break"},
		{"applies now", []string{bound, bound + " when oil.grade < 20", bound + " when oil.grade < 20", "| 40\n", "| 40\n", "| 14\n"},
			"limit l: new in 1: doesn't apply → holds 15.15 of 20 (4.85) at x=6"},
		{"reworded", []string{bound, bound, "limit l: m <= most or x > 5"},
			"limit l: reworded in 2: holds 15.15 of 20 (4.85) at x=6 → holds; as it was holds 15.15 of 20 (4.85) at x=6, 0 break"},
		{"another bound that is a map", []string{bound, "limit l: m <= peak", "limit l: m <= peak + 1 mg"},
			"limit l: reworded in 2: holds 15.15 of 20 (4.85) at x=6 → holds 15.15 of 21 (5.85) at x=6; as it was holds 15.15 of 20 (4.85) at x=6, 0 break"},
		{"only written in another unit", []string{bound, "limit l: m <= 20 mg", "limit l: 0.02 g >= m"},
			"limit l: reworded in 2: holds 15.15 of 20 (4.85) at x=6 → holds 15.15 of 20 (4.85) at x=6"},
		{"tightened", []string{bound, "limit l: m <= 20 mg", "limit l: m <= 18 mg"},
			"limit l: tightened in 2: holds 15.15 of 20 (4.85) at x=6 → holds 15.15 of 18 (2.85) at x=6; as it was holds 15.15 of 20 (4.85) at x=6, 0 break"},
		{"gone", []string{bound, bound, ""},
			"limit l: gone in 2: holds 15.15 of 20 (4.85) at x=6 → none; as it was holds 15.15 of 20 (4.85) at x=6, 0 break"},
		{"new", []string{bound, "", bound},
			"limit l: new in 2: none → holds 15.15 of 20 (4.85) at x=6"},
		{"new and failing", []string{bound, "", "limit l: m <= 15 mg"},
			"limit l: newly fails in 2: none → fails 15.15 of 15 (-0.15) at x=6; by limit l"},
		{"nowhere applied", []string{bound, "", bound + " when g > 5"}, ``},
		{"another unit", []string{bound, "limit l: m / 1 mg <= 16", "limit l: m / 1 mg <= 1600 %"},
			"limit l: reworded in 2: holds 15.15 of 16 (0.85) at x=6 → holds 1515 of 1600 (85) at x=6"},
		{"can't be computed", []string{"richer { m += 1 % }", "richer { m += 1 % }", "richer { m += 1 % / (x - 2) }"},
			"fault: newly fails in 2: holds → can't be computed (map `m` can't be computed: the result isn't a finite number (tune.fettle:16))"},
		{"can be computed again", []string{"richer { m += 1 % }", "richer { m += 1 % / (x - 2) }", "richer { m += 50 % }"},
			"limit l: newly fails in 2: can't be computed (map `m` can't be computed: the result isn't a finite number (tune.fettle:16)) → fails 22.5 of 20 (-2.5) at x=6; by rule richer\n" +
				"fault: recovered in 2: can't be computed (map `m` can't be computed: the result isn't a finite number (tune.fettle:16)) → holds"},
		{"can't be looked at", []string{bound, bound, "limit l: m / x <= 20 mg"},
			"limit l: newly fails in 2: holds 15.15 of 20 (4.85) at x=6 → fails (it has no finite value in some cell); as it was holds 15.15 of 20 (4.85) at x=6, 0 break; by limit l"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var old, new []string
			for i := 0; i < len(c.edits); i += 3 {
				old = append(old, "tune.fettle", c.edits[i], c.edits[i+1])
				new = append(new, "tune.fettle", c.edits[i], c.edits[i+2])
			}
			files := one(small)
			r := compare(t, edited(t, files, old...), edited(t, files, new...), review.Options{})
			if got := limitsText(r.Limits); got != c.want {
				t.Errorf("\n%s, want\n%s", got, c.want)
			}
		})
	}
}

func TestChecks(t *testing.T) {
	const check = `check "proven" with bench {
  m(6) == 15.15 mg
  m(0) >= 9 mg
}
`
	for _, c := range []struct {
		name     string
		old, new string
		edit     [2]string
		want     string
	}{
		{"the same", check, check, [2]string{"10 12", "11 12"}, ""},
		{"fails", check, check, [2]string{"14 15", "14 16"}, "check m(6) == 15.15 mg: newly fails in 1: holds 15.15 for 15.15 → fails 16.16 for 15.15; by base of m\nlimit l: closer in 2: holds 15.15 of 20 (4.85) at x=6 → holds 16.16 of 20 (3.84) at x=6"},
		{"fails without values", check, check, [2]string{"10 12", "8 12"}, "check m(0) >= 9 mg: newly fails in 1: holds 10.1 for 9 → fails 8.08 for 9; by base of m"},
		{"reworded", check, strings.Replace(check, "15.15", "16.16", 1), [2]string{"14 15", "14 16"},
			"check m(6) == 16.16 mgm(6) == 15.15 mg: loosened in 1: holds 15.15 for 15.15 → holds 16.16 for 16.16; as it was fails 16.16 for 15.15, 1 break\nlimit l: closer in 2: holds 15.15 of 20 (4.85) at x=6 → holds 16.16 of 20 (3.84) at x=6"},
		{"one is gone", check, strings.Replace(check, "  m(6) == 15.15 mg\n", "", 1), [2]string{"10 12", "11 12"}, "check m(6) == 15.15 mg: no longer applies in 1: holds 15.15 for 15.15 → none"},
		{"all are gone", check, "", [2]string{"10 12", "11 12"}, "check m(6) == 15.15 mg: gone in 1: holds 15.15 for 15.15 → none\ncheck m(0) >= 9 mg: gone in 1: holds 10.1 for 9 → none"},
		{"for another tune", check, strings.Replace(check, "with bench", "with thick", 1), [2]string{"10 12", "11 12"},
			"check m(6) == 15.15 mg: no longer applies in 1: holds 15.15 for 15.15 → none\ncheck m(0) >= 9 mg: no longer applies in 1: holds 10.1 for 9 → none\n" +
				"check m(6) == 15.15 mg: new in 1: none → holds 15.15 for 15.15\ncheck m(0) >= 9 mg: new in 1: none → holds 11.11 for 9"},
		{"recovered", check, check, [2]string{"14 15", "14 15"}, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := compare(t, one(small+c.old), edited(t, one(small+c.new), "tune.fettle", c.edit[0], c.edit[1]), review.Options{})
			if got := limitsText(r.Limits); got != c.want {
				t.Errorf("\n%s, want\n%s", got, c.want)
			}
		})
	}
	r := compare(t, one(strings.Replace(small, "14 15", "14 16", 1)+check), one(small+check), review.Options{})
	if got, want := limitsText(r.Limits), "limit l: farther in 2: holds 16.16 of 20 (3.84) at x=6 → holds 15.15 of 20 (4.85) at x=6\ncheck m(6) == 15.15 mg: recovered in 1: fails 16.16 for 15.15 → holds 15.15 for 15.15"; got != want {
		t.Errorf("\n%s, want\n%s", got, want)
	}
}

// Of two tunes of one workspace the limits themselves are the same: what they
// ask isn't told as changed, nor are checks of another tune.
func TestLimitsOfTwoTunes(t *testing.T) {
	files := one(strings.Replace(small, "limit l: m <= most", "limit l: m <= oil.grade * 1 mg + 9 mg\nlimit k: m <= most when oil.grade < 20", 1) +
		"check \"proven\" with bench { m(6) == 15.15 mg }\n")
	got := limitsText(patterns(t, files, "bench", "thick").Limits)
	want := "limit k: no longer applies in 1: holds 15.15 of 20 (4.85) at x=6 → doesn't apply\nlimit l: farther in 1: holds 15.15 of 19 (3.85) at x=6 → holds 15.15 of 49 (33.9) at x=6"
	if got != want {
		t.Errorf("\n%s, want\n%s", got, want)
	}
}

// The limits of all pairs in their order: by kind, and the worst first.
func TestOrderOfLimits(t *testing.T) {
	const limits = `
limit a: m <= 30 mg
limit b: m <= 19 mg
limit c: m <= 16 mg
limit d: m <= 19.3 mg
limit e: m <= 18 mg else warn
limit f: m <= 17 mg
limit k: m <= 50 mg
limit h: m >= 10.25 mg
`
	old := strings.Replace(small, "limit l: m <= most", limits, 1)
	new := edited(t, one(old), "tune.fettle", "+= 1 %", "+= 20 %", "tune.fettle", "limit d: m <= 19.3 mg", "limit d: m <= 18.2 mg", "tune.fettle", "limit k: m <= 50 mg", "",
		"tune.fettle", "limit a: m <= 30 mg", "limit a: m <= 31 mg")
	r := compare(t, one(old), new, review.Options{})
	var got []string
	for _, m := range r.Limits {
		got = append(got, m.Name+" "+m.Kind)
	}
	want := "c newly fails, f newly fails, k gone, a loosened, e newly near, d newly near, b closer, h recovered"
	if strings.Join(got, ", ") != want {
		t.Errorf("%s, want %s\n%s", strings.Join(got, ", "), want, limitsText(r.Limits))
	}
	e := r.Limits[0].Entry
	if e == nil || len(e.Limits) != len(r.Limits) || e.Limits[0].Name != "c" {
		t.Errorf("its entry tells %v", e)
	}
}
