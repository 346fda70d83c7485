package review

import (
	"fmt"

	"fettle/compiler/diff"
	"fettle/lang/source"
)

// sampleFile is a source with lines to point at.
var sampleFile = source.New("tune.fettle", "a\nb\nc\nd\ne\nf\ng\nh\n")

func line(n int) source.Span {
	return source.Span{File: sampleFile, From: 2 * (n - 1), To: 2*(n-1) + 1}
}

// sampleTable is a table of four columns and three rows.
func sampleTable(name, unit string, cells ...float64) *diff.Table {
	return &diff.Table{Map: name, Unit: unit, HasUnit: true, Rows: diff.Axis{Name: "throttle", Unit: "%", Points: []float64{20, 50, 100}},
		Cols: diff.Axis{Name: "rpm", Unit: "rpm", Points: []float64{2000, 4000, 6000, 8000}}, Cells: cells}
}

// scaled is cells that each changed by a share, and one of them by another.
func scaled(cells []float64, share float64) []float64 {
	out := make([]float64, len(cells))
	for i, x := range cells {
		out[i] = float64(int(x*(1+share)*100+0.5)) / 100
	}
	return out
}

var (
	sampleFuel  = []float64{2.8, 3.3, 3.9, 4.1, 4.9, 5.8, 7.2, 8.3, 7.1, 8.4, 10.8, 13.2}
	sampleSpark = []float64{14, 18, 22, 24, 13, 17, 21, 23, 12, 16, 20, 22}
	longPipe    = &diff.Element{Kind: diff.KindRule, Name: "rule long_pipe", Applies: diff.InBoth, Place: line(6), Places: [2]source.Span{line(5), line(6)}, Why: "fuel += 3 % (was 1 %)"}
	baseCells   = &diff.Element{Kind: diff.KindBase, Name: "base cells", Applies: diff.InBoth, Place: line(1), Places: [2]source.Span{line(1), line(1)}, Why: "a cell: 8.3 → 4.3"}
	rounding    = &diff.Element{Kind: diff.KindRule, Name: "rule tidy_up", Applies: diff.InBoth, Why: "renamed"}
)

// sampleEntry is a tune whose fuel changes by a share, with one cell far more.
func sampleEntry(name string, share, spike float64) *Entry {
	fuel := scaled(sampleFuel, share)
	if spike != 0 {
		fuel[7] = spike
	}
	spark := append([]float64(nil), sampleSpark...)
	spark[11]--
	p := diff.Compare(&diff.Side{Name: name, Tables: []*diff.Table{sampleTable("fuel", "mg", sampleFuel...), sampleTable("spark", "deg", sampleSpark...)}},
		&diff.Side{Name: name, Tables: []*diff.Table{sampleTable("fuel", "mg", fuel...), sampleTable("spark", "deg", spark...)}})
	e := &Entry{Pair: p, Name: name}
	for _, m := range p.Maps {
		n := len(m.Cells)
		part := &diff.Part{Element: longPipe, Exact: make([]float64, n), Printed: make([]float64, n)}
		for i, c := range m.Cells {
			part.Exact[i], part.Printed[i] = c.Exact, c.Change
		}
		m.Parts = []*diff.Part{part}
		em := &EntryMap{Diff: m}
		for i := range m.Cells {
			em.Shown = append(em.Shown, i)
		}
		e.Maps = append(e.Maps, em)
	}
	p.Attributed = true
	e.settle()
	return e
}

// sampleGroup is entries as a group; its numbers are of the first.
func sampleGroup(entries ...*Entry) *Group {
	g := &Group{Entries: entries, Worst: entries[0]}
	for _, m := range entries[0].Maps {
		s := m.Diff.Summary
		g.Maps = append(g.Maps, &GroupMap{Map: m.Diff.Map, Unit: m.Diff.Unit, ChangeUnit: m.Diff.ChangeUnit, HasUnit: true, HasShare: s.HasShare,
			Min: s.Min, Max: s.Max, MinShare: s.MinShare, MaxShare: s.MaxShare, MinCells: len(m.Shown), MaxCells: len(m.Shown), Total: m.Diff.Total, By: m.By})
	}
	for _, e := range entries {
		e.Group = g
	}
	return g
}

// sample is a review with something of everything.
func sample() *Review {
	r := &Review{
		Old:     Origin{Title: "HEAD~1 (3f2c1d0a)", Kind: KindRevision, Operand: "HEAD~1", Revision: "3f2c1d0a", Digest: "a"},
		New:     Origin{Title: "the work tree", Kind: KindWorkTree, Digest: "b"},
		Verdict: Changed,
	}
	var hot, cool []*Entry
	for i := range 9 {
		hot = append(hot, sampleEntry(fmt.Sprintf("season/long-%d", i), 0.02, 4.3))
	}
	for i := range 3 {
		cool = append(cool, sampleEntry(fmt.Sprintf("season/short-%d", i), 0.01, 0))
	}
	one := sampleEntry("bench", 0.01, 0)
	names := func(list []*Entry) (out []string) {
		for _, e := range list {
			out = append(out, e.Name)
		}
		return out
	}
	r.Groups = []*Group{sampleGroup(hot...), sampleGroup(cool...), sampleGroup(one)}
	r.Entries = append(append(append(r.Entries, hot...), cool...), one)
	r.Counts = Counts{Pairs: 16, Differ: 14, Beyond: 13, Same: 2, Renamed: 2, OldOnly: 1, NewOnly: 12, Failed: [2]int{0, 2}, Cells: 1204, Looked: 5000}
	r.Hidden = Hidden{Policy: []string{"fuel 2 %", "spark 0.5 deg"}, From: "tune.fettle:8", Cells: 1204, Tunes: 1}
	state := func(word string, margin, value, bound float64) *State {
		return &State{Word: word, At: "throttle 50 %, rpm 8000", AtArgs: []string{"throttle=50", "rpm=8000"}, HasMargin: true, Margin: margin, Value: value, Bound: bound, Unit: "%", Looked: 12}
	}
	place := [2]source.Span{line(3), line(4)}
	r.Limits = []*Margin{
		{Kind: NewlyFails, Name: "closes", Mode: "fail", Text: [2]string{"duty <= 85 %", "duty <= 85 %"}, Place: place, Before: state("holds", 1.25, 83.75, 85), After: state("fails", -1.1, 86.1, 85),
			Tune: "season/long-3", Tunes: []string{"season/long-3", "season/long-4"}, Entry: hot[3], By: "rule long_pipe", ByAt: line(5)},
		{Kind: NewlyFails, Check: true, Name: "peak torque", Mode: "fail", Text: [2]string{"fuel(8000) == 8.3 mg +- 1 %", "fuel(8000) == 8.3 mg +- 1 %"}, Place: place,
			Before: &State{Word: "holds", HasValues: true, Value: 8.3, Bound: 8.3, Unit: "mg"}, After: &State{Word: "fails", HasValues: true, Value: 4.3, Bound: 8.3, Unit: "mg"}, Tune: "bench", Tunes: []string{"bench"}, Entry: one},
		{Kind: Loosened, Name: "pump", Mode: "fail", Text: [2]string{"flow <= 240 [g/min]", "flow <= 300 [g/min]"}, Place: place, Before: state("holds", 2, 238, 240), After: state("holds", 50, 250, 300),
			AsItWas: state("fails", -10, 250, 240), Breaks: 2, Tune: "season/long-1", Tunes: names(hot), Entry: hot[1]},
		{Kind: NewlyNear, Name: "opens", Mode: "warn", Place: place, Before: state("holds", 4, 81, 85), After: state("holds", 0.04, 84.96, 85), Tune: "season/short-0", Tunes: names(cool), Entry: cool[0]},
		{Kind: Farther, Name: "glow", Mode: "warn", Place: place, Before: state("holds", 0.5, 84.5, 85), After: state("holds", 4, 81, 85), Tune: "bench", Tunes: []string{"bench"}, Entry: one},
	}
	r.Spikes = []*Spike{{Map: "fuel", Unit: "mg", At: "throttle 50 %, rpm 8000", AtArgs: []string{"throttle=50", "rpm=8000"}, Tune: hot[0].Name, Tunes: names(hot), Entry: hot[0],
		Old: 8.3, New: 4.3, Change: -4, Share: -4 / 8.3, HasShare: true, Neighbours: 0.02, By: baseCells, Also: []string{"duty"}}}
	r.Elements = []*Change{
		{Kind: diff.KindRule, Name: "rule long_pipe", Places: [2]source.Span{line(5), line(6)}, Why: longPipe.Why, Tunes: 12, Maps: []string{"fuel", "spark"}, Element: longPipe, Elements: []*diff.Element{longPipe}},
		{Kind: diff.KindBase, Name: "base cells", Places: [2]source.Span{line(1), line(1)}, Why: baseCells.Why, Tunes: 9, Maps: []string{"fuel"}, Element: baseCells, Elements: []*diff.Element{baseCells}},
		{Kind: diff.KindRule, Name: "rule tidy_up", Places: [2]source.Span{{}, line(7)}, Why: rounding.Why, Element: rounding},
	}
	r.Renamed = []Rename{{Old: "season/old", New: "season/new"}, {Old: "wet_old", New: "wet_new", Changed: true}}
	r.OldOnly = []diff.Lone{{Name: "wet", Why: "failed: fuel is 31 mg"}}
	for i := range 12 {
		r.NewOnly = append(r.NewOnly, diff.Lone{Name: fmt.Sprintf("trial/%d", i)})
	}
	r.Sources = []*SourceDiff{
		{Name: "tune.fettle", State: "changed", Hunks: []Hunk{
			{Head: "@@ -7 +7 @@", Lines: []string{"-# a", "+# another"}, Old: [2]int{7, 7}, New: [2]int{7, 7}},
			{Head: "@@ -5 +6 @@", Lines: []string{" rule long_pipe {", "-\tfuel += 1 %", "+\tfuel += 3 %"}, By: []string{"rule long_pipe"}, Old: [2]int{5, 5}, New: [2]int{6, 6}}}},
		{Name: "new.csv", State: "added", Hunks: []Hunk{{Head: "@@ -0,0 +1 @@", Lines: []string{"+1"}, By: []string{"base cells"}, New: [2]int{1, 1}}}},
	}
	r.Cautions = []string{"Invented numbers."}
	r.Notes = []string{"HEAD~1 is read with this compiler"}
	return r
}
