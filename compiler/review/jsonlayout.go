package review

import "bytes"

// lineWidth is how long an object or list may be to stand on one line.
const lineWidth = 160

// laidOut lays a compact JSON text out for people: an object or list that fits
// on a line stands on one, others have a line for each member. So a cell is a
// line, and many thousands of cells stay small.
func laidOut(compact []byte) []byte {
	compact = bytes.TrimSpace(compact)
	ends := matching(compact)
	out := make([]byte, 0, len(compact)*2)
	var until int // up to here on one line
	depth := 0
	newline := func() {
		out = append(out, '\n')
		for range depth {
			out = append(out, ' ', ' ')
		}
	}
	next := 0 // bracket
	inText := false
	for i := 0; i < len(compact); i++ {
		c := compact[i]
		switch {
		case inText:
			out = append(out, c)
			switch c {
			case '\\':
				i++
				out = append(out, compact[i])
			case '"':
				inText = false
			}
			continue
		case c == '"':
			inText = true
			out = append(out, c)
		case c == '{' || c == '[':
			out = append(out, c)
			end := ends[next]
			next++
			if i < until {
				continue
			}
			if end-i < lineWidth {
				until = end + 1
				continue
			}
			depth++
			newline()
		case c == '}' || c == ']':
			if i >= until {
				depth--
				newline()
			}
			out = append(out, c)
		case c == ',':
			out = append(out, c)
			if i < until {
				out = append(out, ' ')
			} else {
				newline()
			}
		case c == ':':
			out = append(out, c, ' ')
		default:
			out = append(out, c)
		}
	}
	return append(out, '\n')
}

// matching gives for each opening bracket, in order, the place of its partner.
func matching(compact []byte) []int {
	var out, open []int
	for i := 0; i < len(compact); i++ {
		switch compact[i] {
		case '"':
			for i++; compact[i] != '"'; i++ {
				if compact[i] == '\\' {
					i++
				}
			}
		case '{', '[':
			open = append(open, len(out))
			out = append(out, 0)
		case '}', ']':
			out[open[len(open)-1]] = i
			open = open[:len(open)-1]
		}
	}
	return out
}
