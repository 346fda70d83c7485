package diff

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/plan"
)

// gen writes small random workspaces whose tunes can always be computed.
type gen struct {
	*rapid.T
	b strings.Builder
}

func (g *gen) pick(list ...string) string { return rapid.SampledFrom(list).Draw(g.T, "pick") }

func (g *gen) num(lo, hi float64) string {
	const steps = 1000
	k := rapid.IntRange(0, steps).Draw(g.T, "num")
	return fmt.Sprintf("%.3f", lo+(hi-lo)*float64(k)/steps)
}

func (g *gen) chance(percent int) bool { return rapid.IntRange(1, 100).Draw(g.T, "chance") <= percent }

func (g *gen) put(format string, args ...any) { fmt.Fprintf(&g.b, format+"\n", args...) }

// when is a rule's condition, or nothing.
func (g *gen) when() string {
	if g.chance(40) {
		return ""
	}
	return " when " + g.pick("pipe is long", "not (pipe is stock)", "wet", "not wet", "a > "+g.num(0, 10), "pipe.gain < 1.1 and wet", "b < "+g.num(0, 5))
}

// region is an over or a where for a map, or nothing. Some depend on givens.
func (g *gen) region(two bool) string {
	out := ""
	if g.chance(60) {
		out = " over rpm " + g.pick("3000..6000 feather 1500", "..4000", "(2000 rpm + b * 800 rpm)..", "2500..(4000 rpm + a * 300 rpm)",
			"4000..7000 feather (300 rpm + a * 400 rpm)", "6000.. feather (200 rpm + b * 900 rpm)")
		if two && g.chance(40) {
			out += ", throttle " + g.pick("40..", "..60 feather 30", "20..80 feather 15")
		}
	}
	if g.chance(20) {
		out += " where " + g.pick("rpm > 3500", "rpm < 6000 and a < 5")
	}
	return out
}

// adjustment is one line of a rule or a trim.
func (g *gen) adjustment(trim bool) string {
	switch g.pick("factor", "share", "amount", "lookup", "set", "divide", "spark", "other", "time") {
	case "factor":
		return "fuel *= 1 + a / " + g.num(20, 90) + g.region(true)
	case "share":
		return "fuel " + g.pick("+=", "-=") + " " + g.num(0.5, 9) + " %" + g.region(true)
	case "amount":
		return "fuel += b * " + g.num(0.01, 0.4) + " mg" + g.region(true)
	case "lookup":
		return "fuel = fuel(throttle, rpm * pipe.gain)" + g.region(true)
	case "set":
		return "fuel = (if wet then " + g.num(3, 9) + " mg else fuel)" + g.region(true)
	case "divide":
		return "fuel /= pipe.gain" + g.region(true)
	case "spark":
		return "spark += b * " + g.num(0.1, 2) + " deg" + g.region(false)
	case "other":
		return "fuel += 0.01 [mg/deg] * spark" + g.region(true)
	}
	return "time += " + g.num(0.01, 0.3) + " ms" + g.region(true)
}

func (g *gen) variant(name, from string) {
	g.put("variant %s%s {", name, from)
	for _, line := range []string{"a = " + g.num(0, 10), "b = " + g.num(0, 5), "pipe = " + g.pick("stock", "long", "short"), "wet = " + g.pick("yes", "no")} {
		if g.chance(35) {
			g.put("  %s", line)
		}
	}
	for range rapid.IntRange(0, 2).Draw(g.T, "trims") {
		g.put("  trim %s", g.adjustment(true))
	}
	g.put("}")
}

// workspace writes a source with tunes `one`, `two` and `three`, two of which
// may come from another.
func (g *gen) workspace() string {
	g.put("axis throttle [%%] 0..100\naxis rpm [rpm] 1000..9000")
	g.put("given a = 1\ngiven b = 2\ngiven pipe from pipes = stock\ngiven wet = no")
	g.put("catalog pipes {\n  name | gain\n  stock | 1\n  long | %s\n  short | %s\n}", g.num(1.01, 1.3), g.num(0.8, 0.99))
	g.put("map fuel [mg]%s {\n  throttle \\ rpm | 2000 4000 5500 7000 8500", g.pick("", " to 0.01", " to 0.25"))
	for _, row := range []string{"0", "50", "100"} {
		g.put("  %s | %s %s _ %s %s", row, g.num(1, 20), g.num(1, 20), g.num(1, 20), g.num(1, 20))
	}
	g.put("}")
	g.put("map spark [deg] to 0.1 {\n  rpm | 2000 5000 8000\n  | %s %s %s\n}", g.num(5, 30), g.num(5, 30), g.num(5, 30))
	g.put("map time [ms] like fuel = fuel / 10 [mg/ms] + b * 0.05 ms")
	g.put("map load [%%] to 0.1 like fuel = time / 20 ms + (if wet then 1 %% else spark / 1000 deg)")
	for i := range rapid.IntRange(1, 5).Draw(g.T, "rules") {
		g.put("rule r%d%s {", i, g.when())
		for range rapid.IntRange(1, 3).Draw(g.T, "steps") {
			g.put("  %s", g.adjustment(false))
		}
		g.put("}")
	}
	if g.chance(70) {
		g.put("limit most: fuel <= %s%s else clamp", g.pick("12 mg", "9 mg + b * 1 mg"), g.pick("", " when not wet", " when a > 4"))
	}
	if g.chance(40) {
		g.put("limit least: spark >= %s deg else clamp", g.num(4, 20))
	}
	g.variant("one", "")
	g.variant("two", g.pick("", " from one"))
	g.variant("three", g.pick("", " from two", " from one"))
	return g.b.String()
}

func TestPartsAddUp(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		g := &gen{T: rt}
		text := g.workspace()
		w := workspace(rt, text)
		old, new := g.pick("one", "two", "three"), g.pick("one", "two", "three")
		r := w.diff(rt, old, new)
		addsUp(rt, r)
		againstBruteForce(rt, w, r, w.plan.Find(old), w.plan.Find(new))
		turnedRound(rt, r, w.diff(rt, new, old))
		if old == new && r.Differs() {
			rt.Fatalf("%s differs from itself", old)
		}
		validates(rt, r)
	})
}

// addsUp checks that the parts of each cell are its change.
func addsUp(t fataler, r *Report) {
	t.Helper()
	for _, p := range r.Pairs {
		for _, m := range p.Maps {
			for i, c := range m.Cells {
				exact, printed, size := 0.0, 0.0, math.Max(math.Abs(c.Old), math.Abs(c.New))
				for _, part := range m.Parts {
					exact += part.Exact[i]
					printed += part.Printed[i]
					size = math.Max(size, math.Abs(part.Exact[i]))
				}
				if math.Abs(exact-c.Exact) > 1e-9*size {
					t.Fatalf("%s → %s, %s, %s: the parts are %v, the change %v", p.Old.Name, p.New.Name, m.Map, m.At(c), exact, c.Exact)
				}
				if math.Abs(printed-c.Change) > 1e-9*size {
					t.Fatalf("%s → %s, %s, %s: the printed parts are %v, the printed change %v", p.Old.Name, p.New.Name, m.Map, m.At(c), printed, c.Change)
				}
			}
			for _, part := range m.Parts {
				if largest(part.Exact) == 0 && largest(part.Printed) == 0 {
					t.Fatalf("%s has an empty part in %s", part.Element.Name, m.Map)
				}
			}
		}
	}
}

// turnedRound checks that the comparison the other way has the same cells with
// the changes negated.
func turnedRound(t fataler, r, back *Report) {
	t.Helper()
	for k, m := range r.Pairs[0].Maps {
		o := back.Pairs[0].Maps[k]
		if len(m.Cells) != len(o.Cells) || m.Map != o.Map {
			t.Fatalf("%s: %d cells one way, %d the other", m.Map, len(m.Cells), len(o.Cells))
		}
		for i, c := range m.Cells {
			b := o.Cells[i]
			if c.Row != b.Row || c.Col != b.Col || c.Old != b.New || c.New != b.Old || c.Change != -b.Change || c.Exact != -b.Exact {
				t.Fatalf("%s: %+v one way, %+v the other", m.Map, c, b)
			}
		}
	}
}

// againstBruteForce replaces every element of the program, also those whose
// inputs don't differ, computes each step with the plain evaluator, and holds
// each part to what comes of it, bit for bit.
func againstBruteForce(t fataler, w world, r *Report, old, new *plan.Tune) {
	t.Helper()
	cp := w.p.Check
	from, to := old.Conditions(cp), new.Conditions(cp)
	var elements []any
	names := map[any]string{}
	add := func(key any, name string) { elements, names[key] = append(elements, key), name }
	for _, m := range cp.Maps {
		add(m, "formula of "+m.Name)
	}
	for _, r := range cp.Rules {
		add(r, "rule "+r.Name)
	}
	trims := append([]*check.Step(nil), old.Trims...)
	inOld, inNew := map[*check.Step]bool{}, map[*check.Step]bool{}
	for _, s := range old.Trims {
		inOld[s] = true
	}
	for _, s := range new.Trims {
		if inNew[s] = true; !inOld[s] {
			trims = append(trims, s)
		}
	}
	for _, s := range trims {
		add(s, s.Span.String())
	}
	for _, l := range cp.Limits {
		add(l, "limit "+l.Name)
	}
	compute := func(n int) *eval.Result {
		done := map[any]bool{}
		for _, e := range elements[:n] {
			done[e] = true
		}
		env := func(key any) *plan.Conditions {
			if done[key] {
				return to
			}
			return from
		}
		res := w.p.Tune(eval.Mix{
			Base:  func(m *check.Map) *plan.Conditions { return env(m) },
			Clamp: func(l *check.Limit) *plan.Conditions { return env(l) },
			Trims: trims,
			Step: func(s *check.Step) *plan.Conditions {
				switch {
				case s.Rule != nil:
					return env(s.Rule)
				case done[s] && !inNew[s], !done[s] && !inOld[s]:
					return nil
				}
				return env(s)
			},
		}, eval.Options{Reference: true})
		if res.Fault != nil {
			t.Fatalf("step %d can't be computed: %s", n, res.Fault.Reason)
		}
		return res
	}
	want := map[string]map[string][]float64{} // map, element, differing cells
	before := compute(0)
	for n, e := range elements {
		after := compute(n + 1)
		for _, m := range r.Pairs[0].Maps {
			i := indexOfMap(cp, m.Map)
			for k, c := range m.Cells {
				at := c.Row*len(m.Cols.Points) + c.Col
				d := after.Maps[i].Cells[at] - before.Maps[i].Cells[at]
				if d == 0 {
					continue
				}
				if want[m.Map] == nil {
					want[m.Map] = map[string][]float64{}
				}
				if want[m.Map][names[e]] == nil {
					want[m.Map][names[e]] = make([]float64, len(m.Cells))
				}
				want[m.Map][names[e]][k] = d
			}
		}
		before = after
	}
	for _, m := range r.Pairs[0].Maps {
		if len(m.Parts) != len(want[m.Map]) {
			t.Fatalf("%s has %d parts, want %d", m.Map, len(m.Parts), len(want[m.Map]))
		}
		for _, p := range m.Parts {
			name := p.Element.Name
			if p.Element.Kind == KindTrim {
				name = p.Element.Place.String()
			}
			exact := want[m.Map][name]
			if exact == nil {
				t.Fatalf("%s has a part of %s, which changes nothing", m.Map, name)
			}
			for i := range exact {
				if p.Exact[i] != exact[i] {
					t.Fatalf("%s: %s has %v at %s, want %v", m.Map, name, p.Exact[i], m.At(m.Cells[i]), exact[i])
				}
			}
		}
	}
}

func indexOfMap(cp *check.Program, name string) int {
	for i, m := range cp.Maps {
		if m.Name == name {
			return i
		}
	}
	return -1
}

func TestPartsAddUpInTheExamples(t *testing.T) {
	for _, ex := range []struct {
		name string
		step int // of the pairs, in order, one in so many
	}{{"first", 1}, {"lantern", 1}, {"tussock", 997}} {
		w := example(t, ex.name)
		n := 0
		for i, old := range w.plan.Tunes {
			for j, new := range w.plan.Tunes[i:] {
				if n++; n%ex.step != 0 {
					continue
				}
				r := w.diff(t, old.Name, new.Name)
				addsUp(t, r)
				if j == 0 && r.Differs() {
					t.Errorf("%s differs from itself", old.Name)
				}
				if j != 0 && !r.Differs() {
					t.Errorf("%s: %s and %s don't differ", ex.name, old.Name, new.Name)
				}
				if n%(11*ex.step) == 0 {
					againstBruteForce(t, w, r, old, new)
					turnedRound(t, r, w.diff(t, new.Name, old.Name))
				}
			}
		}
	}
}
