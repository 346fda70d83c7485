package syntax

import "fettle/lang/diag"

// Slips in a bundle: a line without its number or its word, a slot with two
// tunes, a jump without its amount.

var bundleLines = []string{"differs", "jump"}

// bundleLine looks at a line of a bundle.
func (s *stuck) bundleLine() bool {
	switch {
	case s.what == "bundle" && s.i == 2 && (s.isName(0) || s.text(0) == "from" || s.text(0) == "with" || s.text(0) == ":"):
		s.add(s.span(0, 0), "the target of a bundle stands behind `for`").Hint("%s is written `%s`", article(s.what), forms[s.what])
		return true
	case s.what != "line of a bundle":
		return false
	case s.i == 0:
		return s.bundleWord()
	}
	switch s.text(-s.i) {
	case "jump":
		return s.jump()
	case "differs":
		return s.differs()
	}
	return s.slot()
}

// bundleWord: the line begins with nothing that a line of a bundle begins with.
func (s *stuck) bundleWord() bool {
	at := s.span(0, 0)
	const wanted = "a line of a bundle begins with the number of a slot, with `differs` or with `jump`"
	switch near := diag.Nearest(s.text(0), bundleLines); {
	case s.text(0) == "slot" && s.kind(1) == Number:
		s.add(s.span(0, 0), wanted).Suggest(s.p.span(s.toks[0].From, s.toks[1].From), "", "leave `slot` out")
	case s.isName(0) && near != "":
		s.add(at, wanted).Suggest(at, near, "did you mean `%s`?", near)
	case s.text(0) == "allow":
		s.add(at, "a review allows changes; between the slots of a bundle a table jumps").Suggest(at, "jump", "write `jump`")
	case s.isName(0) && s.text(1) == "=":
		s.add(at, wanted).Hint("a slot is written `1 = TUNE`, how far a table may jump `jump MAP = AMOUNT`")
	case s.kind(0) == Path || s.kind(0) == Word || s.kind(0) == String:
		s.add(at, wanted).Hint("a slot is written `1 = TUNE`")
	default:
		return false
	}
	return true
}

// slot: `1 = TUNE`.
func (s *stuck) slot() bool {
	at := s.span(0, 0)
	switch t := s.text(0); {
	case s.kind(-s.i) != Number:
		return false
	case s.i == 1 && (t == ":" || t == "==" || t == "is" || t == "from"):
		s.add(at, "the tune of a slot stands behind `=`").Suggest(at, "=", "write `=`")
	case s.i == 1 && s.kind(0) == Word:
		gap := s.p.span(s.toks[s.i-1].To(), s.toks[s.i].From)
		s.add(at, "a `=` is missing before `%s`", s.shown(0)).Suggest(gap, " = ", "write `= %s`", s.shown(0))
	case s.i == 2 && s.kind(0) == String:
		s.add(at, "a tune is named without quotes").Suggest(at, unquote(t), "write `%s`", clip(unquote(t)))
	case s.i == 3 && t == ",":
		s.add(at, "one slot holds one tune").Hint("write each on a line of its own, with its number")
	case s.i == 3 && s.kind(0) == Number:
		s.add(at, "a second statement begins here").Suggest(s.p.span(s.toks[s.i-1].To(), s.toks[s.i].From), "\n", "begin a new line before `%s`", s.shown(0))
	case s.i == 3:
		s.add(at, "`%s` has no place here: a slot holds a tune as it is", s.shown(0)).Hint("what shall be otherwise in this slot is a variant of its own")
	default:
		return false
	}
	return true
}

// jump: `jump MAP = AMOUNT`.
func (s *stuck) jump() bool {
	at := s.span(0, 0)
	switch t := s.text(0); {
	case s.i == 2 && s.kind(0) == Number:
		gap := s.p.span(s.toks[s.i-1].To(), s.toks[s.i].From)
		s.add(at, "a `=` is missing before `%s`", s.shown(0)).Suggest(gap, " = ", "write `= %s`", s.shown(0))
	case s.i == 2 && t == ",", s.i > 3 && t == ",":
		s.add(at, "one `jump` is for one map").Hint("write each on a line of its own")
	case s.i == 2 && s.kind(0) == Op:
		s.add(at, "how far a table may jump stands behind `=`").Suggest(at, "=", "write `=`")
	case s.i > 3:
		s.add(at, "`%s` has no place here: a table may jump by one amount, at every point", s.shown(0))
	default:
		return false
	}
	return true
}

// differs: `differs GIVEN, …`.
func (s *stuck) differs() bool {
	at := s.span(0, 0)
	switch {
	case s.text(-1) == "in" && s.i == 2 && s.isName(0):
		s.add(s.span(-1, -1), "what the slots may differ in are givens, parted by commas").Suggest(s.p.span(s.toks[1].From, s.toks[2].From), "", "leave `in` out")
	case s.isName(0) && s.isName(-1) && s.i > 1:
		s.add(at, "givens are parted by commas").Suggest(s.p.span(s.toks[s.i-1].To(), s.toks[s.i].From), ", ", "write `, %s`", s.shown(0))
	case s.kind(0) == Number || s.kind(0) == Op:
		s.add(at, "what the slots may differ in are givens, parted by commas").Hint("as in `differs wet, air_temp`")
	default:
		return false
	}
	return true
}
