// Package format writes a source in the one layout.
//
// How it goes. The file is read for faults first; a file with any comes back as
// it was. Then its tokens and comments are taken in order, a declaration at a
// time. The author's line breaks are kept, except that a block which isn't
// written on one line has its braces apart from its statements, and a table has
// its own lines. That gives lines, each with its words and its comment.
// Whether a space stands between two words follows from the words alone
// (spacing.go). Then columns: the parts of neighbouring lines that are alike
// are padded to each other, and so are their comments (columns.go). Bodies of
// maps and catalogues are laid out from their rows (tables.go).
//
// The law: only white space differs (and a byte order mark goes); the result
// reads to the same tokens, comments and documentation; and the layout of the
// result is the result itself.
//
// The layout:
//   - Lines end in LF, without blanks before it; tabs are spaces; one blank line
//     at most, none at the start or just inside braces.
//   - Two spaces of indentation inside braces; the further lines of a statement
//     stand four in from its first. A line that begins with the parenthesis
//     which closes the outermost one stands under the statement.
//   - One space around binary operators, after commas, before a unit and before
//     a bracket; none inside parentheses, around `.` and `..`, before the `(` of
//     a call, after a sign. `rpm ..7000` and `9000.. feather` keep the space
//     beside an open end.
//   - `{ … }` on one line stays on one line; an empty block is `{ }`.
//   - Adjacent one-line declarations of one keyword (axis, given, let, region,
//     limit, map without a body) have their parts in columns. In a block the
//     settings of a variant, the adjustments of a rule, the comparisons of a
//     check, the lines of a review, the tables of a target and the slots of a
//     bundle do, across comments and blank lines.
//   - A comment behind a statement stands two spaces behind it; on adjacent
//     lines, all in the column of the farthest. Comments keep their lines.
//   - A grid's columns have one width, which follows from the map's step and
//     not from its cells (see tables.go), so that an edited cell changes one
//     line. A catalogue's columns are as wide as their widest cell.
//
// In: a source.File. Out: its text in the layout, and the faults that kept it
// from being laid out. Imported by cmd and the compiler's rooms that write
// sources; imports syntax and below.
package format

import (
	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/lang/syntax"
)

// Source gives the text of a file in the one layout. A file with faults comes
// back unchanged, with the faults.
func Source(f *source.File) (string, *diag.List) {
	errs := &diag.List{}
	for _, d := range syntax.Parse(f, errs).Decls {
		switch d := d.(type) {
		case *syntax.Map:
			if d.Body != nil {
				syntax.ReadGrid(f, *d.Body, errs)
			}
		case *syntax.Curve:
			if d.Body != nil {
				syntax.ReadGrid(f, *d.Body, errs)
			}
		case *syntax.Catalog:
			if d.Body != nil {
				syntax.ReadTable(f, *d.Body, errs)
			}
		}
	}
	if errs.HasErrors() {
		return f.Text, errs
	}
	// The lexer's faults are in the list already.
	pieces, comments := syntax.Tokens(f, &diag.List{})
	l := &layout{file: f, comments: comments}
	for _, toks := range pieces {
		l.declaration(toks)
	}
	l.commentsBefore(len(f.Text)+1, 0)
	alignRuns(l.lines)
	alignBlocks(l.lines)
	alignNotes(l.lines)
	return write(l.lines), errs
}
