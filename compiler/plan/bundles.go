package plan

import (
	"strings"

	"fettle/compiler/check"
	"fettle/lang/diag"
	"fettle/lang/source"
)

// Bundle is a declared bundle with the tunes of its slots.
type Bundle struct {
	Spec  *check.Bundle
	Tunes []*Tune // by slot
}

// Has says whether a tune is in a slot of the bundle.
func (b *Bundle) Has(t *Tune) bool {
	for _, other := range b.Tunes {
		if other == t {
			return true
		}
	}
	return false
}

// Differs says whether two slots differ in a given.
func (b *Bundle) Differs(given int) bool {
	for _, t := range b.Tunes[1:] {
		if t.Values[given] != b.Tunes[0].Values[given] {
			return true
		}
	}
	return false
}

// bundles finds the tunes of every bundle, and warns of what has no effect.
func (x *expander) bundles() {
	for _, spec := range x.prog.Bundles {
		b := &Bundle{Spec: spec}
		first := map[*Tune]source.Span{}
		whole := true
		for _, s := range spec.Slots {
			t := x.p.byName[s.Tune]
			if t == nil {
				whole = false
				x.noSlot(s)
				continue
			}
			if at, twice := first[t]; twice {
				x.errs.Add("W019", s.Span, "two slots hold `%s`, so a switch between them changes nothing", t.Name).Note(at, "the first")
			} else {
				first[t] = s.Span
			}
			b.Tunes = append(b.Tunes, t)
		}
		if !whole || len(b.Tunes) < 2 {
			continue
		}
		for _, d := range spec.Differs {
			if !b.Differs(d.Given) {
				g := x.prog.Givens[d.Given]
				x.errs.Add("W020", d.Span, "`%s` is %s in every slot", g.Name, Text(g, b.Tunes[0].Values[d.Given])).Hint("leave it out")
			}
		}
		x.p.Bundles = append(x.p.Bundles, b)
	}
}

// noSlot says that a slot names no tune, and what may be meant.
func (x *expander) noSlot(s check.Slot) {
	base, _, _ := strings.Cut(s.Tune, "/")
	owner := x.decls[base]
	if x.fails[base] || x.prog.Resolved.Root.Partial && owner == nil {
		return // reported where it was told
	}
	if out, ok := x.p.out[s.Tune]; ok {
		x.errs.Add("E829", s.Span, "`%s` is left out of its matrix", s.Tune).Note(out.Clause.Span, "by this `except`")
		return
	}
	d := x.errs.Add("E829", s.Span, "there is no tune `%s`", s.Tune)
	switch near := diag.Nearest(s.Tune, x.p.Names()); {
	case owner != nil && owner.Matrix && owner.Name == s.Tune:
		d.Hint("`%s` is a matrix, and a slot holds one tune: name one of its members, as `fettle list` shows them", base)
	case strings.ContainsAny(s.Tune, "*?"):
		d.Hint("a slot holds one tune, not a pattern's: `fettle list` names them")
	case near != "":
		d.Suggest(s.Span, near, "did you mean `%s`?", near)
	default:
		d.Hint("name a tune as `fettle list` shows them")
	}
}
