package syntax

import (
	"io"
	"sync"

	"github.com/alecthomas/participle/v2"
	"github.com/alecthomas/participle/v2/lexer"
)

// The grammar, as participle reads it from the tags. It is loose on purpose:
// what can be explained better later (names that are keywords, clauses given
// twice, units that don't exist) is let through here.
//
// A declaration's head and each statement of its block are parsed apart, so
// that one bad statement costs one error.
//
// The readers of read.go make the same nodes faster, of what has no fault.

type headNode struct {
	Use     *useNode     `parser:"  @@"`
	Axis    *axisNode    `parser:"| @@"`
	Given   *givenNode   `parser:"| @@"`
	Let     *letNode     `parser:"| @@"`
	Fn      *fnNode      `parser:"| @@"`
	Catalog *catalogNode `parser:"| @@"`
	Curve   *curveNode   `parser:"| @@"`
	Map     *mapNode     `parser:"| @@"`
	Region  *regionNode  `parser:"| @@"`
	Rule    *ruleNode    `parser:"| @@"`
	Limit   *limitNode   `parser:"| @@"`
	Variant *variantNode `parser:"| @@"`
	Check   *checkNode   `parser:"| @@"`
	Review  *reviewNode  `parser:"| @@"`
	Target  *targetNode  `parser:"| @@"`
	Bundle  *bundleNode  `parser:"| @@"`
	Caution *cautionNode `parser:"| @@"`
}

type useNode struct {
	Items []*tokNode `parser:"'use' @@ (',' @@)*"`
}

// tokNode is one token of a list: participle keeps only the last of a slice of
// bare tokens.
type tokNode struct {
	Tok lexer.Token `parser:"@(Word | String)"`
}

type axisNode struct {
	Name  lexer.Token  `parser:"'axis' @Word"`
	Unit  *lexer.Token `parser:"@Unit?"`
	Range *rangeNode   `parser:"@@"`
}

type rangeNode struct {
	Lo   *exprNode   `parser:"@@?"`
	Dots lexer.Token `parser:"@'..'"`
	Hi   *exprNode   `parser:"@@?"`
}

type givenNode struct {
	Name    lexer.Token  `parser:"'given' @Word"`
	Unit    *lexer.Token `parser:"@Unit?"`
	Catalog *lexer.Token `parser:"('from' @Path)?"`
	Default *exprNode    `parser:"('=' @@)?"`
	Within  *rangeNode   `parser:"('within' @@)?"`
}

type letNode struct {
	Name lexer.Token  `parser:"'let' @Word"`
	Unit *lexer.Token `parser:"@Unit?"`
	Body *exprNode    `parser:"'=' @@"`
}

type paramNode struct {
	Name   lexer.Token  `parser:"@Word"`
	Unit   *lexer.Token `parser:"@Unit?"`
	Within *rangeNode   `parser:"('within' @@)?"`
}

type fnNode struct {
	Name   lexer.Token  `parser:"'fn' @Word"`
	Params []*paramNode `parser:"'(' (@@ (',' @@)*)? ')'"`
	Unit   *lexer.Token `parser:"@Unit?"`
	Body   *exprNode    `parser:"'=' @@"`
}

type catalogNode struct {
	Name lexer.Token  `parser:"'catalog' @Word"`
	File *lexer.Token `parser:"(  'from' @String"`
	Body *lexer.Token `parser:" | '{' @Body '}' )"`
}

type curveNode struct {
	Name lexer.Token  `parser:"'curve' @Word"`
	Unit *lexer.Token `parser:"@Unit?"`
	Body *lexer.Token `parser:"'{' @Body '}'"`
}

type mapNode struct {
	Name lexer.Token  `parser:"'map' @Word"`
	Unit *lexer.Token `parser:"@Unit?"`
	To   *exprNode    `parser:"('to' @@)?"`
	File *lexer.Token `parser:"(  'from' @String"`
	Body *lexer.Token `parser:" | '{' @Body '}'"`
	Like *lexer.Token `parser:" | 'like' @Word"`
	Expr *exprNode    `parser:"   '=' @@ )"`
}

type partNode struct {
	Name    lexer.Token `parser:"@Word"`
	Range   *rangeNode  `parser:"@@?"`
	Feather *exprNode   `parser:"('feather' @@)?"`
}

type regionNode struct {
	Name  lexer.Token `parser:"'region' @Word"`
	Parts []*partNode `parser:"'=' @@ (',' @@)*"`
}

type ruleClause struct {
	Word     lexer.Token `parser:"(  @'when'"`
	When     *exprNode   `parser:"   @@"`
	Corrects []*tokNode  `parser:" | 'corrects' @@ (',' @@)* )"`
}

type ruleNode struct {
	Name    lexer.Token   `parser:"'rule' @Word"`
	Clauses []*ruleClause `parser:"@@*"`
}

type limitClause struct {
	Word lexer.Token  `parser:"(  @('where' | 'when')"`
	Expr *exprNode    `parser:"   @@"`
	Also lexer.Token  `parser:" | @'for'"`
	For  []*partNode  `parser:"   @@ (',' @@)*"`
	Else *lexer.Token `parser:" | 'else' @Word )"`
}

type limitNode struct {
	Name    lexer.Token    `parser:"'limit' @Word"`
	Cond    *exprNode      `parser:"':' @@"`
	Clauses []*limitClause `parser:"@@*"`
}

type variantNode struct {
	Keyword lexer.Token  `parser:"@('variant' | 'variants')"`
	Name    lexer.Token  `parser:"@Word"`
	From    *lexer.Token `parser:"('from' @Path)?"`
}

type checkNode struct {
	Title lexer.Token `parser:"'check' @String"`
	With  lexer.Token `parser:"'with' @Path"`
}

type reviewNode struct {
	Word lexer.Token `parser:"@'review'"`
}

type cautionNode struct {
	Text lexer.Token `parser:"'caution' @String"`
}

type adjustNode struct {
	Map     lexer.Token     `parser:"@Word"`
	Op      lexer.Token     `parser:"@('=' | '+=' | '-=' | '*=' | '/=')"`
	Amount  *exprNode       `parser:"@@"`
	Clauses []*adjustClause `parser:"@@*"`
}

type adjustClause struct {
	Word  lexer.Token `parser:"(  @'over'"`
	Parts []*partNode `parser:"   @@ (',' @@)*"`
	Also  lexer.Token `parser:" | @'where'"`
	Where *exprNode   `parser:"   @@ )"`
}

type settingNode struct {
	Trim   *adjustNode `parser:"(  'trim' @@"`
	Except *exprNode   `parser:" | 'except' @@"`
	Given  lexer.Token `parser:" | @Word"`
	Values []*exprNode `parser:"   '=' @@ (',' @@)* )"`
}

type expectNode struct {
	Cond *exprNode `parser:"@@"`
	Tol  *exprNode `parser:"('+-' @@)?"`
}

// allowNode begins with `allow`, which is a word here alone and may be a name
// elsewhere.
type allowNode struct {
	Map    lexer.Token `parser:"'allow' @Word"`
	Amount *exprNode   `parser:"'=' @@"`
}

// exprNode takes an expression's tokens: until, outside parentheses, a comma, a
// brace, a clause's keyword, `..`, `+-`, or the end.
type exprNode struct {
	Toks []Token
}

// exprEnd finds where an expression ends, a token after the other.
type exprEnd struct{ depth, ifs int }

// at says whether the expression ends before this token.
func (e *exprEnd) at(k Kind, text string) bool {
	switch k {
	case EOF, Newline, Body:
		return true
	case Word, Op:
	default:
		return false
	}
	switch {
	case text == "(":
		e.depth++
	case text == ")" && e.depth == 0, e.depth == 0 && (text == "," || text == ".." || text == "+-"), text == "{", text == "}", text == ":":
		return true
	case text == ")":
		e.depth--
	case text == "if":
		e.ifs++
	case text == "else" && e.depth == 0 && e.ifs == 0:
		return true
	case text == "else":
		e.ifs--
	case e.depth == 0 && (text == "=" || text == "+=" || text == "-=" || text == "*=" || text == "/="):
		return true
	case k == Word && keywords[text] && !exprWords[text]:
		return true
	}
	return false
}

// Parse implements participle.Parseable.
func (e *exprNode) Parse(lex *lexer.PeekingLexer) error {
	var end exprEnd
	return e.take(lex, end.at)
}

// take gathers tokens until one ends them.
func (e *exprNode) take(lex *lexer.PeekingLexer, ends func(Kind, string) bool) error {
	for {
		t := lex.Peek()
		k := Kind(t.Type)
		if t.EOF() {
			k = EOF
		}
		if ends(k, t.Value) {
			break
		}
		e.Toks = append(e.Toks, Token{k, t.Value, t.Pos.Offset})
		lex.Next()
	}
	if len(e.Toks) == 0 {
		return participle.NextMatch
	}
	return nil
}

// definition feeds participle tokens that the file's lexer has made already.
type definition struct{}

func (definition) Symbols() map[string]lexer.TokenType {
	m := make(map[string]lexer.TokenType, len(kindNames))
	for name, k := range kindNames {
		if k == EOF {
			m[name] = lexer.EOF
		} else {
			m[name] = lexer.TokenType(k)
		}
	}
	return m
}

func (definition) Lex(string, io.Reader) (lexer.Lexer, error) {
	return &replay{}, nil
}

type replay struct {
	toks []Token
	end  int
}

func (r *replay) Next() (lexer.Token, error) {
	if len(r.toks) == 0 {
		return lexer.Token{Type: lexer.EOF, Pos: lexer.Position{Offset: r.end}}, nil
	}
	t := r.toks[0]
	r.toks = r.toks[1:]
	return lexer.Token{Type: lexer.TokenType(t.Kind), Value: t.Text, Pos: lexer.Position{Offset: t.From}}, nil
}

// The parsers are built once, and only when something is read.
var (
	headParser    = sync.OnceValue(build[headNode])
	adjustParser  = sync.OnceValue(build[adjustNode])
	settingParser = sync.OnceValue(build[settingNode])
	expectParser  = sync.OnceValue(build[expectNode])
	allowParser   = sync.OnceValue(build[allowNode])
)

func build[T any]() *participle.Parser[T] {
	return participle.MustBuild[T](participle.Lexer(definition{}))
}
