package syntax

import (
	"sync"

	"github.com/alecthomas/participle/v2/lexer"
)

// The grammar of a bundle's block. `differs` and `jump` are words here alone and
// may be names elsewhere.

type bundleNode struct {
	Name lexer.Token  `parser:"'bundle' @Word"`
	For  *lexer.Token `parser:"('for' @Word)?"`
}

type bundleLineNode struct {
	Differs []*tokNode   `parser:"(  'differs' @@ (',' @@)*"`
	Map     *lexer.Token `parser:" | 'jump' @Word '='"`
	Amount  *exprNode    `parser:"   @@"`
	Number  lexer.Token  `parser:" | @Number '='"`
	Tune    *lexer.Token `parser:"   @Path )"`
}

var bundleLineParser = sync.OnceValue(build[bundleLineNode])

// bundle builds a bundle's declaration from the lines of its block.
func (p *parsing) bundle(n *bundleNode, stmts [][]Token, partial bool) Decl {
	b := &Bundle{Head: p.head(n.Name), Partial: partial}
	if n.For != nil {
		b.For = p.namePtr(*n.For)
	}
	for _, s := range stmts {
		line := parseWith(p, (*reader).bundleLine, bundleLineParser, s, s[len(s)-1].To(), "line of a bundle")
		switch {
		case line == nil:
			b.Partial = true
		case line.Map != nil:
			b.Jumps = append(b.Jumps, &Allow{Map: p.name(*line.Map), Amount: p.expr(line.Amount), Span: p.stmtSpan(s)})
		case line.Tune != nil:
			b.Slots = append(b.Slots, &Slot{Number: p.name(line.Number), Tune: p.name(*line.Tune), Span: p.stmtSpan(s)})
		default:
			for _, g := range line.Differs {
				b.Differs = append(b.Differs, p.name(g.Tok))
			}
		}
	}
	return b
}
