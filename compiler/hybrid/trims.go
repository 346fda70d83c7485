package hybrid

import (
	"fmt"

	"fettle/compiler/check"
	"fettle/lang/syntax"
)

// standIn is a variant that a hybrid has for one trim, so that it is checked
// there. Trims of both sides that read alike have one.
type standIn struct {
	name string
	decl *syntax.Variant
	fact
}

// trims puts a stand-in for every trim of either side into the start.
func (d *differ) trims() {
	made := map[string]string{} // by the trim's text
	st := d.steps.start
	for i, side := range []*side{d.old, d.new} {
		at := map[*check.Step]string{}
		d.steps.trims[i] = at
		for _, cv := range side.p.Variants {
			v, ok := side.p.Resolved.Root.Table[cv.Name].(*syntax.Variant)
			if !ok || len(v.Trims) != len(cv.Trims) {
				continue
			}
			for k, t := range v.Trims {
				one := textFact("variant x {\n" + t.Span.Text() + "\n}")
				name := made[one.normal]
				if name == "" {
					name = fmt.Sprintf("(trim %d)", len(made)+1) // no source can declare such a name
					made[one.normal] = name
					decl := &syntax.Variant{Head: v.Head, Trims: []*syntax.Adjust{t}}
					decl.Head.Name.Text = name
					st.trims = append(st.trims, &standIn{name, decl, *one})
				}
				at[cv.Trims[k]] = name
			}
		}
	}
}

// Trims carries a side's trims over into a hybrid, or says why one can't be.
func (s *Steps) Trims(h *Hybrid, of Side, trims []*check.Step) ([]*check.Step, error) {
	var out []*check.Step
	for _, t := range trims {
		name := s.trims[of][t]
		if why, ok := h.lost[name]; ok {
			return nil, fmt.Errorf("a trim can't be read: %s", why)
		}
		for _, v := range h.Check.Variants {
			if v.Name == name {
				out = append(out, v.Trims...)
			}
		}
	}
	return out, nil
}

// SameTrim says whether a trim of the old side and one of the new say the same.
func (s *Steps) SameTrim(old, new *check.Step) bool {
	return s.trims[OldSide][old] == s.trims[NewSide][new]
}
