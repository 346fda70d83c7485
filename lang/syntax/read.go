package syntax

import "github.com/alecthomas/participle/v2/lexer"

// The grammar read by hand: a function for each of its nodes, which goes along
// the node's tags. A reader may refuse what the grammar takes, which then costs
// the time of asking participle; what it takes, the grammar takes too, and makes
// the same node of it. A test compares them.

// reader goes over the tokens of a head or a statement.
type reader struct {
	toks []Token
	i    int
	bad  bool // something isn't as it should be; the node is of no use
}

// byHand reads tokens into a node; nil if they aren't plainly one.
func byHand[T any](read func(*reader) *T, toks []Token) *T {
	r := reader{toks: toks}
	if node := read(&r); !r.bad && r.i == len(toks) {
		return node
	}
	return nil
}

// peek is the next token, one of the kind EOF behind the last.
func (r *reader) peek() Token {
	if r.i < len(r.toks) {
		return r.toks[r.i]
	}
	return Token{}
}

func (r *reader) next() lexer.Token {
	t := r.peek()
	r.i++
	return lexer.Token{Type: lexer.TokenType(t.Kind), Value: t.Text, Pos: lexer.Position{Offset: t.From}}
}

// is says whether the next token is one of some words or signs.
func (r *reader) is(words ...string) bool {
	text := r.peek().Text
	for _, w := range words {
		if text == w {
			return true
		}
	}
	return false
}

// one takes a word or sign that must stand here.
func (r *reader) one(words ...string) lexer.Token {
	r.bad = r.bad || !r.is(words...)
	return r.next()
}

// may takes a word or sign if it stands here.
func (r *reader) may(word string) bool {
	if !r.is(word) {
		return false
	}
	r.i++
	return true
}

// of takes a token that must be of a kind.
func (r *reader) of(k Kind) lexer.Token {
	r.bad = r.bad || r.peek().Kind != k
	return r.next()
}

// ref is of, for a node's optional field.
func (r *reader) ref(k Kind) *lexer.Token {
	t := r.of(k)
	return &t
}

func (r *reader) unit() *lexer.Token {
	if r.peek().Kind != Unit {
		return nil
	}
	return r.ref(Unit)
}

// list reads what stands between commas.
func list[T any](r *reader, read func(*reader) T) []T {
	out := []T{read(r)}
	for !r.bad && r.may(",") {
		out = append(out, read(r))
	}
	return out
}

// take takes the tokens up to one that ends them; nil of none.
func (r *reader) take(ends func(Kind, string) bool) *exprNode {
	from := r.i
	for t := r.peek(); !ends(t.Kind, t.Text); t = r.peek() {
		r.i++
	}
	if r.i == from {
		return nil
	}
	return &exprNode{r.toks[from:r.i:r.i]}
}

// mayExpr takes an expression if one stands here.
func (r *reader) mayExpr() *exprNode {
	var end exprEnd
	return r.take(end.at)
}

// expr takes an expression that must stand here.
func (r *reader) expr() *exprNode {
	e := r.mayExpr()
	r.bad = r.bad || e == nil
	return e
}

func (r *reader) token() *tokNode {
	r.bad = r.bad || r.peek().Kind != Word && r.peek().Kind != String
	return &tokNode{r.next()}
}

// mayRng takes a range if one stands here.
func (r *reader) mayRng() *rangeNode {
	lo := r.mayExpr()
	if !r.is("..") {
		r.bad = r.bad || lo != nil
		return nil
	}
	return &rangeNode{Lo: lo, Dots: r.next(), Hi: r.mayExpr()}
}

func (r *reader) rng() *rangeNode {
	n := r.mayRng()
	r.bad = r.bad || n == nil
	return n
}

func (r *reader) within() *rangeNode {
	if !r.may("within") {
		return nil
	}
	return r.rng()
}

func (r *reader) head() *headNode {
	switch r.next().Value {
	case "use":
		return &headNode{Use: &useNode{list(r, (*reader).token)}}
	case "axis":
		return &headNode{Axis: &axisNode{r.of(Word), r.unit(), r.rng()}}
	case "given":
		return &headNode{Given: r.given()}
	case "let":
		n := &letNode{Name: r.of(Word), Unit: r.unit()}
		r.one("=")
		n.Body = r.expr()
		return &headNode{Let: n}
	case "fn":
		return &headNode{Fn: r.fn()}
	case "catalog":
		n := &catalogNode{Name: r.of(Word)}
		if r.may("from") {
			n.File = r.ref(String)
		} else {
			n.Body = r.body()
		}
		return &headNode{Catalog: n}
	case "curve":
		return &headNode{Curve: &curveNode{r.of(Word), r.unit(), r.body()}}
	case "map":
		return &headNode{Map: r.mapHead()}
	case "region":
		n := &regionNode{Name: r.of(Word)}
		r.one("=")
		n.Parts = list(r, (*reader).part)
		return &headNode{Region: n}
	case "rule":
		return &headNode{Rule: r.rule()}
	case "limit":
		return &headNode{Limit: r.limit()}
	case "variant", "variants":
		n := &variantNode{Keyword: r.again(), Name: r.of(Word)}
		if r.may("from") {
			n.From = r.ref(Path)
		}
		return &headNode{Variant: n}
	case "check":
		n := &checkNode{Title: r.of(String)}
		r.one("with")
		n.With = r.of(Path)
		return &headNode{Check: n}
	case "review":
		return &headNode{Review: &reviewNode{r.again()}}
	case "target":
		return &headNode{Target: &targetNode{r.of(Word)}}
	case "bundle":
		n := &bundleNode{Name: r.of(Word)}
		if r.may("for") {
			n.For = r.ref(Word)
		}
		return &headNode{Bundle: n}
	case "caution":
		return &headNode{Caution: &cautionNode{r.of(String)}}
	}
	r.bad = true
	return nil
}

// again is the token that was just taken.
func (r *reader) again() lexer.Token {
	r.i--
	return r.next()
}

func (r *reader) body() *lexer.Token {
	r.one("{")
	t := r.ref(Body)
	r.one("}")
	return t
}

func (r *reader) given() *givenNode {
	n := &givenNode{Name: r.of(Word), Unit: r.unit()}
	if r.may("from") {
		n.Catalog = r.ref(Path)
	}
	if r.may("=") {
		n.Default = r.expr()
	}
	n.Within = r.within()
	return n
}

func (r *reader) fn() *fnNode {
	n := &fnNode{Name: r.of(Word)}
	r.one("(")
	if !r.is(")") {
		n.Params = list(r, func(r *reader) *paramNode { return &paramNode{r.of(Word), r.unit(), r.within()} })
	}
	r.one(")")
	n.Unit = r.unit()
	r.one("=")
	n.Body = r.expr()
	return n
}

func (r *reader) mapHead() *mapNode {
	n := &mapNode{Name: r.of(Word), Unit: r.unit()}
	if r.may("to") {
		n.To = r.expr()
	}
	switch {
	case r.may("from"):
		n.File = r.ref(String)
	case r.may("like"):
		n.Like = r.ref(Word)
		r.one("=")
		n.Expr = r.expr()
	default:
		n.Body = r.body()
	}
	return n
}

func (r *reader) part() *partNode {
	n := &partNode{Name: r.of(Word), Range: r.mayRng()}
	if r.may("feather") {
		n.Feather = r.expr()
	}
	return n
}

func (r *reader) rule() *ruleNode {
	n := &ruleNode{Name: r.of(Word)}
	for !r.bad && r.i < len(r.toks) {
		c := &ruleClause{}
		switch {
		case r.is("when"):
			c.Word, c.When = r.next(), r.expr()
		default:
			r.one("corrects")
			c.Corrects = list(r, (*reader).token)
		}
		n.Clauses = append(n.Clauses, c)
	}
	return n
}

func (r *reader) limit() *limitNode {
	n := &limitNode{Name: r.of(Word)}
	r.one(":")
	n.Cond = r.expr()
	for !r.bad && r.i < len(r.toks) {
		c := &limitClause{}
		switch {
		case r.may("else"):
			c.Else = r.ref(Word)
		case r.is("for"):
			c.Also, c.For = r.next(), list(r, (*reader).part)
		default:
			c.Word, c.Expr = r.one("where", "when"), r.expr()
		}
		n.Clauses = append(n.Clauses, c)
	}
	return n
}
