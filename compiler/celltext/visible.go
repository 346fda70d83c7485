package celltext

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// visible writes control characters as their pictures (␛ for escape) and those
// that turn the direction of a text by their numbers. Tabs and line ends stay.
func visible(s string) string {
	if strings.IndexFunc(s, hidden) < 0 {
		return s
	}
	var b strings.Builder
	for i := 0; i < len(s); {
		c, n := utf8.DecodeRuneInString(s[i:])
		switch {
		case !hidden(c) || c == '\r' && strings.HasPrefix(s[i:], "\r\n"):
			b.WriteString(s[i : i+n])
		case c < ' ':
			b.WriteRune('\u2400' + c)
		case c == 0x7f:
			b.WriteRune('\u2421')
		default:
			fmt.Fprintf(&b, "<U+%04X>", c)
		}
		i += n
	}
	return b.String()
}

func hidden(c rune) bool {
	switch {
	case c == '\t' || c == '\n':
		return false
	case c < ' ' || c >= 0x7f && c < 0xa0:
		return true
	}
	return c == 0x061c || c == 0x200e || c == 0x200f || c >= 0x2028 && c <= 0x202e || c >= 0x2066 && c <= 0x2069
}
