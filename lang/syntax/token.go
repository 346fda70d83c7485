package syntax

import (
	"fettle/lang/source"
)

// Kind is the kind of a token.
type Kind int

// The kinds. Body is the whole text between the braces of a map or catalogue,
// one token, since its numbers are read by hand.
const (
	EOF Kind = iota
	Word
	Number
	Unit   // [kg/m^3], brackets included
	String // "…", quotes included
	Path   // season/stock-pump98-820m, after from and with, and of a slot
	Op
	Body
	Newline
	Bad // a character or text that belongs nowhere
)

var kindNames = map[string]Kind{
	"EOF": EOF, "Word": Word, "Number": Number, "Unit": Unit, "String": String,
	"Path": Path, "Op": Op, "Body": Body, "Newline": Newline, "Bad": Bad,
}

// Token is one token with its text as written.
type Token struct {
	Kind Kind
	Text string
	From int // byte offset
}

// To is the byte offset after the token.
func (t Token) To() int { return t.From + len(t.Text) }

// Span places the token in its file.
func (t Token) Span(f *source.File) source.Span {
	return source.Span{File: f, From: t.From, To: t.To()}
}

// Comment is a comment, from its # to the end of its line.
type Comment struct {
	Text  string
	From  int
	Whole bool // nothing but spaces stands before it on its line
}

// declWords begin a declaration.
var declWords = []string{
	"use", "axis", "given", "let", "fn", "catalog", "curve", "map", "region", "rule", "limit",
	"variant", "variants", "check", "review", "target", "bundle", "caution",
}

var isDecl = set(declWords...)

// keywords are never names.
var keywords = set(append([]string{
	"trim", "except", "from", "within", "like", "to", "when", "where", "over", "feather", "corrects", "with", "for",
	"and", "or", "not", "is", "if", "then", "else", "yes", "no",
}, declWords...)...)

// IsKeyword says whether a word belongs to the language.
func IsKeyword(w string) bool { return keywords[w] }

// exprWords are the keywords that may stand inside an expression.
var exprWords = set("and", "or", "not", "is", "if", "then", "else", "yes", "no")

// goesOn are the tokens after which a line goes on.
var goesOn = set("+", "-", "*", "/", "^", "<", ">", "<=", ">=", "==", "!=", "=", "+=", "-=", "*=", "/=", "+-", ",",
	"and", "or", "not", "is", "if", "then", "else")

func set(words ...string) map[string]bool {
	m := make(map[string]bool, len(words))
	for _, w := range words {
		m[w] = true
	}
	return m
}

// IsName says whether a text has the form of a name: lower case, digits, _.
func IsName(s string) bool {
	if s == "" || s[0] < 'a' || s[0] > 'z' {
		return false
	}
	for i := 1; i < len(s); i++ {
		c := s[i]
		if !(c >= 'a' && c <= 'z' || c >= '0' && c <= '9' || c == '_') {
			return false
		}
	}
	return true
}

// goesOn says whether a line that ends with this token goes on with the next.
func (t Token) goesOn() bool { return (t.Kind == Op || t.Kind == Word) && goesOn[t.Text] }
