package diff

import (
	"math"
	"strings"
	"testing"
)

// bench is small enough to work out by hand.
const bench = `
axis rpm [rpm] 1000..10000
given altitude [m] = 0 within 0..4000
given pipe from pipes = stock
given hot = no
catalog pipes {
  name  | length [mm]
  stock | 740
  long  | 780
}
map fuel [mg] to 0.01 {
  rpm | 2000 4000 6000
      |   10   20   30
}
rule air {
  fuel *= 1 - altitude / 10000 m
}
rule long_pipe when pipe is long {
  fuel += 10 % over rpm 4000.. feather 4000
}
map time [ms] to 0.001 like fuel = fuel / 10 [mg/ms] + (if hot then 1 ms else 0.5 ms)
limit cap: fuel <= 25 mg when not hot else clamp
variant home { }
variant away {
  altitude = 1000 m
  pipe = long
  hot = yes
  trim fuel -= 1 mg
}
`

func TestAttributionByHand(t *testing.T) {
	// Fuel at 2000, 4000 and 6000 rpm, each element replaced in its turn; what
	// is in parentheses is capped at 25 while the clamp still holds.
	//
	//   home                       10      20      30 (25)
	//   formula of time            10      20      30 (25)   nothing
	//   air        x 0.9            9      18      27 (25)   -1    -2    0
	//   long_pipe  x 1.05 1.1 1.1   9.45   19.8    29.7 (25) +0.45 +1.8  0     weights 1/2, 1, 1
	//   trim       - 1              8.45   18.8    28.7 (25) -1    -1    0
	//   cap dropped                 8.45   18.8    28.7       0     0   +3.7
	//
	// Time is fuel / 10 + 0.5 at home, + 1 when hot: its formula gives +0.5
	// everywhere, the others a tenth of what they give the fuel.
	want := map[string]map[string][]float64{
		"fuel": {
			"rule air":       {-1, -2, 0},
			"rule long_pipe": {0.45, 1.8, 0},
			"trim of away":   {-1, -1, 0},
			"limit cap":      {0, 0, 3.7},
		},
		"time": {
			"formula of time": {0.5, 0.5, 0.5},
			"rule air":        {-0.1, -0.2, 0},
			"rule long_pipe":  {0.045, 0.18, 0},
			"trim of away":    {-0.1, -0.1, 0},
			"limit cap":       {0, 0, 0.37},
		},
	}
	order := []string{"formula of time", "rule air", "rule long_pipe", "trim of away", "limit cap"}
	changes := map[string][]float64{"fuel": {-1.55, -1.2, 3.7}, "time": {0.345, 0.38, 0.87}}
	r := workspace(t, bench).diff(t, "home", "away")
	for name, parts := range want {
		m := mapOf(t, r, name)
		if len(m.Cells) != 3 || m.Total != 3 {
			t.Fatalf("%s: %d of %d cells differ, want 3 of 3", name, len(m.Cells), m.Total)
		}
		for i, c := range m.Cells {
			if c.Change != changes[name][i] {
				t.Errorf("%s cell %d changes by %v, want %v", name, i, c.Change, changes[name][i])
			}
		}
		if len(m.Parts) != len(parts) {
			t.Errorf("%s has %d parts, want %d", name, len(m.Parts), len(parts))
		}
		last := -1
		for _, p := range m.Parts {
			w, ok := parts[p.Element.Name]
			if !ok {
				t.Errorf("%s has a part of %s", name, p.Element.Name)
				continue
			}
			at := indexOf(order, p.Element.Name)
			if at <= last {
				t.Errorf("%s: %s is out of order", name, p.Element.Name)
			}
			last = at
			for i := range w {
				if p.Printed[i] != w[i] && name == "fuel" || math.Abs(p.Exact[i]-w[i]) > 1e-12 {
					t.Errorf("%s cell %d: %s has %v (exactly %v), want %v", name, i, p.Element.Name, p.Printed[i], p.Exact[i], w[i])
				}
			}
		}
	}
}

func indexOf(list []string, s string) int {
	for i, x := range list {
		if x == s {
			return i
		}
	}
	return -1
}

func TestWhyAnElementDiffers(t *testing.T) {
	r := workspace(t, bench).diff(t, "home", "away")
	want := map[string][2]string{ // why, and the place in fuel
		"rule air":       {"altitude: 0 m → 1000 m", "tune.fettle:16"},
		"rule long_pipe": {"applies in B only: when pipe is long", "tune.fettle:19"},
		"trim of away":   {"in B only: fuel -= 1 mg", "tune.fettle:28"},
		"limit cap":      {"applies in A only: when not hot", "tune.fettle:22"},
	}
	for _, p := range mapOf(t, r, "fuel").Parts {
		w := want[p.Element.Name]
		if p.Element.Why != w[0] {
			t.Errorf("%s: %q, want %q", p.Element.Name, p.Element.Why, w[0])
		}
		if got := p.Element.PlaceIn("fuel").String(); got != w[1] {
			t.Errorf("%s stands at %s, want %s", p.Element.Name, got, w[1])
		}
	}
	// In the map that only follows the fuel a rule stands where it begins.
	for _, p := range mapOf(t, r, "time").Parts {
		if p.Element.Name == "rule long_pipe" {
			if got := p.Element.PlaceIn("time").String(); got != "tune.fettle:18" {
				t.Errorf("for time, rule long_pipe stands at %s", got)
			}
		}
	}
}

func TestElementsThatCannotBeToldApart(t *testing.T) {
	// With only rule less new the fuel is 10 mg, and the room above 10 mg is 0.
	//   near  12            1/2  = 0.5
	//   less  12 - 2 = 10   1/0: can't be computed
	//   more  10 + 5 = 15   1/5  = 0.2, so the two together are -0.3
	//   last  x (1 - 0.5)          0.1,               last is     -0.1
	w := workspace(t, `
axis rpm [rpm] 1000..10000
given x = 0
given y = 0
given z = 0
map fuel [mg] {
  rpm | 2000
      |   12
}
rule less {
  fuel -= x * 1 mg
}
rule more {
  fuel += y * 1 mg
}
map room like fuel = 1 mg / (fuel - 10 mg)
rule last {
  room *= 1 - z
}
variant near { }
variant far {
  x = 2
  y = 5
  z = 0.5
}
`)
	r := w.diff(t, "near", "far")
	m := mapOf(t, r, "room")
	if len(m.Parts) != 2 {
		t.Fatalf("room has %d parts, want 2", len(m.Parts))
	}
	first, second := m.Parts[0], m.Parts[1]
	if first.Element.Kind != KindTogether || first.Element.Name != "together: rule less, rule more" || first.Printed[0] != -0.3 {
		t.Errorf("the first part is %s with %v", first.Element.Name, first.Printed)
	}
	if !strings.Contains(first.Element.Why, "map `room` can't be computed") {
		t.Errorf("it doesn't say why: %q", first.Element.Why)
	}
	if second.Element.Name != "rule last" || second.Printed[0] != -0.1 {
		t.Errorf("the second part is %s with %v", second.Element.Name, second.Printed)
	}
	// The fuel could be told apart, but an element is the same for all maps.
	if p := mapOf(t, r, "fuel").Parts; len(p) != 1 || p[0].Printed[0] != 3 {
		t.Errorf("fuel has %d parts", len(p))
	}
	golden(t, "together.txt", text(t, r, TextOptions{}))
}

func TestElementsWithoutEffect(t *testing.T) {
	w := workspace(t, `
axis rpm [rpm] 1000..10000
given a = 0
given b = no
map fuel [mg] to 0.1 {
  rpm | 2000 4000
      |   10   20
}
map spark [deg] to 1 {
  rpm | 2000 4000
      |   10   20
}
rule up when b {
  spark += 3
}
rule down when b {
  spark -= 3
}
rule little {
  fuel += a * 0.01 mg
}
rule nowhere when b {
  fuel += 1 over rpm 8000.. feather 100
}
rule never when b and not b {
  fuel += 1
}
variant one { }
variant two {
  a = 1
  b = yes
}
`)
	r := w.diff(t, "one", "two")
	if r.Differs() {
		t.Error("something differs")
	}
	got := map[string]bool{}
	for _, i := range r.Pairs[0].Idle {
		got[i.Element.Name] = i.Undone
	}
	// up and down undo each other, and 0.01 mg is less than is printed; nowhere
	// touches no breakpoint; never applies on neither side and isn't told of.
	want := map[string]bool{"rule up": true, "rule down": true, "rule little": true, "rule nowhere": false}
	if len(got) != len(want) {
		t.Errorf("got %v, want %v", got, want)
	}
	for name, undone := range want {
		if u, ok := got[name]; !ok || u != undone {
			t.Errorf("%s: %v %v, want %v", name, u, ok, undone)
		}
	}
	golden(t, "noeffect.txt", text(t, r, TextOptions{}))
}

func TestATuneThatCannotBeComputed(t *testing.T) {
	w := workspace(t, `
axis rpm [rpm] 1000..10000
given a = 1
map fuel {
  rpm | 2000
      |   10
}
rule split {
  fuel /= a
}
variant one { }
variant none {
  a = 0
}
`)
	_, err := Variants(w.p, w.plan.Find("one"), w.plan.Find("none"))
	if err == nil || !strings.Contains(err.Error(), "`none` can't be computed") || !strings.Contains(err.Error(), "tune.fettle:9") {
		t.Errorf("got %v", err)
	}
}
