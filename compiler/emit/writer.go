package emit

import (
	"bytes"
	"encoding/json"
	"math"
	"strconv"
)

// writer writes JSON as Encode lays it out, value by value and without
// reflection, for what is written once a tune. What has lists or objects in it is
// a block, with a line for each member. What has none is a row: it stays on one
// line if it fits. The caller knows which is which, since the types say so.
type writer struct {
	b      []byte
	depth  int
	first  bool // nothing stands in the innermost yet
	row    int  // where the row begins that is being written; -1 outside of one
	starts []int
	err    error
}

func newWriter(b []byte) *writer { return &writer{b: b, row: -1} }

// block begins an object '{' or a list '[' with a line for each member.
func (w *writer) block(open byte) {
	w.b = append(w.b, open)
	w.depth++
	w.first = true
}

// endBlock closes a block, by '}' or ']'.
func (w *writer) endBlock(end byte) {
	w.depth--
	if !w.first {
		w.line()
	}
	w.b = append(w.b, end)
	w.first = false
}

// begin begins a row.
func (w *writer) begin(open byte) {
	w.row, w.starts = len(w.b), w.starts[:0]
	w.b = append(w.b, open)
	w.depth++
}

// end closes a row, and puts each of its members on a line if it is too wide.
func (w *writer) end(end byte) {
	w.depth--
	w.b = append(w.b, end)
	if 2*w.depth+len(w.b)-w.row > lineWidth && len(w.starts) > 0 {
		w.spread()
	}
	w.row, w.first = -1, false
}

func (w *writer) spread() {
	flat := bytes.Clone(w.b[w.starts[0]:])
	from := w.starts[0]
	w.b = w.b[:from]
	w.depth++
	for i, at := range w.starts {
		w.line()
		next := len(flat) - 1 // the closing bracket
		if i+1 < len(w.starts) {
			next = w.starts[i+1] - from - 1 // the space after the comma
		}
		w.b = append(w.b, flat[at-from:next]...)
	}
	w.depth--
	w.line()
	w.b = append(w.b, flat[len(flat)-1])
}

// spaces is as deep as anything is indented.
const spaces = "\n                                        "

func (w *writer) line() { w.b = append(w.b, spaces[:1+2*w.depth]...) }

// next goes to where the next member of the innermost begins.
func (w *writer) next() {
	switch {
	case w.row >= 0:
		if len(w.starts) > 0 {
			w.b = append(w.b, ", "...)
		}
		w.starts = append(w.starts, len(w.b))
	default:
		if !w.first {
			w.b = append(w.b, ',')
		}
		w.first = false
		w.line()
	}
}

// key begins the next member of an object. It is one of ours, so nothing in it
// is escaped.
func (w *writer) key(name string) {
	w.next()
	w.b = append(w.b, '"')
	w.b = append(w.b, name...)
	w.b = append(w.b, `": `...)
}

// raw writes a value that is laid out already, for this depth.
func (w *writer) raw(text string) { w.b = append(w.b, text...) }

func (w *writer) bool(x bool) { w.b = strconv.AppendBool(w.b, x) }

func (w *writer) int(n int) { w.b = strconv.AppendInt(w.b, int64(n), 10) }

func (w *writer) number(n Number) {
	var err error
	if w.b, err = n.append(w.b); err != nil && w.err == nil {
		w.err = err
	}
}

// orNull writes a number, or null.
func (w *writer) orNull(n *Number) {
	if n == nil {
		w.raw("null")
		return
	}
	w.number(*n)
}

// texts writes a list of texts.
func (w *writer) texts(list []string) {
	w.begin('[')
	for _, s := range list {
		w.next()
		w.text(s)
	}
	w.end(']')
}

// plain holds the bytes that stand in a JSON text as they are.
var plain = func() (t [256]bool) {
	for c := range t {
		t[c] = c >= ' ' && c < 0x80 && c != '"' && c != '\\'
	}
	return t
}()

// text writes a text.
func (w *writer) text(s string) {
	for i := range len(s) {
		if !plain[s[i]] {
			w.escaped(s)
			return
		}
	}
	w.b = append(w.b, '"')
	w.b = append(w.b, s...)
	w.b = append(w.b, '"')
}

// escaped writes a text that has more in it than plain ASCII.
func (w *writer) escaped(s string) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(s); err != nil && w.err == nil {
		w.err = err
	}
	w.b = append(w.b, bytes.TrimSuffix(b.Bytes(), []byte("\n"))...)
}

// any writes a value by reflection, laid out for this depth.
func (w *writer) any(v any) {
	data, err := compact(v)
	if err != nil {
		if w.err == nil {
			w.err = err
		}
		return
	}
	l := layout{src: data, dst: w.b}
	l.value(w.depth)
	w.b = l.dst
}

// append appends a number as JSON has it.
func (n Number) append(dst []byte) ([]byte, error) {
	x := float64(n)
	switch {
	case math.IsNaN(x) || math.IsInf(x, 0):
		return dst, errNotFinite
	case x == 0:
		return append(dst, '0'), nil
	case x == math.Trunc(x) && math.Abs(x) < 1<<53:
		return strconv.AppendInt(dst, int64(x), 10), nil
	}
	return strconv.AppendFloat(dst, x, 'f', -1, 64), nil
}
