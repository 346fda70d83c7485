package syntax

import (
	"slices"
	"strings"

	"github.com/alecthomas/participle/v2/lexer"

	"fettle/lang/source"
)

// buildHead turns the grammar's node into the public tree.
// partial says that statements of its block were left out for their faults.
func (p *parsing) buildHead(n *headNode, stmts [][]Token, partial bool) Decl {
	switch {
	case n.Use != nil:
		u := &Use{}
		for _, it := range n.Use.Items {
			t := it.Tok
			item := UseItem{Span: tokSpan(p, t)}
			if Kind(t.Type) == String {
				x := p.text(t)
				item.File = &x
			} else {
				item.Module = p.name(t)
			}
			u.Items = append(u.Items, item)
		}
		return u
	case n.Axis != nil:
		return &Axis{Head: p.head(n.Axis.Name), Unit: p.unit(n.Axis.Unit), Range: p.rng(n.Axis.Range)}
	case n.Given != nil:
		g := &Given{Head: p.head(n.Given.Name), Unit: p.unit(n.Given.Unit), Default: p.expr(n.Given.Default), Within: p.rng(n.Given.Within)}
		if n.Given.Catalog != nil {
			g.Catalog = p.namePtr(*n.Given.Catalog)
		}
		return g
	case n.Let != nil:
		return &Let{Head: p.head(n.Let.Name), Unit: p.unit(n.Let.Unit), Body: p.expr(n.Let.Body)}
	case n.Fn != nil:
		f := &Fn{Head: p.head(n.Fn.Name), Unit: p.unit(n.Fn.Unit), Body: p.expr(n.Fn.Body)}
		for _, q := range n.Fn.Params {
			prm := Param{Name: p.name(q.Name), Unit: p.unit(q.Unit), Within: p.rng(q.Within)}
			p.checkName(prm.Name, "a parameter")
			f.Params = append(f.Params, prm)
		}
		return f
	case n.Catalog != nil:
		return &Catalog{Head: p.head(n.Catalog.Name), File: p.textPtr(n.Catalog.File), Body: bodyToken(n.Catalog.Body)}
	case n.Curve != nil:
		return &Curve{Head: p.head(n.Curve.Name), Unit: p.unit(n.Curve.Unit), Body: bodyToken(n.Curve.Body)}
	case n.Map != nil:
		m := &Map{Head: p.head(n.Map.Name), Unit: p.unit(n.Map.Unit), To: p.expr(n.Map.To),
			File: p.textPtr(n.Map.File), Body: bodyToken(n.Map.Body), Expr: p.expr(n.Map.Expr)}
		if n.Map.Like != nil {
			m.Like = p.namePtr(*n.Map.Like)
		}
		return m
	case n.Region != nil:
		parts, ok := p.parts(n.Region.Parts)
		if !ok {
			return &Broken{p.head(n.Region.Name)}
		}
		return &Region{Head: p.head(n.Region.Name), Parts: parts}
	case n.Rule != nil:
		return p.rule(n.Rule, stmts, partial)
	case n.Limit != nil:
		return p.limit(n.Limit)
	case n.Variant != nil:
		return p.variant(n.Variant, stmts, partial)
	case n.Check != nil:
		c := &Check{Title: p.text(n.Check.Title), With: p.name(n.Check.With), Partial: partial}
		c.Name = Name{c.Title.Value, c.Title.Span}
		for _, s := range stmts {
			if e := parseWith(p, (*reader).expect, expectParser, s, s[len(s)-1].To(), "expectation"); e == nil {
				c.Partial = true
			} else {
				c.Expects = append(c.Expects, &Expect{Cond: p.expr(e.Cond), Tol: p.expr(e.Tol), Span: p.stmtSpan(s)})
			}
		}
		return c
	case n.Review != nil:
		r := &Review{Partial: partial}
		for _, s := range stmts {
			if a := parseWith(p, (*reader).allow, allowParser, s, s[len(s)-1].To(), "allowance"); a == nil {
				r.Partial = true
			} else {
				r.Allows = append(r.Allows, &Allow{Map: p.name(a.Map), Amount: p.expr(a.Amount), Span: p.stmtSpan(s)})
			}
		}
		return r
	case n.Target != nil:
		return p.target(n.Target, stmts, partial)
	case n.Bundle != nil:
		return p.bundle(n.Bundle, stmts, partial)
	case n.Caution != nil:
		c := &Caution{Text: p.text(n.Caution.Text)}
		c.Name = Name{c.Text.Value, c.Text.Span}
		return c
	}
	return nil
}

func (p *parsing) rule(n *ruleNode, stmts [][]Token, partial bool) Decl {
	r := &Rule{Head: p.head(n.Name), Partial: partial}
	for _, c := range n.Clauses {
		if c.When == nil {
			for _, t := range c.Corrects {
				r.Corrects = append(r.Corrects, p.name(t.Tok))
			}
			continue
		}
		if r.When != nil {
			p.twice(c.Word, "when", r.When.Span)
		}
		r.When = p.expr(c.When)
	}
	for _, s := range stmts {
		if a := parseWith(p, (*reader).adjust, adjustParser, s, s[len(s)-1].To(), "adjustment"); a == nil {
			r.Partial = true
		} else if adj := p.adjust(a, s); adj == nil {
			r.Partial = true
		} else {
			r.Adjusts = append(r.Adjusts, adj)
		}
	}
	return r
}

func (p *parsing) limit(n *limitNode) Decl {
	l := &Limit{Head: p.head(n.Name), Cond: p.expr(n.Cond)}
	for _, c := range n.Clauses {
		word := c.Word
		if c.For != nil {
			word = c.Also
		}
		switch {
		case l.Else != nil && c.Else == nil:
			// `else warn when …` reads as if it warned only then.
			p.errs.Add("E101", tokSpan(p, word), "`%s` after `else`", word.Value).Hint("a limit's `where`, `when` and `for` stand before its `else`")
		case l.For != nil && c.Expr != nil:
			// `for altitude 0..2500 when …` reads as if the range were the condition's.
			p.errs.Add("E101", tokSpan(p, word), "`%s` after `for`", word.Value).Hint("a limit's `where` and `when` stand before its `for`")
		}
		switch {
		case c.For != nil:
			parts, ok := p.parts(c.For)
			if !ok {
				return &Broken{l.Head}
			}
			if l.For != nil {
				p.twice(c.Also, "for", l.For[0].Span.Join(l.For[len(l.For)-1].Span))
				continue
			}
			l.For = parts
		case c.Else != nil:
			if l.Else != nil {
				p.twice(*c.Else, "else", l.Else.Span)
			}
			l.Else = p.namePtr(*c.Else)
		case c.Word.Value == "where":
			if l.Where != nil {
				p.twice(c.Word, "where", l.Where.Span)
			}
			l.Where = p.expr(c.Expr)
		default:
			if l.When != nil {
				p.twice(c.Word, "when", l.When.Span)
			}
			l.When = p.expr(c.Expr)
		}
	}
	return l
}

func (p *parsing) variant(n *variantNode, stmts [][]Token, partial bool) Decl {
	v := &Variant{Head: p.head(n.Name), Matrix: n.Keyword.Value == "variants", Partial: partial}
	if n.From != nil {
		v.From = p.namePtr(*n.From)
	}
	for _, s := range stmts {
		st := parseWith(p, (*reader).setting, settingParser, s, s[len(s)-1].To(), "setting")
		switch {
		case st == nil:
			v.Partial = true
		case st.Trim != nil:
			if trim := p.adjust(st.Trim, s); trim == nil {
				v.Partial = true
			} else {
				v.Trims = append(v.Trims, trim)
			}
		case st.Except != nil:
			v.Except = append(v.Except, p.expr(st.Except))
		default:
			set := &Setting{Given: p.name(st.Given), Span: p.stmtSpan(s)}
			for _, e := range st.Values {
				set.Values = append(set.Values, p.expr(e))
			}
			v.Settings = append(v.Settings, set)
		}
	}
	return v
}

func (p *parsing) adjust(a *adjustNode, s []Token) *Adjust {
	out := &Adjust{Map: p.name(a.Map), Op: Token{Op, a.Op.Value, a.Op.Pos.Offset}, Amount: p.expr(a.Amount), Span: p.stmtSpan(s)}
	for _, c := range a.Clauses {
		switch {
		case c.Where != nil:
			if out.Where != nil {
				p.twice(c.Also, "where", out.Where.Span)
			}
			out.Where = p.expr(c.Where)
		default:
			if out.Over != nil {
				p.twice(c.Word, "over", out.Over[0].Span.Join(out.Over[len(out.Over)-1].Span))
			}
			parts, ok := p.parts(c.Parts)
			if !ok {
				return nil
			}
			out.Over = parts
		}
	}
	return out
}

// twice reports a clause that stands a second time. Two that stand side by
// side are one when joined, unless an `or` or `if` would bind otherwise then.
func (p *parsing) twice(t lexer.Token, word string, first source.Span) {
	at := tokSpan(p, t)
	d := p.errs.Add("E110", at, "a second `%s`", word).Note(first, "the first stands here")
	_, end := p.file.LineSpan(at.Line())
	loose := strings.Fields(p.file.Text[first.From:max(first.To, end)])
	switch {
	case p.before(at.From) != first.To || slices.Contains(loose, "or") || slices.Contains(loose, "if"):
	case word == "when" || word == "where":
		d.Suggest(at, "and", "join the two with `and`")
	case word == "over" || word == "for":
		d.Suggest(p.span(first.To, at.To), ",", "join the two with a comma")
	}
}

// before is the end of the text before an offset, blanks left out.
func (p *parsing) before(off int) int {
	for off > 0 && isBlank(p.file.Text[off-1]) {
		off--
	}
	return off
}

func (p *parsing) stmtSpan(s []Token) source.Span { return p.span(s[0].From, s[len(s)-1].To()) }

func (p *parsing) head(t lexer.Token) Head { return Head{Name: p.name(t)} }

func (p *parsing) name(t lexer.Token) Name { return Name{t.Value, tokSpan(p, t)} }

func (p *parsing) namePtr(t lexer.Token) *Name { n := p.name(t); return &n }

func (p *parsing) unit(t *lexer.Token) *UnitRef {
	if t == nil {
		return nil
	}
	return &UnitRef{t.Value[1 : len(t.Value)-1], p.span(t.Pos.Offset+1, t.Pos.Offset+len(t.Value)-1)}
}

func (p *parsing) text(t lexer.Token) Text {
	v := unquote(t.Value)
	if strings.Contains(v, `\`) {
		v = escapes.Replace(v)
	}
	return Text{v, tokSpan(p, t)}
}

func (p *parsing) textPtr(t *lexer.Token) *Text {
	if t == nil {
		return nil
	}
	x := p.text(*t)
	return &x
}

func bodyToken(t *lexer.Token) *Token {
	if t == nil {
		return nil
	}
	return &Token{Body, t.Value, t.Pos.Offset}
}

func (p *parsing) expr(e *exprNode) *Expr {
	if e == nil || len(e.Toks) == 0 {
		return nil
	}
	return &Expr{Toks: e.Toks, Span: p.stmtSpan(e.Toks)}
}

func (p *parsing) rng(r *rangeNode) *Range {
	if r == nil {
		return nil
	}
	out := &Range{Lo: p.expr(r.Lo), Hi: p.expr(r.Hi), Span: tokSpan(p, r.Dots)}
	if out.Lo != nil {
		out.Span = out.Span.Join(out.Lo.Span)
	}
	if out.Hi != nil {
		out.Span = out.Span.Join(out.Hi.Span)
	}
	return out
}

// parts are the members of an over or a region; false if a feather stands where
// an axis belongs.
func (p *parsing) parts(nodes []*partNode) ([]Part, bool) {
	var out []Part
	for i, n := range nodes {
		if n.Name.Value == "feather" {
			d := p.errs.Add("E101", tokSpan(p, n.Name), "a feather stands behind its range").Hint("as in `rpm 6000..8500 feather 500`")
			if i > 0 && n.Feather == nil && nodes[i-1].Range != nil && n.Range == nil {
				d.Message = "a feather follows its range without a comma"
			}
			return nil, false
		}
		pt := Part{Name: p.name(n.Name), Range: p.rng(n.Range), Feather: p.expr(n.Feather), Span: tokSpan(p, n.Name)}
		if pt.Range != nil {
			pt.Span = pt.Span.Join(pt.Range.Span)
		}
		if pt.Feather != nil {
			pt.Span = pt.Span.Join(pt.Feather.Span)
		}
		out = append(out, pt)
	}
	return out, true
}
