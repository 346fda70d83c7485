package history

import (
	"strings"
	"testing"

	"fettle/compiler/explain"
	"fettle/lang/diag"
)

func sample() *Log {
	mg := func(printed string) *Value { return &Value{Printed: printed, Unit: "mg", Tune: "bench"} }
	by := func(short, subject string) *Commit {
		return &Commit{Hash: strings.Repeat(short, 6)[:40], Short: short, Author: "Ada Bore", Date: "2026-03-01T10:00:00Z", Subject: subject}
	}
	part := func(name, text string) Part { return Part{Name: name, text: text} }
	changed := &Row{Kind: Changed, Commit: by("aaaaaaa", "Longer pipe wants more on top, and then some more"), Before: mg("15.10"), After: mg("15.55"),
		Parts: []Part{part("rule long_pipe", "+0.31"), part("base of fuel", "+0.14"), part("given hill", "+0.02"), part("row fuels.pump", "-0.01"), part("order of the rules", "-0.01")}}
	changed.text = rowText{change: "+0.45 mg", share: "+3.0 %", since: "bbbbbbb", at: []string{"rpm=9000"}}
	fault := func(short string) *Row {
		return &Row{Kind: Broken, Commit: by(short, "oh"), Why: "there is no `feul`", Place: "tune.fettle:12", Errors: 2}
	}
	return &Log{Tune: "bench", Map: "fuel", Unit: "mg", At: []explain.Coord{{Axis: "rpm", Value: 9000, Unit: "rpm"}}, Now: mg("15.55"), Rows: []*Row{
		changed, fault("bbbbbbb"), fault("ccccccc"), fault("ddddddd"), {Kind: First, Commit: by("eeeeeee", "The base"), After: mg("15.10")},
	}}
}

func text(t *testing.T, l *Log, opt TextOptions) string {
	t.Helper()
	var b strings.Builder
	if err := l.Text(&b, opt); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestText(t *testing.T) {
	wide := `fuel [mg] of bench at rpm 9000: 15.55 mg

aaaaaaa  2026-03-01  Ada Bore  15.10 → 15.55 mg  +0.45 mg  +3.0 %   rule long_pipe +0.31, base of fuel +0.14, given hill +0.02, and 2 more     Longer pipe wants more on top, and then some more
ddddddd  2026-03-01  Ada Bore  doesn't compile                      2 errors, tune.fettle:12 there is no ` + "`feul`" + `; so do the 2 after it, up to bbbbbbb   oh
eeeeeee  2026-03-01  Ada Bore  first here: 15.10 mg                                                                                            The base

the chain before the newest change: fettle why bbbbbbb:bench fuel rpm=9000
`
	if got := text(t, sample(), TextOptions{}); strings.Join(strings.Fields(got), " ") != strings.Join(strings.Fields(wide), " ") {
		t.Errorf("it prints\n%s", got)
	}
	narrow := `fuel [mg] of bench at rpm 9000: 15.55 mg

aaaaaaa  2026-03-01  Ada Bore  15.10 → 15.55 mg  +0.45 mg  +3.0 %   Longer pipe wants more on t…
         rule long_pipe +0.31, base of fuel +0.14, given hill +0.02, and 2 more
ddddddd  2026-03-01  Ada Bore  doesn't compile                      oh
         2 errors, tune.fettle:12 there is no ` + "`feul`" + `; so do the 2 after it, up to bbbbbbb
eeeeeee  2026-03-01  Ada Bore  first here: 15.10 mg                 The base

the chain before the newest change: fettle -C x why bbbbbbb:bench fuel rpm=9000
`
	got := text(t, sample(), TextOptions{Width: 96, Call: "fettle -C x"})
	if got != narrow {
		t.Errorf("it prints\n%s", got)
	}
}

// Whatever stands in names, no line begins or hides anything, and columns line up.
func TestTextIsHarmless(t *testing.T) {
	bad := "\x1b[31m\x1b]0;x\a\u202e\u2028\r\nX\xff貨"
	l := sample()
	l.Tune, l.Map, l.Unit, l.Cautions = l.Tune+bad, l.Map+bad, l.Unit+bad, []string{bad}
	l.At[0].Axis, l.At[0].Held = bad, true
	for _, r := range l.Rows {
		r.Commit.Author, r.Commit.Subject, r.Why, r.Place = bad, bad, r.Why+bad, bad
		for _, v := range []*Value{r.Before, r.After} {
			if v != nil {
				v.Unit, v.Tune = bad, bad
			}
		}
		for i := range r.Parts {
			r.Parts[i].Name = bad
		}
	}
	l.Rows[1].Kind, l.Rows[1].Before = Renamed, l.Rows[0].Before
	for _, width := range []int{0, 60, 100, 200} {
		got := text(t, l, TextOptions{Width: width})
		for _, c := range got {
			if c != '\n' && diag.Clean(string(c)) != string(c) {
				t.Errorf("at %d columns it prints %q", width, c)
			}
		}
		if n := strings.Count(got, "why "); n > 0 {
			t.Errorf("a shell is given what it would obey: %s", got)
		}
	}
	lines := strings.Split(text(t, sample(), TextOptions{Width: 96}), "\n")
	for _, line := range lines {
		if diag.Width(line) > 96 {
			t.Errorf("too wide: %s", line)
		}
	}
}

func TestColour(t *testing.T) {
	plain, coloured := text(t, sample(), TextOptions{}), text(t, sample(), TextOptions{Color: true})
	if !strings.Contains(coloured, "\x1b[1m15.55 mg\x1b[0m") {
		t.Error("the value now isn't bold")
	}
	for _, code := range []string{"\x1b[1m", "\x1b[2m", "\x1b[0m"} {
		coloured = strings.ReplaceAll(coloured, code, "")
	}
	if coloured != plain {
		t.Errorf("colours move what is printed:\n%s", coloured)
	}
}

func TestCut(t *testing.T) {
	for _, c := range []struct {
		s    string
		n    int
		want string
	}{{"abc", 3, "abc"}, {"abcd", 3, "ab…"}, {"a bcd", 3, "a…"}, {"貨物車", 4, "貨…"}, {"貨物車", 6, "貨物車"}, {strings.Repeat("é", 9), 4, "ééé…"}} {
		if got := cut(c.s, c.n); got != c.want {
			t.Errorf("%q cut to %d is %q", c.s, c.n, got)
		}
	}
	if alike("season/wet", "late/wet") != 4 || alike("ab", "ab") != 2 || alike("", "x") != 0 {
		t.Error("names are compared by their ends")
	}
}
