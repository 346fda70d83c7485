package syntax

// target builds a target's declaration from the lines of its block.
func (p *parsing) target(n *targetNode, stmts [][]Token, partial bool) Decl {
	t := &Target{Head: p.head(n.Name), Partial: partial}
	for _, s := range stmts {
		line := parseWith(p, (*reader).targetLine, targetLineParser, s, s[len(s)-1].To(), "line of a target")
		switch {
		case line == nil:
			t.Partial = true
		case line.Bytes != nil:
			order := p.name(*line.Bytes)
			if t.Bytes != nil {
				p.errs.Add("E110", p.stmtSpan(s), "a second `bytes`").Note(t.Bytes.Span, "the first stands here")
				break
			}
			t.Bytes = &order
		case line.Table != nil:
			if one := p.table(line.Table, s); one == nil {
				t.Partial = true
			} else {
				t.Tables = append(t.Tables, one)
			}
		default:
			for _, c := range line.Compensates {
				t.Compensates = append(t.Compensates, p.name(c.Tok))
			}
		}
	}
	return t
}

// table builds one table of a target; nil if its breakpoints can't be read.
func (p *parsing) table(n *tableNode, s []Token) *TargetTable {
	t := &TargetTable{Name: p.name(n.Name), Map: p.name(n.Map), Span: p.stmtSpan(s)}
	p.checkName(t.Name, "the name of a table")
	ok := true
	for _, c := range n.Clauses {
		switch {
		case c.Type != nil:
			if t.Type != nil {
				p.twice(c.Word, "as", t.Type.Span)
			}
			t.Type = p.namePtr(*c.Type)
		case c.Points != nil:
			if t.Points != nil {
				p.twice(c.At, "at", t.Points[0].Span)
			}
			var fine bool
			t.Points, fine = p.points(p.expr(&c.Points.exprNode).Toks)
			ok = ok && fine
		case c.Size.Value == "step":
			if t.Step != nil {
				p.twice(c.Size, "step", t.Step.Span)
			}
			t.Step = p.expr(&c.Amount.exprNode)
		default:
			if t.Offset != nil {
				p.twice(c.Size, "offset", t.Offset.Span)
			}
			t.Offset = p.expr(&c.Amount.exprNode)
		}
	}
	if !ok {
		return nil
	}
	return t
}
