package syntax

import (
	"fettle/lang/diag"
	"fettle/lang/source"
)

// A grammar knows where it stopped, not what was meant. Here the tokens around
// that place are looked at for the usual slips, most telling first, so that
// the error names the slip and its fix; what is left gets the general form.

// stuck is a statement and the token at which its grammar stopped.
type stuck struct {
	p    *parsing
	toks []Token
	i    int    // len(toks) at the end
	what string // a declaration's word, or adjustment, setting, expectation
}

func (p *parsing) explain(toks []Token, i int, what string) {
	s := &stuck{p, toks, i, what}
	if s.i == len(s.toks) && s.i > 0 {
		// A missing end is told best at the last token.
		for _, slip := range []func() bool{s.rangeAtEnd, s.nothingAfter} {
			if slip() {
				return
			}
		}
	} else if s.i < len(s.toks) {
		for _, slip := range []func() bool{s.allowance, s.targetLine, s.bundleLine, s.comparison, s.quotes, s.name, s.comma, s.rangeForm, s.clause, s.operator, s.missingSign, s.twoStatements, s.nothingBefore} {
			if slip() {
				return
			}
		}
	}
	s.general()
}

// text gives a token's text by its distance from the place; "" outside.
func (s *stuck) text(d int) string {
	if i := s.i + d; i >= 0 && i < len(s.toks) {
		return s.toks[i].Text
	}
	return ""
}

func (s *stuck) kind(d int) Kind {
	if i := s.i + d; i >= 0 && i < len(s.toks) {
		return s.toks[i].Kind
	}
	return EOF
}

// span covers the tokens from one distance to another.
func (s *stuck) span(from, to int) source.Span {
	return s.toks[s.i+from].Span(s.p.file).Join(s.toks[s.i+to].Span(s.p.file))
}

func (s *stuck) add(span source.Span, format string, args ...any) *diag.Diagnostic {
	return s.p.errs.Add("E101", span, format, args...)
}

// insert is the empty place before a token.
func (s *stuck) insert(d int) source.Span {
	at := s.toks[s.i+d].From
	return s.p.span(at, at)
}

// has says whether a word stands before the place, outside parentheses.
func (s *stuck) has(word string) bool {
	depth := 0
	for _, t := range s.toks[:s.i] {
		switch t.Text {
		case "(":
			depth++
		case ")":
			depth--
		case word:
			if depth == 0 && (t.Kind == Word || t.Kind == Op) {
				return true
			}
		}
	}
	return false
}

// shown is a token's text for a message.
func (s *stuck) shown(d int) string { return clip(s.text(d)) }

// glued says whether a token stands right behind the one before it.
func (s *stuck) glued(d int) bool {
	i := s.i + d
	return i > 0 && i < len(s.toks) && s.toks[i-1].To() == s.toks[i].From
}

func (s *stuck) isAssign(d int) bool {
	switch s.text(d) {
	case "=", "+=", "-=", "*=", "/=":
		return s.kind(d) == Op
	}
	return false
}

// isName says whether a token may name something.
func (s *stuck) isName(d int) bool { return s.kind(d) == Word && !keywords[s.text(d)] }

// comparison: one `=` where two are meant, or `is`.
func (s *stuck) comparison() bool {
	if s.text(0) != "=" {
		return false
	}
	inWhere := s.what == "adjustment" && s.has("where") || s.what == "setting" && s.text(-s.i) == "except"
	if s.what != "limit" && s.what != "expectation" && s.what != "rule" && !inWhere {
		return false
	}
	if s.text(1) == "=" {
		s.add(s.span(0, 1), "a comparison is one sign, `==`").Suggest(s.span(0, 1), "==", "write `==`")
		return true
	}
	d := s.add(s.span(0, 0), "one `=` compares nothing")
	switch {
	case s.text(1) == "yes" || s.text(1) == "no":
		d.Suggest(s.span(0, 0), "is", "write `is`, or only `%s` or `not %s`", s.shown(-1), s.shown(-1))
	case s.isName(1) && s.kind(-1) == Word && s.text(2) != "." && s.text(2) != "(":
		d.Hint("to compare write `==`; to ask which row it is, `is`")
	default:
		d.Suggest(s.span(0, 0), "==", "to compare, write `==`")
	}
	return true
}

func (s *stuck) isKeyword(d int) bool { return s.kind(d) == Word && keywords[s.text(d)] }

// clause: a clause that belongs elsewhere.
func (s *stuck) clause() bool {
	at := s.span(0, 0)
	switch t := s.text(0); {
	case s.what == "adjustment" && t == "when":
		s.add(at, "`when` belongs to the whole rule: `rule NAME when … { … }`").Hint("what depends on the cell begins with `where`")
	case s.what == "adjustment" && t == "corrects":
		s.add(at, "`corrects` belongs to the whole rule: `rule NAME corrects … { … }`")
	case s.what == "adjustment" && s.text(-s.i) == "trim" && s.i == 1:
		s.add(s.span(-1, -1), "a `trim` stands in a variant; in a rule the map comes first").
			Suggest(s.p.span(s.toks[0].From, s.toks[1].From), "", "leave `trim` out")
	case s.what == "adjustment" && t == "feather":
		s.add(at, "a feather belongs to a range of `over`").Hint("as in `over rpm 6000..8500 feather 500`")
	case s.what == "rule" && (t == "over" || t == "where"):
		s.add(at, "`%s` belongs to an adjustment, inside the braces", t).Hint("what depends on the conditions of a tune begins with `when`")
	case s.what == "limit" && (t == "over" || t == "within"):
		s.add(at, "`%s` belongs to no limit", t).Hint("cells are chosen by `where`; conditions over which it is proved stand behind `for`, as in `for altitude 0 m..2500 m`")
	case s.what == "setting" && (t == "over" || t == "where") && s.i > 1:
		s.add(at, "`%s` belongs to an adjustment: a rule's, or a `trim`", t)
	default:
		return false
	}
	return true
}

// operator: the sign between a map or given and its value.
func (s *stuck) operator() bool {
	at := s.span(0, 0)
	switch t := s.text(0); {
	case s.what == "fn" && !s.has("=") && s.text(-1) != "(" && s.text(-1) != "," && (t == "{" || t == "-" || t == "=>" || t == ":"):
		s.add(at, "a function's value stands behind `=`").Hint("%s is written `%s`", article(s.what), forms[s.what])
	case s.i == 0 && s.isAssign(0):
		s.add(at, "a name is missing before `%s`", t)
	case s.what == "adjustment" && s.i == 1 && t == "(":
		end := s.closing(0)
		s.add(s.span(0, end), "an adjustment names its map alone, and acts on every cell").Suggest(s.span(0, end), "", "leave the parentheses out; `over` and `where` choose cells")
	case s.i == 1 && t == ":" && s.text(1) == "=" && (s.what == "adjustment" || s.what == "setting"):
		s.add(s.span(0, 1), "`:=` is no sign here").Suggest(s.span(0, 1), "=", "write `=`")
	case s.what == "setting" && s.i == 1 && (t == ":" || t == "==" || t == "is"):
		s.add(at, "a given is set with `=`").Suggest(at, "=", "write `=`")
	case s.what == "setting" && s.i == 1 && s.isAssign(0):
		s.add(s.span(-1, 0), "an adjustment of one variant is a `trim`").Suggest(s.insert(-1), "trim ", "write `trim %s %s …`", s.shown(-1), t)
	case s.what == "adjustment" && s.i == 1 && (t == "++" || t == "--" || t == "<" || t == ">" || t == "==" || t == "<=" || t == ">=" || t == "+" || t == "-" || t == "*" || t == "/"):
		s.add(at, "`%s` changes nothing", t).Hint("a map is changed with `=`, `+=`, `-=`, `*=` or `/=`")
	case s.what == "adjustment" && s.i == 1 && s.text(-1) == "if":
		s.add(s.span(-1, -1), "an adjustment begins with its map").Hint("what is done in some cells only has a `where`, as in `MAP += 0.1 where throttle > 50`; what depends on conditions has a `when` on the rule")
	case s.what == "adjustment" && s.i == 1 && (s.kind(0) == Number || s.kind(0) == Word):
		s.add(at, "a sign is missing before `%s`", s.shown(0)).Hint("a map is changed with `=`, `+=`, `-=`, `*=` or `/=`, as in `MAP += 3 %%`")
	default:
		return false
	}
	return true
}

// closing is the distance of the parenthesis that closes the one at d.
func (s *stuck) closing(d int) int {
	depth := 0
	for k := d; s.i+k < len(s.toks); k++ {
		switch s.text(k) {
		case "(":
			depth++
		case ")":
			if depth--; depth == 0 {
				return k
			}
		}
	}
	return len(s.toks) - 1 - s.i
}

// missingSign: the `=` of a declaration.
func (s *stuck) missingSign() bool {
	starts := s.kind(0) == Number || s.kind(0) == Word && !(keywords[s.text(0)] && !exprWords[s.text(0)]) || s.text(0) == "("
	if !starts || s.has("=") {
		return false
	}
	switch s.what {
	case "let", "region", "given":
	case "fn":
		if !s.has("(") && s.i == 2 {
			s.add(s.span(0, 0), "a function has its parameters in parentheses").Hint("%s is written `%s`", article(s.what), forms[s.what])
			return true
		}
		if s.paramUnit() {
			return true
		}
	case "map":
		if !s.has("like") {
			return false
		}
	case "setting":
		if s.i != 1 {
			return false
		}
	default:
		return false
	}
	at := s.p.span(s.toks[s.i-1].To(), s.toks[s.i].From)
	s.add(s.span(0, 0), "a `=` is missing before `%s`", s.shown(0)).Suggest(at, " = ", "write `= %s`", s.shown(0))
	return true
}

// twoStatements: a second statement on the line.
func (s *stuck) twoStatements() bool {
	d := 0
	switch {
	case s.kind(0) == Word && isDecl[s.text(0)] && s.i > 2, s.kind(0) == Word && (s.text(0) == "trim" || s.text(0) == "except") && s.i > 2:
	case s.isAssign(0) && s.what == "fn" && !s.has("="):
		s.add(s.span(0, 0), "a parameter has no value of its own").Hint("`%s` gets it where the function is called", s.shown(-1))
		return true
	case s.isAssign(0) && s.isName(-1) && s.i > 2:
		d = -1
	default:
		return false
	}
	s.add(s.span(d, 0), "a second statement begins here").
		Suggest(s.p.span(s.toks[s.i+d-1].To(), s.toks[s.i+d].From), "\n", "begin a new line before `%s`", s.shown(d))
	return true
}

// nothingBefore: a value is missing between an operator and what follows.
func (s *stuck) nothingBefore() bool {
	if s.i == 0 || !s.toks[s.i-1].goesOn() && s.text(-1) != "over" && s.text(-1) != "where" && s.text(-1) != "when" && s.text(-1) != "within" && s.text(-1) != "feather" {
		return false
	}
	d := s.add(s.span(-1, -1), "something is missing between `%s` and `%s`", s.shown(-1), s.shown(0))
	if s.text(-1) == "over" {
		d.Hint("say of which axis the range is, as in `over rpm 6000..8500`")
	}
	return true
}

// nothingAfter: the statement ends too soon.
func (s *stuck) nothingAfter() bool {
	if s.i == 1 && s.text(-1) == "end" {
		s.add(s.span(-1, -1), "a block ends with `}`").Suggest(s.span(-1, -1), "}", "write `}`")
		return true
	}
	if s.text(-1) == "," {
		s.add(s.span(-1, -1), "something is missing after `,`").Suggest(s.span(-1, -1), "", "or leave the comma out")
		return true
	}
	if s.i == 1 && forms[s.what] != "" && s.what != "adjustment" && s.what != "setting" && s.what != "use" && s.what != "caution" && s.what != "check" {
		s.add(s.span(-1, -1), "a name is missing after `%s`", s.shown(-1)).Hint("%s is written `%s`", article(s.what), forms[s.what])
		return true
	}
	if s.what == "check" && s.i == 2 {
		s.add(s.span(-1, -1), "this check doesn't say with which variant").Hint("%s is written `%s`", article(s.what), forms[s.what])
		return true
	}
	return false
}

// general is the error for everything else.
func (s *stuck) general() {
	if s.i >= len(s.toks) {
		at := s.toks[len(s.toks)-1].Span(s.p.file)
		s.hintForm(s.add(at, "something is missing after `%s`", clip(at.Text())))
		return
	}
	d := s.add(s.span(0, 0), "`%s` doesn't fit here", s.shown(0))
	if s.what == "map" && s.text(0) == "=" {
		d.Hint("a map that is worked out says whose breakpoints it has: `map NAME like OTHER = …`")
		return
	}
	s.hintForm(d)
}

func (s *stuck) hintForm(d *diag.Diagnostic) {
	what := s.what
	if what == "map" && s.has("like") {
		what = "map like"
	}
	if form := forms[what]; form != "" {
		d.Hint("%s is written `%s`", article(s.what), form)
	}
}
