package syntax

import (
	"fettle/lang/source"
)

// The breakpoints of a target's table: for each axis its name, then numbers,
// ranges with a step, or `auto` and how many.
//
//	throttle 0, 2, 5, 10..100 by 10, rpm auto 12 by 250
//
// The commas part breakpoints and axes alike, so an item that begins with a name
// and a value begins an axis.

// points reads the breakpoints of all axes; false if any can't be read.
func (p *parsing) points(toks []Token) ([]AxisPoints, bool) {
	var out []AxisPoints
	ok := true
	for i, item := range commas(toks) {
		if len(item) == 0 {
			at := toks[0].Span(p.file).Join(toks[len(toks)-1].Span(p.file))
			p.errs.Add("E101", at, "a breakpoint is missing beside a comma").Hint("as in `at throttle 0, 20, 50, 100`")
			return nil, false
		}
		if beginsAxis(item) {
			out = append(out, AxisPoints{Axis: Name{item[0].Text, item[0].Span(p.file)}, Span: p.stmtSpan(item)})
			item = item[1:]
		} else if i == 0 {
			p.noAxis(item)
			return nil, false
		}
		ax := &out[len(out)-1]
		ax.Span = ax.Span.Join(item[len(item)-1].Span(p.file))
		ok = p.point(ax, item) && ok
	}
	return out, ok
}

// noAxis: the breakpoints begin without the name of their axis.
func (p *parsing) noAxis(item []Token) {
	first := item[0]
	at := first.Span(p.file)
	switch {
	case first.Kind == Word && len(item) > 1 && item[1].Text == "..":
		p.errs.Add("E101", p.stmtSpan(item[1:]), "a range of breakpoints has both ends").Hint("as in `1000..13000 by 500`")
	case first.Kind == Word && first.Text == "auto":
		p.errs.Add("E101", at, "of which axis `auto` chooses the breakpoints stands before it").Hint("as in `at rpm auto 12 by 250`")
	case first.Kind == Word:
		p.errs.Add("E101", at, "`%s` has no breakpoints", clip(first.Text)).Hint("they stand behind the axis, as in `at %s 0, 20, 50, 100`; without an `at` the table has the map's own", clip(first.Text))
	default:
		p.errs.Add("E101", at, "the name of an axis stands before its breakpoints").Hint("as in `at throttle 0, 20, 50, 100, rpm 1000..13000 by 500`")
	}
}

// point reads one item of an axis.
func (p *parsing) point(ax *AxisPoints, item []Token) bool {
	whole := p.stmtSpan(item)
	if ax.Auto != nil {
		p.errs.Add("E101", whole, "`auto` chooses all breakpoints of an axis, and these are more").Hint("leave them out, or write all of them and no `auto`")
		return false
	}
	by := outside(item, "by")
	if item[0].Kind == Word && item[0].Text == "auto" {
		if len(ax.Items) > 0 {
			p.errs.Add("E101", whole, "`auto` chooses all breakpoints of an axis, and some stand before it").Hint("leave them out, or write all of them and no `auto`")
			return false
		}
		ax.Auto, ax.By = p.exprOf(item[1:min(by, len(item))]), p.exprOf(item[min(by+1, len(item)):])
		if ax.Auto == nil {
			p.errs.Add("E101", whole, "`auto` says how many breakpoints to choose").Hint("as in `rpm auto 12 by 250`")
			return false
		}
		return p.spacing(item, by)
	}
	dots := outside(item, "..")
	one := PointItem{Span: whole}
	switch {
	case dots == len(item) && by < len(item):
		p.errs.Add("E101", whole, "`by` says how far apart the breakpoints of a range are, and this is none").Hint("as in `1000..13000 by 500`")
		return false
	case dots == len(item):
		one.Value = p.exprOf(item)
	case dots == 0, dots+1 >= min(by, len(item)):
		p.errs.Add("E101", whole, "a range of breakpoints has both ends").Hint("as in `1000..13000 by 500`")
		return false
	case by == len(item):
		at := item[len(item)-1].To()
		p.errs.Add("E101", p.stmtSpan(item), "this range doesn't say how far apart its breakpoints are").
			Suggest(p.span(at, at), " by 500", "write it behind `by`, as in `%s by 500`", source.OneLine(whole.Text()))
		return false
	default:
		one.Range = &Range{Lo: p.exprOf(item[:dots]), Hi: p.exprOf(item[dots+1 : by]), Span: p.stmtSpan(item[:by])}
		one.By = p.exprOf(item[by+1:])
	}
	ax.Items = append(ax.Items, one)
	return p.spacing(item, by)
}

// spacing: `by` has something behind it.
func (p *parsing) spacing(item []Token, by int) bool {
	if by == len(item)-1 {
		p.errs.Add("E101", item[by].Span(p.file), "something is missing after `by`").Hint("as in `1000..13000 by 500`")
		return false
	}
	return true
}

// beginsAxis says whether an item of breakpoints begins with an axis: a name
// and something that begins a value.
func beginsAxis(item []Token) bool {
	if len(item) < 2 || item[0].Kind != Word || item[0].Text == "auto" {
		return false
	}
	next := item[1]
	return next.Kind == Number || next.Kind == Word && next.Text != "by" || next.Text == "-" || next.Text == "+" || next.Text == "("
}

// commas parts tokens at the commas outside parentheses.
func commas(toks []Token) [][]Token {
	var out [][]Token
	depth, from := 0, 0
	for i, t := range toks {
		switch {
		case t.Text == "(":
			depth++
		case t.Text == ")":
			depth--
		case t.Text == "," && depth == 0:
			out = append(out, toks[from:i])
			from = i + 1
		}
	}
	return append(out, toks[from:])
}

// outside is the place of a word outside parentheses; the end without one.
func outside(toks []Token, word string) int {
	depth := 0
	for i, t := range toks {
		switch {
		case t.Text == "(":
			depth++
		case t.Text == ")":
			depth--
		case t.Text == word && depth == 0 && t.Kind != String:
			return i
		}
	}
	return len(toks)
}

// exprOf makes an expression of tokens; nil of none.
func (p *parsing) exprOf(toks []Token) *Expr {
	if len(toks) == 0 {
		return nil
	}
	return &Expr{Toks: toks, Span: p.stmtSpan(toks)}
}
