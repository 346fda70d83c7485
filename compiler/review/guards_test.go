package review_test

import (
	"fmt"
	"strings"
	"testing"

	"fettle/compiler/review"
)

// What is under test is put in place of small's limit.
func TestAsksOfNoTune(t *testing.T) {
	const bound = "limit l: m <= most"
	for _, c := range []struct{ name, old, new, want string }{
		{"a when that holds in all", bound, bound + " when g < 9", "l loosened, alike in 2"},
		{"a narrower when", bound + " when g < 9", bound + " when g < 8", "l loosened, alike in 2"},
		{"a wider when", bound + " when g < 8", bound + " when g < 9", "l tightened in 2"},
		{"the other way round", bound + " when 0 < g", bound + " when 1 < g", "l loosened, alike in 2"},
		{"one more thing to hold", bound + " when g < 9", bound + " when g < 9 and oil.grade < 99", "l loosened, alike in 2"},
		{"one thing less", bound + " when g < 9 and oil.grade < 99", bound + " when oil.grade < 99", "l tightened in 2"},
		{"one thing less to choose from", bound + " when g < 9 or oil.grade > 99", bound + " when g < 9", "l loosened, alike in 2"},
		{"another when", bound + " when g < 9", bound + " when oil.grade < 99", "l reworded, alike in 2"},
		{"spaced otherwise", bound + " when g < 9", bound + "   when g<9", ""},
		{"of no tune, narrower", bound + " when g > 8", bound + " when g > 9", "l loosened, alike in 0"},
		{"of no tune, and warns only", bound + " when g > 8", bound + " when g > 8 else warn", "l loosened, alike in 0"},
		{"of no tune, and gone", bound + " when g > 8", "", "l gone, alike in 0"},
		{"of no tune, another bound", bound + " when g > 8", "limit l: m <= 99 mg when g > 8", "l reworded, alike in 0"},
		{"in some tunes alone", "limit l: m <= oil.grade * 1 mg + 9 mg", "limit l: m <= oil.grade * 2 mg - 1 mg", "l loosened in 1"},
		{"another value of the same", bound, bound + "\nlet other [mg] = 3", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			old, new := strings.Replace(small, bound, c.old, 1), strings.Replace(small, bound, c.new, 1)
			r := compare(t, one(old), one(new), review.Options{})
			var got []string
			for _, m := range r.Limits {
				text := m.Name + " " + m.Kind
				if m.Alike {
					text += ", alike"
				}
				got = append(got, fmt.Sprintf("%s in %d", text, len(m.Tunes)))
			}
			if text := strings.Join(got, "; "); text != c.want {
				t.Errorf("%q, want %q", text, c.want)
			}
			weak := strings.Contains(c.want, "loosened") || strings.Contains(c.want, "gone") || strings.Contains(c.want, "reworded")
			if want := map[bool]review.Verdict{true: review.Weakened, false: review.Refactoring}[weak]; r.Verdict != want || r.Differs() != weak {
				t.Errorf("%s, differs %t; want %s", r.Verdict, r.Differs(), want)
			}
		})
	}
}

// Of how many tunes the new tables break what a limit asked is what judging them
// by that limit says, though more tunes are asked less.
func TestAsItWasIsWhatTheOldLimitSays(t *testing.T) {
	const bound = "limit l: m <= most"
	with := func(limit string) map[string]string {
		return edited(t, one(strings.Replace(small, "variant bench", "variant rich { trim m += 2 mg }\nvariant bench", 1)), "tune.fettle", bound, limit)
	}
	const now, was = "limit l: m <= 25 mg", "limit l: m <= 16 mg"
	r := compare(t, with(was), with(now), review.Options{})
	w := open(t, with(was))
	side := w.Side(review.Origin{}, "")
	n := 0
	for _, tune := range side.Tunes {
		if side.Judge(tune).Fails {
			n++
		}
	}
	if m := r.Limits[0]; n != 1 || m.Breaks != n || len(m.Tunes) != 3 || m.Tune != "rich" {
		t.Errorf("%d break of %d, worst %s; the old limit says %d", m.Breaks, len(m.Tunes), m.Tune, n)
	}
	text := r.Limits[0].Says(r)
	if want := "as it was it would fail in 1 of 3 tunes, worst rich: 17.1 mg at x 6, past 16.0 mg"; text[1] != want {
		t.Errorf("%q, want %q", text[1], want)
	}
}

// Limits that ask less are told in the order of what they let through, then by how
// far their bounds moved.
func TestEasedWorstFirst(t *testing.T) {
	const limits = `
limit a: m <= 20 mg
limit b: m <= 15.2 mg
limit c: m <= 15.1 mg else warn
limit d: m <= 16 mg
limit e: m <= 18 mg
limit f: m <= 15.3 mg
`
	old := strings.Replace(small, "limit l: m <= most", limits, 1)
	new := edited(t, one(old), "tune.fettle", "a: m <= 20 mg", "a: m <= 21 mg", "tune.fettle", "b: m <= 15.2 mg", "b: m <= 30 mg", "tune.fettle", "c: m <= 15.1 mg", "c: m <= 90 mg",
		"tune.fettle", "limit d: m <= 16 mg", "", "tune.fettle", "e: m <= 18 mg", "e: m <= 36 mg", "tune.fettle", "f: m <= 15.3 mg", "f: m <= 15.4 mg else warn", "tune.fettle", "14 15", "14 15.2")
	r := compare(t, one(old), new, review.Options{})
	var got []string
	for _, m := range r.Limits {
		got = append(got, m.Name)
	}
	if want := "b f c d e a"; strings.Join(got, " ") != want {
		t.Errorf("%s, want %s\n%s", strings.Join(got, " "), want, limitsText(r.Limits))
	}
	// Each is named, with its bounds.
	var b strings.Builder
	if err := r.Text(&b, review.TextOptions{}); err != nil {
		t.Fatal(err)
	}
	if want := "more ask less: d is gone, e 18 → 36 mg, a 20 → 21 mg"; !strings.Contains(b.String(), want) {
		t.Errorf("nothing says %q:\n%s", want, b.String())
	}
}

func TestGuards(t *testing.T) {
	const ranged = "given g = 2 within 1..9"
	for _, c := range []struct {
		name, place, old, new string
		want                  string
	}{
		{"a wider range", "given g = 2", ranged, "given g = 2 within 0..9", "given g takes 0..9 now, and took 1..9"},
		{"a narrower one", "given g = 2", ranged, "given g = 2 within 1..8", ""},
		{"the same in other words", "given g = 2", ranged, "given g = 2 within 1 .. (10 - 1)", ""},
		{"none", "given g = 2", ranged, "given g = 2", "given g takes any value now, and took 1..9"},
		{"one where there was none", "given g = 2", "given g = 2", ranged, ""},
		{"in another unit", "given g = 2", "given g [m] = 2 within 1..9 ", "given g [km] = 0.002 within 0.001..0.009", ""},
		{"wider in another unit", "given g = 2", "given g [m] = 2 within 1..9 ", "given g [km] = 0.002 within 0.001..0.01", "given g takes 0.001..0.01 km now, and took 1..9 m"},
		{"a longer axis", "axis x 0..9", "axis x 0..9", "axis x 0..10", "axis x reaches over 0..10 now, and reached over 0..9"},
		{"a shorter axis", "axis x 0..9", "axis x 0..9", "axis x 0..8", ""},
		{"a caution that is gone", "let most", "caution \"Mind it.\"\nlet most", "let most", `a caution was taken out: "Mind it."`},
		{"a new caution", "let most", "let most", "caution \"Mind it.\"\nlet most", ""},
		{"a policy that hides more", "let most", "review { allow m = 2 % }\nlet most", "review { allow m = 3 % }\nlet most", "the policy allows m 3 % now, and allowed 2 %"},
		{"a policy that hides less", "let most", "review { allow m = 2 % }\nlet most", "review { allow m = 1 % }\nlet most", ""},
		{"a policy anew", "let most", "let most", "review { allow m = 3 % }\nlet most", "the policy allows m 3 % now, and allowed nothing"},
		{"a policy that is gone", "let most", "review { allow m = 2 % }\nlet most", "let most", "the policy allows m nothing any more, and allowed 2 %"},
		{"an amount for a share", "let most", "review { allow m = 2 % }\nlet most", "review { allow m = 0.1 mg }\nlet most", "the policy allows m 0.1 mg now, and allowed 2 %"},
		{"another unit", "let most", "review { allow m = 0.1 mg }\nlet most", "review { allow m = 0.0001 g }\nlet most", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			text := strings.Replace(small, "variant bench { g = 2 }", "variant bench { }", 1)
			files := one(text)
			r := compare(t, edited(t, files, "tune.fettle", c.place, c.old), edited(t, files, "tune.fettle", c.place, c.new), review.Options{})
			var got []string
			for _, a := range r.Guards {
				got = append(got, a.Says()[0])
			}
			if text := strings.Join(got, "\n"); text != c.want {
				t.Errorf("%q, want %q", text, c.want)
			}
			weak := c.want != ""
			if want := map[bool]review.Verdict{true: review.Weakened, false: review.Refactoring}[weak]; r.Verdict != want || r.Differs() != weak {
				t.Errorf("%s, differs %t; want %s", r.Verdict, r.Differs(), want)
			}
			if strings.Contains(c.want, "caution") && len(r.Cautions) != 0 {
				t.Errorf("it is told as valid: %q", r.Cautions)
			}
		})
	}
	// What a given takes is listed among what changed in the source.
	files := one(small)
	r := compare(t, edited(t, files, "tune.fettle", "given g = 2", ranged), edited(t, files, "tune.fettle", "given g = 2", "given g = 2 within 1..5"), review.Options{})
	if len(r.Elements) != 1 || r.Elements[0].Name != "given g" || r.Elements[0].Why != "within 1..5 (was within 1..9)" {
		t.Errorf("%+v", r.Elements)
	}
}

// A limit whose text is the same is told with what it reads that changed.
func TestDue(t *testing.T) {
	const bound = "limit l: m <= most"
	for _, c := range []struct {
		name     string
		old, new []string
		want     string
	}{
		{"a value", nil, []string{"= 20", "= 30"}, "l loosened 20 → 30 by value most"},
		{"by way of another", []string{"= 20", "= 2 * half\nlet half [mg] = 10"}, []string{"half [mg] = 10", "half [mg] = 15"}, "l loosened 20 → 30 by value half"},
		{"the same in other words", nil, []string{"= 20", "= 2 * 10 mg"}, "l reworded by value most"},
		{"a row of the tune", []string{bound, "limit l: m <= oil.grade * 1 mg + 9 mg"}, []string{"| 10\n", "| 100\n"}, "l loosened 19 → 109 by row oils.thin"},
		{"the row of another tune", []string{bound, "limit l: m <= oil.grade * 1 mg + 9 mg"}, []string{"| 40\n", "| 41\n"}, "l loosened 49 → 50 by row oils.thick"},
		{"in no tune compared", []string{bound, "limit l: m <= most when g > 5"}, []string{"= 20", "= 30"}, "l reworded by value most"},
	} {
		t.Run(c.name, func(t *testing.T) {
			old := one(small)
			if c.old != nil {
				old = edited(t, old, "tune.fettle", c.old[0], c.old[1])
			}
			r := compare(t, old, edited(t, old, "tune.fettle", c.new[0], c.new[1]), review.Options{})
			var got []string
			for _, m := range r.Limits {
				text := m.Name + " " + m.Kind
				if m.Moved != nil {
					text += fmt.Sprintf(" %g → %g", m.Moved.Was, m.Moved.Is)
				}
				for _, d := range m.Due {
					text += " by " + d.Name
				}
				got = append(got, text)
			}
			if text := strings.Join(got, "; "); text != c.want {
				t.Errorf("%q, want %q", text, c.want)
			}
		})
	}
}

// A check that is made to fit is judged by what it expected.
func TestChecksMadeToFit(t *testing.T) {
	const check = "check \"proven\" with bench { m(6) == 15.15 mg +- 1 % }\n"
	const base = "14 15"
	for _, c := range []struct{ name, expects, base, want string }{
		{"another value", "m(6) == 12.12 mg +- 1 %", "14 12", "loosened, fails as it was"},
		{"more room, and used", "m(6) == 15.15 mg +- 50 %", "14 12", "loosened, fails as it was"},
		{"more room", "m(6) == 15.15 mg +- 50 %", base, "loosened, holds as it was"},
		{"less room", "m(6) == 15.15 mg +- 0.5 %", base, "tightened, holds as it was"},
		{"a bound", "m(6) <= 15.3 mg", base, "reworded, holds as it was"},
		{"something else", "m(4) == 14.14 mg", base, "reworded"},
		{"other words for it", "m(6)   == 0.01515 g +- 1 %", base, "reworded, holds as it was"},
	} {
		t.Run(c.name, func(t *testing.T) {
			new := edited(t, one(small+strings.Replace(check, "m(6) == 15.15 mg +- 1 %", c.expects, 1)), "tune.fettle", base, c.base)
			r := compare(t, one(small+check), new, review.Options{})
			for _, m := range r.Limits {
				if !m.Check {
					continue
				}
				got := m.Kind
				if m.AsItWas != nil {
					got += ", " + m.AsItWas.Word + " as it was"
				}
				if got != c.want {
					t.Errorf("%s, want %s", got, c.want)
				}
				return
			}
			t.Error("the check isn't told")
		})
	}
}

// A check names what moved its value, and where it stands.
func TestCheckThatFails(t *testing.T) {
	files := one(small + "check \"proven\" with bench { m(0) >= 9 mg }\n")
	r := compare(t, files, edited(t, files, "tune.fettle", "| 10 12", "| 8 12"), review.Options{})
	m := r.Limits[0]
	want := "check \"proven\" newly fails in bench; 8.08 mg, where >= 9.00 mg is expected; pushed over by base of m, tune.fettle:12: x 0: 10 → 8; the check stands in tune.fettle:20"
	if got := strings.Join(m.Says(r), "; "); got != want {
		t.Errorf("\n%s, want\n%s", got, want)
	}
}
