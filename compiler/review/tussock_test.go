package review_test

import (
	"strings"
	"testing"

	"fettle/compiler"
	"fettle/compiler/diff"
	"fettle/compiler/review"
)

// Where the sides of these reviews come from. The digests are worked out.
var (
	before = review.Origin{Title: "HEAD~1 (3f2c1d0a)", Kind: review.KindRevision, Operand: "HEAD~1", Revision: "3f2c1d0a"}
	tree   = review.Origin{Title: "the work tree", Kind: review.KindWorkTree}
)

// tussock compares the example with itself edited.
func tussock(t *testing.T, opt review.Options, edits ...string) *review.Review {
	t.Helper()
	files := example(t, "tussock")
	r, err := compiler.Review(unproved(open(t, files).Side(before, "")), unproved(open(t, edited(t, files, edits...)).Side(tree, "")), opt)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Edits of the example: a rule, a limit, a comment, names.
var (
	moreFuel = []string{"pipes.fettle", "fuel  += 2.5 % over the_hit", "fuel  += 3.5 % over the_hit"}
	looser   = []string{"limits.fettle", "limit lower_closes: duty_lower <= 85 %", "limit lower_closes: duty_lower <= 95 %"}
	remark   = []string{"limits.fettle", "# Nor so little that the pipe glows.", "# Nor so little that the pipe glows red."}
	typo     = []string{"base_fuel.csv", "7.65,8.40,9.60,11.15,12.70", "7.65,8.40,9.60,1.115,12.70"} // a point in the wrong place
	safeTypo = []string{"base_fuel.csv", "7.65,8.40,9.60,11.15,12.70", "7.65,8.40,9.60,9.15,12.70"}  // of which no limit knows
	names    = []string{"tune.fettle", "variant new_piston", "variant newer_piston", "tune.fettle", "variant rimside_rain", "variant proving {\n  rail = 55 psi\n}\n\nvariant rimside_rain"}
)

func all(edits ...[]string) (out []string) {
	for _, e := range edits {
		out = append(out, e...)
	}
	return out
}

func text(t *testing.T, r *review.Review, opt review.TextOptions) string {
	t.Helper()
	var b strings.Builder
	if err := r.Text(&b, opt); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func markdown(t *testing.T, r *review.Review) string {
	t.Helper()
	var b strings.Builder
	if err := r.Markdown(&b, review.MarkdownOptions{Source: true}); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func wide(n int) review.TextOptions {
	return review.TextOptions{TextOptions: diff.TextOptions{Width: n}, Source: true}
}

// Real reviews, whole: what the tables of cells look like is diff's to test, so
// of those the text has one.
func TestTussock(t *testing.T) {
	for _, c := range []struct {
		name  string
		edits []string
	}{
		{"typo", all(moreFuel, typo)}, {"looser", all(looser, moreFuel)}, {"remark", remark}, {"names", names},
		{"fuel", []string{"fuels.csv", "pump98,14.6,745,98", "pump98,14.6,755,98"}},
	} {
		r := tussock(t, review.Options{}, c.edits...)
		opt := wide(100)
		opt.Tunes = 1
		review.Golden(t, "tussock-"+c.name+".txt", text(t, r, opt))
		review.Golden(t, "tussock-"+c.name+".md", markdown(t, r))
		if c.name == "typo" || c.name == "names" { // of the others the schema knows no more
			review.Validates(t, r)
		}
	}
}

// A cell that is unsafe, in a change of many tunes, is found on the first screen,
// with a limit that knows of it and without one.
func TestPlantedCell(t *testing.T) {
	for what, edit := range map[string][]string{"a limit knows": typo, "none does": safeTypo} {
		r := tussock(t, review.Options{}, all(moreFuel, edit)...)
		if r.Counts.Differ < 100 {
			t.Fatalf("%d tunes differ", r.Counts.Differ)
		}
		md := markdown(t, r)
		for where, screen := range map[string]string{"text": review.FirstScreen(text(t, r, wide(100))), "Markdown": md[:3000]} {
			for _, want := range []string{"LOOK", "throttle 85 %, rpm 9500", "base_fuel.csv:16"} {
				if !strings.Contains(screen, want) {
					t.Errorf("%s, %s: no %q in\n%s", what, where, want, screen)
				}
			}
		}
		if last := lastCommand(text(t, r, wide(100))); !strings.HasSuffix(last, "throttle=85 rpm=9500") {
			t.Errorf("%s: the last command is %q", what, last)
		}
	}
}

func lastCommand(text string) string {
	last := ""
	for _, l := range strings.Split(text, "\n") {
		if strings.HasPrefix(l, "fettle why ") {
			last = l
		}
	}
	return last
}

// Two tunes of one text are written as diff writes them, with what else there is
// to tell put between.
func TestPairOfOneText(t *testing.T) {
	for _, c := range [][3]string{{"first", "home", "frosty_hill"}, {"lantern", "ridge/1000ft-pump91-95degF", "salt_stage"}, {"tussock", "season/stock-club-pump98-820m", "season/long-club-pump98-820m"}, {"first", "hill", "hill"}} {
		w := open(t, example(t, c[0]))
		r, err := compiler.Review(unproved(w.Side(tree, c[1])), unproved(w.Side(tree, c[2])), review.Options{})
		if err != nil {
			t.Fatal(err)
		}
		review.Validates(t, r)
		report, err := diff.Variants(w.Eval(), w.Plan.Find(c[1]), w.Plan.Find(c[2]))
		if err != nil {
			t.Fatal(err)
		}
		opt := wide(100)
		want := report.Pairs[0].Text(opt.TextOptions)
		got := text(t, r, opt)
		head, rest, ok := strings.Cut(got, want.Body)
		if !ok || !strings.HasPrefix(head, want.Head) || !strings.Contains(rest, "\n"+want.Why) || want.Why != "" && !strings.HasPrefix(rest[strings.LastIndex(rest, want.Why)+len(want.Why):], "caution: ") {
			t.Errorf("%v: diff writes\n%s\n%s\n%s, and this is\n%s", c, want.Head, want.Body, want.Why, got)
		}
	}
}

// Within the policy nothing is shown, and what that hides is counted.
func TestPolicy(t *testing.T) {
	r := tussock(t, review.Options{Policy: everything{}, PolicyText: []string{"fuel 2 %"}, PolicyFrom: "limits.fettle:28"}, moreFuel...)
	got := text(t, r, wide(100))
	for _, want := range []string{"different text, different tables, all within the policy\n", "51 differ (51 within the policy alone)", "hidden by the policy fuel 2 % (limits.fettle:28): ", " cells, 51 tunes wholly\n"} {
		if !strings.Contains(got, want) {
			t.Errorf("no %q in\n%s", want, got)
		}
	}
	if strings.Contains(got, "cell by cell") {
		t.Errorf("cells are shown:\n%s", got)
	}
	review.Validates(t, r)
}

type everything struct{}

func (everything) Within(string, float64, float64) bool { return true }

// A tune that can't be computed any more is said to be so before all else.
func TestTuneThatCannotBeComputed(t *testing.T) {
	const source = "axis rpm [rpm] 1000..9000\ngiven a = 1 within 0..5\nmap fuel [mg] to 0.1 {\n  rpm | 2000 4000\n      | 10 20\n}\nmap odd [mg] like fuel = fuel / (a - 2)\nvariant x { a = 1 }\nvariant y { a = 2.5 }\n"
	a := open(t, one(source))
	b := open(t, one(strings.Replace(source, "a = 2.5", "a = 2", 1)))
	r, err := compiler.Review(unproved(a.Side(before, "")), unproved(b.Side(tree, "")), review.Options{})
	if err != nil {
		t.Fatal(err)
	}
	got := text(t, r, wide(100))
	for _, want := range []string{"1 can't be compared", "FAILS  y can't be computed any more", "tune.fettle:7"} {
		if !strings.Contains(got, want) {
			t.Errorf("no %q in\n%s", want, got)
		}
	}
	if fault := review.FaultOf(markdown(t, r)); fault != "" {
		t.Error(fault)
	}
	review.Validates(t, r)
}
