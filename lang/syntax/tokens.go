package syntax

import (
	"fettle/lang/diag"
	"fettle/lang/source"
)

// Tokens gives a file's tokens as they are written, a slice for each
// declaration, and its comments in order: what a formatter or a merge works
// on. Faults of the lexer go to errs; where there are any, some text may stand
// in no token.
func Tokens(f *source.File, errs *diag.List) (pieces [][]Token, comments []Comment) {
	cut, comments, _ := lexFile(f, errs)
	for _, p := range cut {
		pieces = append(pieces, p.toks)
	}
	return pieces, comments
}

// BodyLines gives the lines of a map's or catalogue's body that hold more than
// a comment, without their comments and outer blanks.
func BodyLines(f *source.File, body Token) []source.Span {
	var out []source.Span
	for _, ln := range bodyLines(f, body) {
		out = append(out, source.Span{File: f, From: ln.from, To: ln.to})
	}
	return out
}

// SplitBars cuts a line of a catalogue at its bars, minding quotes; the cells
// are without their outer blanks.
func SplitBars(s source.Span) []source.Span {
	var out []source.Span
	for _, c := range splitBars(s.File.Text, line{s.From, s.To}) {
		from, to := trim(s.File.Text, c.from, c.to)
		out = append(out, source.Span{File: s.File, From: from, To: to})
	}
	return out
}
