package syntax

// Slips in a review: a head with something in it, a line without its `allow`,
// another sign than `=`, two maps in one line.

// allowance looks at a review's head and its lines.
func (s *stuck) allowance() bool {
	switch {
	case s.what == "review":
		at := s.span(0, len(s.toks)-1-s.i)
		s.add(at, "nothing stands between `review` and its `{`: it has no name, and holds for every tune").Suggest(at, "", "leave it out")
		return true
	case s.what != "allowance":
		return false
	}
	switch s.i {
	case 0:
		return s.allowMissing()
	case 2:
		return s.allowSign()
	}
	return s.allowList()
}

// allowMissing: the line doesn't begin with `allow`.
func (s *stuck) allowMissing() bool {
	switch {
	case s.isName(0) && s.isName(1) && s.isAssign(2):
		s.add(s.span(0, 0), "a line of a review begins with `allow`, and this with `%s`", s.shown(0)).Suggest(s.span(0, 0), "allow", "write `allow`")
	case s.isName(0) && (s.isAssign(1) || s.text(1) == ":"):
		s.add(s.span(0, 0), "a line of a review begins with `allow`").Suggest(s.insert(0), "allow ", "write `allow %s = …`", s.shown(0))
	default:
		return false
	}
	return true
}

// allowSign: the `=` between a map and its amount.
func (s *stuck) allowSign() bool {
	at := s.span(0, 0)
	switch t := s.text(0); {
	case t == "," && (s.isName(1) || s.text(1) == "allow"):
		s.add(at, "one `allow` is for one map").Hint("write each on a line of its own: `allow %s = …`", s.shown(-1))
	case t == ":" && s.text(1) == "=", t == "=" && s.text(1) == "=":
		s.add(s.span(0, 1), "what is allowed stands behind `=`").Suggest(s.span(0, 1), "=", "write `=`")
	case s.kind(0) == Op && t != "." && t != "(" && t != "-" && t != "%", s.isName(0) && (s.kind(1) == Number || s.text(1) == "-"):
		s.add(at, "what is allowed stands behind `=`").Suggest(at, "=", "write `=`")
	case s.kind(0) == Number || t == "(" || t == "-" && s.kind(1) == Number:
		at := s.p.span(s.toks[s.i-1].To(), s.toks[s.i].From)
		s.add(s.span(0, 0), "a `=` is missing before `%s`", s.shown(0)).Suggest(at, " = ", "write `= %s`", s.shown(0))
	default:
		return false
	}
	return true
}

// allowList: something follows behind the amount.
func (s *stuck) allowList() bool {
	decimals := s.kind(-1) == Number && s.kind(1) == Number && s.glued(0) && s.glued(1)
	switch t := s.text(0); {
	case t == "," && s.text(1) == "allow" && s.isName(2):
		s.add(s.span(0, 0), "one `allow` is for one map").Suggest(s.p.span(s.toks[s.i].From, s.toks[s.i+1].From), "\n", "begin a new line before `allow`")
	case t == "," && s.isName(1):
		s.add(s.span(0, 0), "one `allow` is for one map").Suggest(s.p.span(s.toks[s.i].From, s.toks[s.i+1].From), "\nallow ", "begin a new line: `allow %s …`", s.shown(1))
	case t == "," && !decimals:
		s.add(s.span(0, 0), "one map is allowed one amount")
	case s.isAssign(0) && s.isName(-1) && s.text(-2) == "allow" && s.i > 4:
		s.add(s.span(-2, 0), "a second statement begins here").
			Suggest(s.p.span(s.toks[s.i-3].To(), s.toks[s.i-2].From), "\n", "begin a new line before `allow`")
	case s.isAssign(0) && s.isName(-1) && s.i > 4:
		s.add(s.span(-1, 0), "a second statement begins here").
			Suggest(s.p.span(s.toks[s.i-2].To(), s.toks[s.i-1].From), "\nallow ", "begin a new line: `allow %s …`", s.shown(-1))
	case s.isKeyword(0):
		s.add(s.span(0, 0), "`%s` has no place here: a map is allowed one amount, in every cell of every tune", t)
	default:
		return false
	}
	return true
}
