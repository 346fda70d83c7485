package check

import (
	"slices"
	"strings"

	"fettle/compiler/resample"
	"fettle/compiler/table"
	"fettle/lang/diag"
	"fettle/lang/formula"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// Target is the tables that a controller takes.
type Target struct {
	Index       int
	Name        string
	Compensates []int   // givens that the controller corrects for by itself
	LeavesOut   []*Rule // those that correct nothing else
	Big         bool    // the high byte of a number first
	Tables      []*TargetTable
	Span        source.Span
	Doc         string
}

// TargetTable is one table of a target.
type TargetTable struct {
	Name   string
	Map    *Map
	Type   table.Type
	Step   float64         // in the map's unit; 1 for f32
	Offset float64         // the value of a raw 0, in the map's unit
	Axes   []resample.Axis // by the map's axes
	Span   source.Span
	Doc    string
}

// Chosen says whether any breakpoints differ from tune to tune.
func (t *TargetTable) Chosen() bool {
	return slices.ContainsFunc(t.Axes, func(a resample.Axis) bool { return a.Auto > 0 })
}

// LeftOut says whether a rule is left to the target's controller.
func (t *Target) LeftOut(r *Rule) bool { return r != nil && slices.Contains(t.LeavesOut, r) }

// Stays lists the rules that read a given that the controller compensates, correct
// for none of them, and so stay.
func (t *Target) Stays(p *Program) []*Rule {
	var out []*Rule
	for _, r := range p.Rules {
		stays := false
		read := func(n *formula.Node) {
			if n == nil {
				return
			}
			n.Walk(func(k *formula.Node) {
				switch k.Op {
				case formula.GivenVal, formula.GivenYes, formula.GivenIs, formula.GivenCol:
					stays = stays || slices.Contains(t.Compensates, k.A)
				}
			})
		}
		read(r.When)
		for _, s := range r.Steps {
			read(s.Amount)
			read(s.Where)
		}
		if stays && !t.LeftOut(r) {
			out = append(out, r)
		}
	}
	return out
}

// targets checks the targets, after the rules.
func (c *checker) targets() {
	for _, d := range c.p.Resolved.Decls {
		td, ok := d.(*syntax.Target)
		if !ok {
			continue
		}
		t := &Target{Index: len(c.p.Targets), Name: td.Name.Text, Span: td.Name.Span, Doc: td.Doc}
		c.byteOrder(t, td.Bytes)
		c.compensated(t, td)
		seen := map[string]source.Span{}
		for _, line := range td.Tables {
			if first, twice := seen[line.Name.Text]; twice {
				c.errs.Add("E824", line.Name.Span, "target `%s` has two tables of the name `%s`", t.Name, line.Name.Text).Note(first, "the first").
					Hint("a table's name is its file's")
			} else {
				seen[line.Name.Text] = line.Name.Span
			}
			if one := c.targetTable(line); one != nil {
				t.Tables = append(t.Tables, one)
			}
		}
		if len(td.Tables) == 0 && !td.Partial {
			c.errs.Add("W018", td.Name.Span, "target `%s` has no tables", t.Name)
		}
		if c.owns(d) {
			c.p.Targets = append(c.p.Targets, t)
		}
	}
}

func (c *checker) byteOrder(t *Target, n *syntax.Name) {
	if n == nil {
		return
	}
	t.Big = n.Text == "big"
	if n.Text != "big" && n.Text != "little" {
		d := c.errs.Add("E827", n.Span, "the order of bytes is `big` or `little`, and this is `%s`", n.Text)
		if near := diag.Nearest(n.Text, []string{"big", "little"}); near != "" {
			d.Suggest(n.Span, near, "did you mean `%s`?", near)
		} else {
			d.Hint("`big` puts a number's high byte first, `little` its low one")
		}
	}
}

// compensated finds the rules that a target leaves to its controller.
func (c *checker) compensated(t *Target, td *syntax.Target) {
	lines := map[int]syntax.Name{}
	for _, n := range td.Compensates {
		given, ok := c.givenNamed(n)
		if !ok {
			continue
		}
		if first, twice := lines[given]; twice {
			c.errs.Add("E824", n.Span, "`%s` stands twice", n.Text).Note(first.Span, "the first")
			continue
		}
		lines[given] = n
		t.Compensates = append(t.Compensates, given)
	}
	corrected := map[int]bool{}
	for _, r := range c.p.Rules {
		var in, out []string
		var at syntax.Name
		for _, g := range r.Corrects {
			if n, ok := lines[g]; ok {
				in, at = append(in, c.p.Givens[g].Name), n
				corrected[g] = true
			} else {
				out = append(out, c.p.Givens[g].Name)
			}
		}
		switch {
		case len(in) > 0 && len(out) > 0:
			c.errs.Add("E826", at.Span, "`%s` compensates %s, and rule `%s` corrects for that and for %s in one", t.Name, ticked(in), r.Name, ticked(out)).
				Note(r.Span, "the rule").Hint("make two rules of it: one that corrects for %s alone, which is left out here, and one for the rest", ticked(in))
		case len(in) > 0:
			t.LeavesOut = append(t.LeavesOut, r)
		}
	}
	for _, g := range t.Compensates {
		if !corrected[g] {
			c.errs.Add("W017", lines[g].Span, "no rule corrects for `%s`, so nothing is left to the controller", c.p.Givens[g].Name).
				Hint("a rule says what it corrects for in its head: `rule NAME corrects %s { … }`", c.p.Givens[g].Name)
		}
	}
}

func ticked(names []string) string { return "`" + strings.Join(names, "`, `") + "`" }

// targetTable checks one table; nil if it has errors.
func (c *checker) targetTable(d *syntax.TargetTable) *TargetTable {
	t := &TargetTable{Name: d.Name.Text, Step: 1, Span: d.Span, Doc: d.Doc}
	t.Map = c.allowedMap(d.Map)
	good := c.storageType(t, d)
	if t.Map == nil {
		return nil
	}
	if good {
		good = c.storage(t, d)
	}
	if !c.points(t, d) || !good {
		return nil
	}
	return t
}

// storageType reads a table's `as`.
func (c *checker) storageType(t *TargetTable, d *syntax.TargetTable) bool {
	var types []string
	for _, k := range table.Types {
		types = append(types, string(k))
	}
	if d.Type == nil {
		c.errs.Add("E822", d.Name.Span, "table `%s` doesn't say how it is stored", d.Name.Text).Hint("write `as` and one of: %s", strings.Join(types, ", "))
		return false
	}
	t.Type = table.Type(d.Type.Text)
	if slices.Contains(types, d.Type.Text) {
		return true
	}
	e := c.errs.Add("E822", d.Type.Span, "`%s` is no way to store a number", d.Type.Text)
	meant := map[string]string{"byte": "u8", "uint8": "u8", "int8": "i8", "s8": "i8", "uint16": "u16", "int16": "i16", "s16": "i16", "word": "u16", "short": "i16",
		"uint32": "u32", "int32": "i32", "s32": "i32", "int": "i32", "long": "i32", "float": "f32", "float32": "f32", "single": "f32"}[strings.ToLower(d.Type.Text)]
	if meant != "" {
		e.Suggest(d.Type.Span, meant, "write `%s`", meant)
	} else {
		e.Hint("it is one of: %s", strings.Join(types, ", "))
	}
	return false
}

// storage reads a table's step and offset.
func (c *checker) storage(t *TargetTable, d *syntax.TargetTable) bool {
	what := "the step of `" + t.Name + "`"
	if t.Type == table.F32 {
		for _, e := range []*syntax.Expr{d.Step, d.Offset} {
			if e != nil {
				c.errs.Add("E823", e.Span, "a table of f32 keeps its values as they are, so it has neither step nor offset").Hint("leave it out, or store whole steps: `as u16 step …`")
				return false
			}
		}
		return true
	}
	good := true
	if d.Step == nil {
		c.errs.Add("E823", d.Type.Span, "a table of whole numbers says what one of them is worth").
			Hint("as in `as %s step %s`", t.Type, strings.TrimSpace("0.5 "+t.Map.Unit.Difference().Text))
		good = false
	} else if n := c.amountOf(formula.Compile(d.Step, formula.Context{Scope: c.root, What: "a fixed value"}, c.errs), t.Map.Unit, what); n == nil || !c.bound(d.Step, what) {
		good = false
	} else if t.Step, good = c.fixed(n, what); good && !(t.Step > 0) {
		c.errs.Add("E823", d.Step.Span, "a step is greater than nothing")
		good = false
	}
	if d.Offset != nil {
		var ok bool
		t.Offset, ok = c.value(c.root, d.Offset, t.Map.Unit, "the offset of `"+t.Name+"`")
		good = good && ok
	}
	return good
}
