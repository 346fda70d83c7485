package check

import (
	"strconv"

	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// Bundle is tunes among which a switch on the bike selects. Which tunes these are
// is looked up when the tunes are known.
type Bundle struct {
	Index   int
	Name    string
	Target  *Target // whose tables are bundled; nil for the maps' own
	Differs []Differing
	Slots   []Slot
	Jumps   []Allowance // how far a map may differ from slot to slot, in the order of the source
	Span    source.Span
	Doc     string
}

// Differing is a given in which the slots may differ.
type Differing struct {
	Given int
	Span  source.Span
}

// Slot is one place of the switch: its number is its place in the list, from 1.
type Slot struct {
	Tune string
	Span source.Span // of the tune's name
}

// MayDiffer says whether the slots may differ in a given.
func (b *Bundle) MayDiffer(given int) bool {
	for _, d := range b.Differs {
		if d.Given == given {
			return true
		}
	}
	return false
}

// BundlesFolder is where an output keeps its bundles; no tune may have the name.
const BundlesFolder = "bundles"

// bundles checks the bundles, after the targets.
func (c *checker) bundles() {
	for _, d := range c.p.Resolved.Decls {
		bd, ok := d.(*syntax.Bundle)
		if !ok {
			continue
		}
		b := &Bundle{Index: len(c.p.Bundles), Name: bd.Name.Text, Span: bd.Name.Span, Doc: bd.Doc}
		good := !bd.Partial && c.bundleTarget(b, bd)
		c.slots(b, bd)
		c.differing(b, bd)
		c.jumps(b, bd)
		if good && c.owns(d) {
			c.p.Bundles = append(c.p.Bundles, b)
		}
	}
	if len(c.p.Bundles) == 0 {
		return
	}
	for _, v := range c.p.Variants {
		if v.Name == BundlesFolder {
			c.errs.Add("E832", v.Span, "`%s` is the folder that the bundles are written to, and can't be a tune's too", v.Name).
				Note(c.p.Bundles[0].Span, "a bundle").Hint("choose another name")
		}
	}
}

// bundleTarget finds the target of a bundle; false if there is none of the name.
func (c *checker) bundleTarget(b *Bundle, d *syntax.Bundle) bool {
	if d.For == nil {
		return true
	}
	for _, t := range c.p.Targets {
		if t.Name == d.For.Text {
			b.Target = t
			return true
		}
	}
	c.wanted(*d.For, "a target", c.declared("target"))
	return false
}

// slots reads the places of the switch.
func (c *checker) slots(b *Bundle, d *syntax.Bundle) {
	for i, s := range d.Slots {
		if want := strconv.Itoa(i + 1); !d.Partial && s.Number.Text != want {
			at := s.Number.Span
			c.errs.Add("E828", at, "slots are numbered 1, 2, 3 in the order in which they stand, and this one is %s", want).Suggest(at, want, "write `%s`", want)
			return
		}
		b.Slots = append(b.Slots, Slot{s.Tune.Text, s.Tune.Span})
	}
	if len(d.Slots) < 2 && !d.Partial {
		c.errs.Add("E828", d.Name.Span, "a switch selects among two tunes or more, and bundle `%s` has %s", b.Name, map[int]string{0: "none", 1: "one"}[len(d.Slots)]).
			Hint("a slot is written `2 = TUNE`")
	}
}

// differing reads in which givens the slots may differ.
func (c *checker) differing(b *Bundle, d *syntax.Bundle) {
	seen := map[int]source.Span{}
	for _, n := range d.Differs {
		given, ok := c.givenNamed(n)
		if !ok {
			continue
		}
		if first, twice := seen[given]; twice {
			c.errs.Add("E830", n.Span, "`%s` stands twice", n.Text).Note(first, "the first")
			continue
		}
		seen[given] = n.Span
		b.Differs = append(b.Differs, Differing{given, n.Span})
	}
}

// jumps reads how far tables may differ from slot to slot.
func (c *checker) jumps(b *Bundle, d *syntax.Bundle) {
	seen := map[int]source.Span{}
	for _, line := range d.Jumps {
		m := c.allowedMap(line.Map)
		if m == nil {
			formula.Compile(line.Amount, formula.Context{Scope: c.root, What: "a fixed value"}, c.errs)
			continue
		}
		a, ok := c.allowance(m, line.Amount, c.root)
		if first, twice := seen[m.Index]; twice {
			c.errs.Add("E830", line.Map.Span, "the jump of `%s` stands twice", m.Name).Note(first, "the first")
			continue
		}
		seen[m.Index] = line.Map.Span
		if b.Target != nil && !b.Target.shows(m) {
			c.errs.Add("E831", line.Map.Span, "no table of target `%s` shows `%s`, so a switch changes nothing of it", b.Target.Name, m.Name).
				Note(b.Target.Span, "the target")
			continue
		}
		if ok {
			a.Span = line.Span
			b.Jumps = append(b.Jumps, a)
		}
	}
}

// shows says whether a table of the target shows a map.
func (t *Target) shows(m *Map) bool {
	for _, one := range t.Tables {
		if one.Map == m {
			return true
		}
	}
	return false
}
