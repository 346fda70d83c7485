package formula

import (
	"sort"
	"strconv"
	"strings"
	"sync"

	"fettle/lang/diag"
	"fettle/lang/source"
	"fettle/lang/syntax"
	"fettle/lang/unit"
)

// Limits on one expression's text; expr's parser recurses, and a stack that
// overflows can't be recovered from.
const (
	maxTokens = 5000
	maxDepth  = 100
	maxSize   = 200_000 // nodes after functions are expanded
)

// leaf is a number with its unit, or a dotted name.
type leaf struct {
	span   source.Span
	number bool
	val    float64
	unit   unit.Unit
	bare   bool     // a number without a unit
	path   []string // a name
	called bool
}

// rewritten is an expression as expr is shown it.
type rewritten struct {
	leaves []leaf
	places []place
	size   int // of the text
	file   *source.File
	is     []int // text offsets of == that stand for `is`
	ctx    *Context
	ok     bool
}

// scratch holds those that are done with: nothing of a checked tree points into
// them, and each is written anew.
var scratch = sync.Pool{New: func() any { return &rewritten{} }}

func (r *rewritten) done() {
	clear(r.leaves)
	clear(r.places)
	scratch.Put(r)
}

// place is a word or sign of the rewritten text, at an offset in it, with its
// place in the source.
type place struct {
	at       int
	text     string
	from, to int
}

func (r *rewritten) put(s string, span source.Span) {
	r.places = append(r.places, place{r.size, s, span.From, span.To})
	r.size += len(s) + 1
}

// text is what expr's parser is given.
func (r *rewritten) text() string {
	var b strings.Builder
	b.Grow(r.size)
	for _, p := range r.places {
		b.WriteString(p.text)
		b.WriteByte(' ')
	}
	return b.String()
}

func (r *rewritten) spanAt(off int) source.Span {
	i := sort.Search(len(r.places), func(i int) bool { return r.places[i].at > off })
	p := r.places[max(0, i-1)]
	return source.Span{File: r.file, From: p.from, To: p.to}
}

// rewrite makes the text for expr's parser; faults of single tokens are
// reported here, all of them.
func rewrite(e *syntax.Expr, ctx *Context, errs *diag.List) *rewritten {
	out := scratch.Get().(*rewritten)
	*out = rewritten{file: e.Span.File, ctx: ctx, ok: true, leaves: out.leaves[:0], places: out.places[:0], is: out.is[:0]}
	w := &rewriter{ctx: ctx, errs: errs, toks: e.Toks, file: e.Span.File, out: out}
	if len(e.Toks) > maxTokens {
		w.fail("E301", e.Span, "this expression has %d words and signs; the most is %d", len(e.Toks), maxTokens).Hint("name its parts with `let` or `fn`")
		return w.out
	}
	w.run()
	return w.out
}

type rewriter struct {
	ctx   *Context
	errs  *diag.List
	toks  []syntax.Token
	file  *source.File
	i     int
	depth int
	nots  []int // depths at which a `not` waits for its closing parenthesis
	comps []int // for each depth: where its first comparison stands, counted from 1
	ifs   []open
	prev  syntax.Token
	out   *rewritten
}

// open is an `if` that waits for its `then` or `else`.
type open struct {
	span  source.Span
	depth int
	then  bool
}

func (w *rewriter) fail(code string, span source.Span, format string, args ...any) *diag.Diagnostic {
	w.out.ok = false
	return w.errs.Add(code, span, format, args...)
}

func (w *rewriter) span(t syntax.Token) source.Span { return t.Span(w.file) }

func (w *rewriter) run() {
	w.comps = append(w.comps, 0)
	for w.i < len(w.toks) {
		t := w.toks[w.i]
		if w.depth > maxDepth {
			w.fail("E301", w.span(t), "parentheses are nested over %d deep here", maxDepth).Hint("name the inner parts with `let` or `fn`")
			return
		}
		switch t.Kind {
		case syntax.Number:
			w.number()
		case syntax.Word:
			w.word()
		case syntax.Op:
			w.op()
		case syntax.Unit:
			w.lonelyUnit(t)
			w.i++
		case syntax.String:
			w.text(t)
			w.i++
		case syntax.Newline:
			w.i++
		default:
			if t.Kind != syntax.Bad { // those were reported where they were read
				w.fail("E303", w.span(t), "`%s` has no place in an expression", t.Text)
			}
			w.out.ok = false
			w.i++
		}
		w.prev = t
	}
	w.closeNots(0)
	w.closeIfs(0)
}

// closeNots writes the parentheses that `not` opened at this depth or deeper.
func (w *rewriter) closeNots(depth int) {
	for n := len(w.nots); n > 0 && w.nots[n-1] >= depth; n-- {
		w.nots = w.nots[:n-1]
		w.out.put(")", w.endSpan())
	}
}

func (w *rewriter) endSpan() source.Span {
	if w.i < len(w.toks) {
		return w.span(w.toks[w.i])
	}
	return w.span(w.toks[len(w.toks)-1])
}

func (w *rewriter) leaf(l leaf) {
	w.out.put("t"+strconv.Itoa(len(w.out.leaves)), l.span)
	w.out.leaves = append(w.out.leaves, l)
}

func (w *rewriter) number() {
	t := w.toks[w.i]
	v, ok := syntax.Float(t.Text)
	if !ok {
		w.notNumber(t)
	}
	l := leaf{span: w.span(t), number: true, val: v, unit: unit.None, bare: true}
	w.i++
	if w.i < len(w.toks) {
		if u, span, ok := w.unitAt(w.toks[w.i]); ok {
			l.unit, l.bare = u, false
			l.span = l.span.Join(span)
			w.i++
			if w.bracketless(t, l.span) {
				return
			}
			if w.i < len(w.toks) && w.toks[w.i].Text == "^" {
				w.fail("E305", l.span.Join(w.span(w.toks[w.i])), "`%s ^` could mean the unit's power or the quantity's", l.span.Text()).
					Hint("write `%s [%s^2]` for the unit, `(%s) ^ 2` for the quantity", t.Text, u.Text, l.span.Text())
			}
		}
	}
	w.leaf(l)
}

// unitAt reads the unit that follows a number.
func (w *rewriter) unitAt(t syntax.Token) (unit.Unit, source.Span, bool) {
	switch {
	case t.Kind == syntax.Op && t.Text == "%":
		return unit.Percent, w.span(t), true
	case t.Kind == syntax.Unit:
		ref := &syntax.UnitRef{Text: t.Text[1 : len(t.Text)-1], Span: source.Span{File: w.file, From: t.From + 1, To: t.To() - 1}}
		u, ok := ReadUnit(ref, w.errs)
		w.out.ok = w.out.ok && ok
		return u, w.span(t), true
	case t.Kind == syntax.Word && t.Text == "in":
		w.fail("E306", w.span(t), "the inch is written in brackets").Suggest(w.span(t), "[in]", "write `[in]`")
		return unit.None, w.span(t), true
	case t.Kind == syntax.Word && !syntax.IsKeyword(t.Text):
		u, ok := unit.Lookup(t.Text)
		if !ok {
			w.unknownUnit(t)
		}
		return u, w.span(t), true
	}
	return unit.None, source.Span{}, false
}

// word reads a keyword of expressions, or a dotted name.
func (w *rewriter) word() {
	t := w.toks[w.i]
	switch t.Text {
	case "and", "or":
		w.closeNots(w.depth)
		w.comps[len(w.comps)-1] = 0
		w.out.put(t.Text, w.span(t))
	case "not":
		w.out.put("not", w.span(t))
		w.out.put("(", w.span(t))
		w.nots = append(w.nots, w.depth)
		w.comps[len(w.comps)-1] = 0
	case "is":
		if w.isNot(t) {
			break
		}
		w.out.is = append(w.out.is, w.out.size)
		w.comparison(t)
		w.out.put("==", w.span(t))
	case "if":
		if w.i > 0 && !(w.prev.Text == "(" || w.prev.Text == "," || w.prev.Text == "then" || w.prev.Text == "else") {
			w.fail("E309", w.span(t), "an `if` inside a larger expression needs parentheses").Hint("write `( if … then … else … )`")
		}
		w.comps = append(w.comps, 0)
		w.ifs = append(w.ifs, open{w.span(t), w.depth, false})
	case "then":
		w.closeNots(w.depth)
		w.comps[len(w.comps)-1] = 0
		w.out.put("?", w.span(t))
		if n := len(w.ifs); n > 0 && w.ifs[n-1].depth == w.depth && !w.ifs[n-1].then {
			w.ifs[n-1].then = true
		} else if w.out.ok {
			d := w.fail("E313", w.span(t), "this `then` has no `if`").Hint("it is written `if CONDITION then VALUE else VALUE`")
			if w.ctx.What == "`when`" && w.i == len(w.toks)-1 {
				d.Suggest(w.span(t), "", "leave it out: the block follows the condition")
			}
		}
	case "else":
		w.closeNots(w.depth)
		if len(w.comps) > 1 {
			w.comps = w.comps[:len(w.comps)-1]
		}
		w.comps[len(w.comps)-1] = 0
		w.out.put(":", w.span(t))
		if n := len(w.ifs); n > 0 && w.ifs[n-1].depth == w.depth && w.ifs[n-1].then {
			w.ifs = w.ifs[:n-1]
		} else if (n == 0 || w.ifs[n-1].depth != w.depth) && w.out.ok {
			w.fail("E313", w.span(t), "this `else` has no `if`").Hint("it is written `if CONDITION then VALUE else VALUE`")
		}
	default:
		w.name()
		return
	}
	w.i++
}

func (w *rewriter) name() {
	t := w.toks[w.i]
	if syntax.IsKeyword(t.Text) && t.Text != "yes" && t.Text != "no" {
		w.fail("E303", w.span(t), "`%s` has no place in an expression", t.Text)
		w.i++
		return
	}
	l := leaf{span: w.span(t), path: []string{t.Text}}
	w.i++
	for w.i+1 < len(w.toks) && w.toks[w.i].Text == "." && w.toks[w.i+1].Kind == syntax.Word {
		l.path = append(l.path, w.toks[w.i+1].Text)
		l.span = l.span.Join(w.span(w.toks[w.i+1]))
		w.i += 2
	}
	l.called = w.i < len(w.toks) && w.toks[w.i].Kind == syntax.Op && w.toks[w.i].Text == "("
	w.leaf(l)
}

// comparison notes a comparison; a second one of the same level is a chain.
func (w *rewriter) comparison(t syntax.Token) {
	n := len(w.comps) - 1
	if first := w.comps[n] - 1; first >= 0 {
		d := w.fail("E310", w.span(t), "a second comparison in one breath").Note(w.span(w.toks[first]), "the first").
			Hint("join two with `and`: `6000 <= rpm and rpm <= 8500`")
		if one := w.toks[first].Text; first+1 < w.i && (one[0] == '<' || one[0] == '>') && one[0] == t.Text[0] {
			middle := w.span(w.toks[first+1]).Join(w.span(w.toks[w.i-1])).Text()
			d.Suggest(w.span(t), "and "+middle+" "+t.Text, "write `and %s %s …`", clip(middle), t.Text)
		}
	}
	w.comps[n] = w.i + 1
}

func (w *rewriter) op() {
	t := w.toks[w.i]
	span := w.span(t)
	switch t.Text {
	case "(":
		w.depth++
		w.comps = append(w.comps, 0)
		w.out.put("(", span)
	case ")":
		if w.prev.Text == "," {
			w.fail("E313", w.span(w.prev), "nothing follows this comma").Suggest(w.span(w.prev), "", "leave it out")
		}
		w.closeNots(w.depth)
		w.closeIfs(w.depth)
		w.depth--
		if len(w.comps) > 1 {
			w.comps = w.comps[:len(w.comps)-1]
		}
		w.out.put(")", span)
	case ",":
		w.closeNots(w.depth)
		w.closeIfs(w.depth)
		w.comps[len(w.comps)-1] = 0
		w.out.put(",", span)
	case "<", "<=", ">", ">=", "==", "!=":
		if w.asked(t) {
			return
		}
		w.comparison(t)
		w.out.put(t.Text, span)
	case "+", "-", "*", "/", "^":
		w.out.put(t.Text, span)
	case "%":
		w.fail("E311", span, "`%%` is per cent, and follows a number: `4 %%`")
	case "=":
		if w.prev.Kind == syntax.Word && w.inCall() {
			w.fail("E312", span, "arguments are told by their order, not by name").Hint("leave `%s =` out, and mind the order", w.prev.Text)
			break
		}
		sign := "=="
		if sym, ok := w.ctx.Scope.Find(w.prev.Text); ok && (sym.Kind == SymChoice || sym.Kind == SymSwitch) {
			sign = "is"
		}
		w.fail("E312", span, "one `=` compares nothing").Suggest(span, sign, "write `%s` to compare", sign)
	case "&&", "||", "**", "=<", "=>":
		fix := map[string]string{"&&": "and", "||": "or", "**": "^", "=<": "<=", "=>": ">="}[t.Text]
		w.fail("E312", span, "`%s` is not an operator here", t.Text).Suggest(span, fix, "write `%s`", fix)
	default:
		w.fail("E303", span, "`%s` has no place in an expression", t.Text)
	}
	w.i++
}

// ReadUnit reads what stands in a unit's brackets; nil is the plain number.
func ReadUnit(ref *syntax.UnitRef, errs *diag.List) (unit.Unit, bool) {
	if ref == nil {
		return unit.None, true
	}
	u, err := unit.Parse(ref.Text)
	if err == nil {
		return u, true
	}
	span := ref.Span
	pe, isParse := err.(*unit.ParseError)
	if isParse {
		from := min(span.From+pe.At, span.To)
		span = source.Span{File: span.File, From: from, To: max(from, min(from+pe.Len, ref.Span.To))}
		if span.From == span.To {
			span = ref.Span
		}
	}
	msg := err.Error()
	if isParse {
		msg = pe.Msg
	}
	d := errs.Add("E308", span, "%s", msg)
	if isParse && pe.Suggest != "" {
		d.Suggest(span, pe.Suggest, "did you mean `%s`?", pe.Suggest)
	}
	return unit.None, false
}
