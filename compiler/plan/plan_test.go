package plan_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"fettle/compiler/check"
	"fettle/compiler/grid"
	"fettle/compiler/plan"
	"fettle/compiler/resolve"
	"fettle/lang/diag"
	"fettle/lang/work"
)

// ground stands above every source of these tests.
const ground = `
axis rpm [rpm] 1000..14000
given altitude [m] = 40 within -400..4500
given air_temp [degC] = 22 within -50..50
given wind [m/s] = 0
given load [%] = 100
given ratio = 32
given wet = no
given cold = yes
given blend from fuels = pump98
let club = 430 m
catalog fuels {
  name | octane
  local91 | 91
  pump98 | 98
  race102 | 102
}
map fuel [mg] {
  rpm | 3000 9000
      |    4   12
}
`

func expand(t *testing.T, text string) (*plan.Plan, *diag.List) {
	t.Helper()
	errs := &diag.List{}
	p := resolve.Load(fstest.MapFS{"tune.fettle": {Data: []byte(ground + text)}}, errs)
	return plan.Run(check.Run(p, errs), errs), errs
}

// tunes expands a source that has no faults.
func tunes(t *testing.T, text string) *plan.Plan {
	t.Helper()
	p, errs := expand(t, text)
	for _, d := range errs.Sorted() {
		if d.Severity == diag.Error {
			t.Fatalf("%s\n%s %s: %s", text, d.Code, d.Span, d.Message)
		}
	}
	return p
}

// found lists a source's diagnostics, as "E813 season/local91".
func found(t *testing.T, text string) string {
	t.Helper()
	_, errs := expand(t, text)
	var out []string
	for _, d := range errs.Sorted() {
		if d.Code != "W001" { // of the ground much is unused
			out = append(out, strings.TrimSpace(d.Code+" "+d.Span.Text()))
		}
	}
	return strings.Join(out, ", ")
}

func TestNames(t *testing.T) {
	for _, c := range []struct{ given, values, names string }{
		{"altitude", "820, 820.5 m, 0.5 km, 1.50km, -20, +30, - 40 m", "820m 820.5m 0.5km 1.50km minus20m 30m minus40m"},
		{"altitude", "100 [ft], 1e3, 1.5e-3 m, (20 m + 30 m), (-5), (1 / 3 * 1 m), club", "100ft 1e3m 1.5eminus3m 50m minus5m 0.3333333333333333m club"},
		{"air_temp", "-20 degC, 31, 68 degF, 300 K", "minus20degC 31degC 68degF 300K"},
		{"wind", "5 [m/s], 6, 7 [km/h], 8 [m*s^-1]", "5mpers 6mpers 7kmperh 8ms^-1"},
		{"load", "40 %, 50, 60%", "40pct 50pct 60pct"},
		{"ratio", "32, 40, 2.5, 50 %", "32 40 2.5 50pct"},
		{"wet", "yes, no", "wet no_wet"},
		{"cold", "no, yes", "no_cold cold"},
		{"blend", "race102, fuels.local91", "race102 local91"},
	} {
		p := tunes(t, fmt.Sprintf("variants m { %s = %s }", c.given, c.values))
		var want []string
		for _, n := range strings.Fields(c.names) {
			want = append(want, "m/"+n)
		}
		if got := p.Names(); !slices.Equal(got, want) {
			t.Errorf("%s = %s: %q, want %q", c.given, c.values, got, want)
		}
	}
}

// A matrix counts like an odometer: the last setting runs fastest.
func TestOrder(t *testing.T) {
	p := tunes(t, `
variant last { }
variants m {
  wet = no, yes
  blend = pump98, local91
  altitude = 1 m, 2 m, 3 m
  except blend is local91 and altitude > 2
  except wet and altitude == 1
}
variant first { wet = yes }`)
	want := strings.Fields(`last
		m/no_wet-pump98-1m m/no_wet-pump98-2m m/no_wet-pump98-3m m/no_wet-local91-1m m/no_wet-local91-2m
		m/wet-pump98-2m m/wet-pump98-3m m/wet-local91-2m first`)
	if got := p.Names(); !slices.Equal(got, want) {
		t.Errorf("the tunes are %q", got)
	}
	var left []string
	for _, e := range p.Excluded {
		left = append(left, e.Name+": "+e.Clause.Text)
	}
	if want := []string{"m/no_wet-local91-3m: blend is local91 and altitude > 2", "m/wet-pump98-1m: wet and altitude == 1",
		"m/wet-local91-1m: wet and altitude == 1", "m/wet-local91-3m: blend is local91 and altitude > 2"}; !slices.Equal(left, want) {
		t.Errorf("left out are %q", left)
	}
	for i, tune := range p.Tunes {
		if tune.Index != i || p.Find(tune.Name) != tune {
			t.Errorf("%s is number %d, and found as %v", tune.Name, tune.Index, p.Find(tune.Name))
		}
	}
	if e, ok := p.Out("m/wet-pump98-1m"); !ok || e.Clause.Text != "wet and altitude == 1" {
		t.Errorf("left out by %v", e)
	}
	if _, ok := p.Out("m/wet-pump98-2m"); ok || p.Find("m/wet-pump98-1m") != nil {
		t.Error("a tune is left out, or one that is left out a tune")
	}
}

// values writes what a tune sets, and the spans of its trims.
func values(p *plan.Plan, name string) string {
	t := p.Find(name)
	if t == nil {
		return "none"
	}
	var out []string
	for i, g := range p.Program.Givens {
		if t.Set[i] {
			out = append(out, g.Name+" = "+plan.Text(g, t.Values[i]))
		} else if t.Values[i] != g.Default {
			out = append(out, g.Name+" is not at its default")
		}
	}
	for _, s := range t.Trims {
		out = append(out, s.Span.Text())
	}
	return strings.Join(out, "; ")
}

// A variant starts at another's conditions and trims, wherever that is
// declared, and its own come after.
func TestFrom(t *testing.T) {
	p := tunes(t, `
variants days from c {
  air_temp = -2, 12
  trim fuel *= 4
}
variant c from b {
  altitude = 300
  trim fuel *= 3
}
variant b from m/wet-2m {
  blend = race102
  trim fuel *= 2
}
variants m {
  wet = yes, no
  altitude = 1, 2
  trim fuel *= 1.5
}
variant e from days/12degC {
  wet = no
  altitude = 0.3 km
}`)
	for name, want := range map[string]string{
		"m/wet-2m":        "altitude = 2 m; wet = yes; trim fuel *= 1.5",
		"m/no_wet-1m":     "altitude = 1 m; wet = no; trim fuel *= 1.5",
		"b":               "altitude = 2 m; wet = yes; blend = race102; trim fuel *= 1.5; trim fuel *= 2",
		"c":               "altitude = 300 m; wet = yes; blend = race102; trim fuel *= 1.5; trim fuel *= 2; trim fuel *= 3",
		"days/12degC":     "altitude = 300 m; air_temp = 12 degC; wet = yes; blend = race102; trim fuel *= 1.5; trim fuel *= 2; trim fuel *= 3; trim fuel *= 4",
		"e":               "altitude = 300 m; air_temp = 12 degC; wet = no; blend = race102; trim fuel *= 1.5; trim fuel *= 2; trim fuel *= 3; trim fuel *= 4",
		"days/minus2degC": "altitude = 300 m; air_temp = -2 degC; wet = yes; blend = race102; trim fuel *= 1.5; trim fuel *= 2; trim fuel *= 3; trim fuel *= 4",
	} {
		if got := values(p, name); got != want {
			t.Errorf("%s: %s, want %s", name, got, want)
		}
	}
	for name, from := range map[string]string{"b": "m/wet-2m", "days/12degC": "c", "m/wet-2m": ""} {
		if got := p.Find(name).From; got != from {
			t.Errorf("%s comes from %q, want %q", name, got, from)
		}
	}
	if want := strings.Fields("days/minus2degC days/12degC c b m/wet-1m m/wet-2m m/no_wet-1m m/no_wet-2m e"); !slices.Equal(p.Names(), want) {
		t.Errorf("the order is %q", p.Names())
	}
}

// Two that start at one tune don't share what they add to it.
func TestTrimsAreNotShared(t *testing.T) {
	p := tunes(t, `
variant a { trim fuel *= 2 }
variant b from a { trim fuel *= 3 }
variant c from a { trim fuel *= 4 }
variant d from b { trim fuel *= 5 }`)
	for name, want := range map[string]string{"a": "trim fuel *= 2", "b": "trim fuel *= 2; trim fuel *= 3", "c": "trim fuel *= 2; trim fuel *= 4", "d": "trim fuel *= 2; trim fuel *= 3; trim fuel *= 5"} {
		if got := values(p, name); got != want {
			t.Errorf("%s: %s, want %s", name, got, want)
		}
	}
}

func TestFaults(t *testing.T) {
	for text, want := range map[string]string{
		"variant a from a { }":                       "E812 a",
		"variant a from b { }\nvariant b from a { }": "E812 a",
		"variant a from c/wet { }\nvariant b from a { }\nvariants c from b { wet = yes }": "E812 a",
		"variants a from a/wet { wet = yes }":                                             "E812 a/wet",
		"variant a from nothing { }":                                                      "E814 nothing",
		"variant a from b { }\nvariants b { wet = yes, no }":                              "E814 b",
		"variant a from b/wat { }\nvariants b { wet = yes, no }":                          "E814 b/wat",
		"variant a from b/wet { }\nvariants b {\n wet = yes, no\n except wet\n}":          "E813 b/wet",
		"variants a {\n wet = yes, no\n except ratio > 1\n}":                              "E816 a",
		"variants a { }":                                                                         "E816 a",
		"variants a { altitude = 1, 1 m }":                                                       "E808 1 m",
		"variants a { altitude = 1000 m, 1 km }":                                                 "E808 1 km",
		"variants a {\n wet = yes\n wet = no\n}":                                                 "E805 wet",
		"variant a { altitude = 1, 2 }":                                                          "E807 2",
		"variant a { altitude = 5000 }":                                                          "E505 5000",
		"variant a {\n except wet\n}":                                                            "E806 wet",
		"variant a { }\nvariant a { wet = yes }":                                                 "E406 a",
		"variant a { }\nvariant b { }":                                                           "W003 b",
		"variant a { }\nvariant b { altitude = 40 m }":                                           "W003 b",
		"variant a { }\nvariant b { trim fuel *= 2 }":                                            "",
		"check \"x\" with a { 1 == 1 }\nvariant a { }":                                           "",
		"check \"x\" with m { 1 == 1 }\nvariants m { wet = yes }":                                "",
		"check \"x\" with m/* { 1 == 1 }\nvariants m { wet = yes }":                              "",
		"check \"x\" with b { 1 == 1 }\nvariant a { }":                                           "E811 b",
		"check \"x\" with m/w { 1 == 1 }\nvariants m { wet = yes }":                              "E811 m/w",
		"check \"x\" with m/no_wet { 1 == 1 }\nvariants m {\n wet = yes, no\n except not wet\n}": "E811 m/no_wet",
		// What can't be read is told once, and not once more by all who name it.
		"variant a from b/wet { }\nvariants b { wet = perhaps }\ncheck \"x\" with b/* { 1 == 1 }": "E809 perhaps",
		"variant a from b { }\nvariant b { altitude += }":                                         "E101 altitude +=",
	} {
		if got := found(t, text); got != want {
			t.Errorf("%s\n%s, want %s", text, got, want)
		}
	}
}

// How many combinations there are is known before any is made.
func TestSize(t *testing.T) {
	var settings strings.Builder
	for g := range 9 {
		fmt.Fprintf(&settings, "given g%d = 0\n", g)
	}
	settings.WriteString("variants huge {\n")
	for g := range 9 {
		fmt.Fprintf(&settings, "  g%d = 0, 1, 2, 3, 4, 5, 6, 7, 8, 9\n", g)
	}
	settings.WriteString("}\nvariant a from huge/0-0-0-0-0-0-0-0-0 { }\n")
	start := time.Now()
	if got := found(t, settings.String()); got != "E815 huge" {
		t.Errorf("10^9 combinations: %s", got)
	}
	if took := time.Since(start); took > time.Second {
		t.Errorf("to refuse 10^9 combinations takes %v", took)
	}
	list := func(n int) string {
		out := make([]string, n)
		for i := range out {
			out[i] = fmt.Sprint(i)
		}
		return strings.Join(out, ", ")
	}
	// 100 times 1000 is the most, of one matrix or of all.
	most := "given a = 0\ngiven b = 0\nvariants m {\n  a = " + list(101) + "\n  b = " + list(1000) + "\n}\n"
	if got := found(t, most); got != "E815 m" {
		t.Errorf("101 times 1000: %s", got)
	}
	work.Set(2)
	got := found(t, most)
	work.Set(1)
	if got != "" {
		t.Errorf("101 times 1000 with twice the work: %s", got)
	}
	two := "given a = 0\ngiven b = 0\nvariants m {\n  a = " + list(10) + "\n  b = " + list(5) + "\n  except a > 0\n}\nvariants n { ratio = " + list(5_000) + " }\n" + "variants o {\n  ratio = " + list(50) + "\n  b = " + list(1900) + "\n}"
	if got := found(t, two); got != "E815 o" {
		t.Errorf("three matrices: %s", got)
	}
}

func TestMatch(t *testing.T) {
	for _, c := range []struct {
		pattern, name string
		want          bool
	}{
		{"season/stock-820m", "season/stock-820m", true}, {"season", "season/stock-820m", true}, {"season", "seasons/stock", false}, {"season", "season", true}, {"sea", "season/stock", false},
		{"season/", "season/stock", false}, {"season/stock", "season/stock-820m", false}, {"*", "season/stock", true}, {"*", "", true}, {"", "", true}, {"", "a", false},
		{"season/*", "season/stock", true}, {"season/*", "season", false}, {"*/stock-*", "season/stock-820m", true}, {"*820m", "season/stock-820m", true}, {"*820", "season/stock-820m", false},
		{"s*n/*", "season/stock", true}, {"season/stoc?", "season/stock", true}, {"season/stoc?", "season/stoc", false}, {"season/??ock", "season/stock", true}, {"?", "a", true}, {"?", "", false},
		{"**", "abc", true}, {"a**c", "abc", true}, {"a*b*c", "aXbXbXc", true}, {"a*b*c", "aXcXb", false}, {"*a*a*", "aba", true}, {"*a*a*", "ab", false}, {"a?*", "a", false}, {"a?*", "ab", true},
		{"*?", "", false}, {"*?a", "aa", true}, {"*?a", "a", false}, {"*a", "aaa", true}, {"a*", "ba", false}, {"1.5e?", "1.5e3", true}, {"1.5", "1x5", false}, {"*b", "abab", true}, {"*ab?", "aabab", false},
	} {
		if got := plan.Match(c.pattern, c.name); got != c.want {
			t.Errorf("%q matches %q: %v", c.pattern, c.name, got)
		}
	}
	start := time.Now()
	if plan.Match(strings.Repeat("*a", 2000)+"b", strings.Repeat("a", 20_000)) {
		t.Error("a text without b matches a pattern with one")
	}
	if took := time.Since(start); took > time.Second {
		t.Errorf("a pattern of many stars takes %v", took)
	}
}

func TestWhere(t *testing.T) {
	p := tunes(t, "variants m {\n  altitude = 100, 820 m, 1640 m\n  wet = yes, no\n}")
	for text, want := range map[string]string{
		"altitude > 500":                     "m/820m-wet m/820m-no_wet m/1640m-wet m/1640m-no_wet",
		"altitude > 0.5 km and not wet":      "m/820m-no_wet m/1640m-no_wet",
		"blend is pump98 and altitude < 500": "m/100m-wet m/100m-no_wet",
		"wet":                                "m/100m-wet m/820m-wet m/1640m-wet",
		"ratio / 0 > 1e300":                  "", // nothing is decided by what isn't finite
	} {
		errs := &diag.List{}
		pick := p.Where(text, errs)
		if pick == nil || errs.Len() > 0 {
			t.Errorf("%s: %v", text, errs.Sorted())
			continue
		}
		var got []string
		for _, tune := range p.Tunes {
			if pick(tune) {
				got = append(got, tune.Name)
			}
		}
		if strings.Join(got, " ") != want {
			t.Errorf("%s: %s", text, got)
		}
	}
	for text, code := range map[string]string{"": "E101", "altitude": "E320", "rpm > 3": "E318", "fuel > 3 mg": "E318", "altitude >": "E313", "nothing": "E316", "altitude > !": "E107", "wet;": "E107", "[m": "E103"} {
		errs := &diag.List{}
		if pick := p.Where(text, errs); pick != nil || errs.Len() == 0 || errs.Sorted()[0].Code != code {
			t.Errorf("%q: %v, want %s", text, errs.Sorted(), code)
		}
	}
}

func TestText(t *testing.T) {
	p := tunes(t, "variant a {\n altitude = 0.82 km\n air_temp = 68 degF\n load = 12.5\n ratio = (100 / 3)\n wet = yes\n blend = race102\n}")
	if got := values(p, "a"); got != "altitude = 820 m; air_temp = 20 degC; load = 12.5 %; ratio = 33.3333; wet = yes; blend = race102" {
		t.Error(got)
	}
	for v, want := range map[float64]string{100.0 / 3: "33.333333333333336", 0.1: "0.1", 1e21: "1000000000000000000000", -2: "-2"} {
		if got := grid.Exact(v); got != want {
			t.Errorf("%v is written %s", v, got)
		}
	}
}
