package formula

import (
	"strconv"
	"strings"

	"fettle/lang/source"
	"fettle/lang/syntax"
	"fettle/lang/unit"
)

// Slips that the words and signs of an expression show by themselves, before
// its tree is known: each is reported with what to write instead.

// lonelyUnit reports brackets that don't follow a number.
func (w *rewriter) lonelyUnit(t syntax.Token) {
	inner := t.Text[1 : len(t.Text)-1]
	switch d := w.fail("E302", w.span(t), "the unit `%s` stands without a number", t.Text); {
	case strings.ContainsAny(inner, "0123456789") && !strings.ContainsAny(inner, "^"):
		d.Message = "`" + clip(t.Text) + "` is in square brackets, which hold units only"
		d.Suggest(w.span(t), inner, "write `%s`", clip(inner))
	case w.prev.Kind == syntax.Word && !syntax.IsKeyword(w.prev.Text):
		d.Hint("`%s` has its own unit: leave `%s` out", w.prev.Text, t.Text)
	default:
		d.Hint("a unit follows its number: `210 %s`", t.Text)
	}
}

// text reports a quoted text.
func (w *rewriter) text(t syntax.Token) {
	d := w.fail("E303", w.span(t), "a text has no place in an expression")
	word := strings.Trim(t.Text, `"`)
	_, isUnit := unit.Lookup(word)
	if w.prev.Text == "is" && syntax.IsName(word) || w.prev.Kind == syntax.Number && isUnit {
		d.Suggest(w.span(t), word, "write `%s`, without quotes", word)
	}
}

// closeIfs reports each `if` at this depth or deeper that isn't whole.
func (w *rewriter) closeIfs(depth int) {
	for n := len(w.ifs); n > 0 && w.ifs[n-1].depth >= depth; n-- {
		f := w.ifs[n-1]
		w.ifs = w.ifs[:n-1]
		missing := "then"
		if f.then {
			missing = "else"
		}
		w.fail("E313", f.span, "this `if` has no `%s`", missing).Hint("it is written `if CONDITION then VALUE else VALUE`")
	}
}

// notNumber reports what is written like a number but isn't one.
func (w *rewriter) notNumber(t syntax.Token) {
	d := w.fail("E304", w.span(t), "`%s` is not a number", clip(t.Text))
	fix := ""
	switch {
	case strings.HasPrefix(t.Text, "0x"):
		d.Message = "`" + clip(t.Text) + "` is not a number here: numbers are decimal"
		if v, err := strconv.ParseUint(t.Text[2:], 16, 32); err == nil {
			fix = strconv.FormatUint(v, 10)
		}
	case strings.HasPrefix(t.Text, "."):
		fix = "0" + t.Text
	case strings.HasSuffix(t.Text, "."):
		fix = t.Text + "0"
	case strings.ContainsAny(t.Text, "_'"):
		d.Message = "`" + clip(t.Text) + "` has a mark between its thousands, which numbers don't have"
		fix = strings.NewReplacer("_", "", "'", "").Replace(t.Text)
	case strings.Count(t.Text, ".") > 1:
		d.Message = "`" + clip(t.Text) + "` has more than one dot"
	default:
		d.Message = "`" + clip(t.Text) + "` is larger than any number that can be computed with"
	}
	if _, ok := syntax.Float(fix); ok {
		d.Suggest(w.span(t), fix, "write `%s`", fix)
	}
}

// bracketless reads the rest of a compound unit that stands without its
// brackets: `420 g/min`, where `min` is nothing else.
func (w *rewriter) bracketless(num syntax.Token, span source.Span) bool {
	i := w.i
	for i+1 < len(w.toks) && (w.toks[i].Text == "/" || w.toks[i].Text == "*") && w.toks[i+1].Kind == syntax.Word {
		t := w.toks[i+1]
		_, isUnit := unit.Lookup(t.Text)
		_, known := w.ctx.Scope.Find(t.Text)
		if !isUnit || known || w.ctx.param(t.Text) >= 0 || i+2 < len(w.toks) && (w.toks[i+2].Text == "(" || w.toks[i+2].Text == ".") {
			break
		}
		i += 2
		if i+1 < len(w.toks) && w.toks[i].Text == "^" && w.toks[i+1].Kind == syntax.Number {
			i += 2
		}
	}
	if i == w.i || w.toks[w.i-1].Kind != syntax.Word {
		return false
	}
	from, to := w.toks[w.i-1], w.toks[i-1]
	at := w.span(from).Join(w.span(to))
	w.fail("E306", at, "a compound unit stands in brackets").Suggest(at, "["+at.Text()+"]", "write `%s [%s]`", num.Text, at.Text())
	w.i = i
	return true
}

func (w *rewriter) unknownUnit(t syntax.Token) {
	if sym, known := w.ctx.Scope.Find(t.Text); known && sym.Kind != SymBroken || w.ctx.param(t.Text) >= 0 || t.Text == "between" {
		operatorMissing(w.fail("E307", w.span(t), ""), w.ctx, t)
		return
	}
	if t.Text == "elif" || t.Text == "elsif" || t.Text == "elseif" {
		w.fail("E303", w.span(t), "`%s` is written `else if`", t.Text).Suggest(w.span(t), "else if", "write `else if`")
		w.ifs = nil // what follows belongs to the one that is meant
		return
	}
	d := w.fail("E308", w.span(t), "there is no unit `%s`", t.Text)
	if s := unit.Suggest(t.Text); s != "" {
		d.Suggest(w.span(t), s, "did you mean `%s`?", s)
	}
}

// isNot reports `x is not row`, which reads well but is written otherwise.
func (w *rewriter) isNot(t syntax.Token) bool {
	if w.i+1 >= len(w.toks) || w.toks[w.i+1].Text != "not" {
		return false
	}
	span := w.span(t).Join(w.span(w.toks[w.i+1]))
	d := w.fail("E326", span, "`not` stands before what it turns round")
	if n := len(w.out.leaves); n > 0 && !w.out.leaves[n-1].number {
		name := w.out.leaves[n-1].span
		d.Suggest(name.Join(span), "not "+name.Text()+" is", "write `not %s is …`", name.Text())
	}
	w.i++
	return true
}

// inCall says whether the name before here begins an argument of a call.
func (w *rewriter) inCall() bool {
	depth := 0
	for i := w.i - 2; i > 0; i-- {
		switch w.toks[i].Text {
		case ")":
			depth++
		case ",":
			if depth == 0 && i != w.i-2 {
				return false
			}
		case "(":
			if depth == 0 {
				return (i == w.i-2 || w.toks[w.i-2].Text == ",") && w.toks[i-1].Kind == syntax.Word && !syntax.IsKeyword(w.toks[i-1].Text)
			}
			depth--
		}
	}
	return false
}

// asked reports `wet == yes`, which is asked by the name alone.
func (w *rewriter) asked(t syntax.Token) bool {
	if w.i+1 >= len(w.toks) || t.Text != "==" && t.Text != "!=" {
		return false
	}
	next := w.toks[w.i+1]
	if next.Text != "yes" && next.Text != "no" || w.prev.Kind != syntax.Word {
		return false
	}
	d := w.fail("E314", w.span(t), "a yes/no isn't compared with `%s`", t.Text)
	if t.Text == "==" {
		d.Suggest(w.span(t), "is", "write `is`, or only `%s` or `not %s`", w.prev.Text, w.prev.Text)
	} else {
		d.Hint("write `%s` or `not %s`", w.prev.Text, w.prev.Text)
	}
	w.i += 2
	return true
}
