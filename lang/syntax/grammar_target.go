package syntax

import (
	"sync"

	"github.com/alecthomas/participle/v2/lexer"
)

// The grammar of a target's block. Its words (`table`, `as`, `step`, `offset`,
// `at`, `by`, `auto`, `compensates`, `bytes`) are words here alone and may be
// names elsewhere.

type targetNode struct {
	Name lexer.Token `parser:"'target' @Word"`
}

type targetLineNode struct {
	Compensates []*tokNode   `parser:"(  'compensates' @@ (',' @@)*"`
	Bytes       *lexer.Token `parser:" | 'bytes' @Word"`
	Table       *tableNode   `parser:" | @@ )"`
}

type tableNode struct {
	Name    lexer.Token    `parser:"'table' @Word"`
	Map     lexer.Token    `parser:"'=' @Word"`
	Clauses []*tableClause `parser:"@@*"`
}

type tableClause struct {
	Word   lexer.Token  `parser:"(  @'as'"`
	Type   *lexer.Token `parser:"   @Word"`
	Size   lexer.Token  `parser:" | @('step' | 'offset')"`
	Amount *amountNode  `parser:"   @@"`
	At     lexer.Token  `parser:" | @'at'"`
	Points *pointsNode  `parser:"   @@ )"`
}

// tableClauses begin the clauses of a table.
var tableClauses = set("as", "step", "offset", "at")

// amountNode takes a quantity's tokens: up to the next clause.
type amountNode struct{ exprNode }

// Parse implements participle.Parseable.
func (n *amountNode) Parse(lex *lexer.PeekingLexer) error {
	end := quantityEnd{alone: true}
	return n.take(lex, end.at)
}

// pointsNode takes the tokens of all breakpoints, with the names of their axes;
// breakpoints.go reads them.
type pointsNode struct{ exprNode }

// Parse implements participle.Parseable.
func (n *pointsNode) Parse(lex *lexer.PeekingLexer) error {
	var end quantityEnd
	return n.take(lex, end.at)
}

// quantityEnd finds where a quantity, or a list of them, ends: outside
// parentheses at a clause, a keyword, or a sign that has no place among
// quantities.
type quantityEnd struct {
	alone bool // a comma or a range ends it too
	depth int
}

// at says whether the quantity ends before this token.
func (q *quantityEnd) at(k Kind, text string) bool {
	switch k {
	case EOF, Newline, Body, String, Path:
		return true
	case Word, Op:
	default:
		return false
	}
	switch {
	case text == "(":
		q.depth++
	case text == ")" && q.depth > 0:
		q.depth--
	case text == ")", text == "{", text == "}", text == ":", text == "=":
		return true
	case q.depth > 0:
	case tableClauses[text], q.alone && (text == "," || text == ".."), k == Word && keywords[text]:
		return true
	}
	return false
}

var targetLineParser = sync.OnceValue(build[targetLineNode])
