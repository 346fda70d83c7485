package format_test

import (
	"math/rand/v2"
	"strings"
	"testing"
)

// Bytes at random seldom make a source, so here they choose words: each byte
// is a word, a sign or white space, and a frame puts them where they may read.
// The syntax lets much through that has no meaning, and all of it is to be
// laid out lawfully.

var frames = []string{
	"let a = @\nlet b [m] = @\n",
	"let a = (@)\n",
	"axis a @..@\naxis b [m] @\n",
	"given a [m] = @ within @..@\ngiven b from c = @\n",
	"region a = b @..@ feather @, c @\n",
	"rule a when @ corrects b, c {@}\n",
	"rule a {\nb += @ over c @..@, d where @\ne = @\n}\n",
	"variants a from b/c {\nd = @, @\nexcept @\ntrim e *= @\n}\n",
	"check \"t\" with v {@\na == @ +- @\n}\n",
	"target t {@\ncompensates a, b\ntable a = b as u8 step @ offset @ at c @, @..@ by @, d auto @ by @\n}\n",
	"bundle b for t {@\ndiffers a, b\n1 = @\n2 = c/d\njump a = @\n}\n",
	"review {@\nallow a = @\nallow b = @\n}\n",
	"limit a: @ where @ when @ else warn\nlimit b: @\n",
	"fn f(a [m] within @..@, b) [K] = @\nmap m to 0.1 like n = @\n",
	"map m {@a \\ b | 1 2@\n1 | 3 4@\n@}\n",
	"map m to 0.1 {\na [m] | @\n | @\n}@\n",
	"catalog c {@\nname | b@\nd | @\n@}\n",
	"@",
}

var vocabulary = []string{
	" ", " ", "  ", "\t", "\n", "\n", "\n\n", "\n  ", "\r\n", " # why\n", "\n# why\n", "\n\n # why  \n\n", "#", "\r",
	"a", "b", "rpm", "m", "degC", "e5", "yes", "is", "if", "then", "else", "and", "or", "not", "min",
	"1", "2.5", "10", "1e-3", ".5", "1.", "_", "-1.25", "100000.125", "[g/min]", "[ ]", "%", "\"t # { }\"", "\"\\\"\"",
	"+", "-", "-", "*", "/", "^", "<", ">", "<=", ">=", "==", "!=", "=", "+=", "-=", ".", "..", "...", ",", "(", ")", "(", ")", ":", "+-", "|", "\\",
	"over", "where", "feather", "within", "from", "with", "to", "{", "}", "{ }", "let x = 1", "a += 1", "variant v { }",
}

// frame puts words in place of the @ of a frame; a zero byte goes to the next
// place.
func frame(kind byte, words []byte) string {
	parts := strings.Split(frames[int(kind)%len(frames)], "@")
	var b strings.Builder
	for i, p := range parts {
		b.WriteString(p)
		if i == len(parts)-1 {
			break
		}
		for len(words) > 0 {
			w := words[0]
			words = words[1:]
			if w == 0 {
				break
			}
			b.WriteString(vocabulary[int(w)%len(vocabulary)])
		}
	}
	return b.String()
}

func FuzzWords(f *testing.F) {
	for i := range frames {
		f.Add(byte(i), []byte{14, 0, 32, 0, 38, 0, 40})
	}
	f.Fuzz(func(t *testing.T, kind byte, words []byte) {
		lawful(t, frame(kind, words))
	})
}

// TestWordsAtRandom is a short walk through the same, always the same one.
func TestWordsAtRandom(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 20000 {
		words := make([]byte, 1+r.IntN(24))
		for i := range words {
			if r.IntN(2) > 0 { // about every second byte goes on to the next place
				words[i] = byte(1 + r.IntN(255))
			}
		}
		lawful(t, frame(byte(r.IntN(len(frames))), words))
	}
}
