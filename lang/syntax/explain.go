package syntax

import (
	"strings"

	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/lang/unit"
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
		for _, slip := range []func() bool{s.comparison, s.name, s.comma, s.rangeForm, s.clause, s.operator, s.missingSign, s.twoStatements, s.nothingBefore} {
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

// name: what stands for a name is none, or a name is missing.
func (s *stuck) name() bool {
	kw := s.text(-s.i)
	if s.what == "map" && s.i == 3 && s.text(0) == "=" && s.kind(-1) == Unit {
		s.add(s.span(0, 0), "a map with a formula says whose breakpoints it takes").Hint("write `map %s %s like OTHER = …`", s.shown(-2), s.shown(-1))
		return true
	}
	named := s.what != "adjustment" && s.what != "setting" && s.what != "expectation" && s.what != "use" && s.what != "caution"
	if !named || s.i == 0 || s.i > 2 {
		return false
	}
	if s.i == 1 {
		return s.nameItself(kw)
	}
	if s.isKeyword(-1) && s.what != "check" {
		s.add(s.span(-1, -1), "a name is missing between `%s` and `%s`", kw, s.shown(-1)).Hint("%s is written `%s`", article(s.what), forms[s.what])
		return true
	}
	return s.behindName(kw)
}

func (s *stuck) isKeyword(d int) bool { return s.kind(d) == Word && keywords[s.text(d)] }

// nameItself looks at what stands where the name is wanted.
func (s *stuck) nameItself(kw string) bool {
	switch {
	case s.what == "check" && s.kind(0) == Word:
		s.add(s.span(0, 0), "a check's title stands in quotes").Suggest(s.span(0, 0), `"`+s.text(0)+`"`, "write `\"%s\"`", s.shown(0))
	case s.what == "check":
		return false
	case s.kind(0) == String:
		d := s.add(s.span(0, 0), "a name has no quotes: it is lower case letters, digits and _")
		if plain := underscored(unquote(s.text(0))); IsName(plain) && !keywords[plain] {
			d.Suggest(s.span(0, 0), plain, "write `%s`", plain)
		}
	case s.kind(0) == Number:
		at := s.span(0, 0)
		if s.glued(1) {
			at = s.span(0, 1)
		}
		s.add(at, "a name begins with a letter, and `%s` doesn't", clip(at.Text()))
	default:
		s.add(s.span(0, 0), "a name is missing between `%s` and `%s`", kw, s.shown(0)).Hint("%s is written `%s`", article(s.what), forms[s.what])
	}
	return true
}

func (s *stuck) isUnit(d int) bool {
	_, ok := unit.Lookup(s.text(d))
	return ok && s.kind(d) == Word
}

func underscored(name string) string {
	return strings.ToLower(strings.Join(strings.FieldsFunc(name, func(r rune) bool { return r == ' ' || r == '-' || r == '.' }), "_"))
}

// behindName looks at what stands right behind the name.
func (s *stuck) behindName(kw string) bool {
	switch t := s.text(0); {
	case t == "-" && s.glued(0) && s.glued(1) && (s.kind(1) == Word || s.kind(1) == Number):
		n := 1
		for s.text(n+1) == "-" && s.glued(n+1) && s.glued(n+2) && (s.kind(n+2) == Word || s.kind(n+2) == Number) {
			n += 2
		}
		at := s.span(-1, n)
		s.add(at, "a name has no `-`: it is lower case letters, digits and _").Suggest(at, underscored(at.Text()), "write `%s`", underscored(at.Text()))
	case t == ":" && s.what != "limit":
		at := s.span(0, 0)
		d := s.add(at, "no `:` stands behind a name")
		if s.text(1) == "=" {
			d.Suggest(s.span(0, 1), "=", "write `=`")
		} else {
			d.Suggest(at, "", "leave it out")
		}
	case t == "(" && s.text(1) == ")" && s.what != "fn":
		s.add(s.span(0, 1), "no parentheses stand behind a name here").Suggest(s.span(0, 1), "", "leave them out")
	case s.what == "limit" && s.text(0) != ":":
		at := s.p.span(s.toks[s.i-1].To(), s.toks[s.i-1].To())
		s.add(s.span(-1, -1), "a `:` is missing behind the limit's name").Suggest(at, ":", "write `limit %s: …`", s.shown(-1))
	case s.what == "rule" && (t == "if" || t == "unless"):
		d := s.add(s.span(0, 0), "a rule's condition begins with `when`")
		if t == "if" {
			d.Suggest(s.span(0, 0), "when", "write `when`")
		} else {
			d.Hint("write `when not ( … )`")
		}
	case (s.isUnit(0) || t == "%") && (s.what == "axis" || s.what == "let" || s.what == "map" || s.what == "given"):
		n := 0
		for (s.text(n+1) == "/" || s.text(n+1) == "*") && s.isUnit(n+2) {
			n += 2
		}
		at := s.span(0, n)
		s.add(at, "a unit stands in square brackets").Suggest(at, "["+at.Text()+"]", "write `[%s]`", at.Text())
	case s.isName(0) && s.what != "fn" && s.what != "region":
		s.add(s.span(0, 0), "`%s` doesn't fit behind the name", s.shown(0)).Hint("a name is one word, as `%s_%s`", s.shown(-1), s.shown(0))
	case s.what == "map" && t == "=":
		s.add(s.span(0, 0), "a map with a formula says whose breakpoints it takes").Hint("write `map %s like OTHER = …`", s.shown(-1))
	default:
		return false
	}
	return true
}

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
	case s.text(0) == "," && s.what == "setting" && s.text(-s.i) == "except":
		s.add(s.span(0, 0), "an `except` is one condition").Hint("write each on a line of its own, or join them with `or`")
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

// rangeForm: a range that isn't written LOW..HIGH.
func (s *stuck) rangeForm() bool {
	inOver := s.what == "region" || s.what == "adjustment" && s.has("over")
	ranged := inOver || s.what == "axis" || s.what == "given" && s.has("within")
	switch t := s.text(0); {
	case inOver && (t == "," || t == "where" || t == "over" || t == "feather" && s.text(-1) != ","):
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

// paramUnit: a parameter's unit without brackets.
func (s *stuck) paramUnit() bool {
	if !s.isName(0) || !s.isName(-1) || s.text(-2) != "(" && s.text(-2) != "," {
		return false
	}
	s.add(s.span(0, 0), "a parameter's unit stands in brackets").Suggest(s.span(0, 0), "["+s.text(0)+"]", "write `[%s]`", s.shown(0))
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
	s.add(s.span(-1, -1), "something is missing between `%s` and `%s`", s.shown(-1), s.shown(0))
	return true
}

// rangeAtEnd: the statement ends where a range was wanted.
func (s *stuck) rangeAtEnd() bool {
	last := s.text(-1)
	inOver := s.what == "region" || s.what == "adjustment" && s.has("over")
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
	default:
		s.add(at, "`%s` is one value, and a range is wanted", clip(at.Text())).Hint("write `%s..` from there up, `..%s` up to there, or `%s..%s`", last, last, last, last)
	}
	return true
}

// isBound says whether a token parts a range from what stands before it.
func (s *stuck) isBound(d int) bool {
	switch s.text(d) {
	case ",", "over", "within", "feather", "=":
		return true
	}
	return s.kind(d) == Unit && s.i+d == 2
}

// nothingAfter: the statement ends too soon.
func (s *stuck) nothingAfter() bool {
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
	s.hintForm(s.add(s.span(0, 0), "`%s` doesn't fit here", s.shown(0)))
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

// misplacedUnit finds a unit that stands behind a name in other brackets than
// its own, where the grammar would read an expression or a block.
func (p *parsing) misplacedUnit(head []Token) bool {
	if len(head) < 5 {
		return false
	}
	switch head[0].Text {
	case "axis", "given", "let", "map":
	default:
		return false
	}
	open, unit, end := head[2], head[3], head[4]
	if !(open.Text == "(" && end.Text == ")" || open.Text == "{" && end.Text == "}") || unit.Kind != Word && unit.Text != "%" {
		return false
	}
	at := open.Span(p.file).Join(end.Span(p.file))
	p.errs.Add("E101", at, "a unit stands in square brackets").Suggest(at, "["+unit.Text+"]", "write `[%s]`", unit.Text)
	return true
}
