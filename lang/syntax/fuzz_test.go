package syntax

import (
	"strings"
	"testing"
	"time"
	"unicode"
	"unicode/utf8"

	"pgregory.net/rapid"

	"fettle/lang/diag"
	"fettle/lang/source"
)

// lawfulParse holds a text to what is promised of any: no panic, places inside
// the file, tokens in order; and of one without faults that every declaration
// begins with its word, and that nothing but blanks and comments stands outside
// the tokens. What is read by hand of either is what the grammar makes of it.
func lawfulParse(t interface {
	Helper()
	Fatalf(string, ...any)
}, text string) {
	t.Helper()
	f := source.New("tune.fettle", text)
	errs := &diag.List{}
	tree := Parse(f, errs)
	for _, d := range errs.Sorted() {
		spans := []source.Span{d.Span}
		for _, n := range d.Notes {
			spans = append(spans, n.Span)
		}
		if d.Fix != nil {
			spans = append(spans, d.Fix.Span)
		}
		for _, s := range spans {
			if s.File != nil && (s.From < 0 || s.From > s.To || s.To > len(text)) {
				t.Fatalf("%s %q: a place outside the file, %d to %d of %d", d.Code, d.Message, s.From, s.To, len(text))
			}
		}
		if !utf8.ValidString(d.Message) && utf8.ValidString(text) {
			t.Fatalf("%s cuts a character in two: %q", d.Code, d.Message)
		}
	}
	sound := !errs.HasErrors()
	end := 0
	for _, d := range tree.Decls {
		h := d.Header()
		s := h.Span
		if s.From < end || s.From >= s.To || s.To > len(text) {
			t.Fatalf("`%s %s` stands at %d to %d of %d, after %d", h.Keyword, h.Name.Text, s.From, s.To, len(text), end)
		}
		end = s.To
		first := s.Text()
		if i := strings.IndexFunc(first, func(r rune) bool { return r != '_' && !unicode.In(r, unicode.Letter, unicode.Digit, unicode.Mn) }); i >= 0 {
			first = first[:i]
		}
		if meantDecl(first) != h.Keyword || sound && first != h.Keyword {
			t.Fatalf("`%s` stands at %q", h.Keyword, s.Text())
		}
		if n := h.Name.Span; n.File != nil && (n.From < s.From || n.To > s.To) {
			t.Fatalf("the name %q stands outside its declaration %q", n.Text(), s.Text())
		}
		readBody(f, d)
	}
	covered(t, f, sound)
	bothWays(t, text)
}

// readBody reads the body of a map or catalogue, for its panics.
func readBody(f *source.File, d Decl) {
	errs := &diag.List{}
	switch d := d.(type) {
	case *Map:
		if d.Body != nil {
			ReadGrid(f, *d.Body, errs)
		}
	case *Catalog:
		if d.Body != nil {
			ReadTable(f, *d.Body, errs)
		}
	}
}

// covered looks that the pieces hold every token once and in order.
func covered(t interface {
	Helper()
	Fatalf(string, ...any)
}, f *source.File, sound bool) {
	t.Helper()
	pieces, comments := Tokens(f, &diag.List{})
	ink := []byte(f.Text)
	blank := func(from, to int) {
		for i := from; i < to; i++ {
			ink[i] = ' '
		}
	}
	if strings.HasPrefix(f.Text, "\xef\xbb\xbf") {
		blank(0, 3)
	}
	at := -1
	for _, toks := range pieces {
		if len(toks) == 0 {
			t.Fatalf("a piece without tokens")
		}
		for _, tok := range toks {
			if sound && tok.From < at || tok.From < 0 || tok.From > len(f.Text) {
				t.Fatalf("the token %q stands at %d of %d, after %d", tok.Text, tok.From, len(f.Text), at)
			}
			at = tok.From
			if !sound {
				continue
			}
			if tok.To() > len(f.Text) || f.Text[tok.From:tok.To()] != tok.Text {
				t.Fatalf("the token %q isn't what stands at its place", tok.Text)
			}
			blank(tok.From, tok.To())
		}
	}
	for _, c := range comments {
		if f.Text[c.From:c.From+len(c.Text)] != c.Text {
			t.Fatalf("the comment %q isn't what stands at its place", c.Text)
		}
		blank(c.From, c.From+len(c.Text))
	}
	if left := strings.TrimSpace(string(ink)); sound && left != "" {
		t.Fatalf("no token holds %q", left)
	}
}

// seeds are sources with everything in them, sound ones and others.
var seeds = []string{
	"", "\ufeff# é\nuse air, \"a.fettle\"\n",
	"axis rpm [rpm] 1000..14000\ngiven a [m] = -40 within ..4500 m\ngiven b from fuels = pump98\nlet c = if a > 3 then 1 else 2\nfn d(x [mg] within 0.., y) [g] = (x +\n y) ^ 2\n",
	"catalog c {\n name | note [text]\n a | \"} # | \\\" \" # b\n}\nmap m [mg] to 0.01 {\n t \\ r [rev/s] | 1 2\n 3 | _ -4e2\n}\nmap n like m = m(t, r * 2)\n",
	"region r = rpm 6000..8500 feather 500, t 50 %..\nrule s corrects a when b { m += 3 % over r, rpm ..7000 where m > 3 }\nlimit l: 1 <= m <= 2 when b where rpm > 1 else warn\n",
	"variant v from w/a-?*-1.5m { a = -2 degC }\nvariants w {\n a = 1, 2\n except a > 1\n trim m += 1\n}\ncheck \"é\" with v { m(1, 2) == 3 +- 1 % }\ncaution \"x \\\\ y\"\n",
	"review {\n allow fuel = 2 %\n allow spark = (0.5 deg) # é\n}\nreview a { fuel = 2, 3\n allow m := ± 1\n allow a = 1 allow b <= 2 }\n",
	"target t {\n compensates a, b\n bytes big\n table a = b as u16 step 0.5 ms offset -4 at c 0, -2 %, d..9 by 1, e auto 12 by 250\n table = as at by,\n}\n",
	"bundle b for t {\n differs a, b\n 1 = c/d-2m\n 2 = 2e\n jump m = 2 %\n 3: \"f\"\n 4 = g, h\n jump = in\n}\nbundle c { 1 = }\n",
	"rule a {\n fuel += (1\nrule b {\n x = 1;\n y = 2\n rule c {\n}\n", "map a\n{\n x | 1\n", "let a = 1...2 ± 3 ≤ µ “x” 'y' 1'000 1.2.3 0x1F [mg 5\u00a0m ;",
	"let a = 1 +\n\n\n", "variant from from/ with { }", "let \"a\" = {(}", "limit a : b = 1 else else",
	"a23456789012345678901234567890123456789éb x", "rule if unless { trim over feather, 3 }",
}

func FuzzParse(f *testing.F) {
	for _, s := range seeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) { lawfulParse(t, text) })
}

// Sources put together of words of the language, sound or not, keep the law.
func TestAnyWordsParse(t *testing.T) {
	var words []string
	for _, s := range seeds {
		words = append(words, strings.Fields(s)...)
	}
	words = append(words, declWords...)
	words = append(words, ops...)
	words = append(words, "\n", "\n\n", "\n  ", " ", "# c\n", "(", ")", "{", "}", "[", "]", "\"", "\r\n", "feather", "else", "when", "\x00", "\xff", "…")
	word := rapid.SampledFrom(words)
	rapid.Check(t, func(t *rapid.T) {
		var b strings.Builder
		for range rapid.IntRange(0, 40).Draw(t, "n") {
			b.WriteString(word.Draw(t, "word"))
			b.WriteString(rapid.SampledFrom([]string{" ", "", "\n"}).Draw(t, "then"))
		}
		lawfulParse(t, b.String())
	})
}

// Reading a text takes no more than in proportion to its length, whatever it
// repeats: these once took the square of it, minutes at this size.
func TestLongTexts(t *testing.T) {
	for _, again := range []string{";", "\u00a0", "rule a {", "let a = 1; ", "'", "(", "[", "\"", "\\", "if ", "a=(\n"} {
		text := "rule r {\n" + strings.Repeat(again, 200_000/len(again))
		start := time.Now()
		Parse(source.New("tune.fettle", text), &diag.List{})
		if took := time.Since(start); took > 10*time.Second {
			t.Errorf("%q again and again takes %v", again, took)
		}
	}
}
