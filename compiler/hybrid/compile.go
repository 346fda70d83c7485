package hybrid

import (
	"errors"
	"strings"

	"fettle/compiler/check"
	"fettle/compiler/resolve"
	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// compile checks the declarations as a source of their own. A trim that doesn't
// check is left out: it concerns the tunes that have it alone.
func (s *state) compile() *Hybrid {
	p, errs := s.check(s.trims)
	if !errs.HasErrors() {
		return &Hybrid{Check: p}
	}
	h := &Hybrid{lost: map[string]string{}}
	var good []*standIn
	for _, t := range s.trims {
		if d := firstIn(errs, t.decl.Trims[0].Span); d != nil {
			h.lost[t.name] = reason(d)
		} else {
			good = append(good, t)
		}
	}
	if len(h.lost) > 0 {
		p, errs = s.check(good)
	}
	if errs.HasErrors() && len(good) > 0 { // a circle may go by way of a trim, and be told elsewhere
		q, without := s.check(nil)
		if !without.HasErrors() {
			why := reason(firstIn(errs, source.Span{}))
			for _, t := range good {
				h.lost[t.name] = why
			}
			p, errs = q, without
		}
	}
	if errs.HasErrors() {
		return &Hybrid{Err: errors.New(reason(firstIn(errs, source.Span{})))}
	}
	h.Check = p
	return h
}

// check gathers what is read and checks it.
func (s *state) check(trims []*standIn) (*check.Program, *diag.List) {
	root := &resolve.Names{Table: map[string]syntax.Decl{}, Modules: map[string]*resolve.Names{}, UsedAt: map[string]source.Span{}}
	rp := &resolve.Program{Root: root, CSVs: s.csvs}
	seen := map[string]bool{}
	for i := len(s.modules) - 1; i >= 0; i-- { // both sides read the one library
		for name, m := range s.modules[i].Root.Modules {
			root.Modules[name], root.UsedAt[name] = m, s.modules[i].Root.UsedAt[name]
		}
		for _, m := range s.modules[i].Modules {
			if !seen[m.Module] {
				seen[m.Module] = true
				rp.Modules = append(rp.Modules, m)
			}
		}
	}
	take := func(d syntax.Decl) {
		name := d.Header().Name.Text
		rp.Decls = append(rp.Decls, d)
		root.Table[name] = d
		root.Order = append(root.Order, name)
	}
	read := s.read(trims)
	for _, list := range []struct {
		names []string
		is    func(syntax.Decl) bool
	}{
		{s.order, func(d syntax.Decl) bool { return !isRule(d) && !isClamp(d) && read[d.Header().Name.Text] }},
		{s.rules, isRule},
		{s.clamps, isClamp},
	} {
		for _, name := range list.names {
			if d := s.decls[name]; d != nil && list.is(d) {
				take(d)
			}
		}
	}
	for _, t := range trims {
		take(t.decl)
	}
	errs := &diag.List{}
	return check.Run(rp, errs), errs
}

// firstIn finds the first error in a stretch of a source, or anywhere.
func firstIn(errs *diag.List, in source.Span) *diag.Diagnostic {
	for _, e := range errs.Sorted() {
		at := e.Span
		if e.Severity == diag.Error && (in.IsZero() || at.File == in.File && in.From <= at.From && at.From < in.To) {
			return e
		}
	}
	return nil
}

// reason is an error as a part of a sentence.
func reason(e *diag.Diagnostic) string {
	out := strings.TrimSuffix(e.Message, ".")
	if !e.Span.IsZero() {
		out += " (" + e.Span.String() + ")"
	}
	return out
}
