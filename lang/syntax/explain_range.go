package syntax

import "strings"

// Slips in ranges and lists: other signs than two dots, a feather before its
// range, commas that are missing or too many.

// comma: a decimal comma, a thousands mark, a missing comma, one too many.
func (s *stuck) comma() bool {
	switch {
	case s.text(0) == "," && s.kind(-1) == Number && s.kind(1) == Number && s.glued(0) && s.glued(1):
		at := s.span(-1, 1)
		d := s.add(at, "`%s` has a comma: decimals stand behind a dot, and thousands have no mark", clip(at.Text()))
		if n := len(s.text(1)); n != 3 {
			d.Suggest(at, s.text(-1)+"."+s.text(1), "write `%s.%s`", s.text(-1), s.text(1))
		} else {
			d.Hint("write `%s.%s` or `%s%s`", s.text(-1), s.text(1), s.text(-1), s.text(1))
		}
	case s.text(0) == "," && (s.what == "limit" && !s.has("for") || s.what == "rule" && s.has("when") && !s.has("corrects")):
		s.add(s.span(0, 0), "a condition has no comma in it").Hint("join two with `and` or `or`; each is whole: `pipe is stock or pipe is long`")
	case s.text(0) == "," && s.what == "given":
		s.add(s.span(0, 0), "a given has one default").Hint("a list of values makes a matrix: `variants NAME { %s = …, … }`", s.toks[1].Text)
	case s.text(0) == "," && s.what == "setting" && s.text(-s.i) == "except":
		s.add(s.span(0, 0), "an `except` is one condition").Hint("write each on a line of its own, or join them with `or`")
	case s.what == "use" && s.text(0) == "as":
		s.add(s.span(0, 0), "what is used keeps its name").Hint("leave `as` and what follows out")
	case s.what == "rule" && s.isName(0) && s.has("corrects") && s.isName(-1), s.what == "use" && (s.isName(0) || s.kind(0) == String) && s.i > 1:
		s.add(s.span(0, 0), "a comma is missing before `%s`", s.shown(0)).
			Suggest(s.p.span(s.toks[s.i-1].To(), s.toks[s.i].From), ", ", "write `, %s`", s.shown(0))
	case s.kind(0) == Word && s.text(0) == "feather" && s.text(-1) == ",":
		s.featherComma()
	default:
		return false
	}
	return true
}

func (s *stuck) featherComma() {
	s.add(s.span(0, 0), "a feather follows its range without a comma").Suggest(s.p.span(s.toks[s.i-2].To(), s.toks[s.i].From), " ", "leave the comma out")
}

// listsRanges says whether ranges stand here, with commas between them.
func (s *stuck) listsRanges() bool {
	return s.what == "region" || s.what == "adjustment" && s.has("over") || s.what == "limit" && s.has("for")
}

// rangeForm: a range that isn't written LOW..HIGH.
func (s *stuck) rangeForm() bool {
	inOver := s.listsRanges()
	ranged := inOver || s.what == "axis" || s.what == "given" && s.has("within")
	switch t := s.text(0); {
	case inOver && (t == "," || t == "where" || t == "over" || t == "else" || t == "feather" && s.text(-1) != ","):
		return s.rangeAtEnd()
	case t == ".." && s.what == "adjustment" && !s.has("over") && !s.has("where") && s.kind(-1) == Number && s.isName(-2) && s.i > 4:
		s.add(s.span(-2, -2), "`over` is missing before `%s`", s.shown(-2)).Suggest(s.insert(-2), "over ", "write `over %s …`", s.shown(-2))
	case t == "to" && ranged && s.kind(1) == Number:
		s.add(s.span(0, 0), "a range is written with two dots").Suggest(s.p.span(s.toks[s.i-1].To(), s.toks[s.i+1].From), "..", "write `%s..%s`", s.shown(-1), s.shown(1))
	case t == ".." && s.what == "given" && !s.has("within") && s.has("="):
		at := s.operandStart(-1)
		s.add(s.span(0, 0), "a given's range begins with `within`").Suggest(s.insert(at), "within ", "write `within %s..`", clip(s.span(at, -1).Text()))
	case t == ".." && s.has("where") && !s.has("over"):
		for d := -1; s.i+d >= 0; d-- {
			if s.text(d) == "where" {
				s.add(s.span(d, d), "`where` takes a yes/no, and this is a range").Suggest(s.span(d, d), "over", "a range belongs to `over`")
				return true
			}
		}
	case t == ".." && inOver && s.joined("and"):
	case t == ".." && inOver && s.lateRange():
	case (t == "=" || t == ":") && inOver && s.isName(-1):
		s.add(s.span(0, 0), "a range follows its axis without `%s`", t).Suggest(s.span(0, 0), "", "write `%s LOW..HIGH`", s.shown(-1))
	case t == "(" && inOver && (s.text(-1) == "over" || s.text(-1) == "," || s.text(-1) == "="):
		s.add(s.span(0, 0), "no parentheses stand around a range").Hint("as in `over rpm 6000..8500, throttle 50..100`")
	default:
		return false
	}
	return true
}

// operandStart is the distance of the first token of a signed number or name
// that ends at a distance.
func (s *stuck) operandStart(end int) int {
	d := end
	if s.kind(d) == Unit || s.kind(d) == Word && s.kind(d-1) == Number || s.text(d) == "%" {
		d--
	}
	if s.text(d-1) == "-" && !s.glued(d-1) && s.glued(d) {
		d--
	}
	return d
}

// joined: parts of an over joined by a word instead of a comma.
func (s *stuck) joined(word string) bool {
	for d := -1; s.i+d > 0 && s.text(d) != "over" && s.text(d) != ","; d-- {
		if s.text(d) == word && s.kind(d) == Word {
			s.add(s.span(d, d), "the ranges of several axes are joined with a comma").
				Suggest(s.p.span(s.toks[s.i+d-1].To(), s.toks[s.i+d].To()), ",", "write `,`")
			return true
		}
	}
	return false
}

// lateRange: a feather before its range.
func (s *stuck) lateRange() bool {
	for d := -1; s.i+d > 0 && s.text(d) != "over" && s.text(d) != ","; d-- {
		if s.text(d) == "feather" {
			s.add(s.span(d, d), "a feather stands behind its range").Hint("as in `rpm 6000..8500 feather 500`")
			return true
		}
	}
	return false
}

// rangeAtEnd: the statement ends where a range was wanted.
func (s *stuck) rangeAtEnd() bool {
	last := s.text(-1)
	inOver := s.listsRanges()
	if s.what != "axis" && !inOver && !(s.what == "given" && s.has("within")) || s.toks[s.i-1].goesOn() || s.kind(-1) == Unit || s.isKeyword(-1) {
		return false
	}
	from := -1
	for s.i+from-1 > 0 && !s.isBound(from-1) {
		from--
	}
	if s.kind(from) == Word && inOver && from < -1 { // the axis's name
		from++
	}
	at := s.span(from, -1)
	name := ""
	if s.isName(from - 1) {
		name = s.text(from-1) + " "
	}
	takes := "`over` takes ranges"
	or := ", or `where " + name + at.Text() + "`"
	if s.what != "adjustment" {
		takes, or = "a range is wanted", ""
	}
	switch t := s.text(from); {
	case s.text(from-1) == "feather" && s.text(from-2) == ",":
		s.i += from - 1
		s.featherComma()
	case t == ">" || t == ">=":
		s.add(at, "%s, and this is a comparison", takes).Hint("write `%s%s..`%s", name, last, or)
	case t == "<" || t == "<=":
		s.add(at, "%s, and this is a comparison", takes).Hint("write `%s..%s`%s", name, last, or)
	case from == -3 && s.text(-2) == "-", from == -2 && s.kind(-1) == Number && s.kind(-2) == Number:
		s.add(at, "a range is written with two dots").Suggest(at, s.text(from)+".."+last, "write `%s..%s`", s.text(from), last)
	case strings.HasPrefix(at.Text(), "(") && strings.HasSuffix(at.Text(), ")") && strings.Contains(at.Text(), ".."):
		inner := at.Text()[1 : len(at.Text())-1]
		s.add(at, "a range stands without parentheses").Suggest(at, inner, "write `%s`", clip(inner))
	case s.what == "limit":
		s.add(at, "`%s` is one value, and a range is wanted", clip(at.Text())).Hint("write both its ends, `LOW..HIGH`")
	default:
		s.add(at, "`%s` is one value, and a range is wanted", clip(at.Text())).Hint("write `%s..` from there up, `..%s` up to there, or `%s..%s`", last, last, last, last)
	}
	return true
}

// isBound says whether a token parts a range from what stands before it.
func (s *stuck) isBound(d int) bool {
	switch s.text(d) {
	case ",", "over", "within", "feather", "=", "for":
		return true
	}
	return s.kind(d) == Unit && s.i+d == 2
}
