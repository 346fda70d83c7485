package syntax

// The statements of blocks, read by hand.

func (r *reader) adjust() *adjustNode {
	n := &adjustNode{Map: r.of(Word), Op: r.one("=", "+=", "-=", "*=", "/="), Amount: r.expr()}
	for !r.bad && r.i < len(r.toks) {
		c := &adjustClause{}
		if r.is("over") {
			c.Word, c.Parts = r.next(), list(r, (*reader).part)
		} else {
			c.Also, c.Where = r.one("where"), r.expr()
		}
		n.Clauses = append(n.Clauses, c)
	}
	return n
}

func (r *reader) setting() *settingNode {
	switch {
	case r.may("trim"):
		return &settingNode{Trim: r.adjust()}
	case r.may("except"):
		return &settingNode{Except: r.expr()}
	}
	n := &settingNode{Given: r.of(Word)}
	r.one("=")
	n.Values = list(r, (*reader).expr)
	return n
}

func (r *reader) expect() *expectNode {
	n := &expectNode{Cond: r.expr()}
	if r.may("+-") {
		n.Tol = r.expr()
	}
	return n
}

func (r *reader) allow() *allowNode {
	r.one("allow")
	n := &allowNode{Map: r.of(Word)}
	r.one("=")
	n.Amount = r.expr()
	return n
}

func (r *reader) targetLine() *targetLineNode {
	switch {
	case r.may("compensates"):
		return &targetLineNode{Compensates: list(r, (*reader).token)}
	case r.may("bytes"):
		return &targetLineNode{Bytes: r.ref(Word)}
	}
	r.one("table")
	n := &tableNode{Name: r.of(Word)}
	r.one("=")
	n.Map = r.of(Word)
	for !r.bad && r.i < len(r.toks) {
		n.Clauses = append(n.Clauses, r.tableClause())
	}
	return &targetLineNode{Table: n}
}

func (r *reader) tableClause() *tableClause {
	c := &tableClause{}
	var end quantityEnd
	var toks *exprNode
	switch {
	case r.is("as"):
		c.Word, c.Type = r.next(), r.ref(Word)
		return c
	case r.is("at"):
		c.At = r.next()
		if toks = r.take(end.at); toks != nil {
			c.Points = &pointsNode{*toks}
		}
	default:
		c.Size = r.one("step", "offset")
		end.alone = true
		if toks = r.take(end.at); toks != nil {
			c.Amount = &amountNode{*toks}
		}
	}
	r.bad = r.bad || toks == nil
	return c
}

func (r *reader) bundleLine() *bundleLineNode {
	switch {
	case r.may("differs"):
		return &bundleLineNode{Differs: list(r, (*reader).token)}
	case r.may("jump"):
		n := &bundleLineNode{Map: r.ref(Word)}
		r.one("=")
		n.Amount = r.expr()
		return n
	}
	n := &bundleLineNode{Number: r.of(Number)}
	r.one("=")
	n.Tune = r.ref(Path)
	return n
}
