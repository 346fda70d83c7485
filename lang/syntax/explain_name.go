package syntax

import (
	"strings"

	"fettle/lang/unit"
)

// Slips around a declaration's name: none, one in quotes, one with other signs
// in it, a unit in other brackets than its own.

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

// quotes: a file's name without its quotes, or another one in some.
func (s *stuck) quotes() bool {
	from := s.text(-1) == "from" || s.text(-1) == "with"
	switch file := s.what == "map" || s.what == "catalog"; {
	case from && file && s.kind(0) == Path:
		s.add(s.span(0, 0), "a file is named in quotes").Suggest(s.span(0, 0), `"`+s.text(0)+`"`, "write `\"%s\"`", s.shown(0))
	case from && !file && s.kind(0) == String:
		name := unquote(s.text(0))
		s.add(s.span(0, 0), "a name has no quotes").Suggest(s.span(0, 0), name, "write `%s`", clip(name))
	case (s.what == "catalog" || s.what == "map") && s.kind(0) == String:
		s.add(s.span(0, 0), "`from` is missing before the file's name").Suggest(s.insert(0), "from ", "write `from %s`", s.shown(0))
	default:
		return false
	}
	return true
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
	case s.isName(0) && s.isName(-1) && s.what != "fn" && s.what != "region":
		s.add(s.span(0, 0), "`%s` doesn't fit behind the name", s.shown(0)).Hint("a name is one word, as `%s_%s`", s.shown(-1), s.shown(0))
	case s.what == "map" && t == "=":
		s.add(s.span(0, 0), "a map with a formula says whose breakpoints it takes").Hint("write `map %s like OTHER = …`", s.shown(-1))
	default:
		return false
	}
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
