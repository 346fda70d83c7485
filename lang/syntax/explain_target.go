package syntax

import "fettle/lang/diag"

// Slips in a target: a line without its word, a table without its `=`, a type
// without its `as`, a clause of a rule.

var targetLines = []string{"compensates", "bytes", "table"}

var storageTypes = set("u8", "i8", "u16", "i16", "u32", "i32", "f32")

// targetLine looks at a line of a target.
func (s *stuck) targetLine() bool {
	if s.what != "line of a target" {
		return false
	}
	at := s.span(0, 0)
	first := s.text(-s.i)
	switch t := s.text(0); {
	case s.i == 0:
		return s.targetWord()
	case first == "bytes":
		s.add(at, "the order of a number's bytes is `big` or `little`")
	case first == "compensates" && s.isName(0) && s.isName(-1):
		s.add(at, "what is compensated is parted by commas").Suggest(s.p.span(s.toks[s.i-1].To(), s.toks[s.i].From), ", ", "write `, %s`", s.shown(0))
	case first == "compensates":
		s.add(at, "what a controller compensates are givens, parted by commas").Hint("as in `compensates altitude, air_temp`")
	case s.i == 2 && (t == ":" || t == "from" || t == "like" || t == "==" || t == "is"):
		s.add(at, "the map that a table shows stands behind `=`").Suggest(at, "=", "write `=`")
	case s.i == 2 && (tableClauses[t] || s.kind(0) == Unit):
		s.add(at, "this table doesn't say which map it shows").Hint("as in `table %s = fuel …`; its unit is the map's", s.shown(-1))
	case s.i == 2 && s.isName(0):
		gap := s.p.span(s.toks[s.i-1].To(), s.toks[s.i].From)
		s.add(at, "a `=` is missing before `%s`", s.shown(0)).Suggest(gap, " = ", "write `= %s`", s.shown(0))
	case s.i > 4 && s.kind(-1) == Word && tableClauses[s.text(-1)]:
		s.add(s.span(-1, 0), "something is missing between `%s` and `%s`", s.shown(-1), s.shown(0))
	case s.i > 3 && storageTypes[t]:
		s.add(at, "how a table is stored stands behind `as`").Suggest(s.insert(0), "as ", "write `as %s`", t)
	case s.i > 3 && t == "by" && s.kind(-1) != Op:
		s.add(at, "`by` belongs to breakpoints, behind an `at`").Hint("as in `at rpm 1000..13000 by 500`; a table's resolution is its `step`")
	case s.i == 4 && s.kind(0) == Op && t != ",":
		s.add(at, "a table shows a map as it is").Hint("what is worked out of it is a map of its own: `map NAME like %s = …`", s.shown(-1))
	case s.i > 3 && (s.isName(0) || s.isKeyword(0)):
		d := s.add(at, "`%s` has no place in a table", s.shown(0))
		if near := diag.Nearest(t, []string{"step", "offset"}); near != "" && !s.isKeyword(0) {
			d.Suggest(at, near, "did you mean `%s`?", near)
		} else {
			s.hintForm(d)
		}
	default:
		return false
	}
	return true
}

// targetWord: the line begins with no word of a target.
func (s *stuck) targetWord() bool {
	at := s.span(0, 0)
	switch near := diag.Nearest(s.text(0), targetLines); {
	case s.isName(0) && near != "":
		s.add(at, "a line of a target begins with `compensates`, `bytes` or `table`").Suggest(at, near, "did you mean `%s`?", near)
	case s.text(0) == "map" && s.kind(1) == Word:
		s.add(at, "a target has tables, each of which shows a map").Suggest(at, "table", "write `table`")
	case s.isName(0) && s.text(1) == "=":
		s.add(at, "a line of a target begins with `compensates`, `bytes` or `table`").Suggest(s.insert(0), "table ", "write `table %s = …`", s.shown(0))
	case s.text(0) == "corrects":
		s.add(at, "a rule corrects for givens; a controller compensates them").Suggest(at, "compensates", "write `compensates`")
	case s.kind(0) == Word:
		s.add(at, "a line of a target begins with `compensates`, `bytes` or `table`")
	default:
		return false
	}
	return true
}
