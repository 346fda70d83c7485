package emit

// The types of model.go, written by hand in the order of their fields: what
// Encode gives of them, but faster.

// encode gives the bytes of a tune.json.
// What is fixed for the program comes laid out.
func (t *manifest) encode(buf []byte) ([]byte, error) {
	w, x := newWriter(buf), t.fixed
	w.block('{')
	w.field("schema", t.Schema)
	w.field("name", t.Name)
	w.field("variant", t.Variant)
	w.fieldIf("from", t.From)
	w.fieldIf("doc", t.Doc)
	w.source(&t.Source)
	w.field("compiler", t.Compiler)
	w.conditions(t.Conditions)
	w.key("maps")
	w.block('[')
	for i := range t.Maps {
		w.mapOf(&t.Maps[i], x.text.axes[i])
	}
	w.endBlock(']')
	w.key("rules")
	w.block('[')
	for i := range t.Rules {
		w.next()
		k := t.rules[i]
		w.raw(x.text.rules[k])
		w.depth, w.first = 4, true
		for j, s := range x.program.Rules[k].Steps {
			w.did(x.text.steps[s], &t.Rules[i].Adjustments[j])
		}
		w.depth = 4
		w.endBlock(']')
		w.endBlock('}')
	}
	w.endBlock(']')
	list(w, "left_out", t.LeftOut, w.leftOut)
	w.key("trims")
	w.adjustments(t.Trims)
	w.key("filled")
	w.raw(x.text.filled)
	list(w, "limits", t.Limits, w.limit)
	list(w, "checks", t.Checks, w.check)
	w.key("cautions")
	w.raw(x.text.cautions)
	if len(t.Targets) > 0 {
		w.key("targets")
		w.any(t.Targets)
	}
	if len(t.Files) > 0 {
		w.key("files")
		w.any(t.Files)
	}
	w.endBlock('}')
	return append(w.b, '\n'), w.err
}

// list writes a list under its key, each of its values by one.
func list[T any](w *writer, key string, all []T, one func(*T)) {
	w.key(key)
	w.block('[')
	for i := range all {
		one(&all[i])
	}
	w.endBlock(']')
}

func (w *writer) field(name, value string) {
	w.key(name)
	w.text(value)
}

// fieldIf leaves an empty value out.
func (w *writer) fieldIf(name, value string) {
	if value != "" {
		w.field(name, value)
	}
}

func (w *writer) count(name string, n int) {
	w.key(name)
	w.int(n)
}

func (w *writer) yes(name string, x bool) {
	w.key(name)
	w.bool(x)
}

func (w *writer) place(p *Place) {
	w.field("file", p.File)
	w.count("line", p.Line)
}

func (w *writer) source(s *SourceInfo) {
	w.key("source")
	w.begin('{')
	w.field("digest", s.Digest)
	if s.Revision == nil {
		w.key("revision")
		w.raw("null")
	} else {
		w.field("revision", *s.Revision)
	}
	w.yes("dirty", s.Dirty)
	w.end('}')
}

func (w *writer) conditions(list []Condition) {
	w.key("conditions")
	w.block('[')
	for i := range list {
		c := &list[i]
		w.next()
		w.begin('{')
		w.field("name", c.Name)
		w.field("kind", c.Kind)
		w.key("value")
		switch v := c.Value.(type) {
		case Number:
			w.number(v)
		case string:
			w.text(v)
		case bool:
			w.bool(v)
		default:
			w.any(v)
		}
		w.field("unit", c.Unit)
		w.fieldIf("catalog", c.Catalog)
		w.field("text", c.Text)
		w.yes("set", c.Set)
		w.end('}')
	}
	w.endBlock(']')
}

func (w *writer) mapOf(m *Map, axes string) {
	w.next()
	w.block('{')
	w.field("name", m.Name)
	w.field("unit", m.Unit)
	w.fieldIf("doc", m.Doc)
	w.key("axes")
	w.raw(axes)
	w.key("resolution")
	w.orNull(m.Resolution)
	w.fieldIf("file", m.File)
	w.fieldIf("sha256", m.SHA256)
	w.endBlock('}')
}

// ruleHead writes a rule up to its adjustments.
func (w *writer) ruleHead(r *Rule) {
	w.block('{')
	w.field("name", r.Name)
	w.place(&r.Place)
	w.fieldIf("doc", r.Doc)
	w.fieldIf("when", r.When)
	w.key("adjustments")
	w.block('[')
}

// did writes an adjustment whose head is laid out already.
func (w *writer) did(head *stepText, a *Adjustment) {
	w.next()
	from := len(w.b)
	w.raw(head.flat)
	w.raw(`, "touched": `)
	w.int(a.Touched)
	w.raw(`, "changed": `)
	w.int(a.Changed)
	w.raw("}")
	if 2*w.depth+len(w.b)-from <= lineWidth {
		return
	}
	w.b = append(w.b[:from], head.broken...)
	w.depth++
	w.first = false
	w.count("touched", a.Touched)
	w.count("changed", a.Changed)
	w.endBlock('}')
}

func (w *writer) adjustments(list []Adjustment) {
	w.block('[')
	for i := range list {
		a := &list[i]
		w.next()
		w.begin('{')
		w.adjustmentHead(a)
		w.count("touched", a.Touched)
		w.count("changed", a.Changed)
		w.end('}')
	}
	w.endBlock(']')
}

func (w *writer) adjustmentHead(a *Adjustment) {
	w.field("map", a.Map)
	w.field("text", a.Text)
	w.place(&a.Place)
}

func (w *writer) leftOut(l *LeftOut) {
	w.next()
	w.begin('{')
	w.field("name", l.Name)
	w.place(&l.Place)
	w.fieldIf("doc", l.Doc)
	w.field("reason", l.Reason)
	w.end('}')
}

func (w *writer) limit(l *Limit) {
	w.next()
	w.block('{')
	w.field("name", l.Name)
	w.place(&l.Place)
	w.fieldIf("doc", l.Doc)
	w.field("text", l.Text)
	w.fieldIf("where", l.Where)
	w.fieldIf("when", l.When)
	w.field("mode", l.Mode)
	w.field("state", l.State)
	w.fieldIf("reason", l.Reason)
	w.key("maps")
	w.texts(l.Maps)
	w.count("cells", l.Cells)
	w.count("bad", l.Bad)
	w.key("worst")
	if l.Worst == nil {
		w.raw("null")
	} else {
		w.worst(l.Worst)
	}
	if l.Proof != nil {
		w.key("proof")
		w.any(l.Proof)
	}
	w.endBlock('}')
}

func (w *writer) worst(x *Worst) {
	w.block('{')
	w.key("at")
	w.block('[')
	for i := range x.At {
		c := &x.At[i]
		w.next()
		w.begin('{')
		w.field("axis", c.Axis)
		w.key("value")
		w.number(c.Value)
		w.field("unit", c.Unit)
		w.end('}')
	}
	w.endBlock(']')
	w.key("value")
	w.orNull(x.Value)
	w.key("bound")
	w.orNull(x.Bound)
	w.key("margin")
	w.orNull(x.Margin)
	w.field("unit", x.Unit)
	if x.Blame != nil {
		w.key("blame")
		w.any(x.Blame)
	}
	w.endBlock('}')
}

func (w *writer) check(c *Check) {
	w.next()
	w.begin('{')
	w.field("title", c.Title)
	w.field("with", c.With)
	w.place(&c.Place)
	w.field("text", c.Text)
	w.yes("ok", c.OK)
	w.key("got")
	w.orNull(c.Got)
	w.key("want")
	w.orNull(c.Want)
	w.field("unit", c.Unit)
	w.fieldIf("problem", c.Problem)
	w.end('}')
}
