package live

import (
	"strings"

	"fettle/compiler/check"
	"fettle/compiler/eval"
	"fettle/compiler/workbook"
	"fettle/lang/formula"
)

// draw writes a block of cells under a label, with the breakpoints beside it as
// far as it varies along them.
func (x *expr) draw(s shape, label, unit string, look workbook.Look, at func(r, c int) term) *block {
	x.s.row++
	if unit != "" {
		label += " [" + unit + "]"
	}
	x.s.text(label, bold)
	k := &block{s: x.s, col: 2, nr: 1, nc: 1}
	if s&byRow != 0 {
		k.nr = len(x.m.Base.Rows)
	}
	if s&byCol != 0 {
		k.nc = len(x.m.Base.Cols)
		x.heads()
	}
	k.row = x.s.row
	base := x.base()
	for r := range k.nr {
		if s&byRow != 0 && base != nil {
			x.s.Formula(k.row+r, 1, base.side(x.s, r), x.m.Base.Rows[r], head)
		}
		for c := range k.nc {
			t := at(r, c)
			x.s.Formula(k.row+r, k.col+c, t.text, t.val, look)
			k.vals = append(k.vals, t.val)
		}
	}
	x.s.row += k.nr
	return k
}

func (x *expr) base() *block {
	if x.m == nil {
		return nil
	}
	return x.b.baseOf[x.m.Index]
}

// heads writes the breakpoints of the columns, by formula.
func (x *expr) heads() {
	for c, v := range x.m.Base.Cols {
		if base := x.base(); base != nil {
			x.s.Formula(x.s.row, 2+c, base.head(x.s, c), v, head)
		}
	}
	x.s.text(x.b.corner(x.m), head)
}

// full is the shape of a map's own cells.
func full(m *check.Map) shape {
	if len(m.Axes) == 2 {
		return byRow | byCol
	}
	return byCol
}

// whole draws an expression, with what it needs above it.
func (x *expr) whole(n *formula.Node, s shape, label, unit string) *block {
	x.prepare(n)
	return x.draw(s, label, unit, plain, func(r, c int) term { return asNumber(x.term(n, r, c), n) })
}

// oneMap follows a map from its base to its result.
func (b *builder) oneMap(m *check.Map) {
	k := b.baseBlock(m)
	for _, s := range m.Steps {
		if b.applied[s.Rule] {
			k = b.step(b.rules[s.Rule], m, s, k)
		}
	}
	for _, s := range b.in.Tune.Trims {
		if s.Map == m {
			k = b.step(b.trims, m, s, k)
		}
	}
	for _, l := range m.Clamps {
		k = b.clamp(m, l, k)
	}
	b.finish(m, k)
}

// baseBlock writes a map's base with its breakpoints: what the source gives, what
// fills a blank, or the map's formula.
func (b *builder) baseBlock(m *check.Map) *block {
	s := b.base
	x := b.expr(m, nil, s)
	k := &block{s: s, col: 2, nr: max(1, len(m.Base.Rows)), nc: len(m.Base.Cols)}
	write := func() {
		s.row++
		s.text(nameUnit(m), bold)
		if m.Doc != "" {
			s.text(strings.ReplaceAll(m.Doc, "\n", " "), faint)
		}
		k.row = s.row + 1
		for c, v := range m.Base.Cols {
			s.Number(s.row, 2+c, v, head)
		}
		s.text(b.corner(m), head)
		for r, v := range m.Base.Rows {
			s.Number(k.row+r, 1, v, head)
		}
		s.row += k.nr
		b.baseOf[m.Index] = k
	}
	if m.Formula != nil {
		// Its parts need the breakpoints, and a reader wants the parts above the
		// whole; so a block of breakpoints comes first, which takes the whole in.
		write()
		if text := oneLine(m.Formula.Span); text != "" {
			s.text("= "+text+"   ("+place(m.Formula.Span)+")", faint)
		}
		x.prepare(m.Formula)
		for i := range k.nr * k.nc {
			t := asNumber(x.term(m.Formula, i/k.nc, i%k.nc), m.Formula)
			s.Formula(k.row+i/k.nc, k.col+i%k.nc, t.text, t.val, plain)
			k.vals = append(k.vals, t.val)
		}
		return k
	}
	write()
	k.vals = m.Base.Cells
	for i, v := range m.Base.Cells {
		r, c := i/k.nc, i%k.nc
		if m.From == nil || m.From[i] == nil {
			s.Number(k.row+r, k.col+c, v, plain)
			continue
		}
		s.Formula(k.row+r, k.col+c, fill(k, r, c, m.From[i]), v, faint)
	}
	return k
}

// fill is the formula of a cell that was blank: a neighbour, or the line between
// two.
func fill(k *block, r, c int, from []int) string {
	at := func(i int) string { return k.ref(k.s, i/k.nc, i%k.nc) }
	if len(from) == 1 {
		return at(from[0])
	}
	a, b := from[0], from[1]
	p, q, here := k.side(k.s, a/k.nc), "", ""
	if a/k.nc == b/k.nc {
		p, q, here = k.head(k.s, a%k.nc), k.head(k.s, b%k.nc), k.head(k.s, c)
	} else {
		q, here = k.side(k.s, b/k.nc), k.side(k.s, r)
	}
	return at(a) + "+(" + here + "-" + p + ")/(" + q + "-" + p + ")*(" + at(b) + "-" + at(a) + ")"
}

// step writes an adjustment: what it needs, its amount, its weight, and the map
// after it.
func (b *builder) step(s *sheet, m *check.Map, step *check.Step, before *block) *block {
	x := b.expr(m, before, s)
	s.row++
	s.text(oneLine(step.Span)+"   ("+place(step.Span)+")", bold)
	weight := x.weight(step)
	x.prepare(step.Amount)
	amount := x.draw(x.shape(step.Amount), "amount: "+oneLine(step.Amount.Span), step.Unit.Text, plain, func(r, c int) term { return x.term(step.Amount, r, c) })
	return x.draw(full(m), m.Name+" after it", m.Unit.Text, plain, func(r, c int) term {
		old := term{before.ref(s, r, c), atom, before.at(r, c)}
		a := term{amount.ref(s, r, c), atom, amount.at(r, c)}
		if weight == nil {
			return adjusted(step, old, a)
		}
		w := term{weight.ref(s, r, c), atom, weight.at(r, c)}
		return weighted(step, old, a, w)
	})
}

// adjusted is an adjustment at full weight.
func adjusted(s *check.Step, old, a term) term {
	switch {
	case s.Op == "=":
		return a
	case s.Op == "*=":
		return term{old.text + "*" + a.text, multiplies, old.val * a.val}
	case s.Op == "/=":
		return term{old.text + "/" + a.text, multiplies, old.val / a.val}
	case s.Op == "+=" && s.Relative:
		return term{old.text + "*(1+" + a.text + ")", multiplies, old.val * (1 + a.val)}
	case s.Op == "-=" && s.Relative:
		return term{old.text + "*(1-" + a.text + ")", multiplies, old.val * (1 - a.val)}
	case s.Op == "-=":
		return term{old.text + "-" + a.text, adds, old.val - a.val}
	}
	return term{old.text + "+" + a.text, adds, old.val + a.val}
}

// weighted is an adjustment of which a part is made; where the weight is 0 the
// amount isn't asked for, and at 1 it is the plain operation.
func weighted(s *check.Step, old, a, w term) term {
	part := term{}
	switch {
	case s.Op == "=":
		part = term{old.text + "+" + w.text + "*(" + a.text + "-" + old.text + ")", adds, old.val + float64(w.val*(a.val-old.val))}
	case s.Op == "*=":
		part = term{old.text + "*(1+" + w.text + "*(" + a.text + "-1))", multiplies, old.val * (1 + float64(w.val*(a.val-1)))}
	case s.Op == "/=":
		part = term{old.text + "*(1+" + w.text + "*(1/" + a.text + "-1))", multiplies, old.val * (1 + float64(w.val*(1/a.val-1)))}
	default:
		share := term{w.text + "*" + a.text, multiplies, float64(w.val * a.val)}
		part = adjusted(s, old, share)
	}
	all := adjusted(s, old, a)
	val := part.val
	switch w.val {
	case 0:
		val = old.val
	case 1:
		val = all.val
	}
	return term{"IF(" + w.text + "=0," + old.text + ",IF(" + w.text + "=1," + all.text + "," + part.text + "))", atom, val}
}

// weight writes the weights of an adjustment: for each range its ends and its
// weight along the axis, what `where` says, and the product. nil is 1 everywhere.
func (x *expr) weight(step *check.Step) *block {
	if len(step.Over) == 0 && step.Where == nil {
		return nil
	}
	var parts []*block
	for i := range step.Over {
		parts = append(parts, x.rangeWeight(&step.Over[i]))
	}
	if step.Where != nil {
		parts = append(parts, x.whole(step.Where, x.shape(step.Where), "1 where "+oneLine(step.Where.Span), ""))
	}
	return x.draw(full(x.m), "weight", "", plain, func(r, c int) term {
		texts := make([]string, len(parts))
		val := 1.0
		for i, p := range parts {
			texts[i] = p.ref(x.s, r, c)
			val *= p.at(r, c)
		}
		return term{strings.Join(texts, "*"), multiplies, val}
	})
}

// rangeWeight writes one range: 1 inside it, falling to 0 over the feather.
func (x *expr) rangeWeight(w *check.Weight) *block {
	axis := x.b.p.Axes[w.Axis]
	for _, n := range []*formula.Node{w.Lo, w.Hi, w.Feather} {
		x.prepare(n)
	}
	x.s.row++
	label := "over " + oneLine(w.Span)
	if w.Region != "" {
		label = "over " + w.Region + ": " + oneLine(w.Span)
	}
	x.s.text(label, bold)
	x.s.cells(head, axis.Name+" ["+axis.Unit.Text+"]", "from", "to", "feather")
	row := x.s.row
	end := func(n *formula.Node, col int) string {
		if n == nil {
			return ""
		}
		t := x.term(n, 0, 0)
		x.s.Formula(row, col, t.text, t.val, plain)
		return fixed(row, col)
	}
	lo, hi, feather := end(w.Lo, 2), end(w.Hi, 3), end(w.Feather, 4)
	x.s.row++
	return x.draw(x.along(w.Axis), "weight along "+axis.Name, "", plain, func(r, c int) term {
		ref, at := x.coordinate(w.Axis, r, c)
		outside := func(d string) string {
			if feather == "" {
				return "0"
			}
			return "IF(" + d + "<" + feather + ",1-(" + d + ")/" + feather + ",0)"
		}
		text := "1"
		if hi != "" {
			text = "IF(" + ref + ">" + hi + "," + outside(ref+"-"+hi) + "," + text + ")"
		}
		if lo != "" {
			text = "IF(" + ref + "<" + lo + "," + outside(lo+"-"+ref) + "," + text + ")"
		}
		return term{text, atom, eval.RangeWeight(w, x.b.env, at)}
	})
}

// clamp writes a limit that caps a map: its bounds and the map after it.
func (b *builder) clamp(m *check.Map, l *check.Limit, before *block) *block {
	if l.When != nil {
		if yes, err := formula.Decide(l.When, b.env); err != nil || !yes {
			return before
		}
	}
	s := b.caps
	x := b.expr(m, before, s)
	s.row++
	s.text("limit "+l.Name+": "+oneLine(l.Span)+"   ("+place(l.Span)+")", bold)
	var lo, hi, where *block
	if l.Lo != nil {
		lo = x.whole(l.Lo, x.shape(l.Lo), "not below", m.Unit.Text)
	}
	if l.Hi != nil {
		hi = x.whole(l.Hi, x.shape(l.Hi), "not above", m.Unit.Text)
	}
	if l.Where != nil {
		where = x.whole(l.Where, x.shape(l.Where), "1 where "+oneLine(l.Where.Span), "")
	}
	return x.draw(full(m), m.Name+" after it", m.Unit.Text, plain, func(r, c int) term {
		old := term{before.ref(s, r, c), atom, before.at(r, c)}
		t := old
		if hi != nil {
			t = term{"MIN(" + t.text + "," + hi.ref(s, r, c) + ")", atom, min(t.val, hi.at(r, c))}
		}
		if lo != nil {
			t = term{"MAX(" + t.text + "," + lo.ref(s, r, c) + ")", atom, max(t.val, lo.at(r, c))}
		}
		if where == nil {
			return t
		}
		if where.at(r, c) == 0 {
			t.val = old.val
		}
		return term{"IF(" + where.ref(s, r, c) + "=0," + old.text + "," + t.text + ")", atom, t.val}
	})
}
