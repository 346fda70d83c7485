package format

import (
	"strings"

	"fettle/lang/syntax"
)

// spacing decides for each token of a declaration whether a space stands
// before it when it isn't the first of its line. It looks at tokens only, never
// at the spaces that are there, so a second run decides the same.
//
// Two places need more than the neighbours. A range may lack its lower end, and
// then what stands before it is the axis: `rpm ..7000`, `rpm -5..5`, where
// `lo..7000` and `lo - 5` are tight and binary. And a sign is binary only
// behind an operand.
func spacing(toks []syntax.Token) []bool {
	s := &spacer{toks: toks, ranges: rangeStarts(toks), sign: make([]bool, len(toks))}
	gaps := make([]bool, len(toks))
	for i := range toks {
		s.sign[i] = s.isSign(i)
		gaps[i] = i > 0 && s.gap(i)
	}
	return gaps
}

type spacer struct {
	toks   []syntax.Token
	ranges []bool // a range may begin here, behind the axis that it belongs to
	sign   []bool // a sign that belongs to what follows
}

// rangeStarts finds the places behind an axis's declaration, behind each name of
// a region, an `over` and a limit's `for`, and those in a target behind which a quantity begins.
func rangeStarts(toks []syntax.Token) []bool {
	out := make([]bool, len(toks)+1)
	if is(toks[0], "target") {
		quantities(toks, out)
		return out[:len(toks)]
	}
	if len(toks) > 2 && is(toks[0], "axis") {
		i := 2
		if toks[i].Kind == syntax.Unit {
			i++
		}
		out[i] = true
	}
	limit := is(toks[0], "limit")
	parts, fresh, depth := is(toks[0], "region"), false, 0
	for i, t := range toks {
		switch {
		case fresh && t.Kind == syntax.Word:
			out[i+1], fresh = true, false
		case t.Kind == syntax.Newline || is(t, "where") || is(t, "else") && limit || is(t, "{") || is(t, "}"):
			parts, fresh = false, false
		case is(t, "over"), is(t, "for") && limit:
			parts, fresh, depth = true, true, 0
		case is(t, "("):
			depth++
		case is(t, ")"):
			depth--
		default:
			fresh = parts && depth == 0 && (is(t, ",") || is(t, "=") && i == 2)
		}
	}
	return out[:len(toks)]
}

// quantities finds the places in a target behind a word of a table, and behind the
// name of an axis among breakpoints.
func quantities(toks []syntax.Token, out []bool) {
	table, points, fresh, depth := false, false, false, 0
	for i, t := range toks {
		switch {
		case t.Kind == syntax.Newline || is(t, "{") || is(t, "}"):
			table, points, fresh, depth = false, false, false, 0
		case is(t, "("):
			depth++
			fresh = false
		case is(t, ")"):
			depth--
		case is(t, "table") && !table:
			table = true
		case depth > 0 || !table:
		case is(t, "step") || is(t, "offset") || is(t, "by") || is(t, "as"):
			out[i+1], points, fresh = true, points && is(t, "by"), false
		case is(t, "at"):
			points, fresh = true, true
		case is(t, ","):
			fresh = points
		default:
			// A name that isn't a breakpoint itself is an axis.
			if fresh && isName(t) && i+1 < len(toks) && !is(toks[i+1], ",") && !is(toks[i+1], "..") && !is(toks[i+1], ".") && toks[i+1].Kind != syntax.Newline && !is(toks[i+1], "}") {
				out[i+1] = true
			}
			fresh = false
		}
	}
}

func (s *spacer) isSign(i int) bool {
	t := s.toks[i]
	if !is(t, "-") && !is(t, "+") {
		return false
	}
	return i == 0 || s.ranges[i] || !endsOperand(s.toks[i-1])
}

// gap says whether a space stands between the token and the one before.
func (s *spacer) gap(i int) bool {
	p, t := s.toks[i-1], s.toks[i]
	switch {
	case is(t, ","), is(t, ")"), is(t, ":"):
		return false
	case p.Kind == syntax.Path:
		return true // it would run on
	case is(p, "("):
		return false
	case s.sign[i-1]:
		return t.Kind == syntax.Op && !is(t, "(") // it might make a longer operator
	case s.ranges[i]:
		return true
	case is(t, "."):
		return !isWord(p) || i+1 == len(s.toks) || !isWord(s.toks[i+1])
	case is(p, "."):
		return !isWord(t) || i < 2 || !isWord(s.toks[i-2])
	case is(t, ".."):
		return !endsOperand(p) || strings.HasSuffix(p.Text, ".")
	case is(p, ".."):
		return !(t.Kind == syntax.Number && t.Text[0] != '.' || isName(t) || t.Kind == syntax.String || is(t, "(") || s.sign[i])
	case is(t, "("):
		return !isName(p)
	}
	return true
}

// endsOperand says whether an operand may end with the token, so that a sign
// behind it is binary.
func endsOperand(t syntax.Token) bool {
	switch t.Kind {
	case syntax.Number, syntax.Unit, syntax.String, syntax.Path:
		return true
	case syntax.Word:
		return isName(t) || t.Text == "yes" || t.Text == "no"
	}
	return is(t, ")") || is(t, "%")
}

func is(t syntax.Token, text string) bool {
	return t.Text == text && (t.Kind == syntax.Op || t.Kind == syntax.Word)
}

func isWord(t syntax.Token) bool { return t.Kind == syntax.Word }

func isName(t syntax.Token) bool { return isWord(t) && !syntax.IsKeyword(t.Text) }
