package randomly_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fettle/compiler"
	"fettle/compiler/check"
	"fettle/compiler/randomly"
	"fettle/lang/format"
	"fettle/lang/source"
)

// Changes that mean nothing change nothing.

const changed = 100 // programs for each change

// laidOut formats every file, and looks that the layout is settled by that.
func laidOut(t tester, f files) files {
	t.Helper()
	out := files{}
	for name, text := range f {
		got, errs := format.Source(source.New(name, text))
		again, _ := format.Source(source.New(name, got))
		if errs.HasErrors() || again != got {
			t.Fatalf("%s\nis laid out as\n%s\nand then as\n%s", text, got, again)
		}
		out[name] = got
	}
	return out
}

func TestLayoutMeansNothing(t *testing.T) {
	over(t, changed, func(rt *rapid.T, tr *trial) {
		p, w := tr.program(rt, randomly.Options{})
		if w == nil {
			return
		}
		// More space than there was, and comments, and then the one layout.
		space := rapid.SampledFrom([]string{" ", "  ", "   ", "\t", " \t"})
		line := rapid.SampledFrom([]string{"\n", "\n\n", "  # a remark\n", "\n\n# a remark\n\n", "\r\n"})
		var b strings.Builder
		for _, d := range p.Decls {
			for _, c := range randomly.Write([]*randomly.Decl{d}, randomly.AsDeclared) {
				switch c {
				case ' ':
					b.WriteString(space.Draw(rt, "space"))
				case '\n':
					b.WriteString(line.Draw(rt, "line"))
				default:
					b.WriteRune(c)
				}
			}
		}
		loose := one(b.String())
		unmoved(rt, tr, w, loose, change{steps: true})
		unmoved(rt, tr, w, laidOut(rt, loose), change{steps: true})
		unmoved(rt, tr, w, laidOut(rt, one(tr.text)), change{})
	})
}

func TestNamesMeanNothing(t *testing.T) {
	over(t, changed, func(rt *rapid.T, tr *trial) {
		p, w := tr.program(rt, randomly.Options{})
		if w == nil {
			return
		}
		// Names that sort the other way round.
		names := map[string]string{}
		naming := func(name string) string {
			if names[name] == "" {
				names[name] = fmt.Sprintf("n%d_of", 999-len(names))
			}
			return names[name]
		}
		unmoved(rt, tr, w, one(randomly.Write(p.Decls, naming)), change{naming: naming})
	})
}

func TestOrderMeansNothing(t *testing.T) {
	over(t, changed, func(rt *rapid.T, tr *trial) {
		p, w := tr.program(rt, randomly.Options{})
		if w == nil {
			return
		}
		unmoved(rt, tr, w, one(randomly.Write(shuffled(rt, p.Decls), randomly.AsDeclared)), change{steps: true})
	})
}

// shuffled puts declarations in another order, in which rules and limits stand among
// themselves as before.
func shuffled(rt *rapid.T, decls []*randomly.Decl) []*randomly.Decl {
	out := rapid.Permutation(decls).Draw(rt, "order")
	for _, word := range []string{"rule", "limit"} {
		var inOrder []*randomly.Decl
		for _, d := range decls {
			if d.Keyword == word {
				inOrder = append(inOrder, d)
			}
		}
		for i, d := range out {
			if d.Keyword == word {
				out[i], inOrder = inOrder[0], inOrder[1:]
			}
		}
	}
	return out
}

func TestFilesMeanNothing(t *testing.T) {
	over(t, changed, func(rt *rapid.T, tr *trial) {
		p, w := tr.program(rt, randomly.Options{})
		if w == nil {
			return
		}
		// The rules and limits of a file that is used come first.
		here, there := []*randomly.Decl{}, []*randomly.Decl{}
		stayed := map[string]bool{}
		for _, d := range p.Decls {
			if !(d.Ordered && stayed[d.Keyword]) && rapid.Bool().Draw(rt, "moves") {
				there = append(there, d)
			} else {
				here = append(here, d)
				stayed[d.Keyword] = true
			}
		}
		unmoved(rt, tr, w, files{
			"tune.fettle": "use \"part.fettle\"\n" + randomly.Write(here, randomly.AsDeclared),
			"part.fettle": randomly.Write(there, randomly.AsDeclared),
		}, change{steps: true})
	})
}

// A rule for two neighbouring parts of a map is the rule for both, unless it reads
// its own map elsewhere.
func TestHalvesOfARegionAreTheWhole(t *testing.T) {
	split := 0
	over(t, changed, func(rt *rapid.T, tr *trial) {
		p, w := tr.program(rt, randomly.Options{})
		if w == nil {
			return
		}
		decls := slices.Clone(p.Decls)
		for i, d := range decls {
			if d.Rule == nil {
				continue
			}
			rule := *d.Rule
			rule.Adj = nil
			for _, a := range d.Rule.Adj {
				parts := halves(rt, w, a)
				if len(parts) > 1 {
					split++
				}
				rule.Adj = append(rule.Adj, parts...)
			}
			decls[i] = &randomly.Decl{Keyword: d.Keyword, Rule: &rule, Ordered: true}
		}
		unmoved(rt, tr, w, one(randomly.Write(decls, randomly.AsDeclared)), change{steps: true})
	})
	if split == 0 {
		t.Error("no adjustment was split")
	}
}

// halves splits an adjustment at some breakpoint of its map.
func halves(rt *rapid.T, w *compiler.Workspace, a *randomly.Adjustment) []*randomly.Adjustment {
	var m *check.Map
	for _, x := range w.Program.Maps {
		if x.Name == a.Map {
			m = x
		}
	}
	axis := rapid.IntRange(0, len(a.Axes)-1).Draw(rt, "axis")
	points := m.Base.Cols
	if len(a.Axes) == 2 && axis == 0 {
		points = m.Base.Rows
	}
	if a.Elsewise || len(points) < 2 {
		return []*randomly.Adjustment{a}
	}
	at := rapid.IntRange(1, len(points)-1).Draw(rt, "at")
	low, high := *a, *a
	name := randomly.Mark(a.Axes[axis])
	low.Over = append(slices.Clone(a.Over), name+" .."+written(points[at-1]))
	high.Over = append(slices.Clone(a.Over), name+" "+written(points[at])+"..")
	return []*randomly.Adjustment{&low, &high}
}
