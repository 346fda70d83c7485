package emit

import (
	"bytes"
	"encoding/json"
)

// lineWidth is how wide a list or an object may be to stand on one line.
const lineWidth = 140

// Encode writes a value as JSON: keys in the order of the struct, two spaces of
// indentation, lists of numbers and short flat objects on one line, nothing
// escaped for HTML, and a line end after it.
func Encode(v any) ([]byte, error) {
	data, err := compact(v)
	if err != nil {
		return nil, err
	}
	l := layout{src: data, dst: make([]byte, 0, 2*len(data))}
	l.value(0)
	return append(l.dst, '\n'), nil
}

// compact writes a value as JSON without any space.
func compact(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return nil, err
	}
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), nil
}

// layout lays out JSON that has no spaces between its tokens, such as
// encoding/json writes.
type layout struct {
	src, dst []byte
	pos      int
}

// value copies one value, which begins at a given depth.
func (l *layout) value(depth int) {
	switch open := l.src[l.pos]; {
	case open == '"':
		l.text()
	case open != '{' && open != '[':
		for l.pos < len(l.src) && l.src[l.pos] != ',' && l.src[l.pos] != ']' && l.src[l.pos] != '}' {
			l.dst = append(l.dst, l.src[l.pos])
			l.pos++
		}
	default:
		// '}' and ']' follow their partners by two.
		l.nested(open+2, depth, depth > 0 && l.oneLine(depth))
	}
}

// nested copies an object or a list, on one line or with a line for each member.
func (l *layout) nested(end byte, depth int, flat bool) {
	newline := func(depth int) {
		if !flat {
			l.newline(depth)
		}
	}
	l.dst = append(l.dst, l.src[l.pos])
	l.pos++
	for l.src[l.pos] != end {
		if l.src[l.pos] == ',' {
			l.dst = append(l.dst, ',')
			if flat {
				l.dst = append(l.dst, ' ')
			}
			l.pos++
		}
		newline(depth + 1)
		if end == '}' {
			l.text()
			l.dst = append(l.dst, ':', ' ')
			l.pos++
		}
		l.value(depth + 1)
		if l.src[l.pos] == end {
			newline(depth)
		}
	}
	l.dst = append(l.dst, end)
	l.pos++
}

func (l *layout) newline(depth int) {
	l.dst = append(l.dst, '\n')
	for range depth {
		l.dst = append(l.dst, ' ', ' ')
	}
}

// text copies a string with its quotes.
func (l *layout) text() {
	from := l.pos
	for l.pos++; l.src[l.pos] != '"'; l.pos++ {
		if l.src[l.pos] == '\\' {
			l.pos++
		}
	}
	l.pos++
	l.dst = append(l.dst, l.src[from:l.pos]...)
}

// oneLine says whether the list or object that begins here stands on one line:
// if it is a list of nothing but numbers and lists of them, or has nothing nested
// in it and fits.
func (l *layout) oneLine(depth int) bool {
	nested, numbers, inText := 0, l.src[l.pos] == '[', false
	width, flat := 2*depth, true
	for i := l.pos; ; i++ {
		c := l.src[i]
		width++
		switch {
		case inText:
			if c == '\\' {
				i++
				width++
			} else if c == '"' {
				inText = false
			}
			continue
		case c == '"':
			inText = true
		case c == '{' || c == '[':
			nested++
			flat = flat && nested == 1
		case c == '}' || c == ']':
			if nested--; nested == 0 {
				return numbers || flat && width <= lineWidth
			}
		case c == ',' || c == ':':
			width++
		}
		numbers = numbers && (c == '[' || c == ']' || c == ',' || c == '-' || c == '.' || '0' <= c && c <= '9')
		if !numbers && (!flat || width > lineWidth) {
			return false
		}
	}
}
