package diff

import (
	"testing"
)

// Edits that only work together are one element, as small as can be, and what
// stands between them is told by itself.
func TestEditsThatOnlyWorkTogether(t *testing.T) {
	for name, c := range map[string]struct {
		edits []string
		tune  string
		want  string
	}{
		// lean(2, 20) is 0.9: 9, 22.5 and 26.
		"a function with another parameter": {[]string{"lean(x) = 1 - x / 10", "lean(x, y) = 1 - x / y", "lean(short)", "lean(short, 20)", "| 10   20   30", "| 10   25   30", "| 1    3", "| 1    4", "<= 26", "<= 27"}, "home", `
			base of fuel | tune.fettle:19 → tune.fettle:19 | rpm 4000: 20 → 25 | fuel 0 4 0 time 0 0.4 0
			together: function lean, rule weak | tune.fettle:11 → tune.fettle:11 | can't be told apart: with some of them new and some old, ` + "`lean` has 1 argument here (tune.fettle:26)" + ` | fuel 1 2.5 2 time 0.1 0.25 0.2
			limit cap | tune.fettle:34 → tune.fettle:34 | … 27 mg else clamp (was … 26 mg else clamp) | fuel 0 0 1 time 0 0 0.1`},
		"a value that becomes a function": {[]string{"let short = 2", "fn short(x) = x", "lean(short)", "lean(short(3))"}, "home", `
			together: function short, rule weak | tune.fettle:10 → tune.fettle:10 | can't be told apart: with some of them new and some old, ` + "`short` is a function and needs its arguments (tune.fettle:26)" + ` | fuel -1 -2 -3 time -0.1 -0.2 -0.3`},
		// At 4000 and 6000 rpm: thin_air makes 16.8 and 24.2, pull 15.8 and 22.2, and lean 17.4 and 24.6.
		"two such groups": {[]string{"lean(x) = 1 - x / 10", "lean(x, y) = 1 - x / y", "lean(short)", "lean(short(1), 20)", "let short = 2", "fn short(x) = 2 * x",
			"curve pull [mg] {\n  rpm [rpm] | 2000 6000\n            | 1    3\n}", "let pull = 1 mg", "pull(rpm)", "pull", "10000 m\n", "5000 m\n"}, "away", `
			rule thin_air | tune.fettle:22 → tune.fettle:19 | fuel *= 1 - altitude / 5000 m (was 1 - altitude / 10000 m) | fuel -1.6 -1.8 time -0.16 -0.18
			together: value pull, rule pulls | tune.fettle:12 → tune.fettle:12 | can't be told apart: with some of them new and some old, ` + "`pull` is a value and can't be called (tune.fettle:29)" + ` | fuel -1 -2 time -0.1 -0.2
			together: function short, function lean, rule weak | tune.fettle:10 → tune.fettle:10 | can't be told apart: with some of them new and some old, ` + "`short` is a function and needs its arguments (tune.fettle:26)" + ` | fuel 1.6 2.4 time 0.16 0.24`},
	} {
		t.Run(name, func(t *testing.T) {
			p := twoRevisions(t, files(shop), files(edited(t, shop, c.edits...)), c.tune)
			wantTold(t, p, c.want)
		})
	}
}

// A trim that can't be read in a hybrid is a matter of the tunes that have it:
// there what stands in between is told with it.
func TestATrimThatReadsWhatChanges(t *testing.T) {
	old := edited(t, shop, "trim fuel -= 1 mg", "trim fuel -= lean(short) * 5 mg")
	new := edited(t, old, "lean(x) = 1 - x / 10", "lean(x, y) = 1 - x / y", "lean(short)", "lean(short, 10)", "| 10   20   30", "| 10   25   30", "lean(short) * 5 mg", "lean(short, 20) * 5 mg", "<= 26", "<= 23")
	// The trim takes 4, and then 4.5: from 4.2, 15.4 and 23.6.
	wantTold(t, twoRevisions(t, files(old), files(new), "away"), `
			base of fuel | tune.fettle:19 → tune.fettle:19 | rpm 4000: 20 → 25 | fuel 0 3.6 0 time 0 0.36 0
			together: function lean, rule weak, limit cap, trim of away | tune.fettle:11 → tune.fettle:11 | can't be told apart: with some of them new and some old, a trim can't be read: `+"`lean` has 1 argument here (tune.fettle:42)"+` | fuel -0.5 -0.5 -0.6 time -0.05 -0.05 -0.06`)
	// At home it is 24, and no concern.
	wantTold(t, twoRevisions(t, files(old), files(new), "home"), `
			base of fuel | tune.fettle:19 → tune.fettle:19 | rpm 4000: 20 → 25 | fuel 4 0 time 0.4 0
			limit cap | tune.fettle:34 → tune.fettle:34 | … 23 mg else clamp (was … 26 mg else clamp) | fuel 0 -1 time 0 -0.1`)
}

// Two maps that change which of them reads the other would go round in a circle
// with the first rule new and the second old, so the second goes first.
func TestACircleOnTheWay(t *testing.T) {
	old := `axis rpm [rpm] 1000..10000
map fuel [mg] {
  rpm | 2000 4000
      | 10   20
}
map spark [deg] {
  rpm | 2000 4000
      | 20   10
}
rule first {
  fuel += 1 mg
}
rule second {
  fuel += spark / 10 deg * 1 mg
}
variant a { }
`
	new := edited(t, old, "fuel += 1 mg", "spark += fuel / 1 mg * 1 deg", "fuel += spark / 10 deg * 1 mg", "fuel += 4 mg")
	// Fuel is 13 and 22, then with the second rule 15 and 25, then 14 and 24, which the spark gets.
	wantTold(t, twoRevisions(t, files(old), files(new), "a"), `
			rule second | tune.fettle:13 → tune.fettle:13 | fuel += 4 mg (was spark / 10 deg * 1 mg) | fuel 2 3
			rule first | tune.fettle:10 → tune.fettle:10 | spark += fuel / 1 mg * 1 deg (new); fuel += 1 mg (taken out) | fuel -1 -1 spark 14 24`)
}

// What can be read and not be computed for a tune is told together in that tune.
func TestATuneThatCannotBeComputedOnTheWay(t *testing.T) {
	old := `axis rpm [rpm] 1000..10000
map fuel [mg] {
  rpm | 2000
      |   12
}
rule less {
  fuel -= 0 mg
}
rule more {
  fuel += 0 mg
}
map room like fuel = 1 mg / (fuel - 10 mg)
variant a { }
`
	p := twoRevisions(t, files(old), files(edited(t, old, "-= 0", "-= 2", "+= 0", "+= 5", "12", "13")), "a")
	// Room is 1/2, with the base 1/3, then 1/1, then 1/6.
	wantTold(t, p, `
			base of fuel | tune.fettle:4 → tune.fettle:4 | rpm 2000: 12 → 13 | fuel 1 room -0.166667
			rule less | tune.fettle:6 → tune.fettle:6 | fuel -= 2 mg (was 0 mg) | fuel -2 room 0.666667
			rule more | tune.fettle:9 → tune.fettle:9 | fuel += 5 mg (was 0 mg) | fuel 5 room -0.833333`)
	p = twoRevisions(t, files(old), files(edited(t, old, "-= 0", "-= 2", "+= 0", "+= 5")), "a")
	wantTold(t, p, `
			together: rule less, rule more | tune.fettle:6 → tune.fettle:6 | can't be told apart: with some of them new and some old, map `+"`room`"+` can't be computed (tune.fettle:12: the result isn't a finite number) | fuel 3 room -0.3`)
}

// A tune keeps a row that is gone until its condition is taken over, also where
// the new one is the default.
func TestARowThatIsGone(t *testing.T) {
	for _, row := range []string{"stock", "wide"} {
		new := edited(t, shop, "  long  | 780         | 1.5  | \"Tussock\"\n", "  wide  | 780         | 1    | \"Tussock\"\n", "when pipe is long", "when not hot", "pipe = long", "pipe = "+row)
		// Without long_pipe there are 3 less from 4000 rpm, of which the cap has had 0.6.
		wantTold(t, twoRevisions(t, files(shop), files(new), "away"), `
			rule long_pipe | tune.fettle:31 → tune.fettle:31 | when not hot (was when pipe is long) | fuel -3 -2.4 time -0.3 -0.24
			idle: given pipe | tune.fettle:40 → tune.fettle:40 | long → `+row)
	}
	new := edited(t, shop, "  long  | 780         | 1.5  | \"Tussock\"\n", "", " when pipe is long", "", "pipe = long", "pipe = stock")
	// The rule goes on with the row's gain of 1.5 until the pipe is the stock one.
	wantTold(t, twoRevisions(t, files(shop), files(new), "away"), `
			given pipe | tune.fettle:40 → tune.fettle:39 | long → stock | fuel -1 -0.4 time -0.1 -0.04
			idle: rule long_pipe | tune.fettle:31 → tune.fettle:30 | always (was when pipe is long)`)
}

// A given that was renamed keeps its value; one that is new has its default until
// the conditions are taken over.
func TestGivensThatCame(t *testing.T) {
	new := edited(t, shop, "given altitude", "given height", "- altitude", "- height", "altitude = 1000 m", "height = 1000 m")
	wantTold(t, twoRevisions(t, files(shop), files(new), "away"), `
			idle: rule thin_air | tune.fettle:22 → tune.fettle:22 | fuel *= 1 - height / 10000 m (was 1 - altitude / 10000 m)`)
	new = edited(t, new, "height = 1000 m", "height = 2000 m")
	wantTold(t, twoRevisions(t, files(shop), files(new), "away"), `
			given height | tune.fettle:39 → tune.fettle:39 | 1000 m → 2000 m | fuel -0.8 -1.6 -1.8 time -0.08 -0.16 -0.18
			idle: rule thin_air | tune.fettle:22 → tune.fettle:22 | fuel *= 1 - height / 10000 m (was 1 - altitude / 10000 m)`)
	new = edited(t, shop, "given hot", "given load = 1\ngiven hot", "rule pulls", "rule loaded {\n  fuel += load * 1 mg\n}\nrule pulls", "variant home { }", "variant home { load = 2 }")
	wantTold(t, twoRevisions(t, files(shop), files(new), "home"), `
			rule loaded |  → tune.fettle:29 | added | fuel 1 1 1 time 0.1 0.1 0.1
			given load |  → tune.fettle:41 | none (the default 1 counts) → 2 | fuel 1 1 1 time 0.1 0.1 0.1`)
}

// Which variant another comes from shows in its conditions and trims, at the
// places where they are written.
func TestFromAnotherVariant(t *testing.T) {
	old := shop + `variant low {
  altitude = 500 m
  trim fuel += 1 mg
}
variant high {
  altitude = 2000 m
  trim fuel += 2 mg
}
variant june from low {
  hot = yes
}
`
	new := edited(t, old, "june from low", "june from high")
	// 8 16 24 x 0.95 + 1 2 3 + 1, then x 0.8: + 2, of which the cap at 26 lets through 0.2.
	wantTold(t, twoRevisions(t, files(old), files(new), "june"), `
			trim of low | tune.fettle:49 →  | trim fuel += 1 mg (taken out) | fuel -1 -1 -0.2 time -0.1 -0.1 -0.02
			trim of high |  → tune.fettle:53 | trim fuel += 2 mg (new) | fuel 2 2 0.2 time 0.2 0.2 0.02
			given altitude | tune.fettle:48 → tune.fettle:52 | 500 m → 2000 m | fuel -1.2 -2.4 -1.8 time -0.12 -0.24 -0.18`)
}

// Trims that are the same and stand in another order are an element too.
func TestTheOrderOfTrims(t *testing.T) {
	old := edited(t, shop, "variant home { }", "variant one { trim fuel += 1 mg }\nvariant two from one { trim fuel *= 0.5 }\nvariant home from two { }")
	new := edited(t, shop, "variant home { }", "variant two { trim fuel *= 0.5 }\nvariant one from two { trim fuel += 1 mg }\nvariant home from one { }")
	// (8 + 1) / 2 is 4.5, and 8 / 2 + 1 is 5.
	wantTold(t, twoRevisions(t, files(old), files(new), "home"), `
			the order of the trims | tune.fettle:38 → tune.fettle:37 | `+"`trim fuel *= 0.5` comes before `trim fuel += 1 mg`"+` (was after it) | fuel 0.5 0.5 0.5 time 0.05 0.05 0.05`)
	twice := edited(t, shop, "variant home { }", "variant one { trim fuel += 1 mg }\nvariant home from one { trim fuel += 1 mg }")
	once := edited(t, shop, "variant home { }", "variant one { trim fuel += 1 mg }\nvariant home from one { }")
	wantTold(t, twoRevisions(t, files(once), files(twice), "home"), `
			trim of home |  → tune.fettle:38 | trim fuel += 1 mg (new) | fuel 1 1 1 time 0.1 0.1 0.1`)
}

// A new rule has its place among the rules, wherever the other declarations went.
func TestOtherDeclarationsThatMoved(t *testing.T) {
	old := edited(t, shop, "let short = 2\n", "", "limit cap", "let short = 2\nlimit cap")
	new := edited(t, shop, "rule thin_air", "rule first {\n  fuel += 2 mg\n}\nrule thin_air")
	// 2 mg before what scales: 1.6.
	wantTold(t, twoRevisions(t, files(old), files(new), "home"), `
			rule first |  → tune.fettle:22 | added | fuel 1.6 1.6 1.6 time 0.16 0.16 0.16`)
}

// Clamps act in their order too.
func TestTheOrderOfClamps(t *testing.T) {
	old := edited(t, shop, "limit window: fuel <= 100 mg", "limit least: fuel >= 27 mg where rpm > 5000 else clamp")
	new := edited(t, shop, "limit cap", "limit least: fuel >= 27 mg where rpm > 5000 else clamp\nlimit cap", "limit window: fuel <= 100 mg\n", "")
	wantTold(t, twoRevisions(t, files(old), files(new), "away"), `
			the order of the clamps | tune.fettle:35 → tune.fettle:34 | `+"`least` comes before `cap`"+` (was after it) | fuel -1 time -0.1`)
}

// Rules that are new, gone, renamed, changed and moved at once.
func TestManyThingsAtOnce(t *testing.T) {
	new := edited(t, shop, "rule thin_air {\n  fuel *= 1 - altitude / 10000 m\n}\n", "", "rule weak", "rule more {\n  fuel += 10 mg\n}\nrule thin", "fuel *= lean(short)", "fuel *= lean(short)",
		"limit cap", "rule thin_air {\n  fuel *= 1 - altitude / 5000 m\n}\nlimit cap")
	// At 2000 and 4000 rpm (6000 is capped throughout) more makes 14.4 and 25.6, thin_air 12.8 and
	// 23.2, and all but the trim scaled by it 12.6 and 22.2.
	wantTold(t, twoRevisions(t, files(shop), files(new), "away"), `
			rule more |  → tune.fettle:22 | added | fuel 7.2 7.2 time 0.72 0.72
			rule thin_air | tune.fettle:22 → tune.fettle:34 | fuel *= 1 - altitude / 5000 m (was 1 - altitude / 10000 m) | fuel -1.6 -2.4 time -0.16 -0.24
			the order of the rules | tune.fettle:25 → tune.fettle:25 | `+"`thin` comes before `thin_air`"+` (was after it) | fuel -0.2 -1 time -0.02 -0.1
			idle: rule thin | tune.fettle:25 → tune.fettle:25 | renamed (was `+"`weak`"+`), and says the same`)
}

// A map that is like another gets that one's breakpoints.
func TestAMapLikeAnother(t *testing.T) {
	old := edited(t, shop, "map time", "map sparse [mg] {\n  rpm | 2000 6000\n      | 1 1\n}\nmap time")
	new := edited(t, old, "like fuel = fuel / 10", "like sparse = fuel / 5")
	wantTold(t, twoRevisions(t, files(old), files(new), "home"), `
			formula of time | tune.fettle:25 → tune.fettle:25 | like sparse (was like fuel), fuel / 5 [mg/ms] (was fuel / 10 [mg/ms]) | time 0.8 1.6 2.4`)
	// The map that it is like has another breakpoint: that one's base is the element.
	new = edited(t, shop, "rpm | 2000 4000 6000", "rpm | 2000 3000 4000 6000", "| 10   20   30", "| 10   16   20   30")
	p := twoRevisions(t, files(shop), files(new), "home")
	if m := p.Maps[1]; m.Map != "time" || len(m.Notes) == 0 || len(m.Parts) != 1 || m.Parts[0].Element.Kind != KindBase {
		t.Errorf("%+v", m)
	}
}
