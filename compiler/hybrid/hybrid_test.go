package hybrid

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"fettle/compiler/check"
	"fettle/compiler/resolve"
	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

func checked(t *testing.T, text string) *check.Program {
	t.Helper()
	errs := &diag.List{}
	p := check.Run(resolve.Load(fstest.MapFS{"tune.fettle": {Data: []byte(text)}}, errs), errs)
	if errs.HasErrors() {
		var b strings.Builder
		diag.Text(&b, errs.Sorted(), diag.TextOptions{})
		t.Fatalf("the source has errors:\n%s", b.String())
	}
	return p
}

// What a declaration reads, and when two say the same, is told by its words.
func TestFacts(t *testing.T) {
	f := source.New("tune.fettle", `# A comment.
rule pull when pipe is long { # another
  fuel += 3 mg * (blend.octane - fuels.pump98.octane) over midrange, rpm low..9000 rpm feather 500 where throttle >
    idle

  spark -= 2
}
fn flow(size [mm], at) [g/min] = size * at * constant
map fuel [mg] {
  throttle \ rpm | 1 2
  0 | 3 4
}
given blend from fuels = pump98
given height [m] = base within 0..top
catalog fuels { name | octane
  pump98 | 98
}
curve aged { hours | 0 1
  | 1 2 }
`)
	facts := facts{}
	got := map[string]*fact{}
	for _, d := range syntax.Parse(f, &diag.List{}).Decls {
		facts.take(d)
		got[d.Header().Name.Text] = facts.of(d)
	}
	for name, want := range map[string]string{
		"pull":   "pull pipe long fuel blend fuels midrange rpm low throttle idle spark",
		"flow":   "flow constant",
		"fuel":   "fuel throttle rpm",
		"blend":  "blend fuels pump98",
		"height": "height base top",
		"fuels":  "",
		"aged":   "",
	} {
		if got[name] == nil {
			t.Fatalf("%s isn't there", name)
		}
		if reads := strings.Join(slices.Compact(slices.Clone(got[name].reads)), " "); reads != want {
			t.Errorf("%s reads %q, want %q", name, reads, want)
		}
	}
	if parts := strings.Join(got["pull"].parts, " "); !strings.Contains(parts, "fuels.pump98") || !strings.Contains(parts, "blend.octane") {
		t.Errorf("the parts are %q", parts)
	}
	rule := func(text string) *fact { return textFact(text) }
	a := rule("rule a when x {\n  fuel += 3 %\n}")
	for text, same := range map[string]bool{
		"rule a when x { fuel += 3 % }":                    false, // a formatter's matter: it parts statements by lines
		"rule a  when x {\n\n  fuel   += 3% # more\n}":     true,
		"rule a when x {\n  fuel += 3 %\n  fuel += 3 %\n}": false,
		"rule a when x {\n  fuel +=\n    3 %\n}":           true,
		"rule a when y {\n  fuel += 3 %\n}":                false,
	} {
		if got := rule(text).normal == a.normal; got != same {
			t.Errorf("%q is the same: %v", text, got)
		}
	}
	if b := rule("rule b when x {\n  fuel += 3 %\n}"); b.normal == a.normal || b.nameless != a.nameless {
		t.Errorf("%q, %q", b.normal, b.nameless)
	}
}

func TestMerged(t *testing.T) {
	for _, c := range [][3]string{
		{"a b c", "a b c", "a b c"}, {"", "a", "a"}, {"a", "", "a"}, {"a b", "x a y b z", "x a y b z"},
		{"a b c", "a x c", "a x b c"}, {"a b c", "c x a", "a b c x"}, {"a gone b", "a new b", "a new gone b"},
	} {
		if got := strings.Join(merged(strings.Fields(c[0]), strings.Fields(c[1])), " "); got != c[2] {
			t.Errorf("%s and %s make %s, want %s", c[0], c[1], got, c[2])
		}
	}
}

// Two catalogues in one: the rows and columns of both, the rows that differ old
// until they are new, and any cell where neither has one.
func TestMixture(t *testing.T) {
	const head = "axis rpm [rpm] 1..9\n"
	a := checked(t, head+`catalog pipes {
  name  | length [mm] | gain | maker [text] | sharp
  stock | 740         | 1    | "A \" b"     | yes
  short | 70 cm       | 2    | "C"          | no
}
`)
	b := checked(t, head+`catalog pipes {
  name  | gain | length [mm] | loud
  short | 2    | 710         | 5
  wide  | 3    | 750         | 6
}
`)
	m := &mixture{decl: b.Resolved.Root.Table["pipes"].(*syntax.Catalog), a: catalogOf(a, "pipes"), b: catalogOf(b, "pipes")}
	if other := m.join(); other != "" || !slices.Equal(m.changed, []string{"short"}) {
		t.Fatalf("%q %q", other, m.changed)
	}
	for isNew, want := range map[bool]string{
		false: "name | gain | length [mm] | loud | maker [text] | sharp [yes/no]\nshort | 2 | 70 cm | 5 | \"C\" | no\nwide | 3 | 750 | 6 | \"A \\\" b\" | yes\nstock | 1 | 740 | 5 | \"A \\\" b\" | yes",
		true:  "name | gain | length [mm] | loud | maker [text] | sharp [yes/no]\nshort | 2 | 710 | 5 | \"C\" | no\nwide | 3 | 750 | 6 | \"A \\\" b\" | yes\nstock | 1 | 740 | 5 | \"A \\\" b\" | yes",
	} {
		if got := strings.TrimSpace(m.make(map[string]bool{"pipes.short": isNew}).Body.Text); got != want {
			t.Errorf("with the row new: %v\n%s\nwant\n%s", isNew, got, want)
		}
	}
	if why, _ := m.why("short"); why != "length 70 cm → 710" {
		t.Errorf("short: %s", why)
	}
	c := checked(t, head+"catalog pipes {\n  name | gain [%]\n  short | 3\n}\n")
	m = &mixture{a: catalogOf(a, "pipes"), b: catalogOf(c, "pipes")}
	if other := m.join(); other != "column gain in [%] (was in plain numbers)" {
		t.Errorf("%q", other)
	}
}

// A function with another parameter and those who call it, among many changes,
// make one group of just these.
func TestAGroupAmongMany(t *testing.T) {
	source := func(params, args string, amount int) string {
		var b strings.Builder
		b.WriteString("axis rpm [rpm] 1..9\nmap fuel [mg] { rpm | 1 2\n  | 3 4 }\nfn f(" + params + ") = x\n")
		for i := range 60 {
			call := ""
			if i%10 == 5 {
				call = " * f(" + args + ")"
			}
			fmt.Fprintf(&b, "rule r%d {\n  fuel *= 1.%d%s\n}\n", i, amount+i, call)
		}
		return b.String()
	}
	s := Between(checked(t, source("x", "2", 100)), checked(t, source("x, y", "2, 3", 200)))
	groups := 0
	for i, e := range s.Elements {
		if h := s.At(i + 1); h.Err != nil || h.Check == nil {
			t.Errorf("%s doesn't check: %v", e.Name, h.Err)
		}
		if e.Kind == Together {
			groups++
			if e.Name != "f, r5, r15, r25, r35, r45, r55" {
				t.Errorf("together are %s", e.Name)
			}
		}
	}
	if groups != 1 || len(s.Elements) != 61-7+1 {
		t.Errorf("%d elements, %d groups", len(s.Elements), groups)
	}
}

// What the maps of both sides, the rules, clamps and trims don't read is in no
// hybrid, so that it can stand in no one's way.
func TestWhatIsGathered(t *testing.T) {
	old := checked(t, `axis rpm [rpm] 1..9
given gone = 1
let spare = f(gone)
fn f(x) = x
map fuel [mg] { rpm | 1 2
  | 3 4 }
map only_old like fuel = fuel / 1 mg * spare
rule r {
  fuel *= f(2)
}
variant a { trim fuel *= trimmed }
let trimmed = 2
`)
	new := checked(t, `axis rpm [rpm] 1..9
given come = 1 within 0..2
let more = f(come, 2)
fn f(x, y) = x
map fuel [mg] { rpm | 1 2
  | 3 4 }
map only_new like fuel = fuel / 1 mg * more
rule r {
  fuel *= f(come, 3)
}
`)
	s := Between(old, new)
	names := func(h *Hybrid) (out []string) {
		for _, d := range h.Check.Resolved.Decls {
			out = append(out, d.Header().Name.Text)
		}
		return out
	}
	if got := strings.Join(names(s.At(0)), " "); got != "rpm f fuel trimmed r (trim 1)" {
		t.Errorf("the first hybrid has %s", got)
	}
	if got := strings.Join(names(s.At(1)), " "); len(s.Elements) != 1 || got != "rpm come f fuel trimmed r (trim 1)" {
		t.Errorf("the last hybrid has %s", got)
	}
	if s.At(1).Check.Givens[0].Within.File != nil {
		t.Error("a given is bounded in a hybrid")
	}
}

func TestWords(t *testing.T) {
	long := strings.Repeat("a long word ", 9)
	if got := was(long, "short"); len([]rune(got)) > 80 || !strings.Contains(got, "… (was short)") {
		t.Errorf("%s", got)
	}
	for _, c := range [][4]string{
		{"let x = 3 mg", "let x = 4 mg", "… 4 mg", "… 3 mg"}, {"a", "b", "b", "a"}, {"a b", "a b c", "… b c", "… b"}, {"a b", "a b", "… b", "… b"},
	} {
		if now, before := trimHead(c[1], c[0]), trimHead(c[0], c[1]); now != c[2] || before != c[3] {
			t.Errorf("%q to %q: %q was %q", c[0], c[1], now, before)
		}
	}
	for _, c := range []struct {
		points []float64
		want   string
	}{{nil, ""}, {[]float64{1, 2.5}, "rpm 1, 2.5 (new)"}, {[]float64{1, 2, 3, 4}, "4 breakpoints on rpm (new)"}} {
		if got := pointsText("rpm", c.points, "new"); got != c.want {
			t.Errorf("%q", got)
		}
	}
}

// What of a rule differs is told adjustment by adjustment.
func TestRuleChange(t *testing.T) {
	rule := func(text string) *syntax.Rule {
		errs := &diag.List{}
		tree := syntax.Parse(source.New("x", "rule r"+text+"\n"), errs)
		if errs.HasErrors() {
			t.Fatal(text, errs.Sorted()[0].Message)
		}
		return tree.Decls[0].(*syntax.Rule)
	}
	for _, c := range [][3]string{
		{" {\n a += 1\n b += 2\n}", " {\n a += 1\n b += 3\n}", "b += 3 (was 2)"},
		{" {\n a += 1\n a += 2\n}", " {\n a += 2\n a += 3\n}", "a += 3 (was 1)"},
		{" {\n a += 1\n b += 2\n}", " {\n b += 2\n a += 1\n}", "`b += 2` comes sooner"},
		{" {\n a += 1\n}", " {\n a += 1\n b *= 2\n}", "b *= 2 (new)"},
		{" {\n a += 1\n b *= 2\n}", " when x {\n a += 1 over top\n}", "when x (was always); a += 1 over top (was a += 1); b *= 2 (taken out)"},
		{" corrects x {\n a += 1\n}", " corrects x, y {\n a += 1\n}", "corrects x, y (was corrects x)"},
		{" {\n a += 1 over top\n}", " {\n a -= 1 over top\n}", "a -= 1 over top (was a += 1 over top)"},
		{" {\n a += 1 over top\n}", " {\n a += 2 over top\n}", "a += 2 over top (was 1)"},
	} {
		if got := ruleChange(rule(c[0]), rule(c[1])); got != c[2] {
			t.Errorf("%q to %q: %s", c[0], c[1], got)
		}
	}
}
