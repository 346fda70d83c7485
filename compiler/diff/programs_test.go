package diff

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"fettle/compiler/eval"
	"fettle/compiler/grid"
)

// shop is a workspace small enough to work out by hand. Fuel at 2000, 4000 and
// 6000 rpm:
//
//	           home          away
//	base       10 20 30      10  20   30
//	thin_air   10 20 30       9  18   27     x 0.9 at 1000 m
//	weak        8 16 24       7.2 14.4 21.6  x 0.8
//	pulls      -              8.2 16.4 24.6  + 1 2 3, when hot
//	long_pipe  -              8.2 19.4 27.6  + 3 from 4000 rpm
//	trim       -              7.2 18.4 26.6  - 1
//	cap         8 16 24       7.2 18.4 26    at most 26
//
// Time is a tenth of it.
const shop = `axis rpm [rpm] 1000..10000
given altitude [m] = 0 within 0..4000
given pipe from pipes = stock
given hot = no
catalog pipes {
  name  | length [mm] | gain | maker [text]
  stock | 740         | 1    | "Tussock"
  long  | 780         | 1.5  | "Tussock"
}
let short = 2
fn lean(x) = 1 - x / 10
curve pull [mg] {
  rpm [rpm] | 2000 6000
            | 1    3
}
region top = rpm 4000..
map fuel [mg] to 0.01 {
  rpm | 2000 4000 6000
      | 10   20   30
}
map time [ms] to 0.001 like fuel = fuel / 10 [mg/ms]
rule thin_air {
  fuel *= 1 - altitude / 10000 m
}
rule weak {
  fuel *= lean(short)
}
rule pulls when hot {
  fuel += pull(rpm)
}
rule long_pipe when pipe is long {
  fuel += 2 mg * pipe.gain over top
}
limit cap: fuel <= 26 mg else clamp
limit window: fuel <= 100 mg
caution "Invented numbers."
variant home { }
variant away {
  altitude = 1000 m
  pipe = long
  hot = yes
  trim fuel -= 1 mg
}
check "home is the base" with home {
  fuel(2000 rpm) == 8 mg
}
`

// edited makes replacements in a text: each of the first place.
func edited(t fataler, text string, edits ...string) string {
	t.Helper()
	for i := 0; i+1 < len(edits); i += 2 {
		if !strings.Contains(text, edits[i]) {
			t.Fatalf("there is no %q to edit", edits[i])
		}
		text = strings.Replace(text, edits[i], edits[i+1], 1)
	}
	return text
}

// twoRevisions compares a tune of two revisions of a workspace.
func twoRevisions(t fataler, old, new fstest.MapFS, tune string) *Pair {
	t.Helper()
	a, b := open(t, old), open(t, new)
	return attributed(t, a, b, Between(a.p, b.p), tune)
}

func attributed(t fataler, a, b world, between *Programs, tune string) *Pair {
	t.Helper()
	side := func(w world) *Side {
		one := w.plan.Find(tune)
		if one == nil {
			t.Fatalf("there is no tune %s", tune)
		}
		s, err := FromTune(w.p, one)
		if err != nil {
			t.Fatalf("%v", err)
		}
		return s
	}
	p := Compare(side(a), side(b))
	between.Attribute(p)
	return p
}

func files(text string) fstest.MapFS { return fstest.MapFS{"tune.fettle": {Data: []byte(text)}} }

// told lists the elements of a pair: what each did to the cells that differ, map
// by map, and those that did nothing.
func told(p *Pair) []string {
	var out []string
	by := map[*Element]int{}
	for _, m := range p.Maps {
		if m.Problem != "" {
			out = append(out, m.Map+": "+m.Problem)
		}
		for _, part := range m.Parts {
			e := part.Element
			i, ok := by[e]
			if !ok {
				i = len(out)
				by[e] = i
				out = append(out, fmt.Sprintf("%s | %s → %s | %s |", e.Name, e.Places[0], e.Places[1], e.Why))
			}
			out[i] += " " + m.Map
			for k := range m.Cells {
				out[i] += " " + grid.Exact(part.Printed[k])
			}
		}
	}
	for _, i := range p.Idle {
		what := "idle"
		if i.Undone {
			what = "undone"
		}
		out = append(out, fmt.Sprintf("%s: %s | %s → %s | %s", what, i.Element.Name, i.Element.Places[0], i.Element.Places[1], i.Element.Why))
	}
	return out
}

func wantTold(t *testing.T, p *Pair, want string) {
	t.Helper()
	got := strings.Join(told(p), "\n")
	want = strings.ReplaceAll(strings.Trim(strings.ReplaceAll(want, "\n\t\t\t", "\n"), "\n\t "), "\t", "")
	if got != want {
		t.Errorf("told\n%s\nwant\n%s", got, want)
	}
}

// elementsOf lists what differs between two programs.
func elementsOf(old, new *eval.Program) []string {
	var out []string
	for _, e := range Between(old, new).Elements() {
		out = append(out, e.Kind+" "+e.Name)
	}
	return out
}

// One element of each kind that a source has: its places, what of it is said to
// differ, and its part, worked out by hand from the table above.
func TestEachKindOfElement(t *testing.T) {
	for name, c := range map[string]struct {
		edits []string
		tune  string
		want  string
	}{
		"a cell of the base": {[]string{"| 10   20   30", "| 10   25   30"}, "home", `
			base of fuel | tune.fettle:19 → tune.fettle:19 | rpm 4000: 20 → 25 | fuel 4 time 0.4`},
		"two cells, of which one is capped on both sides": {[]string{"| 10   20   30", "| 12   20   40"}, "away", `
			base of fuel | tune.fettle:19 → tune.fettle:19 | 2 cells, the most at rpm 6000: 30 → 40 | fuel 1.44 time 0.144`},
		"a cell of a grid whose others are filled in": {[]string{"| 10   20   30", "| 10   _    40"}, "home", `
			base of fuel | tune.fettle:19 → tune.fettle:19 | 2 cells, the most at rpm 6000: 30 → 40 | fuel 4 2 time 0.4 0.2`},
		"a breakpoint": {[]string{"rpm | 2000 4000 6000", "rpm | 2000 3000 4000 6000", "| 10   20   30", "| 10   16   20   30"}, "home", `
			base of fuel | tune.fettle:17 → tune.fettle:17 | rpm 3000 (new) | fuel 0.8 time 0.08`},
		"a breakpoint less": {[]string{"rpm | 2000 4000 6000", "rpm | 2000 6000", "| 10   20   30", "| 10   40"}, "home", `
			base of fuel | tune.fettle:17 → tune.fettle:17 | rpm 4000 (taken out), rpm 6000: 30 → 40 | fuel 1 2 time 0.1 0.2`},
		"the unit alone": {[]string{"map fuel [mg]", "map fuel [g]"}, "home", `
			base of fuel | tune.fettle:17 → tune.fettle:17 | in [g] (was in [mg]), its numbers as they were | fuel 22 14 6 time 1.8 1 0.2`},
		"the unit and the numbers": {[]string{"map fuel [mg] to 0.01", "map fuel [g] to 0.00001", "| 10   20   30", "| 0.01 0.02 0.03"}, "home", `
			undone: base of fuel | tune.fettle:17 → tune.fettle:17 | in [g] (was in [mg]), to 0.00001 (was to 0.01)`},
		"the resolution": {[]string{"to 0.01", "to 1"}, "away", `
			base of fuel | tune.fettle:17 → tune.fettle:17 | to 1 (was to 0.01) | fuel -0.2 -0.4`},
		"a formula": {[]string{"fuel / 10", "fuel / 5"}, "home", `
			formula of time | tune.fettle:21 → tune.fettle:21 | fuel / 5 [mg/ms] (was fuel / 10 [mg/ms]) | time 0.8 1.6 2.4`},
		"a formula that becomes a grid": {[]string{"map time [ms] to 0.001 like fuel = fuel / 10 [mg/ms]", "map time [ms] to 0.001 {\n  rpm | 2000 4000 6000\n      | 1    2    3\n}"}, "home", `
			base of time | tune.fettle:21 → tune.fettle:21 | … { rpm | 2000 4000 6000 | 1 2 3 } (was … like fuel = fuel / 10 [mg/ms]) | time 0.2 0.4 0.6`},
		"the range of an axis": {[]string{"1000..10000", "500..12000"}, "home", `
			idle: axis rpm | tune.fettle:1 → tune.fettle:1 | … 500..12000 (was … 1000..10000)`},
		"the unit of an axis": {[]string{"axis rpm [rpm] 1000..10000", "axis rpm [rev/s] 10..10000", "  rpm | 2000 4000 6000", "  rpm [rpm] | 2000 4000 6000", "top = rpm 4000..", "top = rpm 4000 rpm.."}, "away", `
			undone: axis rpm | tune.fettle:1 → tune.fettle:1 | … [rev/s] 10..10000 (was … [rpm] 1000..10000)
			undone: base of fuel | tune.fettle:17 → tune.fettle:17 | rpm in [rev/s] (was in [rpm])
			undone: region top | tune.fettle:16 → tune.fettle:16 | … 4000 rpm.. (was … 4000..)`},
		"a row of a catalogue": {[]string{"780         | 1.5", "780         | 2"}, "away", `
			row pipes.long | tune.fettle:8 → tune.fettle:8 | gain 1.5 → 2 | fuel 1 time 0.1`},
		"a row that the tune doesn't have": {[]string{"780         | 1.5", "780         | 2"}, "home", ``},
		"a number that no cell reads": {[]string{"780         | 1.5", "790         | 1.5"}, "away", `
			idle: row pipes.long | tune.fettle:8 → tune.fettle:8 | length 780 → 790`},
		"a text of a catalogue": {[]string{`1.5  | "Tussock"`, `1.5  | "Saddle"`}, "away", ``},
		"the unit of a column": {[]string{"length [mm]", "length [cm]"}, "away", `
			idle: catalogue pipes | tune.fettle:5 → tune.fettle:5 | column length in [cm] (was in [mm])`},
		"a row more, and a column less": {[]string{"length [mm] | gain", "gain", "740         | 1 ", "1 ", "780         | 1.5", "1.5", "}\nlet short", "  wide  | 3 | \"Saddle\"\n}\nlet short"}, "away", ``},
		"a value": {[]string{"short = 2", "short = 3"}, "home", `
			value short | tune.fettle:10 → tune.fettle:10 | … 3 (was … 2) | fuel -1 -2 -3 time -0.1 -0.2 -0.3`},
		"a function and the rule that calls it": {[]string{"1 - x / 10", "1 - x / 20", "lean(short)", "lean(short + 1)"}, "home", `
			function lean | tune.fettle:11 → tune.fettle:11 | … 20 (was … 10) | fuel 1 2 2 time 0.1 0.2 0.2
			rule weak | tune.fettle:25 → tune.fettle:25 | fuel *= lean(short + 1) (was lean(short)) | fuel -0.5 -1 -0.5 time -0.05 -0.1 -0.05`},
		"a curve": {[]string{"| 1    3", "| 1    5"}, "away", `
			curve pull | tune.fettle:12 → tune.fettle:12 | … 5 } (was … 3 }) | fuel 1 time 0.1`},
		"a curve that the tune has no use for": {[]string{"| 1    3", "| 1    5"}, "home", ``},
		"a region": {[]string{"rpm 4000..", "rpm 6000.."}, "away", `
			region top | tune.fettle:16 → tune.fettle:16 | … 6000.. (was … 4000..) | fuel -3 time -0.3`},
		"the default of a given": {[]string{"[m] = 0", "[m] = 500"}, "home", `
			given altitude | tune.fettle:2 → tune.fettle:2 | 0 m → 500 m | fuel -0.4 -0.8 -1.2 time -0.04 -0.08 -0.12`},
		"the default of a given that the tune sets": {[]string{"[m] = 0", "[m] = 500"}, "away", ``},
		"the unit of a given": {[]string{"altitude [m]", "altitude [km]", "= 0 within 0..4000", "= 0 within 0..4", "altitude = 1000 m", "altitude = 1.5"}, "away", `
			given altitude | tune.fettle:39 → tune.fettle:39 | 1000 m → 1.5 km | fuel -0.4 -0.8 -0.6 time -0.04 -0.08 -0.06
			idle: given altitude | tune.fettle:2 → tune.fettle:2 | … [km] = 0 within 0..4 (was … [m] = 0 within 0..4000)`},
		"a setting of a variant": {[]string{"altitude = 1000 m", "altitude = 2000 m"}, "away", `
			given altitude | tune.fettle:39 → tune.fettle:39 | 1000 m → 2000 m | fuel -0.8 -1.6 -1.8 time -0.08 -0.16 -0.18`},
		"a choice of a variant": {[]string{"pipe = long", "pipe = stock"}, "away", `
			given pipe | tune.fettle:40 → tune.fettle:40 | long → stock | fuel -3 -2.4 time -0.3 -0.24`},
		"a setting less": {[]string{"  hot = yes\n", ""}, "away", `
			given hot | tune.fettle:41 → tune.fettle:4 | yes → no | fuel -1 -2 -2.4 time -0.1 -0.2 -0.24`},
		"a trim": {[]string{"variant home { }", "variant home { trim fuel += 1 mg }"}, "home", `
			trim of home |  → tune.fettle:37 | trim fuel += 1 mg (new) | fuel 1 1 1 time 0.1 0.1 0.1`},
		"a trim less": {[]string{"  trim fuel -= 1 mg\n", ""}, "away", `
			trim of away | tune.fettle:42 →  | trim fuel -= 1 mg (taken out) | fuel 1 1 time 0.1 0.1`},
		"another trim": {[]string{"trim fuel -= 1 mg", "trim fuel -= 2 mg"}, "away", `
			trim of away | tune.fettle:42 → tune.fettle:42 | trim fuel -= 2 mg (was trim fuel -= 1 mg) | fuel -1 -1 -0.4 time -0.1 -0.1 -0.04`},
		"a trim beside another": {[]string{"trim fuel -= 1 mg", "trim fuel -= 1 mg\n  trim time *= 2"}, "away", `
			trim of away |  → tune.fettle:43 | trim time *= 2 (new) | time 0.72 1.84 2.6`},
		"an amount": {[]string{"lean(short)", "0.7"}, "home", `
			rule weak | tune.fettle:25 → tune.fettle:25 | fuel *= 0.7 (was lean(short)) | fuel -1 -2 -3 time -0.1 -0.2 -0.3`},
		"a when": {[]string{"when hot", "when not hot"}, "home", `
			rule pulls | tune.fettle:28 → tune.fettle:28 | when not hot (was when hot) | fuel 1 2 2 time 0.1 0.2 0.2`},
		"a when less": {[]string{"pulls when hot", "pulls"}, "home", `
			rule pulls | tune.fettle:28 → tune.fettle:28 | always (was when hot) | fuel 1 2 2 time 0.1 0.2 0.2`},
		"a where": {[]string{"over top", "over top where rpm > 5000"}, "away", `
			rule long_pipe | tune.fettle:31 → tune.fettle:31 | fuel += 2 mg * pipe.gain over top where rpm > 5000 (was fuel += 2 mg * pipe.gain over top) | fuel -3 time -0.3`},
		"an over": {[]string{"over top", "over rpm 2000..4000"}, "away", `
			rule long_pipe | tune.fettle:31 → tune.fettle:31 | fuel += 2 mg * pipe.gain over rpm 2000..4000 (was fuel += 2 mg * pipe.gain over top) | fuel 3 -2.4 time 0.3 -0.24`},
		"an operator": {[]string{"fuel += pull", "fuel -= pull"}, "away", `
			rule pulls | tune.fettle:28 → tune.fettle:28 | fuel -= pull(rpm) (was fuel += pull(rpm)) | fuel -2 -4 -5.4 time -0.2 -0.4 -0.54`},
		"a rule that doesn't apply": {[]string{"fuel += pull", "fuel -= pull"}, "home", ``},
		"a rule more": {[]string{"rule pulls", "rule more {\n  fuel += 1 mg\n}\nrule pulls"}, "home", `
			rule more |  → tune.fettle:28 | added | fuel 1 1 1 time 0.1 0.1 0.1`},
		"a rule less": {[]string{"rule weak {\n  fuel *= lean(short)\n}\n", ""}, "home", `
			rule weak | tune.fettle:25 →  | taken out | fuel 2 4 2 time 0.2 0.4 0.2`},
		"a rule under another name": {[]string{"rule weak", "rule thin"}, "home", `
			idle: rule thin | tune.fettle:25 → tune.fettle:25 | renamed (was ` + "`weak`" + `), and says the same`},
		"the order of two rules": {[]string{"rule weak {\n  fuel *= lean(short)\n}\n", "", "rule long_pipe", "rule weak {\n  fuel *= lean(short)\n}\nrule long_pipe"}, "away", `
			the order of the rules | tune.fettle:28 → tune.fettle:25 | ` + "`pulls` comes before `weak`" + ` (was after it) | fuel -0.2 -0.4 time -0.02 -0.04`},
		"what a rule corrects": {[]string{"rule thin_air", "rule thin_air corrects altitude"}, "away", `
			idle: rule thin_air | tune.fettle:22 → tune.fettle:22 | corrects altitude (was corrects nothing)`},
		"the bound of a clamp": {[]string{"<= 26", "<= 26.5"}, "away", `
			limit cap | tune.fettle:34 → tune.fettle:34 | … 26.5 mg else clamp (was … 26 mg else clamp) | fuel 0.5 time 0.05`},
		"a clamp more": {[]string{"limit window", "limit least: fuel >= 8 mg else clamp\nlimit window"}, "away", `
			limit least |  → tune.fettle:35 | added | fuel 0.8 time 0.08`},
		"a clamp less": {[]string{"limit cap: fuel <= 26 mg else clamp\n", ""}, "away", `
			limit cap | tune.fettle:34 →  | taken out | fuel 0.6 time 0.06`},
		"a clamp that only warns": {[]string{"else clamp", "else warn"}, "away", `
			limit cap | tune.fettle:34 → tune.fettle:34 | … warn (was … clamp) | fuel 0.6 time 0.06`},
		"a limit that clamps": {[]string{"limit window: fuel <= 100 mg", "limit window: fuel <= 20 mg else clamp"}, "away", `
			limit window | tune.fettle:35 → tune.fettle:35 | … 20 mg else clamp (was … 100 mg) | fuel -6 time -0.6`},
	} {
		t.Run(name, func(t *testing.T) {
			p := twoRevisions(t, files(shop), files(edited(t, shop, c.edits...)), c.tune)
			wantTold(t, p, c.want)
		})
	}
}

// What says nothing about a cell is no element.
func TestWhatIsNoElement(t *testing.T) {
	for name, edits := range map[string][]string{
		"comments":                   {"rule thin_air {\n", "# Thin air.\nrule thin_air { # here too\n  # and here\n", "| 10   20   30", "| 10   20   30 # dyno", "name  |", "# rows\n  name  |"},
		"blanks":                     {"fuel *= lean(short)", "fuel   *=   lean( short )", "| 10   20   30", "|   10 20 30", "| 740 ", "|740", "fn lean(x) = 1 - x / 10", "fn lean(x) = 1 -\n  x / 10"},
		"a check":                    {"fuel(2000 rpm) == 8 mg", "fuel(2000 rpm) == 8 mg +- 1 %"},
		"a caution":                  {"Invented numbers.", "Invented numbers, all of them."},
		"a limit":                    {"fuel <= 100 mg", "fuel <= 90 mg where rpm > 3000"},
		"a limit's mode":             {"fuel <= 100 mg", "fuel <= 100 mg else warn"},
		"a review":                   {"caution", "review {\n  allow fuel = 2 %\n}\ncaution"},
		"a variant":                  {"variant home { }", "variant home { }\nvariant other { hot = yes }"},
		"a number written otherwise": {"| 10   20   30", "| 10.0 2e1  30.00", "780         | 1.5", "780.0       | 1.50"},
		"what nothing reads":         {"let short", "let unread = lean(3)\nfn spare(x) = lean(x)\nlet short", "map time", "map spare_map [mg] like fuel = fuel * 2\nmap time", "given hot", "given cold = no\ngiven hot"},
	} {
		a, b := open(t, files(shop)), open(t, files(edited(t, shop, edits...)))
		if got := elementsOf(a.p, b.p); len(got) > 0 {
			t.Errorf("%s: %q", name, got)
		}
		for _, tune := range []string{"home", "away"} {
			if got := told(attributed(t, a, b, Between(a.p, b.p), tune)); len(got) > 0 {
				t.Errorf("%s, %s: %q", name, tune, got)
			}
		}
	}
}

// The same declarations in other files are the same, whether tables stand in
// place or in a CSV file, as long as the rules keep their order.
func TestOtherFiles(t *testing.T) {
	one := files(shop)
	rules := shop[strings.Index(shop, "rule thin_air"):strings.Index(shop, "limit cap")]
	several := fstest.MapFS{
		"tune.fettle":  {Data: []byte("use \"base.fettle\"\nuse \"rules.fettle\"\n" + shop[:strings.Index(shop, "catalog pipes")] + shop[strings.Index(shop, "limit cap"):])},
		"rules.fettle": {Data: []byte(rules)},
		"base.fettle": {Data: []byte("catalog pipes from \"csv/pipes.csv\"\nmap fuel [mg] to 0.01 from \"csv/fuel.csv\"\n" +
			shop[strings.Index(shop, "let short"):strings.Index(shop, "map fuel")] + shop[strings.Index(shop, "map time"):strings.Index(shop, "rule thin_air")])},
		"csv/pipes.csv": {Data: []byte("name,length [mm],gain,maker [text]\nstock,740,1,Tussock\nlong,780,1.5,Tussock\n")},
		"csv/fuel.csv":  {Data: []byte("rpm,2000,4000,6000\n,10,20,30\n")},
	}
	for _, pair := range [][2]fstest.MapFS{{one, several}, {several, one}} {
		a, b := open(t, pair[0]), open(t, pair[1])
		if got := elementsOf(a.p, b.p); len(got) > 0 {
			t.Errorf("%q", got)
		}
		if got := told(attributed(t, a, b, Between(a.p, b.p), "away")); len(got) > 0 {
			t.Errorf("%q", got)
		}
	}
	// Files of one name with other texts are two files.
	edit := fstest.MapFS{}
	for name, f := range several {
		edit[name] = f
	}
	edit["csv/fuel.csv"] = &fstest.MapFile{Data: []byte("rpm,2000,4000,6000\n,10,25,30\n")}
	edit["csv/pipes.csv"] = &fstest.MapFile{Data: []byte("name,length [mm],gain,maker [text]\nshort,700,1,Tussock\nlong,780,2,Tussock\nstock,740,1,Tussock\n")}
	wantTold(t, twoRevisions(t, several, edit, "away"), `
			base of fuel | csv/fuel.csv:2 → csv/fuel.csv:2 | rpm 4000: 20 → 25 | fuel 3.6 time 0.36
			row pipes.long | csv/pipes.csv:3 → csv/pipes.csv:3 | gain 1.5 → 2 | fuel 1 time 0.1`)
	wantTold(t, twoRevisions(t, edit, one, "away"), `
			base of fuel | csv/fuel.csv:2 → tune.fettle:19 | rpm 4000: 25 → 20 | fuel -3.6 time -0.36
			row pipes.long | csv/pipes.csv:3 → tune.fettle:8 | gain 2 → 1.5 | fuel -1 time -0.1`)
}

// What is new is there as soon as something new reads it, and what is gone for
// as long as something old does: the rule alone is the element.
func TestRulesThatReadWhatCameOrWent(t *testing.T) {
	for name, c := range map[string]struct {
		edits      []string
		come, gone string
	}{
		"a function of a changed one": {[]string{"let short", "fn more(x) = 1 / lean(x)\nlet short", "rule pulls", "rule more_fuel {\n  fuel *= more(short)\n}\nrule pulls"},
			"rule more_fuel |  → tune.fettle:29 | added | fuel 2 4 2 time 0.2 0.4 0.2", "rule more_fuel | tune.fettle:29 →  | taken out | fuel -2 -4 -2 time -0.2 -0.4 -0.2"},
		"a map and a region": {[]string{"map time", "map extra [mg] {\n  rpm | 2000 6000\n      | 1 1\n}\nregion low = rpm ..4000\nmap time", "rule pulls", "rule more_fuel {\n  fuel += extra over low\n}\nrule pulls"},
			"rule more_fuel |  → tune.fettle:33 | added | fuel 1 1 time 0.1 0.1", "rule more_fuel | tune.fettle:33 →  | taken out | fuel -1 -1 time -0.1 -0.1"},
		"a given, a column and a row": {[]string{"given hot", "given load = 2\ngiven hot", "gain |", "gain | extra [mg] |", "| 1    |", "| 1 | 1 |", "| 1.5  |", "| 1.5 | 2 |", "}\nlet short", "  wide | 1 | 1 | 3 | \"Tussock\"\n}\nlet short",
			"rule pulls", "rule more_fuel {\n  fuel += pipe.extra + pipes.wide.extra - load * 1 mg\n}\nrule pulls"},
			"rule more_fuel |  → tune.fettle:30 | added | fuel 2 2 2 time 0.2 0.2 0.2", "rule more_fuel | tune.fettle:30 →  | taken out | fuel -2 -2 -2 time -0.2 -0.2 -0.2"},
		"a module and a curve": {[]string{"axis rpm", "use air\naxis rpm", "let short", "curve add [mg] {\n  x | 0 1\n    | 1 1\n}\nlet short",
			"rule pulls", "rule more_fuel {\n  fuel += add(air.pressure(altitude) / air.pressure(40 m))\n}\nrule pulls"},
			"rule more_fuel |  → tune.fettle:33 | added | fuel 1 1 1 time 0.1 0.1 0.1", "rule more_fuel | tune.fettle:33 →  | taken out | fuel -1 -1 -1 time -0.1 -0.1 -0.1"},
		"a name that a parameter had": {[]string{"fn lean(x) = 1 - x / 10", "let x = 2\nfn lean(y) = 1 - y / 10", "lean(short)", "lean(x)", "let short = 2\n", ""},
			"idle: function lean | tune.fettle:11 → tune.fettle:11 | … lean(y) = 1 - y / 10 (was … lean(x) = 1 - x / 10)\n\t\t\tidle: rule weak | tune.fettle:25 → tune.fettle:25 | fuel *= lean(x) (was lean(short))",
			"idle: rule weak | tune.fettle:25 → tune.fettle:25 | fuel *= lean(short) (was lean(x))\n\t\t\tidle: function lean | tune.fettle:11 → tune.fettle:11 | … lean(x) = 1 - x / 10 (was … lean(y) = 1 - y / 10)"},
	} {
		t.Run(name, func(t *testing.T) {
			old, new := files(shop), files(edited(t, shop, c.edits...))
			wantTold(t, twoRevisions(t, old, new, "home"), c.come)
			wantTold(t, twoRevisions(t, new, old, "home"), c.gone)
		})
	}
}
