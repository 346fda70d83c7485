package syntax

import (
	"sync"

	"github.com/alecthomas/participle/v2"
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
	return n.take(lex, func(v string) bool { return tableClauses[v] || v == "," || v == ".." })
}

// pointsNode takes the tokens of all breakpoints, with the names of their axes;
// breakpoints.go reads them.
type pointsNode struct{ exprNode }

// Parse implements participle.Parseable.
func (n *pointsNode) Parse(lex *lexer.PeekingLexer) error {
	return n.take(lex, func(v string) bool { return tableClauses[v] })
}

// take gathers tokens until, outside parentheses, a word that ends them, a
// keyword, or a sign that has no place among quantities.
func (n *exprNode) take(lex *lexer.PeekingLexer, ends func(string) bool) error {
	depth := 0
	for {
		t := lex.Peek()
		k := Kind(t.Type)
		if t.EOF() || k == Newline || k == Body || k == String || k == Path {
			break
		}
		if k == Word || k == Op {
			switch v := t.Value; {
			case v == "(":
				depth++
			case v == ")" && depth > 0:
				depth--
			case v == ")", v == "{", v == "}", v == ":", v == "=":
				goto done
			case depth == 0 && (ends(v) || k == Word && keywords[v]):
				goto done
			}
		}
		n.Toks = append(n.Toks, *lex.Next())
	}
done:
	if len(n.Toks) == 0 {
		return participle.NextMatch
	}
	return nil
}

var targetLineParser = sync.OnceValue(build[targetLineNode])
