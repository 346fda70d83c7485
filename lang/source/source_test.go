package source_test

import (
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"fettle/lang/source"
)

func TestPos(t *testing.T) {
	// é is two bytes, 燃 three, 🏁 four; a column is a character.
	f := source.New("tune.fettle", "é=燃\r\n\n🏁x")
	for _, c := range []struct{ off, line, col int }{
		{-1, 1, 1}, {0, 1, 1}, {2, 1, 2}, {3, 1, 3}, {6, 1, 4}, {7, 1, 5}, // \r and \n belong to the line they end
		{8, 2, 1}, {9, 3, 1}, {13, 3, 2}, {14, 3, 3}, {99, 3, 3},
	} {
		if line, col := f.Pos(c.off); line != c.line || col != c.col {
			t.Errorf("offset %d is at %d:%d, want %d:%d", c.off, line, col, c.line, c.col)
		}
	}
}

// A byte-order mark takes no column.
func TestPosBehindMark(t *testing.T) {
	f := source.New("tune.fettle", "\ufeffab\n\ufeffc")
	for _, c := range []struct{ off, line, col int }{{0, 1, 1}, {3, 1, 1}, {4, 1, 2}, {9, 2, 2}} {
		if line, col := f.Pos(c.off); line != c.line || col != c.col {
			t.Errorf("offset %d is at %d:%d, want %d:%d", c.off, line, col, c.line, c.col)
		}
	}
}

func TestLines(t *testing.T) {
	for _, c := range []struct {
		text string
		want []string
	}{
		{"", []string{""}},
		{"a", []string{"a"}},
		{"a\n", []string{"a", ""}},
		{"a\r\nb\rc\n\r\n", []string{"a", "b\rc", "", ""}}, // a lone \r ends no line
	} {
		f := source.New("x", c.text)
		if f.LineCount() != len(c.want) {
			t.Errorf("%q has %d lines, want %d", c.text, f.LineCount(), len(c.want))
			continue
		}
		for i, want := range c.want {
			if got := f.LineText(i + 1); got != want {
				t.Errorf("line %d of %q is %q, want %q", i+1, c.text, got, want)
			}
		}
		for _, none := range []int{-1, 0, len(c.want) + 1} {
			if got := f.LineText(none); got != "" {
				t.Errorf("line %d of %q is %q, want nothing", none, c.text, got)
			}
		}
	}
}

// Every place of any text lies in the line it is said to be in, as many
// characters from its start as the column says.
func TestPosAndLineSpanAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOf(rapid.SampledFrom([]rune("ab \t\r\n\u00b5燃🏁"))).Draw(t, "text")
		f := source.New("x", text)
		off := rapid.IntRange(0, len(text)).Draw(t, "off")
		for !utf8.RuneStart((text + "a")[off]) {
			off--
		}
		line, col := f.Pos(off)
		if want := 1 + strings.Count(text[:off], "\n"); line != want {
			t.Fatalf("line %d, want %d", line, want)
		}
		from, _ := f.LineSpan(line)
		if got := utf8.RuneCountInString(text[from:off]) + 1; got != col {
			t.Fatalf("column %d, want %d", col, got)
		}
	})
}

func TestSpan(t *testing.T) {
	f, g := source.New("tune.fettle", "let a = 1\nlet b = 2\n"), source.New("other.fettle", "use air\n")
	at := func(f *source.File, word string) source.Span {
		i := strings.Index(f.Text, word)
		return source.Span{File: f, From: i, To: i + len(word)}
	}
	a, b, air := at(f, "a"), at(f, "b"), at(g, "air")
	for _, c := range []struct {
		name      string
		got, want source.Span
	}{
		{"two places", a.Join(b), at(f, "a = 1\nlet b")},
		{"the other way round", b.Join(a), at(f, "a = 1\nlet b")},
		{"no place and a place", source.Span{}.Join(a), a},
		{"a place and no place", a.Join(source.Span{}), a},
		{"two files", a.Join(air), a},
	} {
		if c.got != c.want {
			t.Errorf("%s: %q, want %q", c.name, c.got.Text(), c.want.Text())
		}
	}
	if got := a.Join(b).Text(); got != "a = 1\nlet b" {
		t.Errorf("the text is %q", got)
	}
	for _, c := range []struct {
		span source.Span
		text string
		line int
		name string
	}{
		{b, "b", 2, "tune.fettle:2"},
		{source.Span{}, "", 0, ""},
		{source.Span{File: f, From: 5, To: 4}, "", 1, "tune.fettle:1"},
		{source.Span{File: f, From: 0, To: 99}, "", 1, "tune.fettle:1"},
	} {
		if got := c.span.Text(); got != c.text {
			t.Errorf("%v: the text is %q, want %q", c.span, got, c.text)
		}
		if c.span.Line() != c.line || c.span.String() != c.name {
			t.Errorf("%d %q, want %d %q", c.span.Line(), c.span, c.line, c.name)
		}
	}
	if !(source.Span{}).IsZero() || a.IsZero() {
		t.Error("only the zero span is no place")
	}
	last := source.New("long.fettle", strings.Repeat("\n", 1234))
	if got := (source.Span{File: last, From: 1233, To: 1233}).String(); got != "long.fettle:1234" {
		t.Errorf("got %q", got)
	}
}

func TestOneLine(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"", ""},
		{"  a\t+  b ", "a + b"},
		{"a +   # the first\n  b   # the second\n", "a + b"},
		{"a +\r\n\r\n  b", "a + b"},
		{"µ ≤ 2", "µ ≤ 2"},
	} {
		if got := source.OneLine(c.in); got != c.want {
			t.Errorf("%q on one line is %q, want %q", c.in, got, c.want)
		}
	}
}
